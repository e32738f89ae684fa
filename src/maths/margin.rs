//! How far a temperature lies from a limit, and how probable it is that it lies above.
//!
//! The probability is that of the measured quantity given what was measured (JCGM 106:2012, 7.2: a normal or, with few degrees of
//! freedom, a scaled and shifted t distribution about the value). Where no value of an interval is likelier than another the
//! probability is an interval too.
use super::estimate::Estimate;
use super::student::{coverage_factor_95, t_above};

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

impl Estimate {
    /// How far it lies from a limit. P(above) = P(t > (limit - value)/u) with u the standard uncertainty towards the limit: where the band
    /// reaches further to that side than `t(97.5 %) sigma`, u is taken as that reach over t(97.5 %), so that band and probability cannot
    /// disagree. (The probability is 2.5 % just where the band touches the limit.) With an interval: at its two ends, sigma about each.
    ///
    /// `None` when the limit, the value or sigma is not finite.
    pub fn margin(&self, limit: f64) -> Option<Margin> {
        let (value, sigma, dof, (low, high)) = (self.value(), self.sigma(), self.dof(), self.band());
        let k = coverage_factor_95(dof);
        let open = self.interval().is_some_and(|(low, high)| low.is_infinite() || high.is_infinite());
        let band = [low, high].iter().all(|v| v.is_finite() || open && !v.is_nan());
        if ![limit, value, sigma].iter().all(|v| v.is_finite()) || !band || !k.is_finite() {
            return None;
        }
        let margin = limit - value;
        let reach = if margin >= 0.0 { high - value } else { value - low };
        let above = match self.interval() {
            Some((low, high)) => (tail(limit - low, sigma, dof), tail(limit - high, sigma, dof)),
            None => {
                let p = tail(margin, (reach / k).max(sigma), dof);
                (p, p)
            }
        };
        Some(Margin { limit, margin, band: (limit - high, limit - low), above, flat: self.interval().is_some() })
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
    use super::super::measured::Measured;
    use super::*;

    fn known(value: f64, sigma: f64, dof: f64) -> Estimate {
        let half = coverage_factor_95(dof) * sigma;
        Estimate::within(Measured::exact(value), sigma, dof, (value - half, value + half))
    }

    /// JCGM 106:2012, 7.4, example: 13.6 with standard uncertainty 1.8 between the limits 12.5 and 16.3 conforms with probability 0.66.
    #[test]
    fn jcgm_106_conformance_probability() {
        let k = known(13.6, 1.8, f64::INFINITY);
        let above = |limit: f64| k.margin(limit).unwrap().above.0;
        let conforms = above(12.5) - above(16.3);
        assert!((conforms - 0.66).abs() < 0.005, "{conforms}");
        // to more digits: Φ(1.5) - Φ(-0.6111)
        assert!((conforms - 0.662_629_786_5).abs() < 1e-9, "{conforms}");
    }

    /// ILAC-G8:2019: with a guard band of U = 1.96 u a false acceptance is less probable than 2.5 %, without one than 50 %.
    #[test]
    fn guard_bands() {
        let k = known(100.0, 2.0, f64::INFINITY);
        assert!((k.margin(100.0 + 1.96 * 2.0).unwrap().above.0 - 0.024_997_9).abs() < 1e-6);
        assert!((k.margin(100.0 + 2.0 * 2.0).unwrap().above.0 - 0.022_750_1).abs() < 1e-6);
        assert_eq!(k.margin(100.0).unwrap().above.0, 0.5);
    }

    #[test]
    fn band_and_probability_agree_whatever_the_shape() {
        for dof in [1.0, 4.2, f64::INFINITY] {
            let k = known(90.0, 1.5, dof);
            assert!((k.margin(k.band().1).unwrap().above.0 - 0.025).abs() < 1e-7);
            assert!((k.margin(k.band().0).unwrap().above.0 - 0.975).abs() < 1e-7);
            let wide = k.widened((0.0, 4.0));
            let m = wide.margin(wide.band().1).unwrap();
            assert!((m.above.0 - 0.025).abs() < 1e-7 && m.band.0.abs() < 1e-12);
        }
    }

    #[test]
    fn a_flat_zone_gives_a_range_and_no_uncertainty_a_step() {
        let flat = Estimate::within(Measured::exact(82.0), 0.5, f64::INFINITY, (74.0, 91.0)).anywhere_in(Some((75.0, 90.0)));
        let m = flat.margin(85.0).unwrap();
        assert!(m.flat && m.above.0 < 1e-12 && m.above.1 > 1.0 - 1e-12, "{m:?}");
        let exact = |limit: f64| known(90.0, 0.0, f64::INFINITY).margin(limit).unwrap().above.0;
        assert_eq!([exact(91.0), exact(90.0), exact(89.0)], [0.0, 0.5, 1.0]);
        assert_eq!(flat.margin(f64::NAN), None);
        assert_eq!(known(90.0, 1.0, 0.0).margin(85.0), None, "without degrees of freedom nothing is said");
    }
}
