//! A value as it is known: its terms, its standard uncertainty with degrees of freedom, and its 95 % band.
//!
//! The band is Student's t(97.5 %) sigma to each side (JCGM 100:2008, G.3), and what is no normal error is added to it in full: the surplus.
//! Where every value of an interval fits equally well, the value is one of many.
use super::between::Spread;
use super::detection::beyond;
use super::measured::Measured;
use super::source::Source;
use super::student::{coverage_factor_95, welch_satterthwaite};
use super::units::Unit;
use std::collections::BTreeMap;

/// A value, a level or a change; every number in one unit.
#[derive(Clone, Debug, PartialEq)]
pub struct Estimate {
    measured: Measured,
    spread: Spread,
    surplus: (f64, f64),
    band: (f64, f64),
    interval: Option<(f64, f64)>,
}

impl Estimate {
    /// With a band that reaches half of `spread` and the surplus below and above to each side.
    pub fn new(measured: Measured, spread: Spread, surplus: (f64, f64)) -> Self {
        let reach = |surplus: f64| spread.half + surplus;
        let band = (measured.value() - reach(surplus.0), measured.value() + reach(surplus.1));
        Self { measured, spread, surplus, band, interval: None }
    }
    /// With a band of its own shape; the surplus is what it holds beyond t(97.5 %) sigma.
    pub fn within(measured: Measured, sigma: f64, dof: f64, band: (f64, f64)) -> Self {
        let half = if sigma > 0.0 { coverage_factor_95(dof) * sigma } else { 0.0 };
        let surplus = ((measured.value() - band.0 - half).max(0.0), (band.1 - measured.value() - half).max(0.0));
        Self { measured, spread: Spread { sigma, dof, half }, surplus, band, interval: None }
    }
    /// Of terms that count as known, with a band of its own shape.
    pub fn known(measured: Measured, band: (f64, f64)) -> Self {
        let sigma = measured.sigma();
        Self::within(measured, sigma, f64::INFINITY, band)
    }
    /// With so much more surplus below and above.
    pub fn widened(self, by: (f64, f64)) -> Self {
        let (surplus, band) = (self.surplus, self.band);
        Self { surplus: (surplus.0 + by.0, surplus.1 + by.1), band: (band.0 - by.0, band.1 + by.1), ..self }
    }
    /// With an interval in which every value fits equally well; open (infinite) where only a limit is known.
    pub fn anywhere_in(self, interval: Option<(f64, f64)>) -> Self {
        Self { interval, ..self }
    }
    /// The value.
    pub fn value(&self) -> f64 {
        self.measured.value()
    }
    /// The value with its terms; what is known of it from scatter alone is no term.
    pub fn measured(&self) -> &Measured {
        &self.measured
    }
    /// The terms, by source.
    pub fn terms(&self) -> &BTreeMap<Source, f64> {
        self.measured.terms()
    }
    /// Standard uncertainty: the terms and the scatter.
    pub fn sigma(&self) -> f64 {
        self.spread.sigma
    }
    /// Effective degrees of freedom; infinite where sigma counts as known.
    pub fn dof(&self) -> f64 {
        self.spread.dof
    }
    /// Sigma, its degrees of freedom, and half the band from these alone, without the surplus.
    pub fn spread(&self) -> Spread {
        self.spread
    }
    /// How far the band reaches below and above what sigma explains.
    pub fn surplus(&self) -> (f64, f64) {
        self.surplus
    }
    /// The 95 % band; an end is infinite where only a limit is known.
    pub fn band(&self) -> (f64, f64) {
        self.band
    }
    /// From where to where every value fits equally well (a flat zone of a dial; open where only a limit is known); sigma comes on top.
    pub fn interval(&self) -> Option<(f64, f64)> {
        self.interval
    }
    /// Half the band, its longer half.
    pub fn half(&self) -> f64 {
        (self.value() - self.band.0).max(self.band.1 - self.value())
    }
    /// Half the width of the band of a change: one that comes out larger than this is called real. Infinite where the band is open.
    pub fn detectable(&self) -> f64 {
        let (low, high) = self.reach();
        (low + high) / 2.0
    }
    /// The smallest true change that such a measurement could have shown: one of this size is called real 95 times of 100
    /// ([`super::detection`]; twice the surplus comes on top where there is one). Infinite where the band is open.
    pub fn detection_limit(&self) -> f64 {
        let (low, high) = self.reach();
        let above_critical = if self.sigma() > 0.0 { beyond(self.dof()) * self.sigma() } else { 0.0 };
        low.max(high) + self.surplus.0.max(self.surplus.1) + above_critical
    }
    fn reach(&self) -> (f64, f64) {
        (self.spread.half + self.surplus.0, self.spread.half + self.surplus.1)
    }
    /// Less something independent that is known to its sigma: the half widths of the two bands add up as squares.
    pub fn minus_known(&self, other: &Measured) -> Self {
        let measured = self.measured.minus(other);
        let half = coverage_factor_95(f64::INFINITY) * other.sigma();
        let (low, high) = (self.value() - self.band.0, self.band.1 - self.value());
        let band = (measured.value() - low.hypot(half), measured.value() + high.hypot(half));
        let dof = welch_satterthwaite(&[(self.sigma(), self.dof()), (other.sigma(), f64::INFINITY)]);
        let interval = self.interval.map(|(low, high)| (low - other.value(), high - other.value()));
        Self::within(measured, self.sigma().hypot(other.sigma()), dof, band).anywhere_in(interval)
    }
    /// A temperature in another unit.
    pub fn converted(&self, from: Unit, to: Unit) -> Self {
        let both = |(low, high): (f64, f64)| (from.convert(low, to), from.convert(high, to));
        let sigma = from.convert_difference(self.sigma(), to);
        Self::within(self.measured.converted(from, to), sigma, self.dof(), both(self.band)).anywhere_in(self.interval.map(both))
    }
    /// A difference of temperatures in another unit: without the offset.
    pub fn converted_difference(&self, from: Unit, to: Unit) -> Self {
        let by = |v: f64| from.convert_difference(v, to);
        let both = |(low, high): (f64, f64)| (by(low), by(high));
        let measured = self.measured.converted(from, to).at(by(self.value()));
        Self::within(measured, by(self.sigma()), self.dof(), both(self.band)).anywhere_in(self.interval.map(both))
    }
}
