//! From the needle's angle to the temperature with all that is declared of the gauge.
//!
//! **Gauge accuracy** a is given as limits of error: nothing says that an error near a limit is less likely than a small one, so it
//! is taken as rectangular, sigma = a/√3 (JCGM 100:2008, 4.3.7). It belongs to the gauge, so two readings of one gauge share it; but a
//! gauge that is wrong by so much at one place of its scale need not be wrong by as much at another. Two independent terms,
//! [`Cause::Gauge`] 0 = sigma cos φ and 1 = sigma sin φ with φ = 90° times the place on the scale (fraction of the sweep,
//! by angle), say just that: cos² + sin² = 1, so sigma is the same everywhere; the correlation of two places is cos(φ₁ - φ₂), 1 for
//! one and the same place, so that the error drops out of a difference there, and 0 for the two ends, which know nothing of each
//! other. That the tie loosens evenly along the scale is an assumption; no standard says how a dash gauge errs.
//!
//! **Stiction** is one term, [`Source::Stiction`], of no photo and no dial: a needle that sticks at one place sticks there in every
//! photo of that time, so more photos do not average it out, and it need not stick alike after the change, so it does not cancel.
use super::curve::Scale;
use crate::maths::estimate::Estimate;
use crate::maths::measured::Measured;
use crate::maths::source::{Cause, Source};

/// Half a 95 % band over sigma, normal distribution.
pub(super) const COVERAGE: f64 = 1.96;

/// A temperature and how it stands on its scale.
#[derive(Clone, Debug, PartialEq)]
pub struct Temperature {
    /// The temperature, with the terms of the reading and of what is declared. In or beside a flat zone with the interval of values that
    /// fit equally well.
    pub estimate: Estimate,
    /// Standard uncertainty of the reading alone, without gauge accuracy and stiction.
    pub read: f64,
}

impl Scale {
    /// The temperature of a measured angle: what [`Scale::read`] counts, and gauge accuracy and stiction where they are declared.
    ///
    /// Where the reading's own band reaches a flat zone, it is an interval: it holds the whole zone, joined with what it holds outside, and the
    /// declared errors beyond both. Where only declared errors reach a zone, the value stands and the band holds what they may mean.
    pub fn temperature(&self, angle: &Measured) -> Temperature {
        self.temperature_as_read(angle.value(), &self.read(angle))
    }
    /// The same of an angle with what was read there, which is what [`Scale::read`] gives but for the size of its terms.
    pub fn temperature_as_read(&self, angle: f64, read: &Measured) -> Temperature {
        let x = self.unroll(angle);
        let slope = self.slope(angle).abs();
        let sigma = |a: Option<crate::dial::Amount>| a.map(|a| a.as_value(self.span(), slope) / 3f64.sqrt());
        let (gauge, stiction) = (sigma(self.declared.gauge_accuracy), sigma(self.declared.stiction));
        let mut measured = read.clone();
        if let Some(g) = gauge {
            let (s, c) = (std::f64::consts::FRAC_PI_2 * self.fraction(x)).sin_cos();
            let gauge = |k| Source::Dial(self.id.clone(), Cause::Gauge(k));
            measured = measured.with_term(gauge(0), g * c).with_term(gauge(1), g * s);
        }
        if let Some(s) = stiction {
            measured = measured.with_term(Source::Stiction(None), s);
        }
        let told = |estimate| Temperature { estimate, read: read.sigma() };
        let half = COVERAGE * measured.sigma();
        let reach = half / slope.max(1e-9);
        let Some((low, high)) = self.flat(x - reach, x + reach) else {
            let band = (measured.value() - half, measured.value() + half);
            return told(Estimate::known(measured, band));
        };
        let near = COVERAGE * read.sigma() / slope.max(1e-9);
        if self.flat(x - near, x + near).is_none() {
            // the needle is plainly outside; only what is declared of the gauge reaches the zone
            let band = (self.lowest(x - reach).min(measured.value() - half), self.highest(x + reach).max(measured.value() + half));
            return told(Estimate::known(measured, band));
        }
        let declared = COVERAGE * gauge.unwrap_or(0.0).hypot(stiction.unwrap_or(0.0));
        let band = (self.lowest(x - reach).min(low - declared), self.highest(x + reach).max(high + declared));
        let flat = (self.lowest(x - near).min(low), self.highest(x + near).max(high));
        told(Estimate::known(measured.at(self.within(x, low, high)), band).anywhere_in(Some(flat)))
    }
}
