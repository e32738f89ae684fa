//! From a dial, and readings made with it, to how good it is.
use super::change::{PhotoNoise, Smallest, smallest};
use super::repeats::Repeats;
use super::resolution::{AtSize, Stretch, at_sizes, stretches, usual};
use super::worry::{Worry, worries};
use crate::dial::{Dial, Mark, MarkKind};
use crate::reading::Record;
use crate::scale::Scale;

/// What is known besides the dial file.
#[derive(Clone, Copy, Debug)]
pub struct Given<'a> {
    /// Photos said to be of one temperature, read with the dial.
    pub repeated: &'a [Record],
    /// Blur of the printed edges of the reference, px, one sigma.
    pub blur: Option<f64>,
}

/// A mark and how well it is known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MarkCheck {
    /// Value, dial unit.
    pub value: f64,
    /// Degrees clockwise from straight up.
    pub angle: f64,
    /// How its value is known.
    pub kind: MarkKind,
    /// Standard uncertainty of the angle, degrees.
    pub sigma: f64,
    /// The same as a temperature, dial unit.
    pub sigma_value: f64,
    /// Distance of the click from its tick, px; `None` without a click or a tick.
    pub residual: Option<f64>,
}

/// How good a dial is.
#[derive(Clone, Debug, PartialEq)]
pub struct Assessment {
    /// The marks by rising value.
    pub marks: Vec<MarkCheck>,
    /// Root mean square of the clicks' residuals, px; `None` without clicks on ticks.
    pub residual: Option<f64>,
    /// Stretches between marks that were given, without the flat zones.
    pub stretches: Vec<Stretch>,
    /// Dial unit per degree of needle, the usual of the scale.
    pub per_degree: f64,
    /// A pixel's worth by the dial's width in the photo.
    pub sizes: Vec<AtSize>,
    /// Blur of the reference's printed edges, px, one sigma.
    pub blur: Option<f64>,
    /// What one photo adds to a reading.
    pub noise: PhotoNoise,
    /// The smallest change by the number of photos.
    pub smallest: Vec<Smallest>,
    /// The repeated readings; `None` when there are none.
    pub repeats: Option<Repeats>,
    /// What may be wrong.
    pub worries: Vec<Worry>,
}

/// Puts all together. Counts what the dial file and the readings say of themselves; gauge accuracy and
/// stiction count as far as they are declared.
pub fn assess(dial: &Dial, given: Given) -> Assessment {
    let scale = Scale::new(dial);
    let stretches = stretches(&scale);
    let per_degree = usual(dial);
    let repeats = Repeats::of(given.repeated);
    let noise = repeats.as_ref().map_or_else(|| PhotoNoise::assumed(dial, per_degree), PhotoNoise::seen);
    let residuals: Vec<f64> = dial.marks.iter().filter_map(|m| m.click.as_ref()?.residual).collect();
    let mean_square = residuals.iter().map(|r| r * r).sum::<f64>() / residuals.len() as f64;
    Assessment {
        marks: dial.marks.iter().map(|m| check(m, &scale)).collect(),
        residual: (!residuals.is_empty()).then(|| mean_square.sqrt()),
        sizes: at_sizes(dial, per_degree),
        blur: given.blur,
        smallest: smallest(dial, &scale, noise),
        worries: worries(dial, &stretches, per_degree, given.blur, repeats.as_ref()),
        noise,
        stretches,
        per_degree,
        repeats,
    }
}

fn check(m: &Mark, scale: &Scale) -> MarkCheck {
    let sigma = m.sigma();
    MarkCheck {
        value: m.value,
        angle: m.angle,
        kind: m.kind,
        sigma,
        sigma_value: sigma * scale.slope(m.angle).abs(),
        residual: m.click.as_ref().and_then(|c| c.residual).map(f64::abs),
    }
}
