//! What may be answered: every decision of trust, made from what was measured and the criteria alone.
use super::criteria::Criteria;
use super::doubts::{No, empty, needle, place};
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
        (Flag::NeedleOffPivot, (n.offset - n.expected_offset.0).abs() > c.off_pivot * n.expected_offset.1),
        (Flag::AtScaleEnd, inside < c.at_end * s.read_sigma),
        (Flag::OverReferenceNeedle, over),
        (Flag::FewMarks, m.file.marks <= c.few_marks),
        (Flag::WideLens, lens::may_bend(p, &m.photo, c)),
        (Flag::FlatZone, s.flat),
    ]
    .into_iter()
    .filter_map(|(f, on)| on.then_some(f))
    .collect()
}

#[cfg(test)]
mod tests {
    use super::super::metrics::{FileMetrics, PhotoMetrics};
    use super::*;

    /// Metrics of a photo that is read, with this outline distance of its line and this uncertainty (degrees).
    fn read(outline: f64, sigma_deg: f64) -> Metrics {
        let place = PlaceMetrics {
            print_match: 0.9,
            seen: 0.95,
            contradicted: 0.01,
            matches: 40,
            radius_px: 200.0,
            tilt_deg: 5.0,
            blur_px: 1.0,
            noise: 2.0,
            gain: 1.0,
            from_middle: 0.1,
            radius: 0.2,
        };
        let needle = NeedleMetrics {
            angle_deg: -89.7,
            sigma_deg,
            turned_deg: 3.7,
            off_line: 0.02,
            from_reference_deg: 40.0,
            step: 0.68,
            noise: 0.07,
            length_px: 90.0,
            seen: 0.83,
            halves: [0.92, 0.77],
            wider: 0.02,
            taper: 0.003,
            outline,
            offset: -0.02,
            expected_offset: (0.0, 0.019),
        };
        let scale = ScaleMetrics {
            value: 60.0,
            sigma: 0.1,
            read_sigma: 0.1,
            band: (59.804, 60.196),
            flat: false,
            per_degree: 0.5,
            beyond_deg: (-40.0, -120.0),
        };
        Metrics {
            photo: PhotoMetrics { width: 800, height: 600, levels: 200, focal_ratio: None },
            file: FileMetrics { marks: 8, uncovered: 0.0, mirrored: false },
            first: Step::Taken(place.clone()),
            line: Step::Taken(LineMetrics { score: 0.5, runner_up: 0.1, runner_up_seen: None, angle_deg: -86.0, lit: false }),
            last: Step::Taken(place),
            needle: Step::Taken(needle),
            glyphs: Step::Taken(Vec::new()),
            scale: Step::Taken(scale),
        }
    }

    fn reason(m: &Metrics) -> Option<(Refusal, Stage)> {
        match decide(m, &Criteria::default()) {
            Decision::Refused { refusal, at, .. } => Some((refusal, at)),
            _ => None,
        }
    }

    #[test]
    fn the_edge_of_a_reflection_has_not_the_needles_outline() {
        // the most unlike of the needles that were read right; the edge of a reflection
        assert_eq!(decide(&read(3.0, 0.19), &Criteria::default()), Decision::Reading(Vec::new()));
        assert_eq!(reason(&read(18.0, 0.44)), Some((Refusal::NeedleDoubtful, Stage::Last)));
        assert_eq!(reason(&read(0.0, 1.6)), Some((Refusal::NeedleDoubtful, Stage::Last)));
    }

    /// The edge of a glow votes as a needle does that the glow has left a tenth of its contrast; fitted, it shows along little of its length.
    #[test]
    fn a_needle_beside_lines_that_are_none_is_not_ambiguous() {
        let with = |runner_up_seen: Option<f64>, outline: f64, seen: f64| {
            let m = read(outline, 0.1);
            let line = Step::Taken(LineMetrics { score: 0.12, runner_up: 0.09, runner_up_seen, angle_deg: -1.0, lit: false });
            let Step::Taken(needle) = &m.needle else { return None };
            let needle = Step::Taken(NeedleMetrics { seen, ..needle.clone() });
            reason(&Metrics { line, needle, ..m })
        };
        let ambiguous = Some((Refusal::NeedleAmbiguous, Stage::Last));
        assert_eq!(with(Some(0.55), 0.02, 0.92), None);
        // the other shows as well; nobody looked; neither outline nor length is the needle's beyond doubt
        assert_eq!([with(Some(0.7), 0.02, 0.92), with(None, 0.02, 0.92)], [ambiguous, ambiguous]);
        assert_eq!([with(Some(0.55), 4.0, 0.92), with(Some(0.55), 0.02, 0.7)], [ambiguous, ambiguous]);
    }

    /// A mirrored window takes two thirds of a needle; what is left shows its contrast and its outline.
    #[test]
    fn a_needle_half_in_a_mirrored_window_is_read_where_the_rest_is_plain() {
        let with = |seen: f64, score: f64, step: f64, outline: f64| {
            let m = read(outline, 0.05);
            let line = Step::Taken(LineMetrics { score, runner_up: 0.1, runner_up_seen: None, angle_deg: -86.0, lit: false });
            let Step::Taken(needle) = &m.needle else { return Decision::Open };
            let needle = Step::Taken(NeedleMetrics { seen, step, halves: [0.44, 0.24], ..needle.clone() });
            decide(&Metrics { line, needle, ..m }, &Criteria::default())
        };
        assert_eq!(with(0.34, 0.57, 0.77, 0.05), Decision::Reading(vec![Flag::NeedleHidden]));
        // less of it, a faint line, a faint step, another outline
        for (seen, score, step, outline) in
            [(0.28, 0.57, 0.77, 0.05), (0.34, 0.3, 0.77, 0.05), (0.34, 0.57, 0.3, 0.05), (0.34, 0.57, 0.77, 4.0)]
        {
            let Decision::Refused { refusal, .. } = with(seen, score, step, outline) else { panic!("{seen} {score} {step} {outline}") };
            assert_eq!(refusal, Refusal::NeedleNotFound);
        }
    }

    /// A line of a few pixels leans by degrees for a pixel's share of noise.
    #[test]
    fn a_needle_of_few_pixels_is_not_trusted() {
        let with = |length_px: f64| {
            let m = read(0.0, 0.1);
            let Step::Taken(needle) = &m.needle else { return None };
            let needle = Step::Taken(NeedleMetrics { length_px, ..needle.clone() });
            reason(&Metrics { needle, ..m })
        };
        assert_eq!(with(20.0), Some((Refusal::NeedleDoubtful, Stage::Last)));
        assert_eq!(with(30.0), None);
    }

    /// Every number that trust rests on, one after another no number: a cell of equal levels had made the print's agreement so, and it was trusted.
    #[test]
    fn what_is_not_a_number_is_never_trusted() {
        let all = read(0.0, 0.1);
        let (Step::Taken(place), Step::Taken(line), Step::Taken(needle)) = (&all.last, &all.line, &all.needle) else { unreachable!() };
        let (place, line, needle) = (place.clone(), line.clone(), needle.clone());
        let nan = f64::NAN;
        let places = [PlaceMetrics { print_match: nan, ..place.clone() }, PlaceMetrics { contradicted: nan, ..place }];
        let firsts = places.iter().map(|p| Metrics { first: Step::Taken(p.clone()), ..all.clone() });
        let lasts = places.iter().map(|p| Metrics { last: Step::Taken(p.clone()), ..all.clone() });
        let lines = [LineMetrics { score: nan, ..line.clone() }, LineMetrics { runner_up: nan, ..line }];
        let lines = lines.into_iter().map(|l| Metrics { line: Step::Taken(l), ..all.clone() });
        let of = |change: fn(&mut NeedleMetrics)| {
            let mut changed = needle.clone();
            change(&mut changed);
            Metrics { needle: Step::Taken(changed), ..all.clone() }
        };
        let needles = [
            of(|n| n.step = f64::NAN),
            of(|n| n.seen = f64::NAN),
            of(|n| n.length_px = f64::NAN),
            of(|n| n.outline = f64::NAN),
            of(|n| n.sigma_deg = f64::NAN),
            of(|n| n.off_line = f64::NAN),
            of(|n| n.offset = f64::NAN),
        ];
        let each: Vec<Metrics> = firsts.chain(lasts).chain(lines).chain(needles).collect();
        assert_eq!(each.len(), 13);
        for m in each {
            assert!(reason(&m).is_some(), "{m:?}");
        }
        assert_eq!(reason(&all), None);
    }

    #[test]
    fn a_read_that_stopped_is_open_and_one_that_found_nothing_refused() {
        let all = read(0.0, 0.1);
        let c = Criteria::default();
        assert_eq!(decide(&Metrics { needle: Step::NotTaken, ..all.clone() }, &c), Decision::Open);
        assert_eq!(reason(&Metrics { first: Step::Nothing, ..all.clone() }), Some((Refusal::DialNotFound, Stage::Photo)));
        assert_eq!(reason(&Metrics { needle: Step::Nothing, ..all.clone() }), Some((Refusal::NeedleNotFound, Stage::Last)));
        // a later stage never mends an earlier one
        let small = PhotoMetrics { width: 60, ..all.photo.clone() };
        assert_eq!(reason(&Metrics { photo: small, ..all }), Some((Refusal::NoDetail, Stage::Photo)));
    }

    #[test]
    fn the_ends_of_the_scale_have_the_width_of_the_band() {
        let at = |before: f64, read_sigma: f64| {
            let m = read(0.0, 0.1);
            let Step::Taken(s) = &m.scale else { return Decision::Open };
            let scale = ScaleMetrics { beyond_deg: (before, -before - 160.0), read_sigma, ..s.clone() };
            decide(&Metrics { scale: Step::Taken(scale), ..m }, &Criteria::default())
        };
        let at_end = Decision::Reading(vec![Flag::AtScaleEnd]);
        // half a unit a degree: two sigma of 0.1 are 0.4°, those of 0.02 less than the end mark's own 0.25°
        assert_eq!(
            [at(0.41, 0.1), at(0.39, 0.1), at(0.26, 0.02), at(0.24, 0.02)],
            [Decision::BelowScale, at_end.clone(), Decision::BelowScale, at_end.clone()]
        );
        // 3 % of 160 degrees: a band of 6 degrees reaches there, but says nothing
        let doubtful = |d: Decision| matches!(d, Decision::Refused { refusal: Refusal::NeedleDoubtful, at: Stage::Scale, .. });
        assert_eq!(at(4.7, 1.5), at_end);
        assert!(doubtful(at(4.9, 1.5)));
        assert_eq!(at(6.1, 1.5), Decision::BelowScale);
    }
}
