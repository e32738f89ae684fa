//! needleband turns phone photos of an analog dash dial into temperatures with an honest uncertainty band.
//!
//! # The flow
//! ```text
//! photo -> register -> rectify -> needle -> scale -> reading -> compare, settle -> diary -> output
//!            ^                                ^
//!           dial (calibration file) <- calibrate
//! ```
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
//! 0 [`base`] · 1 [`verdict`] · 2 [`photo`] · 3 [`dial`] · 4 [`register`], [`seek`] · 5 [`rectify`] · 6 [`needle`] · 7 [`scale`] ·
//! 8 [`reading`] · 9 [`calibrate`], [`compare`], [`settle`], [`plan`] · 10 [`diary`], [`assess`] · 11 [`output`] · 12 [`cli`].
#![cfg_attr(test, allow(clippy::unwrap_used, clippy::expect_used, clippy::panic))]

pub mod assess;
pub mod base;
pub mod calibrate;
pub mod cli;
pub mod compare;
pub mod dial;
pub mod diary;
pub mod needle;
pub mod output;
pub mod photo;
pub mod plan;
pub mod reading;
pub mod rectify;
pub mod register;
pub mod scale;
pub mod seek;
pub mod settle;
pub mod verdict;
