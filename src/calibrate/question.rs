//! Entries that cannot be right, or hardly: what is asked before a dial file is written.
//!
//! Each check names what it saw and what would fit. None of them knows the dial; all rest on what the ticks, the other entries and the
//! photo say. What is asked is said in the dial file where the file is written all the same.
mod places;
mod print;
mod values;
use super::adjust::Found;
use super::asked::Question;
use super::clicked::Clicked;
use super::labels::Labels;
use super::marks::to_count;
use super::request::Request;
use crate::dial::Mark;
use crate::photo::{Photo, Plane};
pub(super) use places::{fits_exchanged, pivot_elsewhere};

/// What there is to ask of marks that were given by place. `marks` by rising value, `labels` for the same.
pub(super) fn of_marks(
    (photo, luma): (&Photo, &Plane),
    request: &Request,
    found: &Found,
    marks: &[Clicked],
    labels: &Labels,
) -> Vec<Question> {
    let known: Vec<f64> = marks.iter().map(|m| m.0).collect();
    let mut out = values::questions(&known, &labels.angle, &steps(found, marks, labels), request.unit);
    out.extend(places::questions((photo, luma), request, found, (marks, labels)));
    out
}

/// What there is to ask of values at known needle angles.
pub(super) fn of_angles(marks: &[Mark], request: &Request) -> Vec<Question> {
    let (known, turned): (Vec<f64>, Vec<f64>) = marks.iter().map(|m| (m.value, m.angle)).unzip();
    let mut out = values::questions(&known, &turned, &vec![None; known.len().saturating_sub(1)], request.unit);
    out.extend(places::narrow(&turned, true));
    out
}

/// Steps between neighbouring labels as the ticks between them count them.
fn steps(found: &Found, marks: &[Clicked], labels: &Labels) -> Vec<Option<usize>> {
    let (pairs, strokes, guard) = to_count(found, marks, labels);
    super::counted::steps(&pairs, &strokes, guard)
}
