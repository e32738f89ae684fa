//! One test binary; each module says what it checks.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod quick;
use quick::{certified, diary};

mod assess;
mod bad_input;
mod bound;
mod cast_shadow;
mod cli;
#[cfg(feature = "video")]
mod clip;
mod compare;
mod coverage;
mod curves;
mod determinism;
mod documents;
mod drawn;
mod false_answers;
mod frames;
mod handmade;
mod hard_views;
mod lit_needle;
mod off_pivot;
mod output;
#[cfg(feature = "page")]
mod page;
mod part_of_a_photo;
mod photo_decode;
mod plan;
mod properties;
mod questions;
mod refusals;
mod registration;
mod samples;
mod settle;
mod several;
mod support;
mod ticks;
