//! What may be wrong with a dial file: code and sentence with advice.
use super::repeats::Repeats;
use super::resolution::Stretch;
use crate::dial::{Click, Dial, MarkKind};
use crate::maths::source::Cause;
use crate::scale::{BetweenMarks, Scale};

/// What may be wrong.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum Worry {
    /// What was asked about the entries when the file was written all the same: its place among the dial's questions.
    Questioned(usize),
    /// So few marks that the scale between them is not known well: how many, and how well.
    FewMarks(usize, BetweenMarks),
    /// From one value to another the needle moves little: dial unit per degree there.
    Flat(f64, f64, f64),
    /// From one value to another the needle was declared to stand still.
    FlatZone(f64, f64),
    /// Tilt of the reference, degrees.
    Tilted(f64),
    /// Blur of the printed edges, one sigma, share of the radius.
    Blurred(f64),
    /// Radius of the marks' circle in the reference, px.
    Small(f64),
    /// A click far from its tick: value and px.
    FarClick(f64, f64),
    /// A click with no tick.
    NoTick(f64),
    /// The ticks do not point at the pivot.
    Askew,
    /// Repeated readings lie further apart than they explain.
    Wander,
}

/// Unit per degree over the usual, from which a stretch is called flat.
const FLAT: f64 = 2.5;
/// Degrees of tilt from which the far side of the face is clearly worse than the near one (cos 20° = 0.94).
const TILTED: f64 = 20.0;
/// Blur, share of the radius: a fifth of a usual needle's width.
const BLURRED: f64 = 0.008;
/// Radius in px below which a pixel is worth more than half a degree.
const SMALL: f64 = 115.0;

impl Worry {
    /// Code for scripts.
    pub fn code(&self) -> &'static str {
        match self {
            Worry::Questioned(_) => "entries_questioned",
            Worry::FewMarks(..) => "few_marks",
            Worry::Flat(..) => "flat_stretch",
            Worry::FlatZone(..) => "flat_zone",
            Worry::Tilted(_) => "reference_tilted",
            Worry::Blurred(_) => "reference_blurred",
            Worry::Small(_) => "reference_small",
            Worry::FarClick(..) => "far_click",
            Worry::NoTick(_) => "click_without_tick",
            Worry::Askew => "ticks_askew",
            Worry::Wander => "readings_wander",
        }
    }
}

/// All there is to worry about.
pub(super) fn worries(dial: &Dial, stretches: &[Stretch], usual: f64, blur: Option<f64>, repeats: Option<&Repeats>) -> Vec<Worry> {
    let mut out: Vec<Worry> = (0..dial.questions.len()).map(Worry::Questioned).collect();
    let (low, high) = dial.span();
    let open = Scale::new(dial).between_marks().filter(|b| dial.has_few_marks() || b.matters(high - low));
    out.extend(open.map(|b| Worry::FewMarks(dial.marks.len(), b)));
    out.extend(stretches.iter().filter(|s| s.per_degree > FLAT * usual).map(|s| Worry::Flat(s.from, s.to, s.per_degree)));
    out.extend(dial.declared.flats.iter().map(|(low, high)| Worry::FlatZone(*low, *high)));
    if dial.face.tilt > TILTED {
        out.push(Worry::Tilted(dial.face.tilt));
    }
    out.extend(blur.map(|b| b / dial.face.scale).filter(|b| *b > BLURRED).map(Worry::Blurred));
    if dial.face.scale < SMALL {
        out.push(Worry::Small(dial.face.scale));
    }
    for m in dial.marks.iter().filter(|m| m.kind == MarkKind::Labelled) {
        match m.click.as_ref().map(|c| c.residual) {
            Some(Some(r)) if r.abs() > Click::FAR => out.push(Worry::FarClick(m.value, r.abs())),
            Some(None) => out.push(Worry::NoTick(m.value)),
            _ => {}
        }
    }
    if dial.marks.iter().any(|m| m.terms.contains_key(&Cause::Askew)) {
        out.push(Worry::Askew);
    }
    if repeats.is_some_and(Repeats::wander) {
        out.push(Worry::Wander);
    }
    out
}
