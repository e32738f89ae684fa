//! Location, spread and direction against certified data (NIST StRD) and textbook examples.
use super::{close, named, near, number, rows};
use needleband::maths::angle::{Angle, wrap};
use needleband::maths::normal::normal_quantile;
use needleband::maths::robust::{
    lag1_autocorrelation, mad_sigma, mean, mean_direction, median, quantile, standard_deviation, weighted_mean,
};
use proptest::prelude::*;

/// Mean, standard deviation and lag-1 autocorrelation of a set, with the relative error that its data allow.
fn univariate(name: &str, values: &[f64], relative: f64) {
    let certified = named(&rows("nist_univariate_certified.csv"), name);
    assert_eq!(values.len(), number(&certified[0]) as usize);
    close(mean(values).unwrap(), number(&certified[1]), 1e-15);
    close(standard_deviation(values).unwrap(), number(&certified[2]), relative);
    close(lag1_autocorrelation(values).unwrap(), number(&certified[3]), relative);
}

/// NIST StRD NumAcc1: three numbers round 10 000 002, all digits exact in a double.
#[test]
fn nist_numacc1() {
    univariate("NumAcc1", &[10000001.0, 10000003.0, 10000002.0], 1e-15);
}

/// NIST StRD NumAcc4: 10 000 000.2 and 500 pairs of .1 and .3. A double holds these to 9e-10, so 0.1 is known to 1e-8 at best.
#[test]
fn nist_numacc4() {
    let mut values = vec![10000000.2];
    for _ in 0..500 {
        values.extend([10000000.1, 10000000.3]);
    }
    univariate("NumAcc4", &values, 2e-8);
}

/// NIST StRD Michelso, the speed of light: readings that follow each other (0.535), for which s/√n would be too small.
#[test]
fn nist_michelso() {
    let values: Vec<f64> = rows("nist_michelso.csv").iter().map(|r| number(&r[0])).collect();
    univariate("Michelso", &values, 1e-12);
}

/// Mardia 1972, Zar, and two cases across north (recomputed): mean direction, resultant, circular standard deviation.
#[test]
fn mean_directions() {
    let table = rows("circular_stats.csv");
    assert_eq!(table.len(), 5);
    for r in &table {
        let angles: Vec<Angle> = r[1].split(';').map(|a| Angle::from_degrees(number(a))).collect();
        let m = mean_direction(&angles).unwrap();
        near(wrap(m.angle.degrees() - number(&r[2])), 0.0, 1e-9);
        near(m.resultant, number(&r[3]), 1e-10);
        near(m.sd_degrees, number(&r[4]), 1e-8);
    }
}

/// Quantiles of 1..=4 by type 7 of Hyndman & Fan 1996 (R's default: 1.75, 2.5, 3.25), and the normal consistency of the MAD.
#[test]
fn order_statistics() {
    let four = [3.0, 1.0, 4.0, 2.0];
    assert_eq!([0.0, 0.25, 0.5, 0.75, 1.0].map(|p| quantile(&four, p).unwrap()), [1.0, 1.75, 2.5, 3.25, 4.0]);
    assert_eq!(median(&four), Some(2.5));
    // The exact quantiles of a normal law with sigma 2: no sampling noise, only the grid's.
    let normal: Vec<f64> = (1..4000).map(|i| 7.0 + 2.0 * normal_quantile(f64::from(i) / 4000.0)).collect();
    close(mad_sigma(&normal).unwrap(), 2.0, 1e-3);
}

/// Two readings of one thing, 10 ± 1 and 13 ± 2: mean 10.6, sigma 2/√5, chi-square 9/5 (inverse variances 1 and 1/4, by hand).
#[test]
fn weighted_mean_by_hand() {
    let m = weighted_mean(&[10.0, 13.0, 99.0], &[1.0, 0.25, 0.0]).unwrap();
    close(m.mean, 10.6, 1e-15);
    close(m.sigma, 2.0 / 5f64.sqrt(), 1e-15);
    close(m.chi_square, 1.8, 1e-14);
    assert_eq!(m.dof, 1);
}

/// Clockwise from straight up, the compass convention: east is 90, south 180, west -90.
#[test]
fn compass_points() {
    for (x, y, degrees) in [(0.0, 1.0, 0.0), (1.0, 0.0, 90.0), (0.0, -1.0, 180.0), (-1.0, 0.0, -90.0), (1.0, 1.0, 45.0)] {
        close(1.0 + Angle::of_direction(x, y).degrees(), 1.0 + degrees, 1e-15);
        let d = Angle::from_degrees(degrees).direction();
        near(d.x, x / f64::hypot(x, y), 1e-15);
        near(d.y, y / f64::hypot(x, y), 1e-15);
    }
}

/// Half a turn is one direction, whichever side rounding puts it on; a scale that runs past it stays in one piece.
#[test]
fn wrapping_at_half_a_turn() {
    assert_eq!([180.0, -180.0, 540.0, 179.0, -181.0, 360.0, 0.0].map(wrap), [-180.0, -180.0, -180.0, 179.0, 179.0, 0.0, 0.0]);
    // A remainder that rounds up to the full turn must not come out as +180.
    assert_eq!(wrap(-180.00000000000003), -180.0);
    assert!(wrap(f64::NAN).is_nan() && wrap(f64::INFINITY).is_nan());
    let near = |a: f64, b: f64| Angle::from_degrees(a).near(Angle::from_degrees(b)).degrees();
    assert_eq!(near(-179.0, 178.0), 181.0);
    assert_eq!(near(10.0, 355.0), 370.0);
    assert_eq!(near(-720.0, 90.0), 0.0);
    // Marks from 150° on over the bottom, each taken near the one before, rise as the needle does.
    let mut last = Angle::from_degrees(150.0);
    for step in 1..8 {
        let seen =
            Angle::of_direction((150.0 + 20.0 * f64::from(step)).to_radians().sin(), (150.0 + 20.0 * f64::from(step)).to_radians().cos());
        last = seen.near(last);
        close(last.degrees(), 150.0 + 20.0 * f64::from(step), 1e-14);
    }
}

proptest! {
    #![proptest_config(super::fixed_seed())]

    #[test]
    fn wrapped_is_in_range_and_the_same_direction(
        deg in prop_oneof![-1e6..1e6_f64, -180.000001..-179.999999_f64, 179.999999..180.000001_f64],
    ) {
        let w = wrap(deg);
        prop_assert!((-180.0..180.0).contains(&w));
        let turns = (deg - w) / 360.0;
        prop_assert!((turns - turns.round()).abs() < 1e-10);
    }

    #[test]
    fn turning_all_angles_turns_their_mean(angles in prop::collection::vec(-60.0..60.0_f64, 1..20), turn in -400.0..400.0_f64) {
        let of = |turn: f64| mean_direction(&angles.iter().map(|a| Angle::from_degrees(a + turn)).collect::<Vec<_>>()).unwrap();
        let (a, b) = (of(0.0), of(turn));
        prop_assert!(wrap(b.angle.degrees() - a.angle.degrees() - turn).abs() < 1e-9);
        prop_assert!((a.resultant - b.resultant).abs() < 1e-12);
    }
}
