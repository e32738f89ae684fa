//! What the band of a change holds, how often, and what it does not hold.
use super::comparison::Comparison;
use crate::maths::source::Source;

/// A statement on the band of the change.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Coverage {
    /// What the band counts.
    pub counted: Vec<&'static str>,
    /// What it does not count.
    pub not_counted: Vec<&'static str>,
}

impl Comparison {
    /// What the band of the change counts and what not, from what is in this comparison.
    pub fn coverage(&self) -> Coverage {
        let sides = [self.before.mean.terms(), self.after.mean.terms()];
        let any = |which: fn(&Source) -> bool| sides.iter().any(|terms| terms.keys().any(which));
        let (gauge, sticks) = (any(Source::is_gauge), any(Source::is_stiction));
        let ambient = self.adjusted.is_some();
        let scatter = self.scatter_known;
        let all = [
            (any(Source::is_own), "how well each photo was read"),
            (any(Source::is_dial), "the errors of the dial file as far as they do not cancel"),
            (scatter, "how the readings of a side scatter"),
            (self.in_flat_zone(), "the flat zone of the dial, in full"),
            (gauge, "the gauge's accuracy as declared, as far as it does not cancel"),
            (sticks, "a needle that sticks as declared"),
        ];
        let not = [
            (!scatter, "how the needle wanders from photo to photo"),
            (!gauge, "an error of the gauge that differs between the two places of the scale"),
            (!sticks, "a needle that sticks"),
            (true, "a drift of gauge or sender between the two days"),
            (!ambient, "the weather"),
            (true, "load, speed and wind"),
        ];
        let named = |list: &[(bool, &'static str)]| list.iter().filter(|(on, _)| *on).map(|(_, what)| *what).collect();
        Coverage { counted: named(&all), not_counted: named(&not) }
    }
}
