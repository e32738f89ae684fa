//! Noise of a picture, tile by tile: the usual difference of pixels three apart. Print covers less than half of a tile.
use crate::maths::robust::{high_median, ranked};
use crate::photo::Plane;

/// Side of a tile, px.
const TILE: usize = 32;
/// Distance of the two pixels, px: beyond the blur.
const APART: usize = 3;

/// Standard deviation of the noise by tile.
#[derive(Clone, Debug)]
pub(super) struct Noise {
    across: usize,
    tiles: Vec<f32>,
}

impl Noise {
    /// Of a plane as it is.
    pub fn of(plane: &Plane) -> Self {
        let (across, down) = (plane.width.div_ceil(TILE), plane.height.div_ceil(TILE));
        let tiles = (0..across * down).map(|i| sigma(plane, i % across * TILE, i / across * TILE)).collect();
        Self { across, tiles }
    }
    /// Of the calmer quarter of the tiles, levels.
    pub fn calm(&self) -> f64 {
        ranked(self.tiles.iter().copied(), |count| count / 4).map_or(0.0, f64::from)
    }
    /// At a place, levels.
    pub fn at(&self, x: f64, y: f64) -> f64 {
        let i = (y.max(0.0) as usize / TILE) * self.across + x.max(0.0) as usize / TILE;
        f64::from(self.tiles.get(i).copied().unwrap_or(0.0))
    }
}

fn sigma(plane: &Plane, x0: usize, y0: usize) -> f32 {
    let mut steps: Vec<f32> = Vec::new();
    for y in (y0..(y0 + TILE).min(plane.height)).step_by(2) {
        let row = plane.row(y);
        let (a, b) = (x0.min(row.len()), (x0 + TILE).min(row.len()));
        steps.extend(row[a..b].iter().zip(&row[(a + APART).min(row.len())..]).map(|(p, q)| (p - q).abs()));
    }
    // median of |difference| of two normal levels: 0.6745 sqrt(2) sigma
    high_median(steps).map_or(0.0, |median| median / (0.6745 * 2f32.sqrt()))
}
