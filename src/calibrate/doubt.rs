//! Why a stroke on the ticks' ring may be no tick: it stands off, points elsewhere, or looks unlike the others.
use super::tick::Tick;
use crate::maths::robust::high_median;
use nalgebra::Vector2;

/// What is odd about a tick.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Doubt {
    /// Neither end lies where the other ticks' ends do.
    OffRing,
    /// It does not point at the pivot as the others do.
    Askew,
    /// Much wider or narrower than any other.
    Width,
    /// It stands hardly beside its neighbour.
    Crowded,
    /// A dot on a scale that shows no bar.
    Round,
}

impl Doubt {
    /// In a few words.
    pub fn words(self) -> &'static str {
        match self {
            Doubt::OffRing => "ends elsewhere than the others",
            Doubt::Askew => "does not point at the pivot",
            Doubt::Width => "its width is unlike the others",
            Doubt::Crowded => "very near its neighbour",
            Doubt::Round => "a dot, or a numeral",
        }
    }
}

/// Radial share by which an end may lie off the ring of the others (blur, print).
const OFF_RING: f64 = 0.012;
/// Turn against the direction to the pivot, in sigmas and degrees.
const ASKEW: (f64, f64) = (5.0, 2.0);
/// Ratio of widths.
const WIDTH: f64 = 2.2;

/// The doubt about each tick. `pivot`: where their lines meet, photo px.
pub fn of(ticks: &[Tick], pivot: Vector2<f64>) -> Vec<Option<Doubt>> {
    (0..ticks.len())
        .map(|i| {
            if off_ring(ticks, i) {
                Some(Doubt::OffRing)
            } else if askew(&ticks[i], pivot) {
                Some(Doubt::Askew)
            } else if odd_width(ticks, i) {
                Some(Doubt::Width)
            } else if crowded(ticks, i) {
                Some(Doubt::Crowded)
            } else {
                None
            }
        })
        .collect()
}

/// Off both rings: the outer one of all, and any inner one that two others share.
fn off_ring(ticks: &[Tick], i: usize) -> bool {
    let outer = high_median(ticks.iter().map(|t| t.radii[0])).unwrap_or(0.0);
    let shares =
        |k: usize| ticks.iter().enumerate().filter(|(j, t)| *j != i && (t.radii[k] - ticks[i].radii[k]).abs() < OFF_RING).count() >= 2;
    (ticks[i].radii[0] - outer).abs() > OFF_RING && !(shares(1) && shares(0)) || !shares(0) && !shares(1)
}

fn askew(t: &Tick, pivot: Vector2<f64>) -> bool {
    let middle = 0.5 * (t.line[0] + t.line[1]);
    let (along, to) = ((t.line[1] - t.line[0]).normalize(), (middle - pivot).normalize());
    let turn = (along.x * to.y - along.y * to.x).asin().abs();
    turn > (ASKEW.0 * t.sigma_angle.hypot(t.sigma / (middle - pivot).norm())).max(ASKEW.1.to_radians())
}

fn odd_width(ticks: &[Tick], i: usize) -> bool {
    let w = ticks[i].half_width;
    let alike = ticks.iter().enumerate().filter(|(j, t)| *j != i && t.half_width < WIDTH * w && w < WIDTH * t.half_width).count();
    alike == 0
}

/// Nearer to a neighbour than a third of the usual distance, and shorter than it.
fn crowded(ticks: &[Tick], i: usize) -> bool {
    let mut angles: Vec<f64> = ticks.iter().map(|t| t.angle.rem_euclid(360.0)).collect();
    angles.sort_by(f64::total_cmp);
    let usual = high_median(angles.windows(2).map(|w| w[1] - w[0])).unwrap_or(0.0);
    let length = |t: &Tick| t.radii[0] - t.radii[1];
    ticks
        .iter()
        .enumerate()
        .any(|(j, t)| j != i && crate::maths::angle::wrap(t.angle - ticks[i].angle).abs() < 0.34 * usual && length(&ticks[i]) <= length(t))
}
