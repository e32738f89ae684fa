//! Calibration from several photos, and the needle's height learned from photos: on drawn dials whose truth is known.
mod uncovered;
use crate::support::case::{Clicks, FEW, Known, NIGHT, mark_errors, reading};
use crate::support::draw::Picture;
use crate::support::light::Light;
use crate::support::looks;
use crate::support::plan::Plan;
use crate::support::view::View;
use needleband::calibrate::{Calibration, KnownPhoto, Request, StandError, calibrate_known, calibrate_several, learn_stand};
use needleband::dial::{Dial, MarkKind, Stand};
use needleband::maths::source::{Cause, Source};
use needleband::photo::Photo;
use needleband::reading::{Outcome, Reader};
use std::collections::BTreeSet;

/// Views from several sides, the needle spread over the scale.
fn others(known: &Known, n: usize) -> Vec<(String, Photo)> {
    let (low, high) = (known.drawn.plan.labels[0], *known.drawn.plan.labels.last().unwrap());
    (0..n)
        .map(|i| {
            let share = 0.08 + 0.84 * (i as f64 * 0.618).fract();
            let view = View::straight(640, 480, 160.0).tilted(12.0 + 6.0 * (i % 4) as f64, 100.0 * i as f64).rolled(3.0 * i as f64 - 6.0);
            let light = Light { noise: 2.0, seed: 300 + i as u64, ..Light::default() };
            (format!("view {i}"), known.drawn.at(low + share * (high - low), &view, &light).photo)
        })
        .collect()
}

fn with_others(known: &Known, n: usize) -> Calibration {
    let request = Clicks { noise: 1.0, pivot: true, seed: 5 }.request(&known.drawn.plan, &known.reference);
    calibrate_several(&known.reference.photo, &others(known, n), &request).unwrap()
}

fn known(plan: Plan, value: f64) -> Known {
    Known::new(plan, value, &View::straight(640, 480, 165.0).tilted(6.0, 40.0).at(9.3, -6.6))
}

/// The learned height holds the drawn one: within three sigma, with a sigma a third of what is assumed otherwise.
fn holds_height(stand: Stand, plan: &Plan) {
    let off = stand.height - plan.needle.height;
    assert!(off.abs() < 3.0 * stand.height_sigma, "{}: {stand:?} for {}", plan.name, plan.needle.height);
    assert!(stand.height_sigma < Stand::default().height_sigma / 3.0, "{}: {stand:?}", plan.name);
    assert!(stand.axis.abs() < 3.0 * stand.axis_sigma, "{}: {stand:?}", plan.name);
}

/// Sigma of the marks from the dial's plane, degrees, on average.
fn plane_sigma(dial: &Dial) -> f64 {
    let of = |m: &needleband::dial::Mark| m.terms.iter().filter(|t| matches!(t.0, Cause::Plane(_))).map(|t| t.1 * t.1).sum::<f64>().sqrt();
    dial.marks.iter().map(of).sum::<f64>() / dial.marks.len() as f64
}

/// Needles at 0.05 and 0.2 radii above the face: what is learned tells them apart, though 0.12 is assumed of both to begin with.
#[test]
fn further_photos_tell_the_needles_height() {
    for height in [0.05, 0.2] {
        let mut plan = looks::few();
        plan.needle.height = height;
        let known = known(plan, 128.0);
        let done = with_others(&known, 6);
        assert_eq!(done.warnings.iter().filter(|w| w.to_string().contains("not used")).count(), 0, "{:?}", done.warnings);
        holds_height(done.dial.needle.stand, &known.drawn.plan);
        let learned = learn_stand(&known.calibration.dial, &others(&known, 6)).unwrap();
        assert!(learned.1.is_empty(), "{:?}", learned.1);
        holds_height(learned.0, &known.drawn.plan);
    }
}

/// A dial of three numbers and two ticks hangs on its pivot: the needle's lines make the plane more certain, and what comes out is
/// within what is promised.
#[test]
fn needle_lines_make_a_dial_of_few_ticks_more_certain() {
    let known = known(looks::few(), 128.0);
    let (one, several) = (&known.calibration.dial, with_others(&known, 6).dial);
    let (before, after) = (plane_sigma(one), plane_sigma(&several));
    // 0.8 before what ticks lie off the plane beyond their noise was counted, and 0.9 before the principal point's doubt was: those are in
    // both, and the needle's lines do not lessen them
    assert!(after < 0.93 * before, "{after} after, {before} before");
    let sigma = |m: &needleband::dial::Mark| m.terms.values().map(|t| t * t).sum::<f64>().sqrt();
    for (e, m) in mark_errors(&known.drawn.plan, &several).iter().zip(&several.marks) {
        assert!(e.abs() < 3.0 * sigma(m), "{}: {e} ± {}", m.value, sigma(m));
    }
    let reader = Reader::new(several);
    for (i, value) in [112.0, 131.0, 158.0].into_iter().enumerate() {
        let light = Light { noise: 2.0, seed: 900 + i as u64, ..Light::default() };
        let photo = known.drawn.at(value, &View::straight(600, 460, 150.0).tilted(25.0, 120.0 * i as f64), &light).photo;
        let r = reading(reader.read(&photo).outcome, "few");
        let off = r.temperature.value() - value;
        assert!(off.abs() < 3.0 * r.temperature.sigma(), "{value}: {off} ± {}", r.temperature.sigma());
    }
}

/// The reference needle stands on an unnumbered tick: it is missing from one photo's calibration and there with further ones.
#[test]
fn a_tick_under_the_reference_needle_is_seen_in_the_others() {
    let known = known(looks::night(), 65.0);
    let values = |d: &Dial| d.marks.iter().map(|m| (10.0 * m.value).round() as i64).collect::<BTreeSet<_>>();
    let (one, several) = (values(&known.calibration.dial), values(&with_others(&known, 4).dial));
    assert!(!one.contains(&650), "the tick under the needle was found: the case shows nothing; {one:?}");
    assert!(several.contains(&650), "{several:?}");
    assert!(several.is_superset(&one), "{several:?} for {one:?}");
}

/// Photos that show something else are left out by name, and the calibration is that of one photo, bit for bit.
#[test]
fn photos_of_something_else_are_left_out() {
    let known = known(looks::night(), 72.0);
    let other: Picture = Known::new(looks::few(), 128.0, &View::straight(640, 480, 165.0).tilted(6.0, 40.0)).reference;
    let request = Clicks { noise: 1.0, pivot: true, seed: 5 }.request(&known.drawn.plan, &known.reference);
    let done = calibrate_several(&known.reference.photo, &[("elsewhere.jpg".into(), other.photo)], &request).unwrap();
    assert!(done.warnings.iter().any(|w| w.to_string().starts_with("elsewhere.jpg is not used: ")), "{:?}", done.warnings);
    assert_eq!(done.dial.id, known.calibration.dial.id);
}

/// From one side alone the height cannot be told; nothing is made up.
#[test]
fn photos_from_one_side_teach_no_height() {
    let known = known(looks::night(), 72.0);
    let photo = |value: f64| known.drawn.at(value, &View::straight(640, 480, 160.0).tilted(0.4, 10.0), &Light::default()).photo;
    let same: Vec<(String, Photo)> = [60.0, 90.0, 130.0].map(|v| (v.to_string(), photo(v))).into();
    assert_eq!(learn_stand(&known.calibration.dial, &same), Err(StandError::SameSide(3)));
    assert_eq!(learn_stand(&known.calibration.dial, &same[..2]), Err(StandError::TooFew { found: 2, given: 2 }));
}

/// Photos at temperatures given by another thermometer, with what that thermometer was off.
fn by_thermometer(known: &Known, at: &[f64], off: &[f64], limit: f64) -> Vec<KnownPhoto> {
    let photo = |i: usize| {
        let view = View::straight(640, 480, 158.0).tilted(8.0, 130.0 * i as f64).rolled(2.0 * i as f64);
        known.drawn.at(at[i], &view, &Light { noise: 2.0, seed: 500 + i as u64, ..Light::default() }).photo
    };
    (0..at.len()).map(|i| KnownPhoto { name: format!("at {}", at[i]), photo: photo(i), value: at[i] + off[i], limit }).collect()
}

fn without_marks(known: &Known) -> Request {
    let r = Clicks { noise: 1.0, pivot: true, seed: 5 }.request(&known.drawn.plan, &known.reference);
    Request { rim: r.marks.first().map(|m| m.1), marks: Vec::new(), ..r }
}

/// No numeral is used: the scale comes from four photos, and readings between them hold the truth. `night` is even, so what is left is
/// the thermometer, off by 0.3 to 0.5 with a limit of 0.6 °C.
#[test]
fn a_scale_from_another_thermometer() {
    let known = known(looks::night(), 84.0);
    let photos = by_thermometer(&known, &[50.0, 80.0, 115.0, 150.0], &[0.4, -0.3, 0.5, -0.4], 0.6);
    let done = calibrate_known(&known.reference.photo, &photos, &[], &without_marks(&known)).unwrap();
    assert_eq!(done.dial.marks.len(), 4);
    assert!(done.dial.marks.iter().all(|m| m.kind == MarkKind::Known));
    assert!((done.needle_reads.unwrap() - 84.0).abs() < 1.0, "{:?}", done.needle_reads);
    let reader = Reader::new(done.dial);
    for (i, value) in [60.0, 97.0, 131.0, 115.0].into_iter().enumerate() {
        let light = Light { noise: 2.0, seed: 700 + i as u64, ..Light::default() };
        let photo = known.drawn.at(value, &View::straight(600, 460, 150.0).tilted(12.0, 100.0 * i as f64), &light).photo;
        let r = reading(reader.read(&photo).outcome, "night by thermometer");
        let (off, sigma) = (r.temperature.value() - value, r.temperature.sigma());
        assert!(off.abs() < 2.0 * sigma && sigma < 1.2, "{value}: {off} ± {sigma}");
        // JCGM 100:2008, 4.3.7: a limit of 0.6 is a standard uncertainty of 0.6/√3, and more photos do not average one thermometer out:
        // halfway between two of four marks along the quarter circle cos 15° is left
        let thermometer = r.temperature.measured().variance_of(|s| matches!(s, Source::Dial(_, Cause::Thermometer(_)))).sqrt();
        assert!((0.95..1.001).contains(&(thermometer / (0.6 / 3f64.sqrt()))), "{value}: {thermometer}");
    }
    let light = Light { noise: 2.0, seed: 710, ..Light::default() };
    let below = known.drawn.at(44.0, &View::straight(600, 460, 150.0), &light).photo;
    assert_eq!(reader.read(&below).outcome, Outcome::BelowScale, "nothing is read outside the known temperatures");
}

/// Two temperatures that lie nearer than the thermometer's limit: what is read there is no better than the thermometer.
#[test]
fn near_temperatures_do_not_hide_the_thermometer() {
    let known = known(looks::night(), 84.0);
    let photos = by_thermometer(&known, &[60.0, 112.0, 113.0], &[0.0; 3], 2.0);
    let done = calibrate_known(&known.reference.photo, &photos, &[], &without_marks(&known)).unwrap();
    let photo = known.drawn.at(112.1, &View::straight(600, 460, 150.0), &Light { noise: 2.0, seed: 720, ..Light::default() }).photo;
    let r = reading(Reader::new(done.dial).read(&photo).outcome, "near temperatures");
    let thermometer = r.temperature.measured().variance_of(|s| matches!(s, Source::Dial(_, Cause::Thermometer(_)))).sqrt();
    assert!(thermometer > 0.95 * 2.0 / 3f64.sqrt(), "{thermometer}");
}

/// One thermometer, 1.9 too high in every photo with a limit of 2: the band holds the truth.
#[test]
fn a_thermometer_that_is_off_by_the_same_everywhere_is_in_the_band() {
    let known = known(looks::night(), 84.0);
    let photos = by_thermometer(&known, &[50.0, 80.0, 115.0, 150.0], &[1.9; 4], 2.0);
    let reader = Reader::new(calibrate_known(&known.reference.photo, &photos, &[], &without_marks(&known)).unwrap().dial);
    for (i, value) in [65.0, 97.0, 132.0].into_iter().enumerate() {
        let light = Light { noise: 2.0, seed: 730 + i as u64, ..Light::default() };
        let photo = known.drawn.at(value, &View::straight(600, 460, 150.0).tilted(9.0, 70.0 * i as f64), &light).photo;
        let r = reading(reader.read(&photo).outcome, "one thermometer");
        assert!(r.temperature.band().0 < value && value < r.temperature.band().1, "{value}: {:?}", r.temperature.band());
    }
}

/// Two temperatures of a bent scale: what is between them is not known to be even, and the band says so.
#[test]
fn two_temperatures_carry_the_doubt_of_the_shape() {
    let mut plan = looks::night();
    plan.bend = 0.18;
    let known = known(plan, 84.0);
    let photos = by_thermometer(&known, &[80.0, 118.0], &[0.1, -0.1], 0.3);
    let reader = Reader::new(calibrate_known(&known.reference.photo, &photos, &[], &without_marks(&known)).unwrap().dial);
    for (i, value) in [88.0, 97.0, 108.0].into_iter().enumerate() {
        let light = Light { noise: 2.0, seed: 740 + i as u64, ..Light::default() };
        let photo = known.drawn.at(value, &View::straight(600, 460, 150.0).tilted(9.0, 70.0 * i as f64), &light).photo;
        let r = reading(reader.read(&photo).outcome, "two temperatures");
        assert!(r.temperature.band().0 < value && value < r.temperature.band().1, "{value}: {:?}", r.temperature.band());
        let alone = r.temperature.measured().variance_of(|s| !matches!(s, Source::Dial(_, Cause::Shape | Cause::ShapeOf(_)))).sqrt();
        assert!(r.temperature.sigma() > 2.0 * alone, "{value}: {} with and {alone} without the doubt", r.temperature.sigma());
    }
}

#[test]
fn what_makes_no_scale_is_refused_with_a_reason() {
    let known = &*NIGHT;
    let refused = |photos: &[KnownPhoto]| {
        calibrate_known(&known.reference.photo, photos, &[], &without_marks(known)).map(|c| c.dial.id).unwrap_err().to_string()
    };
    let photos = by_thermometer(known, &[50.0, 80.0, 115.0, 140.0], &[0.0; 4], 0.6);
    assert!(refused(&photos[..1]).contains("at least two"));
    assert!(refused(&by_thermometer(known, &[50.0, 50.0], &[0.0; 2], 1.0)).contains("said to be at 50"));
    let far = by_thermometer(known, &[50.0, 140.0], &[0.0; 2], 0.6);
    assert!(refused(&far).contains("which way round"));
    let mut swapped = photos.clone();
    (swapped[1].value, swapped[2].value) = (115.0, 80.0);
    assert!(refused(&swapped).contains("does not move on as over the rest"));
    let other = FEW.reference.photo.clone();
    let mut strange = photos;
    strange[1].photo = other;
    assert!(refused(&strange).contains("does not show where its needle stands"));
}
