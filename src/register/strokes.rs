//! Strokes of print on the reference face, told from what a cover mirrors.
//!
//! Print is narrow: a tick, a letter, a dot has bare face on both sides. A seat, a window or a hand that the cover mirrors is broad, and
//! shows as steps of level, which have no top-hat ([`super::top_hat`]).
use super::mask::{grown, strong};
use super::rendering::Canonical;
use super::top_hat::{HALF_WIDTH, top_hat};

/// So far round a stroke its edges are, px.
const ROUND: usize = 3;
/// Grain is smoothed by so much, px.
const SOFT: f64 = 0.8;

/// Where a straight-on picture of the face has strokes.
#[derive(Clone, Debug)]
pub(super) struct Strokes {
    /// Square, pivot in its middle, y down.
    near: Vec<bool>,
    n: usize,
    /// px per unit.
    k: f64,
}

impl Strokes {
    /// The strokes of a straight-on picture, and the share of its edges, by their strength, that belong to none (0..1). `votes`: where the
    /// picture shows the face.
    pub fn of(canonical: &Canonical, votes: &[bool]) -> (Self, f64) {
        let smooth = canonical.plane.gaussian(SOFT);
        let n = smooth.width;
        let [lighter, darker] = [true, false].map(|lighter| top_hat(&smooth, HALF_WIDTH * canonical.k, lighter).data);
        let narrow: Vec<f32> = lighter.iter().zip(darker.iter()).map(|(l, d)| l.max(*d)).collect();
        let is_stroke = strong(&narrow, votes);
        let (tx, ty) = smooth.gradient();
        let edges: Vec<f32> = tx.data.iter().zip(&ty.data).map(|(a, b)| a.hypot(*b)).collect();
        let is_edge = strong(&edges, votes);
        let near = grown(&is_stroke, n, ROUND);
        let strength = |of: &dyn Fn(usize) -> bool| (0..n * n).filter(|&i| is_edge[i] && of(i)).map(|i| f64::from(edges[i])).sum::<f64>();
        let steps = strength(&|i| !near[i]) / (strength(&|_| true) + 1e-9);
        (Self { near, n, k: canonical.k }, steps)
    }
    /// Whether the dial point is at a stroke.
    pub fn near(&self, x: f64, y: f64) -> bool {
        let centre = self.n as f64 / 2.0;
        let (u, v) = ((centre + self.k * x) as usize, (centre - self.k * y) as usize);
        u < self.n && v < self.n && self.near[v * self.n + u]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::photo::Plane;

    /// A face of 80 px a unit out to 1.25 units, with twelve ticks, over whatever is mirrored.
    fn face(mirrored: impl Fn(f64, f64) -> f32) -> (Canonical, Vec<bool>) {
        let mut canonical = Canonical::blank(80.0, 1.25);
        let n = canonical.plane.width;
        canonical.plane = Plane::from_fn(n, n, |i, j| {
            let (x, y) = canonical.dial(i, j);
            let (r, turn) = (x.hypot(y), x.atan2(y).to_degrees().rem_euclid(30.0));
            let tick = (0.8..1.0).contains(&r) && (turn.min(30.0 - turn)).to_radians() * r < 0.02;
            mirrored(x, y) + if tick { 120.0 } else { 40.0 }
        });
        (canonical, vec![true; n * n])
    }

    #[test]
    fn ticks_are_strokes_and_a_mirrored_seat_is_none() {
        let (plain, votes) = face(|_, _| 0.0);
        let (strokes, steps) = Strokes::of(&plain, &votes);
        assert!(strokes.near(0.0, 0.9) && strokes.near(0.9, 0.0) && !strokes.near(0.0, 0.5) && !strokes.near(0.3, 0.3));
        assert!(!strokes.near(9.0, 0.0) && !strokes.near(0.0, -9.0), "beyond the picture there is none");
        assert!(steps < 0.02, "{steps}");
        // a seat with a straight side and a round one
        let (seat, votes) = face(|x, y| if x + 0.4 * y > 0.1 && x.hypot(y - 0.2) < 0.7 { 60.0 } else { 0.0 });
        let (strokes, steps) = Strokes::of(&seat, &votes);
        assert!(strokes.near(0.0, 0.9) && !strokes.near(0.1, 0.0) && !strokes.near(0.7, 0.2), "its sides are no strokes");
        assert!(steps > 0.2, "far above what a face without one has: {steps}");
    }
}
