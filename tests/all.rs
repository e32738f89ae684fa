//! One test binary; each module says what it checks.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod certified;
mod cli;
mod compare;
mod dial_file;
mod documents;
mod handmade;
mod output;
mod photo_decode;
mod samples;
