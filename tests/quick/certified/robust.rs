//! Quantiles against a textbook, and angles that wrap.
use needleband::maths::angle::wrap;
use needleband::maths::robust::{median, quantile};
use proptest::prelude::*;

/// Quantiles of 1..=4 by type 7 of Hyndman & Fan 1996 (R's default: 1.75, 2.5, 3.25).
#[test]
fn order_statistics() {
    let four = [3.0, 1.0, 4.0, 2.0];
    assert_eq!([0.0, 0.25, 0.5, 0.75, 1.0].map(|p| quantile(&four, p).unwrap()), [1.0, 1.75, 2.5, 3.25, 4.0]);
    assert_eq!(median(&four), Some(2.5));
}

/// Half a turn is one direction, whichever side rounding puts it on; a scale that runs past it stays in one piece.
#[test]
fn wrapping_at_half_a_turn() {
    assert_eq!([180.0, -180.0, 540.0, 179.0, -181.0, 360.0, 0.0].map(wrap), [-180.0, -180.0, -180.0, 179.0, 179.0, 0.0, 0.0]);
    // A remainder that rounds up to the full turn must not come out as +180.
    assert_eq!(wrap(-180.00000000000003), -180.0);
    assert!(wrap(f64::NAN).is_nan() && wrap(f64::INFINITY).is_nan());
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
}
