//! Drawn dials with exact truth: what the tests of the chain compare with.
//! * `glyphs`, `shapes`: what can be printed; `plan`: how one dial looks; `looks`: the dials of the tests;
//! * `view`: the camera; `draw`: the picture; `case`: calibrating on one picture and reading others.
pub mod bar;
#[cfg(feature = "page")]
pub mod browser;
pub mod case;
pub mod draw;
pub mod files;
pub mod glyphs;
pub mod light;
pub mod looks;
pub mod pictures;
pub mod plan;
pub mod shapes;
pub mod stats;
pub mod sweep;
pub mod view;
