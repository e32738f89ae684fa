//! The weather taken out of a change, notes on sides that are not comparable, limits, and the statement on the band.
use super::{Draw, known, side};
use crate::handmade::record;
use needleband::compare::{Ambient, Comparison, Conditions, Note, Slope, Verdict, Which, compare};
use needleband::maths::estimate::Estimate;
use needleband::maths::measured::Measured;
use needleband::maths::units::Unit;
use needleband::output::{json, text};
use needleband::reading::Outcome;

fn air(value: f64, half: f64) -> Conditions {
    Conditions { ambient: Some(Ambient { value, half, unit: Unit::C, assumed: false }), ..Conditions::default() }
}

/// 92 to 85 °C with 0.3 and 0.4 of the photos' own and 0.8 of the dial.
fn plain() -> Comparison {
    known(&side("b", &[92.0], 0.3), &side("a", &[85.0], 0.4))
}

fn close(a: f64, b: f64) {
    assert!((a - b).abs() < 1e-5, "{a} {b}");
}

/// By hand: delta -7 with sigma 0.5; the air from 24 ± 2 to 20 ± 1, so its change is -4 with sigma sqrt(4/3 + 1/3) (JCGM 100:2008, 4.3.7).
#[test]
fn the_adjusted_change_by_hand() {
    let c = plain().under(&air(24.0, 2.0), &air(20.0, 1.0), Slope::UNKNOWN);
    let a = c.adjusted.unwrap();
    let (k, air_sigma) = (1.959_964, (5.0_f64 / 3.0).sqrt());
    assert_eq!((a.ends, a.value, a.ambient.value()), ((-7.0, -3.0), -5.0, -4.0));
    close(a.ambient.sigma(), air_sigma);
    // no air counts at slope 0, all of it at slope 1
    close(a.band.0, -7.0 - k * 0.5);
    close(a.band.1, -3.0 + k * 0.5_f64.hypot(air_sigma));
    assert!(matches!(a.verdict, Verdict::Drop { by, half } if by == 5.0 && (half - (a.band.1 + 5.0).max(-5.0 - a.band.0)).abs() < 1e-12));
    // a slope that is known is one number, and the band is that of a difference
    let one = plain().under(&air(24.0, 2.0), &air(20.0, 1.0), Slope { low: 0.5, high: 0.5 }).adjusted.unwrap();
    close(one.value, -5.0);
    close(one.band.1 - one.value, k * 0.5_f64.hypot(0.5 * air_sigma));
    close(one.value - one.band.0, one.band.1 - one.value);
    // the raw change stays what it was
    assert_eq!((c.delta.value(), c.delta.band()), (plain().delta.value(), plain().delta.band()));
}

/// Rise over ambient: 92 - 24 with sqrt(0.8² + 0.3² + 4/3) by hand.
#[test]
fn rise_over_ambient_by_hand() {
    let c = plain().under(&air(24.0, 2.0), &air(20.0, 1.0), Slope::UNKNOWN);
    let rise = c.before.rise.unwrap();
    assert_eq!(rise.value(), 68.0);
    close(rise.sigma(), (0.64_f64 + 0.09 + 4.0 / 3.0).sqrt());
    close(rise.band().1 - 68.0, 1.959_964 * (0.64_f64 + 0.09 + 4.0 / 3.0).sqrt());
    assert_eq!(c.after.rise.unwrap().value(), 65.0);
    assert_eq!(plain().under(&Conditions::default(), &Conditions::default(), Slope::UNKNOWN).adjusted, None);
}

/// NIST SP 811, B.8 and B.9: 75.2 °F is 24 °C, and ±3.6 °F is ±2 °C.
#[test]
fn ambient_temperatures_come_in_either_unit() {
    let f = Conditions { ambient: Some(Ambient { value: 75.2, half: 3.6, unit: Unit::F, assumed: false }), ..Conditions::default() };
    let (in_f, in_c) =
        (plain().under(&f, &air(20.0, 1.0), Slope::UNKNOWN), plain().under(&air(24.0, 2.0), &air(20.0, 1.0), Slope::UNKNOWN));
    let (x, y) = (in_f.adjusted.unwrap(), in_c.adjusted.unwrap());
    close(x.band.0, y.band.0);
    close(x.band.1, y.band.1);
}

/// The weather alone may have made it: 92 to 89 while the air fell by 6.
#[test]
fn a_change_that_the_weather_explains_is_said() {
    let c = known(&side("b", &[92.0], 0.3), &side("a", &[89.0], 0.4)).under(&air(26.0, 1.0), &air(20.0, 1.0), Slope::UNKNOWN);
    assert!(matches!(c.verdict, Verdict::Drop { .. }) && matches!(c.adjusted.as_ref().unwrap().verdict, Verdict::NoChange { .. }));
    assert!(c.notes.contains(&Note::AmbientExplains) && c.notes.contains(&Note::AmbientFar(-6.0, Unit::C)));
    let words = text::comparison(&c, &["b.jpg".into()], &["a.jpg".into()], true);
    for part in
        ["With the weather taken out: no change seen", "The ambient temperatures differ by 6.0 °C", "the weather alone may have made it"]
    {
        assert!(words.contains(part), "{words}");
    }
    let quiet = plain().under(&air(24.0, 2.0), &air(23.0, 2.0), Slope::UNKNOWN);
    assert_eq!(quiet.notes, [Note::ScatterFromElsewhere(0.0, Unit::C)], "a degree apart, and the drop stays");
}

#[test]
fn what_makes_sides_unlike_is_named() {
    let load = |l: &str, moving: bool| Conditions { load: Some(l.to_string()), moving, ..Conditions::default() };
    let c = plain().under(&load("80 km/h", false), &load("95 km/h", true), Slope::UNKNOWN);
    assert_eq!(c.notes, [Note::ScatterFromElsewhere(0.0, Unit::C), Note::NotSettled(Which::After), Note::LoadFar]);
    let assumed = Conditions { ambient: Some(Ambient { value: 24.0, half: 2.0, unit: Unit::C, assumed: true }), ..Conditions::default() };
    let c = plain().under(&assumed, &air(24.0, 2.0), Slope::UNKNOWN);
    assert!(c.notes.contains(&Note::AmbientAssumed(2.0, Unit::C)));
    let all = c.notes.iter().map(|n| n.sentence()).collect::<String>();
    assert!(all.contains("±2.0 °C is taken"), "{all}");
}

/// 4000 draws a slope; three standard deviations of a true 95 % are 1.03 %. At the ends of the range the envelope is as narrow as it gets
/// on one side; inside it is wider. The needle wanders by as much as a photo's sigma, three photos a side, the air is rectangular
/// within its limits, and the air fell by 4 degrees.
#[test]
fn the_adjusted_band_holds_for_every_slope() {
    let mut draw = Draw::new(20_261_102);
    for slope in [0.0, 0.25, 0.5, 0.75, 1.0] {
        let [mut envelope, mut known, mut raw] = [0; 3];
        for _ in 0..4000 {
            let mut values = |at: f64| (0..3).map(|_| at + 0.5 * draw.normal() + 0.5 * draw.normal()).collect::<Vec<f64>>();
            // true: -5 from the work, and slope times -4 from the weather
            let c = compare(&side("b", &values(90.0), 0.5), &side("a", &values(85.0 - 4.0 * slope), 0.5)).unwrap();
            let (b, a) = (air(24.0 + 2.0 * draw.even(), 2.0), air(20.0 + draw.even(), 1.0));
            let held = |c: &Comparison, range: Slope| {
                let band = c.clone().under(&b, &a, range).adjusted.unwrap().band;
                usize::from((band.0..=band.1).contains(&-5.0))
            };
            envelope += held(&c, Slope::UNKNOWN);
            known += held(&c, Slope { low: slope, high: slope });
            raw += usize::from((c.delta.band().0..=c.delta.band().1).contains(&(-5.0 - 4.0 * slope)));
        }
        let [envelope, known, raw] = [envelope, known, raw].map(|n| f64::from(u32::try_from(n).unwrap()) / 4000.0);
        assert!(envelope >= 0.9397, "slope {slope}: the envelope holds {envelope}");
        // rectangular air has no tails, so a known slope may hold more than 95 %, and so do three photos that wander little
        assert!((0.9397..=0.992).contains(&known), "slope {slope}: {known}");
        assert!((0.9397..=0.985).contains(&raw), "slope {slope}: {raw}");
    }
}

/// A true drop of just the detection limit is called real 95 times of 100: sigma known, so the limit is 3.6048 x 0.5. 4000 draws, three
/// standard deviations are 1.03 %. One of half the band's width, the critical value, is called real half the time (2.4 %).
#[test]
fn the_detection_limit_is_found_as_often_as_it_says() {
    let limit = plain().delta.detection_limit();
    close(limit, 3.604_818 * 0.5);
    let mut draw = Draw::new(7);
    let mut found = |drop: f64| {
        let hit = |_: u32| {
            let (b, a) = (92.0 + 0.3 * draw.normal(), 92.0 - drop + 0.4 * draw.normal());
            let c = known(&side("b", &[b], 0.3), &side("a", &[a], 0.4));
            u32::from(matches!(c.verdict, Verdict::Drop { .. }))
        };
        f64::from((0..4000).map(hit).sum::<u32>()) / 4000.0
    };
    let (sure, half) = (found(limit), found(plain().delta.detectable()));
    assert!((sure - 0.95).abs() < 0.0103, "{sure}");
    assert!((half - 0.5).abs() < 0.024, "{half}");
}

/// JCGM 106:2012, 7.4, with a mean in the place of the result: 13.6 with 1.8 is above 16.3 with 1 - Φ(1.5) = 6.68 %.
#[test]
fn a_side_against_a_limit() {
    let c = compare(&[record("b", 13.6, &[("photo:b/needle", 1.8)])], &side("a", &[10.0], 0.4)).unwrap().against(16.3);
    let m = c.before.margin.unwrap();
    close(m.margin, 2.7);
    close(m.above.0, 0.066_807_2);
    close(m.band.0, 2.7 - 1.959_964 * 1.8);
    let words = text::comparison(&c, &["b.jpg".into()], &["a.jpg".into()], true);
    assert!(
        words.contains("Before: 2.7 ± 3.5 °C below the limit of 16.3 °C (61.34 °F); the probability of being above it is 6.7 %."),
        "{words}"
    );
    assert!(words.contains("A margin to a limit is no alarm"));
    // with scatter the probability follows Student's t: one degree of freedom is the Cauchy distribution
    let mut wandering = side("b", &[89.0, 91.0], 0.0);
    wandering.iter_mut().for_each(|r| {
        let Outcome::Reading(x) = &mut r.outcome else { unreachable!() };
        let value = x.temperature.value();
        x.temperature = Estimate::known(Measured::exact(value), (value, value));
    });
    let m = compare(&wandering, &side("a", &[80.0], 0.1)).unwrap().against(93.0).before.margin.unwrap();
    // mean 90, s/√2 = 1, t = 3: 1/2 - atan(3)/π
    close(m.above.0, 0.5 - 3.0_f64.atan() / std::f64::consts::PI);
}

#[test]
fn the_statement_on_the_band_follows_what_is_in_it() {
    let c = compare(&side("b", &[92.0], 0.3), &side("a", &[85.0], 0.4)).unwrap();
    let words = text::comparison(&c, &["b.jpg".into()], &["a.jpg".into()], true);
    let line = words.split("Of 100 such bands").nth(1).unwrap();
    let (counted, not) = line.split_once("Not counted").unwrap();
    assert!(counted.contains("how well each photo was read") && counted.contains("dial file") && !counted.contains("scatter"));
    assert!(not.contains("wanders from photo to photo") && not.contains("the weather") && not.contains("load"));
    let more =
        compare(&side("b", &[92.0, 93.0], 0.3), &side("a", &[85.0], 0.4)).unwrap().under(&air(24.0, 2.0), &air(20.0, 1.0), Slope::UNKNOWN);
    let all = more.coverage();
    assert!(all.counted.iter().any(|w| w.contains("scatter")) && !all.not_counted.iter().any(|w| w.contains("weather")));
    let gauge = compare(&[record("b", 92.0, &[("dial:d/gauge/0", 1.0), ("stiction", 0.5)])], &side("a", &[85.0], 0.4)).unwrap().coverage();
    assert!(
        gauge.counted.iter().any(|w| w.contains("accuracy as declared")) && gauge.counted.iter().any(|w| w.contains("sticks as declared"))
    );
}

#[test]
fn the_json_says_it_too() {
    use crate::cli::shapes::Change;
    let load = |c: Conditions| Conditions { load: Some("80 km/h".to_string()), ..c };
    let c = plain().under(&load(air(24.0, 2.0)), &load(air(20.0, 1.0)), Slope::UNKNOWN).against(120.0);
    let read: Change = serde_json::from_str(&json::comparison(&c, &["b.jpg".into()], &["a.jpg".into()]).unwrap()).unwrap();
    let a = read.adjusted.unwrap();
    assert_eq!((a.delta, a.delta_at_low, a.delta_at_high, a.slope_low, a.slope_high, a.ambient_change), (-5.0, -7.0, -3.0, 0.0, 1.0, -4.0));
    assert!(a.low < -7.0 && a.high > -3.0 && a.verdict.starts_with("a real drop"));
    close(read.detection_limit, 3.604_818 * 0.5);
    assert_eq!((read.before.origin.as_str(), read.before.load.as_deref()), ("photos", Some("80 km/h")));
    assert_eq!((read.before.rise.unwrap().value, read.before.ambient.unwrap().half), (68.0, 2.0));
    let limit = read.before.limit.unwrap();
    assert_eq!((limit.limit, limit.margin, limit.stands.as_str()), (120.0, Some(28.0), "below"));
    assert!(limit.probability_low.unwrap() < 1e-12 && limit.caution.contains("no alarm"));
    assert_eq!(read.coverage.probability, 0.95);
    let plain: Change = serde_json::from_str(&json::comparison(&plain(), &["b.jpg".into()], &["a.jpg".into()]).unwrap()).unwrap();
    assert!(plain.adjusted.is_none() && plain.before.rise.is_none() && plain.before.limit.is_none());
}
