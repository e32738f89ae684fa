//! needleband turns phone photos of an analog dash dial into temperatures with an honest uncertainty band.
//!
//! A dial is calibrated once, from one photo and the places of its marks ([`calibrate`]), and kept as a file ([`dial`]). Every later photo
//! of that dial becomes a temperature with a band that holds the truth 95 times of 100, or a refusal with its reason and advice:
//!
//! ```
//! use needleband::{dial, photo, reading::{Outcome, Reader}};
//!
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! let reader = Reader::new(dial::from_bytes(&std::fs::read("calibration/gearbox-oil.json")?)?);
//! let record = reader.read(&photo::decode(&std::fs::read("samples/gearbox-oil/before/1.jpg")?)?);
//! match record.outcome {
//!     Outcome::Reading(r) => {
//!         // this photo is a rendering whose true temperature is known (samples/truth.csv)
//!         let (low, high) = r.temperature.band();
//!         assert!(low < 90.9449 && 90.9449 < high && high - low < 1.0);
//!     }
//!     Outcome::Refused(reason, seen) => panic!("{seen} {}", reason.advice()),
//!     Outcome::BelowScale | Outcome::AboveScale => panic!("beyond the scale"),
//! }
//! # Ok(())
//! # }
//! ```
//!
//! # The flow
//! ```text
//! photo -> register -> rectify -> needle -> scale -> reading -> compare, settle -> diary -> output
//!            ^                                ^
//!           dial (calibration file) <- calibrate
//! ```
//!
//! | to do | with |
//! |---|---|
//! | bytes of a JPEG, HEIC, PNG, WebP or TIFF to an upright picture | [`photo::decode`] |
//! | a photo and its marks to a dial, a dial to a file and back | [`calibrate::calibrate`], [`dial::to_bytes`], [`dial::from_bytes`] |
//! | a photo to a temperature | [`reading::Reader`] |
//! | two groups of photos to a change | [`compare::compare`] |
//! | photos over time to a settled temperature | [`settle::settle`] |
//! | how many photos a change needs; how good a dial file is | [`plan::plan`], [`assess::assess`] |
//! | notes of a project over months | [`diary`] |
//! | results as text, JSON, pictures, a page | [`output`] |
//!
//! `examples/` has whole programs. Nothing but [`cli`] opens files, prints or reads the clock; nothing in the crate uses the network but the
//! pages of `calibrate --page` and `view --open`, on the loopback address (or, where it is asked for, on one of the local network). The number of threads (rayon's global pool) changes no result.
//!
//! # Errors
//! An error or a refusal says what was seen, what it means and what to do. Nothing panics on bad input: whatever the bytes, there is an
//! answer. Memory: at most 1 GiB for each photo that is being read, decoders' buffers included, whatever the file claims of itself.
//!
//! # What stays as it is
//! Enums that are marked so get new members, and structs new fields, in a minor version. [`register`], [`rectify`], [`needle`], [`scale`]
//! and [`maths`] are the inside of the chain, open so that it can be tested from without, and may change in any version. File formats have
//! versions of their own, and older dial files and diaries stay readable.
//!
//! # Conventions
//! * Photos: pixel (0,0) is the *centre* of the top-left pixel; x right, y down; unit pixel; always the upright picture.
//! * Dial frame: origin at the pivot, unit = radius of the marks' circle, x right, y **up**.
//! * Needle angles: degrees clockwise from straight up.
//! * Geometry is `f64`; pixel values are `f32` in levels 0..255.
//! * Temperatures keep the unit printed on the dial; a *difference* converts by 9/5 alone.
//! * "sigma" is always one standard uncertainty; "band" is always 95 %.
//!
//! # Layers
//! A module imports only from modules with a smaller number, and equal numbers never import each other:
//! 0 [`maths`] · 1 [`diagnostics`] · 2 [`photo`] · 3 [`dial`] · 4 [`register`], `tick_detection` · 5 [`rectify`] · 6 [`needle`] · 7 [`scale`] ·
//! 8 [`reading`] · 9 [`calibrate`], [`compare`], [`settle`], [`plan`] · 10 [`diary`], [`assess`] · 11 [`output`] · 12 [`cli`].
#![cfg_attr(test, allow(clippy::unwrap_used, clippy::expect_used, clippy::panic))]

pub mod assess;
pub mod calibrate;
pub mod cli;
pub mod compare;
pub mod diagnostics;
pub mod dial;
pub mod diary;
pub mod maths;
pub mod needle;
pub mod output;
pub mod photo;
pub mod plan;
pub mod reading;
pub mod rectify;
pub mod register;
pub mod scale;
pub mod settle;
mod tick_detection;
