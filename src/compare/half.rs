//! The statistics of one side, alike for photos and for a settled level.
use super::error::CompareError;
use super::given::{Given, SettledLevel};
use super::lender::Lender;
use super::readings::Readings;
use super::scatter::Scatter;
use super::side::{Origin, Side};
use crate::maths::between::{Part, Spread};
use crate::maths::estimate::Estimate;
use crate::maths::measured::Measured;
use crate::maths::source::{Source, Which};
use crate::maths::units::Unit;
use crate::reading::LeftOut;
use std::collections::BTreeSet;

/// One side, all in the unit of the comparison.
#[derive(Debug, Default)]
pub(super) struct Half {
    pub mean: Measured,
    /// What the scatter contributes to the mean; `None` for a single photo.
    pub own: Option<Part>,
    /// The scatter between photos as this side shows it, for a side that shows none.
    pub lends: Option<Lender>,
    /// How far the band reaches below and above what terms and scatter explain; infinite towards an end that photos stand beyond.
    pub surplus: (f64, f64),
    pub scatter: Option<Scatter>,
    pub origin: Origin,
    pub flat: Option<(f64, f64)>,
    pub nearest: usize,
    pub read: Vec<usize>,
    pub left_out: Vec<LeftOut>,
    /// Identities of the photos.
    pub ids: BTreeSet<String>,
    /// Identities of the dials.
    pub dials: BTreeSet<String>,
    pub at_end: bool,
    /// Photos below the scale and above it.
    pub beyond: (usize, usize),
    pub converted: bool,
    /// First and last capture time.
    pub taken: Option<(String, String)>,
}

impl Half {
    /// From what is given, in `unit`.
    pub fn of(given: &Given, which: Which, unit: Unit) -> Result<Self, CompareError> {
        match given {
            Given::Photos(records) => Self::of_readings(Readings::of(records, unit), which, records.len()),
            Given::Level(level) => Self::of_level(level, which, unit),
        }
    }
    fn of_readings(r: Readings, which: Which, given: usize) -> Result<Self, CompareError> {
        let mean = r.mean(which, given)?;
        let sample = r.sample();
        let beyond = r.beyond();
        let surplus = r.surplus();
        let open = |photos: usize, over: f64| if photos > 0 { f64::INFINITY } else { over };
        Ok(Self {
            own: sample.map(|s| s.of_mean()),
            // what stands off the scale is missing from the scatter: good for no other side
            lends: sample.filter(|_| beyond == (0, 0)).map(Lender::Readings),
            surplus: (open(beyond.0, surplus.0), open(beyond.1, surplus.1)),
            beyond,
            scatter: sample.as_ref().map(Scatter::of),
            origin: Origin::Photos,
            flat: r.flat,
            nearest: r.nearest(mean.value()),
            dials: dials(mean.terms().keys()),
            mean,
            read: r.indices,
            left_out: r.left_out,
            ids: r.ids,
            at_end: r.at_end,
            converted: r.converted,
            taken: r.taken,
        })
    }
    /// The terms of the dial stay, the photos' are replaced by the scatter. A band that reaches further than terms and scatter
    /// explain (a profile, an interval) keeps its surplus.
    fn of_level(l: &SettledLevel, which: Which, unit: Unit) -> Result<Self, CompareError> {
        let (value, (low, high)) = (l.level.value(), l.level.band());
        let numbers = [value, l.level.measured().sigma(), l.scatter, low, high, l.wander];
        if !numbers.iter().all(|v| v.is_finite()) {
            return Err(CompareError::NotFinite(which));
        }
        let to = |v: f64| l.unit.convert_difference(v, unit);
        let mean = l.level.measured().only(|s| !s.is_own()).on(which).converted(l.unit, unit);
        let own = Part::apart(to(l.scatter), l.scatter_dof);
        let normal = Spread::of(mean.sigma(), &[own]).half;
        let over = |reach: f64| (to(reach) - normal).max(0.0);
        let mut dials = dials(mean.terms().keys());
        dials.insert(l.dial.clone());
        Ok(Self {
            surplus: (over(value - low), over(high - value)),
            own: Some(own),
            lends: Some(Lender::Run(to(l.wander), l.wander_dof)),
            origin: Origin::Settled { readings: l.readings },
            ids: l.level.terms().keys().filter_map(photo).collect(),
            dials,
            at_end: l.at_scale_end,
            converted: l.unit != unit,
            taken: l.taken.clone(),
            mean,
            ..Self::default()
        })
    }
    /// The variance of the mean that its photos explain.
    pub fn explained(&self) -> f64 {
        self.mean.variance_of(Source::is_own)
    }
    /// What the scatter contributes to the mean: its own, or as it is lent.
    pub fn scatter_of(&self, lent: Option<Lender>) -> Option<Part> {
        self.own.or_else(|| lent.map(|l| l.part(self.explained(), 1.0)))
    }
    /// The side as it is told.
    pub fn side(self, scatter: Option<Part>) -> Side {
        let spread = Spread::of(self.mean.sigma(), scatter.as_slice());
        let (value, (below, above)) = (self.mean.value(), self.surplus);
        let anywhere = self.flat.is_some() || below.is_infinite() || above.is_infinite();
        let mean = Estimate::new(self.mean, spread, (0.0, 0.0)).widened(self.surplus);
        Side {
            mean: mean.anywhere_in(anywhere.then_some((value - below, value + above))),
            flat: self.flat,
            nearest: self.nearest,
            read: self.read,
            left_out: self.left_out,
            scatter: self.scatter,
            origin: self.origin,
            ambient: None,
            load: None,
            rise: None,
            margin: None,
        }
    }
}

/// The dials named in terms.
fn dials<'a>(sources: impl Iterator<Item = &'a Source>) -> BTreeSet<String> {
    sources.filter_map(|s| if let Source::Dial(id, _) = s { Some(id.clone()) } else { None }).collect()
}

/// The photo that a source belongs to.
fn photo(source: &Source) -> Option<String> {
    if let Source::Photo(id, _) = source { Some(id.clone()) } else { None }
}
