//! What the user gives and what calibration answers.
use crate::base::point::PhotoPoint;
use crate::base::units::Unit;
use crate::dial::Dial;

/// What the user knows of the dial in the reference photo.
#[derive(Clone, Debug, PartialEq)]
pub struct Request {
    /// Unit printed on the dial.
    pub unit: Unit,
    /// Name of the dial.
    pub name: String,
    /// Value and position of printed marks (photo pixels).
    pub marks: Vec<(f64, PhotoPoint)>,
    /// Value and needle angle, degrees clockwise from straight up; in place of marks.
    pub angles: Vec<(f64, f64)>,
    /// The pivot, when it can be seen.
    pub pivot: Option<PhotoPoint>,
    /// Any place on the marks' ring (the outer end of a tick); needed with `angles`.
    pub rim: Option<PhotoPoint>,
}

/// A finished calibration.
#[derive(Clone, Debug, PartialEq)]
pub struct Calibration {
    /// The dial.
    pub dial: Dial,
    /// Value shown by the needle of the reference photo itself, dial unit, when it stands on the scale.
    pub needle_reads: Option<f64>,
    /// Things the user should know: sentences with advice.
    pub warnings: Vec<String>,
}
