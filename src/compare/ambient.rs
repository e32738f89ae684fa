//! The weather taken out of a change: rise over ambient, and the change that is left.
use super::comparable::condition_notes;
use super::comparison::{Adjusted, Comparison};
use super::given::{Ambient, Conditions, Slope};
use super::side::Side;
use crate::maths::measured::Measured;
use crate::maths::source::{Source, Which};
use crate::maths::student::coverage_factor_95;
use crate::maths::units::Unit;

impl Comparison {
    /// The same with what is known of the conditions: the rise over ambient, the change with the weather taken out, and notes where
    /// the sides are not comparable.
    ///
    /// For a slope s the adjusted change is delta - s (ambient after - ambient before), with the ambient uncertainty times s. The slope
    /// is one number that is the same for both sides and that nothing in the photos tells. Taken as rectangular on its range
    /// (JCGM 100:2008, 4.3.7) it would make a band that holds 95 % on the average of all slopes and less at its ends, which are the
    /// likely ones: a thermostat in control, or a cooler at its limit. So the band is the envelope of the bands at every slope in
    /// the range, and holds at least 95 % for each of them.
    pub fn under(mut self, before: &Conditions, after: &Conditions, slope: Slope) -> Self {
        self.before.take(before, Which::Before, self.unit);
        self.after.take(after, Which::After, self.unit);
        if let (Some(b), Some(a)) = (self.before.ambient, self.after.ambient) {
            self.adjusted = Some(self.adjust(b, a, slope));
        }
        let notes = condition_notes(&self, [before, after]);
        self.notes.extend(notes);
        self
    }

    fn adjust(&self, before: Ambient, after: Ambient, slope: Slope) -> Adjusted {
        let ambient = measured(after, Which::After).minus(&measured(before, Which::Before));
        let known = coverage_factor_95(f64::INFINITY) * ambient.sigma();
        let at = |s: f64| self.delta.value() - s * ambient.value();
        // parts that are independent, so their half widths add up as squares; what is an interval adds in full. The lower end is a
        // concave function of s and the upper a convex one, so the extremes lie at the ends of the range
        let band = |s: f64| {
            let (half, surplus) = (self.delta.spread().half.hypot(s * known), self.delta.surplus());
            (at(s) - half - surplus.0, at(s) + half + surplus.1)
        };
        let ends = [band(slope.low), band(slope.high)];
        let band = (ends[0].0.min(ends[1].0), ends[0].1.max(ends[1].1));
        let value = at(0.5 * (slope.low + slope.high));
        let verdict = self.verdict_on(value, band);
        Adjusted { slope, ends: (at(slope.low), at(slope.high)), value, band, verdict, ambient }
    }
}

fn measured(ambient: Ambient, which: Which) -> Measured {
    Measured::exact(ambient.value).with_term(Source::Ambient(which), ambient.sigma())
}

impl Side {
    fn take(&mut self, conditions: &Conditions, which: Which, unit: Unit) {
        self.load.clone_from(&conditions.load);
        self.ambient = conditions.ambient.map(|a| a.to(unit));
        self.rise = self.ambient.map(|a| self.mean.minus_known(&measured(a, which)));
    }
}
