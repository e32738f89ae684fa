//! The smallest change that `check` names, put before `compare` many times.
use super::told;
use crate::handmade::drops::{Drop, found};
use crate::handmade::{dial, record};
use crate::support::stats::share_sigma;
use crate::support::sweep::cases;
use needleband::dial::{Amount, Declared};
use needleband::reading::Record;

/// What a photo says of itself, °C.
const READING: f64 = 0.1;

/// At 95 % three standard deviations of the binomial (2000 draws: 1.5 %); half a per cent more for the sizes of equally likely scatters
/// (48 on each side) that the limit is worked out with. Plain, and with flat zone, stiction and gauge accuracy declared.
#[test]
fn the_smallest_change_is_called_real_95_times_of_100() {
    let draws = cases(700, 2000);
    let aside = 3.0 * share_sigma(0.95, f64::from(draws)) + 0.005;
    let all = Declared { gauge_accuracy: Some(Amount::Value(2.0)), stiction: Some(Amount::Value(0.3)), flats: vec![(70.0, 86.0)] };
    let all = [(dial(), 0.5), (dial().declare(all).unwrap(), 0.0), (dial(), 0.0), (dial().declare(dear()).unwrap(), 0.5)];
    for (dial, spread) in all.into_iter().take(cases(1, 4)) {
        // three readings a standard deviation of `spread` apart, or all alike
        let repeated: Vec<Record> = [-spread, 0.0, spread]
            .iter()
            .enumerate()
            .map(|(k, off)| record(&format!("r{k}"), 95.0 + off, &[(&format!("photo:r{k}/needle"), READING)]))
            .collect();
        let a = told(&dial, &repeated);
        for s in &a.smallest {
            let c = s.change.unwrap();
            let drop = Drop { photos: s.photos, at: c.at, size: c.size, reading: READING, wander: a.noise.wander };
            let share = found(&dial, &drop, draws);
            assert!((share - 0.95).abs() <= aside, "{} photos, spread {spread}, {c:?}: {share}", s.photos);
            let half = found(&dial, &Drop { size: 0.5 * c.size, ..drop }, draws);
            // 0.9, and three standard deviations of the binomial (2000 draws: 0.92). 0.85 before the shape between the marks was counted: its doubt grows with the change (0.894 here), so the share rises more
            // slowly with the size
            assert!(half < 0.9 + 3.0 * share_sigma(0.9, f64::from(draws)), "half of it would do as well: {half}");
        }
    }
}

/// Much stiction, little else.
fn dear() -> Declared {
    Declared { stiction: Some(Amount::Value(1.0)), flats: vec![(70.0, 86.0)], ..Declared::default() }
}

/// A reading of the simulation has the band that the chain gives: 1.96 sigma of all its terms.
#[test]
fn the_simulated_readings_are_as_the_chain_gives_them() {
    use needleband::reading::{Outcome, Reading};
    let Outcome::Reading(Reading { temperature, .. }) = record("x", 95.0, &[("stiction", 0.3), ("photo:x/needle", 0.4)]).outcome else {
        unreachable!()
    };
    assert!((temperature.sigma() - 0.5).abs() < 1e-12 && (temperature.band().1 - 95.0 - 0.98).abs() < 1e-4);
}
