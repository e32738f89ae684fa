//! What the user gives and what calibration answers.
use super::asked::Question;
use super::warning::Warning;
use crate::dial::{DeclareError, Declared, Dial};
use crate::maths::point::PhotoPoint;
use crate::maths::units::Unit;
use crate::reading::angle_in_reference;
use crate::scale::Scale;

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
    /// The step in value from one unlabelled tick to the next, dial unit, where the user tells it; else it is counted.
    pub tick_step: Option<f64>,
}

/// A finished calibration.
#[derive(Clone, Debug, PartialEq)]
pub struct Calibration {
    /// The dial.
    pub dial: Dial,
    /// Value shown by the needle of the reference photo itself, dial unit, when it stands on the scale.
    pub needle_reads: Option<f64>,
    /// Things the user should know.
    pub warnings: Vec<Warning>,
    /// Two steps in value that explain the unlabelled ticks about equally well, dial unit: the user may tell which holds
    /// ([`Request::tick_step`]), else the ticks are not used.
    pub rival_steps: Option<[f64; 2]>,
    /// Entries that cannot be right, or hardly. Nobody should write a dial file over them unasked; see [`Calibration::questioned`].
    pub questions: Vec<Question>,
}

impl Calibration {
    /// The same with its questions told in the dial file, which then has an identity of its own: for a file that is written all the same.
    pub fn questioned(self) -> Self {
        if self.questions.is_empty() {
            return self;
        }
        let dial = self.dial.with_questions(self.questions.iter().map(|q| q.text.clone()).collect());
        Self { dial, ..self }
    }
    /// The same with what is declared of the gauge: a dial of its own identity, and what the needle reads where flat zones change
    /// the scale.
    ///
    /// # Errors
    /// As [`Dial::declare`].
    pub fn declare(self, declared: Declared) -> Result<Self, DeclareError> {
        if declared.is_empty() {
            return Ok(self);
        }
        let dial = self.dial.declare(declared)?;
        let needle_reads = self.needle_reads.map(|_| Scale::new(&dial).value(angle_in_reference(&dial)));
        Ok(Self { dial, needle_reads, ..self })
    }
}
