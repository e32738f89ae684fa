//! Bad input meets the whole command: each case one clear sentence, the right exit status, and nothing lost.
//! The kinds of damage inside a file have their own tests (`photo_decode`, `dial_file`, `diary/file`); here is what a user meets.
use super::cli::{Desk, command};
use predicates::prelude::*;
use predicates::str::contains;
use std::fs;

mod disk;
#[cfg(target_os = "linux")]
mod memory;
mod names;
mod numbers;
mod photos;
mod vanished;
