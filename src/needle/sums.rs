//! The sums over the needle's pixels: hot paths, run with the widest vectors that the processor has.
use super::blocks::Block;
use super::rows::{Row, State};
use super::shape::Shape;
use crate::rectify::Pixel;
use nalgebra::Vector4;

/// Pixels in the frame of the present line.
pub struct Rows<'a> {
    pub pixels: &'a [Pixel],
    pub shape: &'a Shape<'a>,
    pub state: &'a State,
}

impl pulp::WithSimd for Rows<'_> {
    type Output = Vec<Row>;
    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) -> Vec<Row> {
        let (frame, sigma) = (self.state.frame(), self.state.log_blur.exp());
        let mut out = Vec::with_capacity(self.pixels.len());
        for p in self.pixels {
            if let Some(row) = Row::new(p, self.shape, self.state, &frame, sigma) {
                out.push(row);
            }
        }
        out
    }
}

/// Sums for the levels of the blocks.
pub struct LevelSums<'a> {
    pub rows: &'a [Row],
    /// Levels by block, by which what is unlike them is weighed down; none are known at first.
    pub levels: Option<&'a Vec<Option<Vector4<f64>>>>,
    /// How many blocks.
    pub count: usize,
    /// Scatter that the robust weights use.
    pub scatter: f64,
}

impl pulp::WithSimd for LevelSums<'_> {
    type Output = Vec<Block>;
    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) -> Vec<Block> {
        let mut blocks = vec![Block::default(); self.count];
        for r in self.rows {
            let w = match self.levels {
                None => r.clear(self.scatter),
                Some(levels) => weight(r, levels, self.scatter),
            };
            blocks[r.block].add_levels(&r.share, r.value, w);
        }
        blocks
    }
}

/// Sums for the line, with the levels known.
pub struct LineSums<'a> {
    pub rows: &'a [Row],
    pub levels: &'a Vec<Option<Vector4<f64>>>,
    /// What each block may say.
    pub trust: &'a [f64],
    /// Scatter of the values about the levels.
    pub scatter: f64,
    pub state: &'a State,
}

impl pulp::WithSimd for LineSums<'_> {
    type Output = Vec<Block>;
    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) -> Vec<Block> {
        let sigma = self.state.log_blur.exp();
        let mut blocks = vec![Block::default(); self.levels.len()];
        for r in self.rows {
            let Some(l) = &self.levels[r.block] else { continue };
            let w = weight(r, self.levels, self.state.scatter) * self.trust[r.block] / (self.scatter * self.scatter);
            let block = &mut blocks[r.block];
            block.add_levels(&r.share, r.value, w);
            block.add_line(&r.derivatives(l, sigma), &r.share, r.value - r.share.dot(l), w);
        }
        blocks
    }
}

/// Robust weight of a pixel against the levels of its block.
#[inline(always)]
fn weight(r: &Row, levels: &[Option<Vector4<f64>>], scatter: f64) -> f64 {
    match &levels[r.block] {
        Some(l) => {
            let e = (r.value - r.share.dot(l)) / (2.0 * scatter);
            r.clear(scatter) / (1.0 + e * e)
        }
        None => 0.0,
    }
}
