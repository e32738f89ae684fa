//! The temperature of a stage: the mean of its photos, or the level at which a run of them settles.
use crate::base::measured::Measured;
use crate::base::units::Unit;
use crate::compare::Side;
use crate::settle;

/// Where a temperature comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum From {
    /// The mean of photos.
    Photos,
    /// The level of a run: its place among the stage's runs.
    Run(usize),
}

/// The temperature of a stage, in the unit of the project.
#[derive(Clone, Debug, PartialEq)]
pub struct Level {
    /// The temperature with the terms that do not come from its scatter.
    pub measured: Measured,
    /// 95 % band.
    pub band: (f64, f64),
    /// How many photos it rests on.
    pub photos: usize,
    /// Where it comes from.
    pub from: From,
    /// Its photos stand in a flat zone of the dial: from where to where.
    pub flat: Option<(f64, f64)>,
    /// Scatter of the temperature beyond its terms: sigma and degrees of freedom; `None` for a single photo.
    pub(super) scatter: Option<(f64, f64)>,
    /// The same of one photo, to be lent to a stage with a single photo.
    pub(super) wander: Option<(f64, f64)>,
    /// How much further the band reaches, below and above, than terms and scatter explain.
    pub(super) over: (f64, f64),
}

impl Level {
    /// The mean of photos, as the side of a comparison has it.
    pub(super) fn of_side(side: &Side, from: Unit, to: Unit) -> Self {
        let n = side.read.len();
        let by = |v: f64| from.convert_difference(v, to);
        let wander = side.scatter.map(|s| (by(s.extra), s.dof));
        let scatter = wander.map(|(s, dof)| (s / (n as f64).sqrt(), dof));
        let measured = converted(&side.mean, from, to);
        let band = (from.convert(side.band.0, to), from.convert(side.band.1, to));
        let flat = side.flat.map(|(l, h)| (from.convert(l, to), from.convert(h, to)));
        let over = surplus(&measured, scatter, band);
        Self { measured, band, photos: n, from: From::Photos, flat, scatter, wander, over }
    }
    /// The settled level of a run, when one is named. The scatter stands in place of the photos' own terms.
    pub(super) fn of_run(answer: &settle::Answer, run: usize, to: Unit) -> Option<Self> {
        let (level, from) = (answer.level.as_ref()?, answer.unit);
        let kept = level.measured.terms().iter().filter(|(k, _)| !k.starts_with("photo:"));
        let kept = Measured::new(level.measured.value(), kept.map(|(k, t)| (k.clone(), *t)).collect());
        let measured = converted(&kept, from, to);
        // Welch–Satterthwaite backwards: the terms of the dial count as known
        let share = if level.sigma > 0.0 { level.scatter / level.sigma } else { 0.0 };
        let dof = if share > 0.0 { (level.dof * share.powi(4)).max(1.0) } else { f64::INFINITY };
        let by = |v: f64| from.convert_difference(v, to);
        let scatter = Some((by(level.scatter), dof));
        let band = (from.convert(level.band.0, to), from.convert(level.band.1, to));
        let over = surplus(&measured, scatter, band);
        let wander = Some((by(answer.wander), dof));
        Some(Self { measured, band, photos: answer.points.len(), from: From::Run(run), flat: None, scatter, wander, over })
    }
    /// Standard uncertainty: terms and scatter.
    pub fn sigma(&self) -> f64 {
        self.measured.sigma().hypot(self.scatter.map_or(0.0, |s| s.0))
    }
}

/// A temperature in another unit; terms are differences.
fn converted(m: &Measured, from: Unit, to: Unit) -> Measured {
    let terms = m.terms().iter().map(|(k, t)| (k.clone(), from.convert_difference(*t, to))).collect();
    Measured::new(from.convert(m.value(), to), terms)
}

/// What a band reaches beyond what its terms and its scatter explain.
fn surplus(m: &Measured, scatter: Option<(f64, f64)>, band: (f64, f64)) -> (f64, f64) {
    let half = super::change::half(m.sigma(), &scatter.into_iter().collect::<Vec<_>>()).half;
    // a last digit lost on the way is no surplus
    let beyond = |reach: f64| if reach > half * (1.0 + 1e-9) { reach - half } else { 0.0 };
    (beyond(m.value() - band.0), beyond(band.1 - m.value()))
}
