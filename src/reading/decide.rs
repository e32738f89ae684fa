//! What may be answered: every decision of trust, made from what was measured and the criteria alone.
use super::criteria::Criteria;
use super::doubts::{No, empty, needle, pivot, place};
use super::lens;
use super::metrics::{LineMetrics, Metrics, NeedleMetrics, PlaceMetrics, ScaleMetrics, Step};
use super::numerals;
use crate::diagnostics::{Flag, Refusal};

/// What is made of a read.
#[derive(Clone, Debug, PartialEq)]
pub enum Decision {
    /// Nothing speaks against it so far; the read has not come to its end.
    Open,
    /// The value may be told, with these remarks.
    Reading(Vec<Flag>),
    /// The needle stands below the first mark.
    BelowScale,
    /// The needle stands above the last mark.
    AboveScale,
    /// No number.
    Refused {
        /// Why.
        refusal: Refusal,
        /// What was seen in this photo.
        text: String,
        /// The stage that says so.
        at: Stage,
    },
}

/// How far a read had come when it was refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stage {
    /// The dial is not placed.
    Photo,
    /// The dial is placed by the first look.
    First,
    /// It is placed by the last alignment.
    Last,
    /// The needle was read.
    Scale,
}

const NO_LINE: &str = "No line on the face stands out from the print.";

/// Decides. The stages are gone through in their order; the first that says no decides.
pub fn decide(m: &Metrics, c: &Criteria) -> Decision {
    through(m, c).unwrap_or_else(|end| end)
}

/// All stages; the error is the decision of one that the read ends with.
fn through(m: &Metrics, c: &Criteria) -> Result<Decision, Decision> {
    trusted(empty(&m.photo, c), Stage::Photo)?;
    let first = taken(&m.first, Stage::Photo, (Refusal::DialNotFound, "No place in the photo resembles the dial."))?;
    // whether numerals prove the dial is seen later only
    trusted(place(first, true, c), Stage::First)?;
    let line = taken(&m.line, Stage::First, (Refusal::NeedleNotFound, NO_LINE)).map_err(|no| sooner(first, no, c))?;
    let last = taken(&m.last, Stage::First, (Refusal::DialDoubtful, "Too little of the print is left for the last alignment."))?;
    trusted(place(last, true, c), Stage::Last)?;
    let fitted = taken(&m.needle, Stage::Last, (Refusal::NeedleNotFound, NO_LINE)).map_err(|no| sooner(last, no, c))?;
    let seen = taken(&m.glyphs, Stage::Last, (Refusal::DialDoubtful, "No numeral can be compared."))?;
    let proved = numerals::prove(seen, c);
    trusted(place(first, proved, c), Stage::First)?;
    trusted(place(last, proved, c), Stage::Last)?;
    trusted(numerals::amiss(seen, m.file.mirrored, c).map(|text| (Refusal::DialDoubtful, text)), Stage::Last)?;
    trusted(needle(fitted, line, c), Stage::Last)?;
    if !proved {
        trusted(pivot(fitted, c), Stage::Last)?;
    }
    let no_value = "The dial file's marks and plane give no value with a known uncertainty here.";
    let scale = taken(&m.scale, Stage::Scale, (Refusal::DialDoubtful, no_value))?;
    if !(scale.value.is_finite() && scale.sigma.is_finite()) {
        return Err(refused((Refusal::DialDoubtful, no_value.to_string()), Stage::Scale));
    }
    Ok(on_scale(scale, c).unwrap_or_else(|| Decision::Reading(flags(m, (last, line, fitted), scale, c))))
}

fn refused((refusal, text): No, at: Stage) -> Decision {
    Decision::Refused { refusal, text, at }
}

/// The end, when a stage says no.
fn trusted(no: Option<No>, at: Stage) -> Result<(), Decision> {
    no.map_or(Ok(()), |no| Err(refused(no, at)))
}

/// Where no needle was found at a place that only numerals could have proved, which are looked at beside a needle, there may be no dial.
fn sooner(place_there: &PlaceMetrics, no: Decision, c: &Criteria) -> Decision {
    match (&no, place(place_there, false, c)) {
        (Decision::Refused { at, .. }, Some(doubt)) => refused(doubt, *at),
        _ => no,
    }
}

/// What a stage measured, or the end there.
fn taken<'a, T>(step: &'a Step<T>, at: Stage, (refusal, text): (Refusal, &str)) -> Result<&'a T, Decision> {
    match step {
        Step::Taken(t) => Ok(t),
        Step::Nothing => Err(refused((refusal, text.to_string()), at)),
        Step::NotTaken => Err(Decision::Open),
    }
}

/// A needle beyond an end of the scale. The end marks themselves have width: one within the band of an end is on the scale, unless it is so far
/// off that only a wide band reaches there: that says neither.
fn on_scale(s: &ScaleMetrics, c: &Criteria) -> Option<Decision> {
    let sweep = -(s.beyond_deg.0 + s.beyond_deg.1);
    let margin = (c.off_scale * s.read_sigma / s.per_degree).max(c.off_scale_deg);
    let (off, most) = (s.beyond_deg.0.max(s.beyond_deg.1), c.off_scale_most * sweep);
    if off > most && off <= margin {
        let text = format!("It points {off:.1}° beyond the end of the scale, and where it reads is known to {margin:.1}° only.");
        return Some(refused((Refusal::NeedleDoubtful, text), Stage::Scale));
    }
    match s.beyond_deg {
        (before, _) if before > margin => Some(Decision::BelowScale),
        (_, after) if after > margin => Some(Decision::AboveScale),
        _ => None,
    }
}

/// Remarks on a reading.
fn flags(m: &Metrics, (p, line, n): (&PlaceMetrics, &LineMetrics, &NeedleMetrics), s: &ScaleMetrics, criteria: &Criteria) -> Vec<Flag> {
    let c = &criteria.remarks;
    let over = n.from_reference_deg < c.over_reference_deg && m.file.uncovered < c.uncovered;
    let inside = -s.beyond_deg.0.max(s.beyond_deg.1) * s.per_degree;
    let (inner, outer) = (n.halves[0], n.halves[1]);
    [
        (Flag::SteepView, p.tilt_deg > c.tilt_deg),
        (Flag::SmallDial, 2.0 * p.radius_px < c.dial_px),
        (Flag::Blurred, p.blur_px > c.blur_px),
        (Flag::FaceHidden, p.seen < c.face_seen),
        (Flag::NeedleHidden, n.seen < c.needle_seen),
        (Flag::NeedleStub, inner > c.half_seen && outer < c.half_hidden),
        (Flag::NeedleTip, outer > c.half_seen && inner < c.half_hidden),
        (Flag::NeedleLit, line.lit),
        (Flag::NeedleOffPivot, n.beside_pivot() > c.off_pivot * n.expected_offset.1),
        (Flag::AtScaleEnd, inside < c.at_end * s.read_sigma),
        (Flag::OverReferenceNeedle, over),
        (Flag::FewMarks, m.file.marks <= c.few_marks),
        (Flag::FaceDistorted, s.understated > 1.0),
        (Flag::WideLens, lens::may_bend(p, &m.photo, c)),
        (Flag::FlatZone, s.flat),
    ]
    .into_iter()
    .filter_map(|(f, on)| on.then_some(f))
    .collect()
}

#[cfg(test)]
mod tests;
