//! Decisions on metrics made up by hand.
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
        understated: 1.0,
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
    let looked = |seen: f64, score: f64, step: f64, outline: f64, length_px: f64, lit: bool| {
        let m = read(outline, 0.05);
        let line = Step::Taken(LineMetrics { score, runner_up: 0.1, runner_up_seen: None, angle_deg: -86.0, lit });
        let Step::Taken(needle) = &m.needle else { return Decision::Open };
        let needle = Step::Taken(NeedleMetrics { seen, step, length_px, halves: [0.44, 0.24], ..needle.clone() });
        decide(&Metrics { line, needle, ..m }, &Criteria::default())
    };
    let with = |seen: f64, score: f64, step: f64, outline: f64| looked(seen, score, step, outline, 90.0, false);
    assert_eq!(with(0.34, 0.57, 0.77, 0.05), Decision::Reading(vec![Flag::NeedleHidden]));
    // of brightness, or of which 20 px are left
    for (length_px, lit) in [(90.0, true), (60.0, false)] {
        assert!(matches!(looked(0.34, 0.57, 0.77, 0.05, length_px, lit), Decision::Refused { refusal: Refusal::NeedleNotFound, .. }));
    }
    // less of it, a faint line, a faint step, another outline
    for (seen, score, step, outline) in
        [(0.28, 0.57, 0.77, 0.05), (0.34, 0.3, 0.77, 0.05), (0.34, 0.57, 0.3, 0.05), (0.34, 0.57, 0.77, 4.0)]
    {
        let decision = with(seen, score, step, outline);
        assert!(matches!(decision, Decision::Refused { refusal: Refusal::NeedleNotFound, .. }), "{seen} {score} {step} {outline}");
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

/// What the print must agree to: by few matches and by many, and less of it where numerals prove the dial.
#[test]
fn numerals_that_prove_the_dial_lower_what_the_print_must_agree_to() {
    let glyph = |likeness: f64| crate::register::Seen { missing: 0.0, extra: 0.0, likeness };
    let at = |print_match: f64, matches: usize, likeness: f64| {
        let m = read(0.0, 0.1);
        let Step::Taken(place) = &m.last else { return false };
        let place = PlaceMetrics { print_match, matches, ..place.clone() };
        let glyphs = Step::Taken(vec![glyph(likeness); 5]);
        let m = Metrics { first: Step::Taken(place.clone()), last: Step::Taken(place), glyphs, ..m };
        matches!(decide(&m, &Criteria::default()), Decision::Reading(_))
    };
    for (least, matches, likeness) in [(0.55, 14, 0.5), (0.48, 15, 0.5), (0.47, 14, 0.9), (0.3, 15, 0.9)] {
        assert!(at(least + 0.001, matches, likeness) && !at(least - 0.001, matches, likeness), "{least} {matches} {likeness}");
    }
    // no needle at a place that numerals alone could have proved: the dial is in doubt, not the needle
    let m = read(0.0, 0.1);
    let Step::Taken(place) = &m.first else { return };
    let faint =
        |print_match: f64| Metrics { first: Step::Taken(PlaceMetrics { print_match, ..place.clone() }), line: Step::Nothing, ..m.clone() };
    assert_eq!(
        [reason(&faint(0.35)), reason(&faint(0.6))].map(|r| r.map(|r| r.0)),
        [Some(Refusal::DialNotFound), Some(Refusal::NeedleNotFound)]
    );
}

/// A needle with another pivot is another dial's, unless the numerals say that it is the dial.
#[test]
fn a_needle_about_another_pivot_is_refused_where_no_numerals_prove_the_dial() {
    let at = |sigmas: f64, own: usize| {
        let m = read(0.0, 0.1);
        let Step::Taken(needle) = &m.needle else { return None };
        let needle = NeedleMetrics { offset: 0.02 + 0.014 * sigmas, expected_offset: (0.02, 0.014), ..needle.clone() };
        let glyphs = Step::Taken(vec![crate::register::Seen { missing: 0.0, extra: 0.0, likeness: 0.9 }; own]);
        reason(&Metrics { needle: Step::Taken(needle), glyphs, ..m }).map(|r| r.0)
    };
    assert_eq!(
        [at(5.4, 3), at(5.6, 3), at(-5.6, 0), at(f64::NAN, 0)],
        [None, Some(Refusal::DialDoubtful), Some(Refusal::DialDoubtful), Some(Refusal::NeedleDoubtful)]
    );
    assert_eq!([at(5.6, 4), at(6.9, 4)], [None, None]);
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

/// A face that no camera sees so: the number stands, with a remark.
#[test]
fn a_distorted_face_is_remarked() {
    let m = read(0.0, 0.1);
    let Step::Taken(s) = &m.scale else { unreachable!("taken above") };
    let m = Metrics { scale: Step::Taken(ScaleMetrics { understated: 3.0, ..s.clone() }), ..m };
    assert_eq!(decide(&m, &Criteria::default()), Decision::Reading(vec![Flag::FaceDistorted]));
}
