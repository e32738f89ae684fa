//! Readings over time: certified data, simulated coverage, and the runs that must not be called settled.
use super::handmade::{dial, record, without};
use chacha20::ChaCha8Rng;
use needleband::diagnostics::Refusal;
use needleband::maths::estimate::Estimate;
use needleband::maths::source::Source;
use needleband::output::text;
use needleband::reading::{Outcome, Record};
use needleband::settle::{Answer, Note, SettleError, Verdict, Why, settle};
use rand::{RngExt, SeedableRng};

mod coverage;
mod nist;
mod slower;

/// Normal errors (Box and Muller 1958), correlated from one to the next by `rho`, sigma 1.
struct Errors {
    rng: ChaCha8Rng,
    rho: f64,
    last: f64,
}

impl Errors {
    fn new(seed: u64, rho: f64) -> Self {
        let mut all = Self { rng: ChaCha8Rng::seed_from_u64(seed), rho, last: 0.0 };
        all.last = all.normal();
        all
    }
    fn normal(&mut self) -> f64 {
        let (u, v): (f64, f64) = (self.rng.random::<f64>().max(1e-300), self.rng.random());
        (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
    }
    fn next(&mut self) -> f64 {
        let fresh = self.normal();
        self.last = self.rho * self.last + (1.0 - self.rho * self.rho).sqrt() * fresh;
        self.last
    }
}

/// A run of photos `every` seconds apart: a photo's own sigma, and 0.4 °C of the dial that all share.
fn run(values: &[f64], own: f64, every: f64) -> (Vec<Record>, Vec<Option<f64>>) {
    let one = |(k, v): (usize, &f64)| {
        let id = format!("p{k}");
        record(&id, *v, &[("dial:d/mark/1", 0.4), (&format!("photo:{id}/needle"), own)])
    };
    (values.iter().enumerate().map(one).collect(), (0..values.len()).map(|k| Some(every * k as f64 + 7000.0)).collect())
}

/// level + amplitude exp(-t/tau) with errors of sigma `noise`.
fn approach([level, amplitude, tau]: [f64; 3], n: usize, every: f64, noise: f64, errors: &mut Errors) -> Vec<f64> {
    (0..n).map(|k| level + amplitude * (-every * k as f64 / tau).exp() + noise * errors.next()).collect()
}

fn answer(values: &[f64], own: f64, every: f64) -> Answer {
    let (records, times) = run(values, own, every);
    settle(&records, &times).unwrap()
}

fn holds((low, high): (f64, f64), value: f64) -> bool {
    low <= value && value <= high
}

#[test]
fn a_warm_up_gives_level_time_constant_and_the_moment_it_was_there() {
    let values = approach([93.6, -49.6, 340.0], 26, 60.0, 0.1, &mut Errors::new(1, 0.0));
    let a = answer(&values, 0.1, 60.0);
    let (level, tau, within) = (a.level.as_ref().unwrap(), a.tau.unwrap(), a.within.unwrap());
    assert!(matches!(a.verdict, Verdict::Settled { .. }), "{:?}", a.verdict);
    assert!(holds(level.temperature.band(), 93.6) && holds((tau.low, tau.high), 340.0), "{level:?} {tau:?}");
    // by hand: 340 ln 49.6 = 1327 s
    assert!(holds((within.low, within.high), 1327.1) && within.high - within.low < 60.0, "{within:?}");
    assert_eq!((a.span, a.overshoot, a.drift, a.bad.len()), (1500.0, None, None, 0));
    // the dial's 0.4 stands in the level in full and once, however many photos there are: a shift of all readings
    assert!((level.temperature.measured().term("dial:d/mark/1").unwrap() - 0.4).abs() < 1e-9);
    assert!(level.scatter < 0.08 && (level.temperature.sigma() - level.scatter.hypot(0.4)).abs() < 1e-12);
}

/// While it is on its way nothing is said of when it was there, and only that it will be.
#[test]
fn what_is_on_its_way_has_not_been_there() {
    let told = |a: &Answer| text::settling(a, &dial(), &vec![String::new(); a.points.len()], false);
    let settled = answer(&approach([93.6, -49.6, 340.0], 26, 60.0, 0.1, &mut Errors::new(1, 0.0)), 0.1, 60.0);
    assert!(told(&settled).contains("Within 1.0 °C of it") || told(&settled).contains("Within 1 °C of it"), "{}", told(&settled));
    // two to four time constants, with errors of 0.3 to 1 °C
    let cases = [0.3, 0.5, 1.0].into_iter().flat_map(|noise| (14..24).map(move |n| (noise, n)));
    let seen = |(noise, n)| answer(&approach([93.6, -49.6, 340.0], n, 60.0, noise, &mut Errors::new(1, 0.0)), noise, 60.0);
    let moving = cases.map(seen).find(|a| matches!(a.verdict, Verdict::Approaching { .. })).unwrap();
    let within = moving.within.unwrap();
    assert!(within.value > moving.span, "{within:?}");
    assert!(told(&moving).starts_with("Not settled yet: on its way to") && !told(&moving).contains("Within"), "{}", told(&moving));
    assert!(told(&moving).contains("If it goes on so, it is within"), "{}", told(&moving));
    // watched for longer it was near already, and may have left again
    let past = Answer { span: within.value + 60.0, ..moving };
    assert!(!told(&past).contains("within"), "{}", told(&past));
}

/// The same numbers shifted by what the dial is wrong give the same scatter: the dial's terms are not in it.
#[test]
fn the_dials_own_error_is_kept_out_of_the_scatter() {
    let values = approach([93.6, -49.6, 340.0], 26, 60.0, 0.1, &mut Errors::new(2, 0.0));
    let shifted: Vec<f64> = values.iter().map(|v| v + 3.0).collect();
    let (a, b) = (answer(&values, 0.1, 60.0).level.unwrap(), answer(&shifted, 0.1, 60.0).level.unwrap());
    assert!((b.temperature.value() - a.temperature.value() - 3.0).abs() < 1e-6 && (a.scatter - b.scatter).abs() < 1e-6);
    // two runs with one dial: the difference has nothing of it
    assert!(b.temperature.measured().minus(a.temperature.measured()).term("dial:d/mark/1").unwrap().abs() < 1e-9);
}

#[test]
fn cooling_down_is_the_same_turned_round() {
    let warm = approach([90.0, -40.0, 300.0], 44, 60.0, 0.2, &mut Errors::new(3, 0.0));
    let cool: Vec<f64> = warm.iter().map(|v| 180.0 - v).collect();
    let (w, c) = (answer(&warm, 0.2, 60.0), answer(&cool, 0.2, 60.0));
    let (w, c) = (w.level.unwrap(), c.level.unwrap());
    assert!((w.temperature.value() + c.temperature.value() - 180.0).abs() < 1e-6 && holds(c.temperature.band(), 90.0));
    assert!((w.temperature.band().1 - w.temperature.value() - (c.temperature.value() - c.temperature.band().0)).abs() < 1e-4);
}

/// A single reading 8 °C off at any place moves the level by less than its band, is named, and widens the band by less than half.
#[test]
fn a_bad_reading_is_held_down_and_named() {
    let values = approach([93.6, -49.6, 340.0], 44, 60.0, 0.2, &mut Errors::new(4, 0.0));
    let clean = answer(&values, 0.1, 60.0);
    for k in [1, 7, 14, 20, 25] {
        let mut spoilt = values.clone();
        spoilt[k] += 8.0;
        let a = answer(&spoilt, 0.1, 60.0);
        let (was, is) = (clean.level.as_ref().unwrap(), a.level.as_ref().unwrap_or_else(|| panic!("{k}: {:?} {:?}", a.verdict, a.notes)));
        assert_eq!(a.bad, [k]);
        assert!(a.notes.contains(&Note::BadReadings(1)));
        assert!((is.temperature.value() - was.temperature.value()).abs() < 2.0 * was.scatter, "{k}: {is:?} {was:?}");
        assert!(is.scatter < 2.0 * was.scatter, "{k}: {} {}", is.scatter, was.scatter);
    }
}

/// One time constant of a warm-up to 93.6: no level is named, and the limits hold it.
#[test]
fn too_short_a_run_is_not_settled_and_does_not_guess() {
    for seed in 0..20 {
        let values = approach([93.6, -49.6, 340.0], 12, 30.0, 0.3, &mut Errors::new(100 + seed, 0.0));
        let a = answer(&values, 0.2, 30.0);
        let Verdict::NotSettled { low, high } = a.verdict else { panic!("{seed}: {:?}", a.verdict) };
        assert!(a.level.is_none() && a.within.is_none());
        assert!(holds((low, high), 93.6) && holds((65.0, 75.0), low), "{seed}: {low} {high}");
    }
    // a tenth of a time constant: a straight line, open above
    let values = approach([93.6, -49.6, 340.0], 8, 5.0, 0.3, &mut Errors::new(5, 0.0));
    let a = answer(&values, 0.2, 5.0);
    assert!(matches!(a.verdict, Verdict::NotSettled { low, high } if high.is_infinite() && holds((45.0, 50.0), low)), "{:?}", a.verdict);
    assert!(a.verdict.sentence(a.unit).contains("set no upper limit"));
}

#[test]
fn a_run_that_was_settled_all_along_has_a_mean_and_no_time_constant() {
    let values = approach([88.0, 0.0, 1.0], 20, 30.0, 0.2, &mut Errors::new(6, 0.0));
    let a = answer(&values, 0.2, 30.0);
    let level = a.level.as_ref().unwrap();
    assert!(matches!(a.verdict, Verdict::Steady { .. }) && a.tau.is_none() && a.within.is_none(), "{:?}", a.verdict);
    assert!((level.temperature.value() - values.iter().sum::<f64>() / 20.0).abs() < 1e-9);
    assert!(holds(level.temperature.band(), 88.0));
    assert!(a.notes.iter().any(|n| matches!(n, Note::Hidden(by, _) if *by < 1.0)), "{:?}", a.notes);
}

/// 0.15 °C a minute on top of an approach, over 40 minutes: a settled temperature would be wrong.
#[test]
fn a_drift_is_told_and_no_level_is_named() {
    let mut values = approach([85.0, -40.0, 240.0], 41, 60.0, 0.15, &mut Errors::new(7, 0.0));
    values.iter_mut().enumerate().for_each(|(k, v)| *v += 0.15 * k as f64);
    let a = answer(&values, 0.1, 60.0);
    let Verdict::Drifting { per_minute, half } = a.verdict else { panic!("{:?} {:?}", a.verdict, a.notes) };
    assert!((per_minute - 0.15).abs() < half && half < 0.03 && a.level.is_none(), "{per_minute} {half}");
}

/// Up to 96, then back to 90 as a thermostat opens: past where it ended by some 5 °C.
#[test]
fn an_overshoot_is_told_and_no_level_is_named() {
    let mut errors = Errors::new(8, 0.0);
    let values: Vec<f64> = (0..40)
        .map(|k| {
            let t = 60.0 * f64::from(k);
            90.0 - 50.0 * (-t / 250.0).exp() * (t / 250.0).cos() + 0.15 * errors.next()
        })
        .collect();
    let a = answer(&values, 0.1, 60.0);
    // 250 s steps round: the peak of -exp(-x) cos x is exp(-3π/4) sin(π/4) 50 = 3.35 above
    let by = a.overshoot.unwrap();
    assert!((by - 3.35).abs() < 0.4, "{by}");
    assert!(a.verdict == Verdict::NotFirstOrder && a.level.is_none() && a.curve.is_none());
}

#[test]
fn photos_that_do_not_count_are_named() {
    let values = approach([93.6, -49.6, 340.0], 26, 60.0, 0.1, &mut Errors::new(9, 0.0));
    let (mut records, mut times) = run(&values, 0.1, 60.0);
    records[0] = without("below", Outcome::BelowScale);
    records[3] = without("lost", Outcome::Refused(Refusal::DialNotFound, String::new()));
    times[5] = None;
    if let Outcome::Reading(r) = &mut records[6].outcome {
        r.temperature = r.temperature.clone().anywhere_in(Some((60.0, 75.0)));
    }
    records.push(records[8].clone());
    times.push(Some(9000.0));
    records.push(record("n", f64::NAN, &[]));
    times.push(Some(9100.0));
    let a = settle(&records, &times).unwrap();
    let why: Vec<(usize, Why)> = a.left_out.iter().map(|l| (l.index, l.why.clone())).collect();
    let refused = Why::Refused(Refusal::DialNotFound, String::new());
    let expected = [(0, Why::BelowScale), (3, refused), (5, Why::NoTime), (6, Why::FlatZone), (26, Why::Repeated), (27, Why::NotFinite)];
    assert_eq!(why, expected);
    assert_eq!((a.points.len(), a.points[0].index, a.points[0].seconds), (22, 1, 0.0));
    assert!(holds(a.level.unwrap().temperature.band(), 93.6));
    assert!(a.notes.contains(&Note::BeyondScale((1, 0))), "{:?}", a.notes);
}

/// Photos beyond an end in the last half: what is left of the run would name a level that the temperature has left.
#[test]
fn a_run_that_ends_beyond_the_scale_names_no_level() {
    let values = approach([93.6, -49.6, 340.0], 26, 60.0, 0.1, &mut Errors::new(9, 0.0));
    for (place, late) in [(11, false), (14, true), (25, true)] {
        let (mut records, times) = run(&values, 0.1, 60.0);
        records[place] = without("off", Outcome::AboveScale);
        let a = settle(&records, &times).unwrap();
        assert_eq!((a.level.is_none(), a.tau.is_none(), matches!(a.verdict, Verdict::NotSettled { .. })), (late, late, late), "{place}");
        let note = if late { Note::EndsBeyondScale((0, 1)) } else { Note::BeyondScale((0, 1)) };
        assert!(a.notes.contains(&note), "{place}: {:?}", a.notes);
        assert!(!late || a.verdict.sentence(a.unit).contains("set no limit") && note.sentence().contains("1 photo stands above the scale"));
    }
}

/// The order given does not matter, only the times do.
#[test]
fn photos_may_come_in_any_order() {
    let values = approach([93.6, -49.6, 340.0], 26, 60.0, 0.1, &mut Errors::new(10, 0.0));
    let (mut records, mut times) = run(&values, 0.1, 60.0);
    let straight = settle(&records, &times).unwrap().level.unwrap();
    records.reverse();
    times.reverse();
    assert_eq!(settle(&records, &times).unwrap().level.unwrap().temperature.band(), straight.temperature.band());
}

#[test]
fn too_few_readings_are_an_error_that_says_what_to_do() {
    let (records, times) = run(&[50.0, 60.0, 65.0, 68.0], 0.1, 60.0);
    let e = settle(&records, &times).unwrap_err();
    assert!(matches!(e, SettleError::TooFew { given: 4, readings: 4, .. }) && e.to_string().contains("Take a photo every so often"));
    let e = settle(&records, &[None; 4]).unwrap_err().to_string();
    assert!(e.contains("4 read, but without a time") && e.contains("--every"), "{e}");
    assert!(settle(&[], &[]).is_err());
    let of = |n: usize| settle(&records[..n], &times[..n]).unwrap_err().to_string();
    assert!(of(2).starts_with("Only 2 photos were given. Fewer than 5 photos at different times"), "{}", of(2));
    assert!(of(1).starts_with("A single photo was given. "));
    let e = settle(&records, &[Some(0.0), None, None, Some(9.0)]).unwrap_err().to_string();
    assert!(e.starts_with("Only 2 of 4 photos gave a reading at a time of its own (2 read, but without a time). "), "{e}");
    // five photos of one moment are one moment
    let (records, _) = run(&[50.0, 60.0, 65.0, 68.0, 69.0], 0.1, 60.0);
    assert!(settle(&records, &[Some(1.0); 5]).is_err());
}

/// A dial in °F: nearness is 1.8 °F, everything else scales (NIST SP 811, B.9: a difference by 9/5).
#[test]
fn a_dial_in_fahrenheit_gives_the_same_answer() {
    let values = approach([93.6, -49.6, 340.0], 44, 60.0, 0.1, &mut Errors::new(11, 0.0));
    let (records, times) = run(&values, 0.1, 60.0);
    let hot: Vec<Record> = records
        .iter()
        .map(|r| {
            let mut r = r.clone();
            if let Outcome::Reading(x) = &mut r.outcome {
                let f = |v: f64| v * 1.8 + 32.0;
                let hot = x.temperature.measured().scaled(1.8).at(f(x.temperature.value()));
                x.temperature = Estimate::known(hot, (f(x.temperature.band().0), f(x.temperature.band().1)));
                x.unit = needleband::maths::units::Unit::F;
            }
            r
        })
        .collect();
    let (c, f) = (settle(&records, &times).unwrap(), settle(&hot, &times).unwrap());
    let (lc, lf) = (c.level.unwrap(), f.level.unwrap());
    assert!(
        (lf.temperature.value() - lc.temperature.value() * 1.8 - 32.0).abs() < 1e-5
            && (lf.temperature.sigma() - 1.8 * lc.temperature.sigma()).abs() < 1e-6
    );
    assert!((c.within.unwrap().value - f.within.unwrap().value).abs() < 1e-3 && f.verdict.code() == "settled");
}

/// Two runs, read with one dial that is wrong by some degrees: the difference of their levels has nothing of it, and its band from the
/// terms and both scatters holds the true change of 6 °C.
#[test]
fn two_levels_make_a_difference() {
    let level =
        |at: f64, seed: u64| answer(&approach([at, -45.0, 300.0], 30, 60.0, 0.2, &mut Errors::new(seed, 0.0)), 0.05, 60.0).level.unwrap();
    let (before, after) = (level(96.0, 12), level(90.0, 13));
    let delta = after.temperature.measured().minus(before.temperature.measured());
    let sigma = after.scatter.hypot(before.scatter).hypot(delta.variance_of(Source::is_dial).sqrt());
    assert!((delta.value() + 6.0).abs() < 3.0 * sigma && sigma < 0.2, "{} {sigma}", delta.value());
}

/// Whatever the numbers: no panic, and no level from noise alone that claims to be known to less than its readings agree.
#[test]
fn odd_numbers_never_panic() {
    for values in
        [[1e300; 6], [0.0; 6], [1.0, 2.0, 3.0, 4.0, 5.0, 6.0], [1e-12, 0.0, 1e12, 0.0, 1e-12, 5.0], [90.0, 90.0, 90.0, 90.0, 90.0, 91.0]]
    {
        for own in [0.0, 0.3] {
            for every in [1e-9, 60.0, 1e12] {
                let (records, times) = run(&values, own, every);
                if let Ok(a) = settle(&records, &times) {
                    assert!(a.level.is_none_or(|l| !l.temperature.band().0.is_nan() && l.temperature.band().0 <= l.temperature.value()));
                }
            }
        }
    }
}
