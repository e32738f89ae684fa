//! What is declared of a gauge, in readings and in differences: gauge accuracy, stiction, flat zones. The arithmetic is checked by
//! hand on the made dial of `handmade` (40 to 120 °C, 3 degrees of needle a °C), the whole chain on drawn dials.
use crate::handmade::{banded, dial};
use crate::support::case::{BACK, FEW, Known, reading};
use crate::support::light::Light;
use crate::support::view::View;
use needleband::compare::{Comparison, Note, Verdict, Which, compare};
use needleband::diagnostics::Flag;
use needleband::dial::{Amount, Declared, Dial};
use needleband::maths::estimate::Estimate;
use needleband::maths::measured::Measured;
use needleband::maths::source::Source;
use needleband::maths::units::Unit;
use needleband::output::{json, text};
use needleband::reading::{Outcome, Reader, Reading, Record};
use needleband::scale::{Scale, Temperature};

fn gauge(a: Amount) -> Declared {
    Declared { gauge_accuracy: Some(a), ..Declared::default() }
}

fn sticky(a: Amount) -> Declared {
    Declared { stiction: Some(a), ..Declared::default() }
}

fn flat(low: f64, high: f64) -> Declared {
    Declared { flats: vec![(low, high)], ..Declared::default() }
}

fn declared(d: Declared) -> Dial {
    dial().declare(d).unwrap()
}

/// The needle of a photo at an angle, known to `sigma` degrees.
fn needle(photo: &str, angle: f64, sigma: f64) -> Measured {
    Measured::exact(angle).with_term(format!("photo:{photo}/needle"), sigma)
}

fn at(dial: &Dial, angle: f64) -> Temperature {
    Scale::new(dial).temperature(&needle("p", angle, 0.3))
}

/// A record as the chain makes it, from an angle.
fn record(dial: &Dial, photo: &str, angle: f64) -> Record {
    let t = Scale::new(dial).temperature(&needle(photo, angle, 0.3));
    let flags = t.estimate.interval().map(|_| Flag::FlatZone).into_iter().collect();
    let reading = Reading { temperature: t.estimate, unit: dial.unit, flags };
    Record { outcome: Outcome::Reading(reading), ..crate::handmade::record(photo, 80.0, &[]) }
}

fn gauge_sigma(e: &Estimate) -> f64 {
    e.measured().variance_of(Source::is_gauge).sqrt()
}

/// JCGM 100:2008, 4.3.7: limits ± a with nothing known between them have the standard uncertainty a/√3.
#[test]
fn each_form_of_a_limit_gives_its_sigma() {
    for (form, limit) in [(Amount::PercentOfSpan(2.0), 1.6), (Amount::Degrees(3.0), 1.0), (Amount::Value(1.5), 1.5)] {
        for angle in [-110.0, 3.0, 100.0] {
            let t = at(&declared(gauge(form)), angle);
            assert!((gauge_sigma(&t.estimate) - limit / 3f64.sqrt()).abs() < 1e-9, "{form:?} at {angle}");
            let s = at(&declared(sticky(form)), angle);
            assert!((s.estimate.measured().term("stiction").unwrap() - limit / 3f64.sqrt()).abs() < 1e-9, "{form:?} at {angle}");
            // the rest of the reading is untouched, and the band holds all
            let plain = at(&dial(), angle);
            assert!((t.read - plain.estimate.sigma()).abs() < 1e-12 && t.estimate.value() == plain.estimate.value());
            assert!((t.estimate.band().1 - t.estimate.value() - 1.96 * t.estimate.sigma()).abs() < 1e-12);
            assert!((t.estimate.sigma() - plain.estimate.sigma().hypot(limit / 3f64.sqrt())).abs() < 1e-9);
        }
    }
}

/// The variance left of the gauge in a difference is 2 sigma² (1 - cos(φ₁ - φ₂)), φ = 90° times the place on the scale.
#[test]
fn the_gauge_cancels_at_one_place_and_is_independent_at_the_two_ends() {
    let dial = declared(gauge(Amount::Value(1.5)));
    let sigma = 1.5 / 3f64.sqrt();
    let left =
        |a: f64, b: f64| at(&dial, a).estimate.measured().minus(at(&dial, b).estimate.measured()).variance_of(Source::is_gauge).sqrt();
    assert_eq!(left(12.0, 12.0), 0.0);
    assert!((left(-120.0, 120.0) - sigma * 2f64.sqrt()).abs() < 1e-12, "as two gauges");
    // 240 degrees of sweep: 24 degrees of needle (8 °C) are a tenth of it, 9° of φ
    let tenth = sigma * (2.0 * (1.0 - 9f64.to_radians().cos())).sqrt();
    assert!((left(0.0, 24.0) - tenth).abs() < 1e-12 && (left(-100.0, -76.0) - tenth).abs() < 1e-12);
    // in a comparison the same, and the mean of each side keeps all of it
    let c = compare(&[record(&dial, "b", 24.0)], &[record(&dial, "a", 0.0)]).unwrap();
    assert!((gauge_sigma(&c.delta) - tenth).abs() < 1e-12 && (gauge_sigma(&c.before.mean) - sigma).abs() < 1e-12);
    let words = text::comparison(&c, &["b".into()], &["a".into()], true);
    assert!(words.contains("how right the gauge is, as declared"), "{words}");
    let plain = compare(&[record(&crate::handmade::dial(), "b", 24.0)], &[record(&crate::handmade::dial(), "a", 0.0)]).unwrap();
    assert!(
        text::comparison(&plain, &["b".into()], &["a".into()], false).contains("how well the dial was read, not how right the gauge is")
    );
}

#[test]
fn a_sticking_needle_neither_averages_out_nor_cancels() {
    let dial = declared(sticky(Amount::Value(1.5)));
    let s = 1.5 / 3f64.sqrt();
    let side = |name: &str, n: usize, angle: f64| (0..n).map(|k| record(&dial, &format!("{name}{k}"), angle)).collect::<Vec<_>>();
    for n in [1, 5] {
        let c = compare(&side("b", n, 30.0), &side("a", n, 30.0)).unwrap();
        let term = |source: &str| c.delta.measured().term(source);
        // one photo or five: the same, and sqrt(2) of it in the difference
        let both = term("before/stiction").zip(term("after/stiction"));
        assert!(both.is_some_and(|(b, a)| (b + s).abs() < 1e-12 && (a - s).abs() < 1e-12) && term("stiction").is_none());
        let both = c.delta.measured().variance_of(Source::is_stiction).sqrt();
        assert!((both - s * 2f64.sqrt()).abs() < 1e-12);
        assert!(c.delta.detectable() >= 1.9599 * both);
        let words = text::comparison(&c, &vec![String::new(); n], &vec![String::new(); n], true);
        assert!(words.contains("A needle that sticks as declared is 0.87 °C"), "{words}");
    }
    let Outcome::Reading(r) = record(&dial, "p", 30.0).outcome else { panic!("no reading") };
    assert!(text::budget(&r).lines().any(|l| l.ends_with("  stiction")), "{}", text::budget(&r));
}

/// The zone 70 to 90 °C with the mark 80 alone in it (straight up): below, the scale runs from 60 °C at -60° to 70 °C at 0°; above,
/// from 90 °C at 0° to 100 °C at 60°.
#[test]
fn a_flat_zone_cuts_the_scale_where_its_marks_say() {
    let scale = Scale::new(&declared(flat(70.0, 90.0)));
    for (angle, value) in [(-120.0, 40.0), (-60.0, 60.0), (-30.0, 65.0), (-6.0, 69.0), (6.0, 91.0), (30.0, 95.0), (90.0, 110.0)] {
        assert!((scale.value(angle) - value).abs() < 1e-9, "{angle}: {}", scale.value(angle));
    }
    assert!((scale.slope(-3.0) - 1.0 / 6.0).abs() < 1e-9 && (scale.slope(90.0) - 1.0 / 3.0).abs() < 1e-9);
    // two marks in the zone: flat between their angles
    let wide = Scale::new(&declared(flat(80.0, 100.0)));
    for (angle, value) in [(-30.0, 70.0), (0.0, 80.0), (60.0, 100.0), (90.0, 110.0)] {
        assert!((wide.value(angle) - value).abs() < 1e-9, "{angle}: {}", wide.value(angle));
    }
    let points: Vec<(f64, f64)> = scale.points().iter().map(|m| (m.value, m.angle)).collect();
    assert_eq!(points, [(40.0, -120.0), (50.0, -90.0), (60.0, -60.0), (70.0, 0.0), (90.0, 0.0), (100.0, 60.0), (120.0, 120.0)]);
}

#[test]
fn a_reading_that_touches_the_zone_is_the_whole_zone() {
    let dial = declared(flat(70.0, 90.0));
    // 0.3° of needle and 0.1° of marks: a band of some 0.6°, a tenth of a °C on the slopes of 1/6 °C a degree beside the zone
    for angle in [-0.4, 0.0, 0.4] {
        let t = at(&dial, angle);
        let (low, high) = t.estimate.interval().unwrap();
        assert!((69.8..=70.0).contains(&low) && (90.0..=90.2).contains(&high), "{t:?}");
        assert!(
            t.estimate.band().0 <= low && t.estimate.band().1 >= high && t.estimate.band().0 > 69.8 && t.estimate.band().1 < 90.2,
            "{t:?}"
        );
        assert!((t.estimate.value() - 80.0).abs() < 0.5, "a steady number, whichever side of the mark: {t:?}");
    }
    for angle in [-1.5, 1.5] {
        let t = at(&dial, angle);
        assert_eq!(t.estimate.interval(), None);
        assert!(t.estimate.band().1 < 70.0 || t.estimate.band().0 > 90.0, "{t:?}");
    }
    // what is declared beside it widens where it touches, and goes on top of the zone
    let both = declared(Declared { stiction: Some(Amount::Degrees(6.0)), ..flat(70.0, 90.0) });
    let t = at(&both, -4.0);
    assert!(
        t.estimate.interval().is_none() && t.estimate.band().0 < 69.0 && t.estimate.band().1 > 90.0,
        "the needle is 4° off: the value stands, the band reaches across: {t:?}"
    );
    let near = at(&both, -0.5);
    assert!(
        near.estimate.interval().is_some_and(|f| f.1 >= 90.0) && near.estimate.band().0 < 69.0 && near.estimate.band().1 > 90.9,
        "{near:?}"
    );
    // at an end of the scale the zone reaches out beyond it
    let end = at(&declared(flat(40.0, 55.0)), -120.0);
    assert!(end.estimate.band().0 <= 40.0 && end.estimate.band().1 >= 55.0 && end.estimate.band().0 > 39.0, "{end:?}");
}

fn both_in_zone(extra: Declared) -> Comparison {
    let dial = declared(Declared { flats: vec![(70.0, 90.0)], ..extra });
    compare(&[record(&dial, "b", -0.5), record(&dial, "c", 0.5)], &[record(&dial, "a", -0.2)]).unwrap()
}

#[test]
fn a_change_inside_a_flat_zone_is_not_shown() {
    // also with a gauge accuracy that cancels: it must not take the zone with it
    for extra in [Declared::default(), gauge(Amount::Value(30.0)), sticky(Amount::Degrees(3.0))] {
        let c = both_in_zone(extra);
        assert!(c.delta.band().0 <= -20.0 && c.delta.band().1 >= 20.0, "the change may be the whole zone either way: {:?}", c.delta.band());
        assert!(matches!(c.verdict, Verdict::NotShown { hidden } if hidden >= 20.0), "{:?}", c.verdict);
        assert!(c.verdict.sentence(Unit::C).starts_with("not shown: in a flat zone of the dial the needle stands still"));
        for w in [Which::Before, Which::After] {
            assert!(
                c.notes.iter().any(|n| matches!(n, Note::FlatZone(v, (low, high), Unit::C) if *v == w && *low <= 70.0 && *high >= 90.0))
            );
        }
        assert!(!c.notes.iter().any(|n| matches!(n, Note::Wanders(_))), "numbers in the zone say nothing of a wander");
        assert!(c.before.mean.band().0 <= 70.0 && c.before.mean.band().1 >= 90.0);
        let words = text::comparison(&c, &["b".into(), "c".into()], &["a".into()], true);
        let rows = words.lines().filter(|l| l.starts_with("before") || l.starts_with("after"));
        assert!(rows.filter(|l| !l.contains('±') && l.contains(" to ")).count() == 2, "a range, not a number that looks known: {words}");
        assert!(words.contains("Not shown:") && words.contains("Compare at a temperature outside the zone."), "{words}");
    }
}

/// A shared error far wider than the zone hides it in the band of each reading; when it cancels, the zone is still there.
#[test]
fn what_cancels_does_not_take_the_zone_with_it() {
    let one = |id: &str| {
        let mut r = crate::handmade::record(id, 80.0, &[("dial:d/gauge/0", 30.0)]);
        if let Outcome::Reading(x) = &mut r.outcome {
            x.temperature = x.temperature.clone().anywhere_in(Some((70.0, 90.0)));
        }
        r
    };
    let c = compare(&[one("b")], &[one("a")]).unwrap();
    assert_eq!((c.delta.measured().sigma(), c.delta.band()), (0.0, (-20.0, 20.0)));
    assert!(matches!(c.verdict, Verdict::NotShown { hidden } if hidden == 20.0));
}

#[test]
fn a_change_into_or_out_of_a_flat_zone_counts_all_of_it() {
    let dial = declared(flat(70.0, 90.0));
    // 100 °C before, in the zone after: a drop of 10 to 30 °C, from one photo a side, which may be scatter and is not called real
    let c = compare(&[record(&dial, "b", 60.0)], &[record(&dial, "a", 0.0)]).unwrap();
    assert!(
        matches!(c.verdict, Verdict::OnePhoto { .. }) && c.delta.band().0 <= -30.0 && c.delta.band().1 >= -10.0 && c.delta.band().1 < -9.0,
        "{:?}",
        c.delta.band()
    );
    // 91 °C before (6 degrees past the mark): the zone's upper end is 1 °C away, and the band of the reading 0.2
    let near = compare(&[record(&dial, "b", 6.0)], &[record(&dial, "a", 0.0)]).unwrap();
    assert!(near.delta.band().0 <= -21.0 && near.delta.band().1 >= -1.0, "{:?}", near.delta.band());
    // two photos of one side, one in the zone: the mean counts half the zone
    let half = compare(&[record(&dial, "b", 60.0)], &[record(&dial, "a", 60.0), record(&dial, "z", 0.0)]).unwrap();
    assert!(half.delta.band().0 <= -15.0 && half.delta.band().1 >= -5.0, "{:?}", half.delta.band());
    // two zones on one dial: from one to the other is a change
    let two = declared(Declared { flats: vec![(45.0, 55.0), (95.0, 105.0)], ..Declared::default() });
    let c = compare(&[record(&two, "b", -90.0)], &[record(&two, "a", 60.0)]).unwrap();
    assert!(
        matches!(c.verdict, Verdict::OnePhoto { .. }) && c.delta.band().0 <= 40.0 && c.delta.band().0 > 39.0 && c.delta.band().1 >= 60.0,
        "{:?}",
        c.delta.band()
    );
}

#[test]
fn a_reading_in_a_flat_zone_is_shown_as_a_range() {
    let dial = declared(flat(70.0, 90.0));
    let mut table = text::ReadTable::new(&["p.jpg".to_string()]);
    let row = table.row("p.jpg", &dial, &record(&dial, "p", 0.0));
    assert!(row.contains("69 to 91 °C") && row.contains("157 to 195 °F") && row.contains("flat zone") && !row.contains('±'), "{row}");
    let outside = table.row("q.jpg", &dial, &record(&dial, "q", 30.0));
    assert!(outside.contains("95.0") && outside.contains('±'), "{outside}");
    assert!(table.foot().contains("Read the band and not the number"));
}

#[test]
fn the_json_says_what_is_declared() {
    let dial = declared(Declared { flats: vec![(70.0, 90.0)], stiction: Some(Amount::Degrees(2.0)), ..gauge(Amount::Value(1.5)) });
    let line = json::photo_line("p.jpg", &dial, &record(&dial, "p", 0.0), true).unwrap();
    for part in ["\"declared\":[\"gauge_accuracy\",\"stiction\",\"flats\"]", "\"flat_zone\"", "\"source\":\"stiction\"", "/gauge/0\""] {
        assert!(line.contains(part), "{part} is not in {line}");
    }
}

fn view(k: f64) -> View {
    View::straight(640, 480, 150.0).tilted(6.0, 40.0 * k).rolled(11.0 * k)
}

/// The same dial and photos read with a dial file that declares more.
fn read_with(known: &Known, d: Declared, values: &[f64]) -> Vec<(Reading, f64)> {
    let dial = known.calibration.dial.clone().declare(d).unwrap();
    let reader = Reader::new(dial);
    let shot = |(k, v): (usize, &f64)| (known.drawn.at(*v, &view(k as f64), &Light::default()).photo, *v);
    values.iter().enumerate().map(shot).map(|(photo, v)| (reading(reader.read(&photo).outcome, "declared"), v)).collect()
}

/// On photos, on an anticlockwise scale and one of few marks: in the zone an interval that holds the zone, outside it the number of
/// the piece of scale that is left, and never a band that misses what may be.
#[test]
fn drawn_dials_read_an_interval_in_their_flat_zone() {
    let cases: [(&Known, [f64; 2], f64, [f64; 2]); 2] =
        [(&BACK, [40.0, 70.0], 50.0, [28.0, 100.0]), (&FEW, [200.0, 240.0], 200.0, [140.0, 300.0])];
    for (known, [low, high], inside, outside) in cases {
        let read = read_with(known, flat(low, high), &[inside, outside[0], outside[1]]);
        let (name, (r, _)) = (known.drawn.plan.name, &read[0]);
        assert!(
            r.temperature.band().0 <= low && r.temperature.band().1 >= high && r.flags.contains(&Flag::FlatZone),
            "{name}: {:?}",
            r.temperature.band()
        );
        assert!((low..=high).contains(&r.temperature.value()), "{name}");
        for (r, truth) in &read[1..] {
            assert!(r.temperature.interval().is_none() && !r.flags.contains(&Flag::FlatZone), "{name} at {truth}");
            // as in the test of the whole scale without a zone
            assert!(
                (r.temperature.value() - truth).abs() < 0.0025 * known.drawn.plan.span(),
                "{name} at {truth}: {}",
                r.temperature.value()
            );
        }
    }
}

#[test]
fn a_wide_gauge_accuracy_does_not_stretch_the_scale() {
    // 3 % of the scale beyond its last mark is beyond the scale, however wrong the gauge may be
    let known = &*BACK;
    let reader = Reader::new(known.calibration.dial.clone().declare(gauge(Amount::PercentOfSpan(10.0))).unwrap());
    let (last, span) = (known.drawn.plan.labels[0] + known.drawn.plan.span(), known.drawn.plan.span());
    let photo = known.drawn.at(last + 0.03 * span, &view(1.0), &Light::default()).photo;
    assert_eq!(reader.read(&photo).outcome, Outcome::AboveScale);
    // nor does it make a reading well inside the scale one at its end
    let photo = known.drawn.at(last - 0.05 * span, &view(1.0), &Light::default()).photo;
    let r = reading(reader.read(&photo).outcome, "near the end");
    assert!(!r.flags.contains(&Flag::AtScaleEnd) && r.temperature.band().1 - r.temperature.value() > 0.1 * span);
}

/// A zone cuts the scale into pieces; what was not known of its shape before is not known after.
#[test]
fn a_declared_zone_never_makes_a_reading_more_certain() {
    for known in [&*FEW, &*BACK] {
        let dial = &known.calibration.dial;
        let points: Vec<f64> = dial.marks.iter().map(|m| m.value).collect();
        let k = points.len() / 2;
        let zone = flat(points[k] - 1.0, points[k] + 1.0);
        let (plain, cut) = (Scale::new(dial), Scale::new(&dial.clone().declare(zone).unwrap()));
        for i in 1..40 {
            let (a, b) = (dial.marks[0].angle, dial.marks[points.len() - 1].angle);
            let n = needle("p", a + (b - a) * f64::from(i) / 40.0, 0.02);
            let (before, after) = (plain.temperature(&n), cut.temperature(&n));
            let width = |t: &Temperature| t.estimate.band().1 - t.estimate.band().0;
            // line and cubic weigh the sigmas of single marks a little differently (9 % at one place here); a lost term would be more
            assert!(width(&after) > 0.9 * width(&before), "{}: {} after, {} before, at {i}", dial.name, width(&after), width(&before));
        }
    }
}

/// A needle that plainly stands outside a zone keeps its value, though the gauge may be off by as much as the zone is away.
#[test]
fn a_zone_within_reach_of_the_gauge_alone_does_not_take_the_value() {
    let both = Declared { gauge_accuracy: Some(Amount::Value(5.0)), flats: vec![(70.0, 80.0)], ..Declared::default() };
    let (with, without) = (declared(both), declared(gauge(Amount::Value(5.0))));
    let angle = 12.0;
    let (t, plain) = (at(&with, angle), at(&without, angle));
    assert!((t.estimate.value() - plain.estimate.value()).abs() < 1e-9 && t.estimate.value() > 80.5, "{t:?}");
    assert_eq!(t.estimate.interval(), None);
    assert!(t.estimate.band().0 <= 70.0 && t.estimate.band().1 >= plain.estimate.band().1 - 1e-9, "{t:?}");
}

/// Three photos at 90.94 and one in the zone 70..86, all exact: the mean is (3 x 90.94 + x)/4 with x anywhere in the zone, 85.705 to 89.705.
/// Shown is x = 78, so s²/4 = (3 x 3.235² + 9.705²)/12 = 3.235², three degrees of freedom. P(t > x) for three by its closed form,
/// 1/2 - (y/(1 + y²) + atan y)/pi with y = x/√3 (Abramowitz & Stegun 26.7.3).
#[test]
fn a_side_partly_in_a_flat_zone_against_a_limit() {
    let exact = |id: &str, value: f64| crate::handmade::record(id, value, &[]);
    let mut before: Vec<Record> = (0..3).map(|k| exact(&format!("b{k}"), 90.94)).collect();
    before.push(exact("z", 78.0));
    if let Outcome::Reading(r) = &mut before[3].outcome {
        banded(r, (70.0, 86.0), Some((70.0, 86.0)));
    }
    let c = compare(&before, &[exact("a", 60.0)]).unwrap().against(88.0);
    let m = c.before.margin.unwrap();
    let above = |t: f64| {
        let y = t / 3.0_f64.sqrt();
        0.5 - (y / (1.0 + y * y) + y.atan()) / std::f64::consts::PI
    };
    assert!(m.flat && (c.before.mean.sigma() - 3.235).abs() < 1e-9, "{}", c.before.mean.sigma());
    assert!((m.above.0 - above((88.0 - 85.705) / 3.235)).abs() < 1e-6, "{m:?}");
    assert!((m.above.1 - above((88.0 - 89.705) / 3.235)).abs() < 1e-6 && m.above.1 > 0.5, "{m:?}");
}
