//! How far a temperature lies from a limit, and how probable it is that it lies above.
//!
//! The probability is that of the measured quantity given what was measured (JCGM 106:2012, 7.2: a normal or, with few degrees of
//! freedom, a scaled and shifted t distribution about the value). Where no value of an interval is likelier than another the
//! probability is an interval too.
use super::student::{coverage_factor_95, t_above};

/// What is known of a temperature: all in one unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Known {
    /// The value.
    pub value: f64,
    /// Its 95 % band.
    pub band: (f64, f64),
    /// Standard uncertainty.
    pub sigma: f64,
    /// Effective degrees of freedom; infinite where sigma counts as known.
    pub dof: f64,
    /// From where to where every value fits equally well (a flat zone of a dial; open where only a limit is known); sigma comes on top.
    pub flat: Option<(f64, f64)>,
}

/// A temperature against a limit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Margin {
    /// The limit.
    pub limit: f64,
    /// Limit minus value: above 0 when the temperature is below the limit. With an interval one value of many.
    pub margin: f64,
    /// 95 % band of it; an end is infinite where the temperature is known as a limit only.
    pub band: (f64, f64),
    /// Probability that the temperature is above the limit: from, to. Equal but with an interval.
    pub above: (f64, f64),
    /// Whether it comes from an interval, so that `margin` is one value of many.
    pub flat: bool,
}

impl Margin {
    /// P(above) = P(t > (limit - value)/u) with u the standard uncertainty towards the limit: where the band reaches further to
    /// that side than `t(97.5 %) sigma`, u is taken as that reach over t(97.5 %), so that band and probability cannot disagree. (The
    /// probability is 2.5 % just where the band touches the limit.) With an interval: at its two ends, sigma about each.
    ///
    /// `None` when the limit, the value or sigma is not finite.
    pub fn of(limit: f64, known: &Known) -> Option<Self> {
        let k = coverage_factor_95(known.dof);
        let numbers = [limit, known.value, known.sigma];
        let open = known.flat.is_some_and(|(low, high)| low.is_infinite() || high.is_infinite());
        let band = [known.band.0, known.band.1].iter().all(|v| v.is_finite() || open && !v.is_nan());
        if !numbers.iter().all(|v| v.is_finite()) || !band || !k.is_finite() {
            return None;
        }
        let margin = limit - known.value;
        let reach = if margin >= 0.0 { known.band.1 - known.value } else { known.value - known.band.0 };
        let above = match known.flat {
            Some((low, high)) => (tail(limit - low, known.sigma, known.dof), tail(limit - high, known.sigma, known.dof)),
            None => {
                let p = tail(margin, (reach / k).max(known.sigma), known.dof);
                (p, p)
            }
        };
        Some(Self { limit, margin, band: (limit - known.band.1, limit - known.band.0), above, flat: known.flat.is_some() })
    }
}

/// P(above) at a distance below the limit; without any uncertainty it is 0, 1, or one half on the limit itself.
fn tail(distance: f64, sigma: f64, dof: f64) -> f64 {
    match distance {
        d if sigma > 0.0 => t_above(d / sigma, dof),
        d if d > 0.0 => 0.0,
        d if d < 0.0 => 1.0,
        _ => 0.5,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn known(value: f64, sigma: f64, dof: f64) -> Known {
        let half = coverage_factor_95(dof) * sigma;
        Known { value, band: (value - half, value + half), sigma, dof, flat: None }
    }

    /// JCGM 106:2012, 7.4, example: 13.6 with standard uncertainty 1.8 between the limits 12.5 and 16.3 conforms with probability 0.66.
    #[test]
    fn jcgm_106_conformance_probability() {
        let k = known(13.6, 1.8, f64::INFINITY);
        let above = |limit: f64| Margin::of(limit, &k).unwrap().above.0;
        let conforms = above(12.5) - above(16.3);
        assert!((conforms - 0.66).abs() < 0.005, "{conforms}");
        // to more digits: Φ(1.5) - Φ(-0.6111)
        assert!((conforms - 0.662_629_786_5).abs() < 1e-9, "{conforms}");
    }

    /// ILAC-G8:2019: with a guard band of U = 1.96 u a false acceptance is less probable than 2.5 %, without one than 50 %.
    #[test]
    fn guard_bands() {
        let k = known(100.0, 2.0, f64::INFINITY);
        assert!((Margin::of(100.0 + 1.96 * 2.0, &k).unwrap().above.0 - 0.024_997_9).abs() < 1e-6);
        assert!((Margin::of(100.0 + 2.0 * 2.0, &k).unwrap().above.0 - 0.022_750_1).abs() < 1e-6);
        assert_eq!(Margin::of(100.0, &k).unwrap().above.0, 0.5);
    }

    #[test]
    fn band_and_probability_agree_whatever_the_shape() {
        for dof in [1.0, 4.2, f64::INFINITY] {
            let mut k = known(90.0, 1.5, dof);
            assert!((Margin::of(k.band.1, &k).unwrap().above.0 - 0.025).abs() < 1e-7);
            assert!((Margin::of(k.band.0, &k).unwrap().above.0 - 0.975).abs() < 1e-7);
            k.band.1 += 4.0;
            let m = Margin::of(k.band.1, &k).unwrap();
            assert!((m.above.0 - 0.025).abs() < 1e-7 && m.band.0.abs() < 1e-12);
        }
    }

    #[test]
    fn a_flat_zone_gives_a_range_and_no_uncertainty_a_step() {
        let flat = Known { value: 82.0, band: (74.0, 91.0), sigma: 0.5, dof: f64::INFINITY, flat: Some((75.0, 90.0)) };
        let m = Margin::of(85.0, &flat).unwrap();
        assert!(m.flat && m.above.0 < 1e-12 && m.above.1 > 1.0 - 1e-12, "{m:?}");
        let exact = |limit: f64| Margin::of(limit, &known(90.0, 0.0, f64::INFINITY)).unwrap().above.0;
        assert_eq!([exact(91.0), exact(90.0), exact(89.0)], [0.0, 0.5, 1.0]);
        assert_eq!(Margin::of(f64::NAN, &flat), None);
        assert_eq!(Margin::of(85.0, &known(90.0, 1.0, 0.0)), None, "without degrees of freedom nothing is said");
    }
}
