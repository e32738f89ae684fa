//! What a degree of needle, and a pixel at its tip, are worth along the scale.
use crate::dial::{Dial, Mark, MarkKind};
use crate::maths::robust::high_median;
use crate::scale::Scale;

/// A stretch of the scale between two marks whose values were given, or such a mark and the end of a flat zone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stretch {
    /// Value at its lower end, dial unit.
    pub from: f64,
    /// Value at its upper end.
    pub to: f64,
    /// Needle angle between them, degrees.
    pub angle: f64,
    /// Dial unit per degree of needle, the mean over the stretch.
    pub per_degree: f64,
}

/// A pixel's worth in a photo of some size.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AtSize {
    /// Width of the marks' circle in the photo, px.
    pub across: f64,
    /// Degrees of needle for one pixel at the needle's tip.
    pub degrees: f64,
    /// Dial unit for one pixel at the needle's tip, where the scale is as usual.
    pub value: f64,
}

/// Widths for which a pixel's worth is told, px.
const SIZES: [f64; 4] = [150.0, 300.0, 600.0, 1200.0];

/// The stretches by rising value; where the needle was declared to stand still there is none.
pub(super) fn stretches(scale: &Scale) -> Vec<Stretch> {
    scale.moving_pieces().iter().flat_map(|piece| between(piece)).collect()
}

/// The ends of a piece count as given.
fn between(piece: &[Mark]) -> Vec<Stretch> {
    let last = piece.len().saturating_sub(1);
    let given: Vec<&Mark> =
        piece.iter().enumerate().filter(|(k, m)| *k == 0 || *k == last || m.kind != MarkKind::Counted).map(|(_, m)| m).collect();
    let stretch = |w: &[&Mark]| {
        let angle = (w[1].angle - w[0].angle).abs();
        Stretch { from: w[0].value, to: w[1].value, angle, per_degree: (w[1].value - w[0].value) / angle }
    };
    given.windows(2).map(stretch).collect()
}

/// Dial unit per degree of needle over the whole sweep: the middle of 99 places, those in flat zones left out.
pub(super) fn usual(dial: &Dial) -> f64 {
    let scale = Scale::new(dial);
    let (Some(a), Some(b)) = (dial.marks.first(), dial.marks.last()) else { return f64::NAN };
    let moves = |angle: &f64| !dial.declared.flats.iter().any(|(low, high)| (*low..=*high).contains(&scale.value(*angle)));
    let places = (1..100).map(|k| a.angle + (b.angle - a.angle) * f64::from(k) / 100.0);
    high_median(places.filter(moves).map(|angle| scale.slope(angle).abs())).unwrap_or(f64::NAN)
}

/// A pixel's worth at several sizes and at the reference's own.
pub(super) fn at_sizes(dial: &Dial, per_degree: f64) -> Vec<AtSize> {
    let own = 2.0 * dial.face.scale;
    let mut sizes: Vec<f64> = SIZES.into_iter().chain([own]).collect();
    sizes.sort_by(f64::total_cmp);
    sizes
        .into_iter()
        .map(|across| {
            let degrees = (1.0 / (dial.needle.span[1] * 0.5 * across)).atan().to_degrees();
            AtSize { across, degrees, value: degrees * per_degree }
        })
        .collect()
}
