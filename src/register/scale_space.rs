//! The levels of a Gaussian scale space and the extrema of their differences, row by row: what has done its part makes room for the next
//! rows, so that an octave of a photo stays near the processor.
use crate::photo::{Buffer, Plane, RowBlur, half_row};
use std::collections::VecDeque;

/// Levels to an octave.
const STEPS: usize = 3;
/// Planes to an octave: the extrema of [`STEPS`] differences have a neighbour on either side.
const LEVELS: usize = STEPS + 3;
const BASE_SIGMA: f64 = 1.6;
const EDGE_RATIO: f32 = 12.0;
/// Farthest that an extremum may lie from its pixel and level.
const FARTHEST: f32 = 0.6;
/// Extrema nearer to the border than this (px) are left out.
const BORDER: usize = 5;

/// An extremum.
pub(super) struct Candidate {
    pub octave: usize,
    /// Level of the octave in which it is described.
    pub level: usize,
    /// px of the octave.
    pub x: f64,
    /// px of the octave.
    pub y: f64,
    /// Scale (Gaussian sigma), px of the octave.
    pub sigma: f64,
    pub strength: f32,
}

/// Octaves of a picture that are looked at where all are.
pub(super) const OCTAVES: usize = 6;

/// The first octaves of a picture: every extremum of at least `threshold` is shown to `each`, with the level in which it is described.
/// `blur`: the Gaussian sigma it already has, px.
pub(super) fn scale_space(picture: &Plane, blur: f64, octaves: usize, threshold: f32, mut each: impl FnMut(&LevelRows, &Candidate)) {
    let mut half: Option<Plane> = None;
    for octave in 0..octaves {
        let base = half.as_ref().unwrap_or(picture);
        if base.width < 24 || base.height < 24 {
            break;
        }
        let first = if half.is_none() { (BASE_SIGMA * BASE_SIGMA - blur * blur).max(0.01).sqrt() } else { 0.0 };
        half = Some(Rows::new(base, first).run(octave, threshold, octave + 1 < octaves, &mut each));
    }
}

fn level_sigma(s: f64) -> f64 {
    BASE_SIGMA * 2f64.powf(s / STEPS as f64)
}

/// Rows above and below an extremum that its description looks at, see [`super::features`].
pub(super) const REACH: usize = 40;

/// The last rows of a level on their way down the picture.
pub(super) struct LevelRows {
    pub width: usize,
    pub height: usize,
    /// A row is kept at its number's bits under this mask.
    mask: usize,
    data: Buffer<f32>,
    /// Rows that have been made.
    made: usize,
    blur: Option<RowBlur>,
}

impl LevelRows {
    /// One of the last rows.
    #[inline]
    pub fn row(&self, y: usize) -> &[f32] {
        debug_assert!(y < self.made && self.made - y - 1 <= self.mask, "row {y} of {} made, {} kept", self.made, self.mask);
        let from = (y & self.mask) * self.width;
        &self.data[from..from + self.width]
    }
    /// Makes the rows below `to` from those of the level before.
    fn make<'r>(&mut self, to: usize, last: usize, before: impl Fn(usize) -> &'r [f32]) {
        while self.made < to {
            let y = self.made;
            let from = (y & self.mask) * self.width;
            let out = &mut self.data[from..from + self.width];
            match &mut self.blur {
                Some(blur) => {
                    let pairs: Vec<_> = (0..=blur.radius()).map(|k| (before(y.saturating_sub(k)), before((y + k).min(last)))).collect();
                    blur.row(&pairs, out);
                }
                None => out.copy_from_slice(before(y)),
            }
            self.made += 1;
        }
    }
}

/// An extremum that waits for the rows below it.
struct Waiting {
    row: usize,
    found: Candidate,
}

/// The levels of one octave on their way down the picture.
struct Rows<'a> {
    base: &'a Plane,
    levels: Vec<LevelRows>,
}

impl<'a> Rows<'a> {
    /// `first`: Gaussian sigma by which the first level differs from the base, px.
    fn new(base: &'a Plane, first: f64) -> Self {
        let step = |s: usize| (level_sigma(s as f64).powi(2) - level_sigma(s as f64 - 1.0).powi(2)).sqrt();
        let blurs: Vec<Option<RowBlur>> = (0..LEVELS).map(|s| RowBlur::new(if s == 0 { first } else { step(s) }, base.width)).collect();
        let radius = |s: usize| blurs[s].as_ref().map_or(0, RowBlur::radius);
        // a level runs ahead of the extrema by what the later ones look down; the next one looks up as well, and so does a description
        let ahead = |l: usize| (l + 1..LEVELS).map(radius).sum::<usize>();
        let next = |l: usize| if l + 1 < LEVELS { 2 * radius(l + 1) } else { 0 };
        let described = |l: usize| if (1..=STEPS).contains(&l) { 2 * REACH + ahead(l) } else { 0 };
        let rooms: Vec<usize> = (0..LEVELS).map(|l| 4 + ahead(l).max(next(l)).max(described(l))).collect();
        let level = |(blur, room): (Option<RowBlur>, usize)| {
            let rows = room.min(base.height).next_power_of_two();
            LevelRows { width: base.width, height: base.height, mask: rows - 1, data: Buffer::zeroed(rows * base.width), made: 0, blur }
        };
        Self { base, levels: blurs.into_iter().zip(rooms).map(level).collect() }
    }
    /// The base of the next octave, where there is a `next` one: empty otherwise.
    fn run(mut self, octave: usize, threshold: f32, next: bool, each: &mut impl FnMut(&LevelRows, &Candidate)) -> Plane {
        let (width, height) = (self.base.width, self.base.height);
        let (mut strong, mut waiting, mut half) =
            (Vec::new(), VecDeque::new(), Vec::with_capacity(if next { width * height / 4 } else { 0 }));
        for y in 0..height {
            self.advance(LEVELS - 1, (y + 2).min(height));
            if y >= BORDER && y + BORDER < height {
                self.extrema(octave, y, threshold, &mut strong, &mut waiting);
            }
            if next && y % 2 == 1 {
                half.extend(half_row(self.levels[STEPS].row(y - 1), self.levels[STEPS].row(y)));
            }
            let ripe = waiting.iter().take_while(|c| c.row + REACH <= y || y + 1 == height).count();
            waiting.drain(..ripe).for_each(|c| each(&self.levels[c.found.level], &c.found));
        }
        if next { Plane { width: width / 2, height: height / 2, data: half.into() } } else { Plane::default() }
    }
    fn advance(&mut self, level: usize, to: usize) {
        let height = self.base.height;
        let reach = self.levels[level].blur.as_ref().map_or(0, RowBlur::radius);
        if level == 0 {
            let base = self.base;
            return self.levels[0].make(to, height - 1, |y| base.row(y));
        }
        self.advance(level - 1, (to + reach).min(height));
        let (before, own) = self.levels.split_at_mut(level);
        own[0].make(to, height - 1, |y| before[level - 1].row(y));
    }
    fn extrema(&self, octave: usize, y: usize, threshold: f32, strong: &mut Vec<usize>, waiting: &mut VecDeque<Waiting>) {
        for s in 1..=STEPS {
            strong.clear();
            let near = self.near(s, y);
            pulp::Arch::new().dispatch(Peaks { rows: [near[0], near[1], near[2]], least: 0.5 * threshold, out: strong });
            for &x in strong.iter() {
                if is_extremum(&near[3..], near[0].0[x] - near[0].1[x], x) {
                    waiting.extend(self.refined(octave, s, x, y, threshold).map(|found| Waiting { row: y, found }));
                }
            }
        }
    }
    /// Difference of Gaussians `s` at a pixel.
    #[inline]
    fn dog(&self, s: usize, x: usize, y: usize) -> f32 {
        self.levels[s + 1].row(y)[x] - self.levels[s].row(y)[x]
    }
    /// The rows round row `y` of the levels whose differences lie round difference `s`: upper and lower of nine differences, those nearest to
    /// the own one first, which is the first of them.
    fn near(&self, s: usize, y: usize) -> [(&[f32], &[f32]); 9] {
        let at = [(s, y), (s, y - 1), (s, y + 1), (s - 1, y), (s + 1, y), (s - 1, y - 1), (s - 1, y + 1), (s + 1, y - 1), (s + 1, y + 1)];
        at.map(|(l, j)| (self.levels[l + 1].row(j), self.levels[l].row(j)))
    }
    /// The extremum between the pixels; `None` along an edge, where its place is open, and below the threshold.
    fn refined(&self, octave: usize, s: usize, x: usize, y: usize, threshold: f32) -> Option<Candidate> {
        let at = |l: usize, i: usize, j: usize| self.dog(l, i, j);
        let v = at(s, x, y);
        let g = [
            0.5 * (at(s, x + 1, y) - at(s, x - 1, y)),
            0.5 * (at(s, x, y + 1) - at(s, x, y - 1)),
            0.5 * (at(s + 1, x, y) - at(s - 1, x, y)),
        ];
        let dxx = at(s, x + 1, y) + at(s, x - 1, y) - 2.0 * v;
        let dyy = at(s, x, y + 1) + at(s, x, y - 1) - 2.0 * v;
        let dss = at(s + 1, x, y) + at(s - 1, x, y) - 2.0 * v;
        let dxy = 0.25 * (at(s, x + 1, y + 1) - at(s, x - 1, y + 1) - at(s, x + 1, y - 1) + at(s, x - 1, y - 1));
        let dxs = 0.25 * (at(s + 1, x + 1, y) - at(s + 1, x - 1, y) - at(s - 1, x + 1, y) + at(s - 1, x - 1, y));
        let dys = 0.25 * (at(s + 1, x, y + 1) - at(s + 1, x, y - 1) - at(s - 1, x, y + 1) + at(s - 1, x, y - 1));
        let (tr, det) = (dxx + dyy, dxx * dyy - dxy * dxy);
        if det <= 0.0 || tr * tr * EDGE_RATIO > (EDGE_RATIO + 1.0) * (EDGE_RATIO + 1.0) * det {
            return None;
        }
        let m = nalgebra::Matrix3::new(dxx, dxy, dxs, dxy, dyy, dys, dxs, dys, dss);
        let o = m.lu().solve(&nalgebra::Vector3::new(-g[0], -g[1], -g[2]))?;
        if o.iter().any(|v| !v.is_finite()) {
            return None;
        }
        let o = o.map(|v| v.clamp(-FARTHEST, FARTHEST));
        let strength = (v + 0.5 * (g[0] * o[0] + g[1] * o[1] + g[2] * o[2])).abs();
        (strength >= threshold).then(|| Candidate {
            octave,
            level: s,
            x: x as f64 + o[0] as f64,
            y: y as f64 + o[1] as f64,
            sigma: level_sigma(s as f64 + o[2] as f64),
            strength,
        })
    }
}

/// Whether a level is no less than its neighbours in these differences at a pixel (not at the border), or no more where it is below zero.
#[inline]
fn is_extremum(near: &[(&[f32], &[f32])], v: f32, x: usize) -> bool {
    near.iter().all(|(upper, lower)| {
        let (u, l) = (&upper[x - 1..=x + 1], &lower[x - 1..=x + 1]);
        no_less(v, u[0] - l[0]) & no_less(v, u[1] - l[1]) & no_less(v, u[2] - l[2])
    })
}

/// Whether a level is no less than another where it is above 0, and no more where it is not.
#[inline(always)]
fn no_less(v: f32, other: f32) -> bool {
    ((v > 0.0) & (other <= v)) | ((v <= 0.0) & (other >= v))
}

/// Where a difference, off the border, is `least` or more and no less than at its eight neighbours in the same difference, as work for the
/// processor's widest vectors.
struct Peaks<'a> {
    /// Upper and lower rows: of the difference's own row, of the row above and of the row below.
    rows: [(&'a [f32], &'a [f32]); 3],
    least: f32,
    out: &'a mut Vec<usize>,
}

/// Places that are looked at together: most of a photo is even.
const TOGETHER: usize = 32;

impl pulp::WithSimd for Peaks<'_> {
    type Output = ();
    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) {
        let end = self.rows[0].0.len().saturating_sub(BORDER);
        let mut from = BORDER;
        while from < end {
            let n = TOGETHER.min(end - from);
            let mut peak = [0u8; TOGETHER];
            self.strip(from, &mut peak[..n]);
            if peak != [0; TOGETHER] {
                self.out.extend((0..n).filter(|&i| peak[i] != 0).map(|i| from + i));
            }
            from += n;
        }
    }
}

impl Peaks<'_> {
    #[inline(always)]
    fn strip(&self, from: usize, peak: &mut [u8]) {
        let n = peak.len();
        let [own, ..] = self.rows;
        let (a, b) = (&own.0[from..from + n], &own.1[from..from + n]);
        let mut far = false;
        for i in 0..n {
            let is_far = (a[i] - b[i]).abs() >= self.least;
            peak[i] = u8::from(is_far);
            far |= is_far;
        }
        if !far {
            return;
        }
        for (upper, lower) in self.rows {
            for by in 0..3 {
                let at = from + by - 1;
                let (u, l) = (&upper[at..at + n], &lower[at..at + n]);
                for i in 0..n {
                    peak[i] &= u8::from(no_less(a[i] - b[i], u[i] - l[i]));
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::features::reach;
    use super::*;

    /// The widest window, its gradients, and an extremum that is rounded to the next row.
    #[test]
    fn a_description_looks_no_farther_than_rows_are_kept() {
        let widest = reach(level_sigma(STEPS as f64 + f64::from(FARTHEST)));
        assert_eq!(widest + 1.0 + 1.0, REACH as f64);
    }

    /// Blobs of many sizes, light and dark.
    fn picture(w: usize, h: usize) -> Plane {
        let place = |i: usize, by: usize, size: usize| (i * by % 997 * size) as f32 / 997.0;
        let blobs: Vec<[f32; 4]> = (1..=w * h / 150)
            .map(|i| [place(i, 613, w), place(i, 389, h), 1.5 + (i % 7) as f32, if i % 2 == 0 { 60.0 } else { -50.0 }])
            .collect();
        Plane::from_fn(w, h, |x, y| {
            let at = |[bx, by, s, a]: &[f32; 4]| a * (-0.5 * ((x as f32 - bx).powi(2) + (y as f32 - by).powi(2)) / (s * s)).exp();
            120.0 + blobs.iter().map(at).sum::<f32>()
        })
    }

    /// The same octaves with every level as a whole plane, by [`Plane::gaussian`].
    fn whole(picture: &Plane, blur: f64) -> Vec<Vec<Plane>> {
        let mut base = picture.gaussian((BASE_SIGMA * BASE_SIGMA - blur * blur).sqrt());
        let mut octaves = Vec::new();
        while base.width >= 24 && base.height >= 24 && octaves.len() < 6 {
            let mut levels = vec![base];
            for s in 1..LEVELS {
                let step = (level_sigma(s as f64).powi(2) - level_sigma(s as f64 - 1.0).powi(2)).sqrt();
                levels.push(levels[s - 1].gaussian(step));
            }
            base = levels[STEPS].half();
            octaves.push(levels);
        }
        octaves
    }

    /// Rows that a description looks at are those of the whole plane.
    #[test]
    fn rows_on_their_way_are_those_of_whole_planes() {
        for (w, h) in [(140, 120), (60, 500), (500, 60)] {
            let (picture, blur) = (picture(w, h), 0.6);
            let octaves = whole(&picture, blur);
            let mut found = 0;
            scale_space(&picture, blur, OCTAVES, 1.0, |level, c| {
                let plane = &octaves[c.octave][c.level];
                assert_eq!((level.width, level.height), (plane.width, plane.height));
                let y = c.y.round() as usize;
                for row in y.saturating_sub(REACH - 1)..(y + REACH).min(level.height) {
                    assert!(level.row(row) == plane.row(row), "{w} x {h}: octave {}, level {}, row {row} from {y}", c.octave, c.level);
                }
                found += 1;
            });
            assert!(found > 15, "{w} x {h}: {found}");
        }
    }

    /// The same extrema are found where all rows are kept.
    #[test]
    fn rows_that_make_room_are_not_missed() {
        let extrema = |rows: Rows| {
            let mut found = Vec::new();
            rows.run(0, 0.5, true, &mut |_: &LevelRows, c: &Candidate| {
                found.push((c.level, c.x.to_bits(), c.y.to_bits(), c.strength.to_bits()))
            });
            found
        };
        for (w, h) in [(60, 700), (300, 250)] {
            let picture = picture(w, h);
            let mut keeping = Rows::new(&picture, 1.4);
            for l in &mut keeping.levels {
                assert!(l.mask + 1 < h, "{w} x {h}: no level makes room");
                (l.mask, l.data) = (usize::MAX, Buffer::zeroed(w * h));
            }
            let found = extrema(Rows::new(&picture, 1.4));
            assert!(found.len() > 40, "{}", found.len());
            assert_eq!(found, extrema(keeping));
        }
    }
}
