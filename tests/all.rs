//! One test binary; each module says what it checks.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod architecture;
mod assess;
mod bad_input;
mod bound;
mod certified;
mod cli;
#[cfg(feature = "video")]
mod clip;
mod compare;
mod coverage;
mod declared;
mod determinism;
mod dial_file;
mod diary;
mod documents;
mod drawn;
mod false_answers;
mod frames;
mod handmade;
mod hard_views;
mod output;
#[cfg(feature = "page")]
mod page;
mod photo_decode;
mod plan;
mod properties;
mod questions;
mod refusals;
mod registration;
mod samples;
mod settle;
mod several;
mod supply;
mod support;
mod ticks;
mod wide_lens;
