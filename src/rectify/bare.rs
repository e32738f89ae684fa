//! The reference face without its needle: prepared once for a dial, blurred for every photo.
use crate::photo::Plane;
use crate::register::face::{Canonical, FaceModel};
use crate::register::template::blurred;
use nalgebra::Vector3;

/// px per unit above which nothing is gained on the needle's edges.
const FINEST: f64 = 300.0;
/// px per unit that is enough for the light and for the vote.
const COARSE: f64 = 120.0;

/// The reference face straight on, its needle painted over with paper: coarse in colour, and fine along the needle's colour axis.
#[derive(Clone, Debug)]
pub struct Bare {
    coarse: [Canonical; 3],
    fine: Canonical,
    /// Paper colour by radius, steps of 0.01.
    pub(super) paper: Vec<[f32; 3]>,
    /// Weights of the colours that give the needle's measure.
    pub(super) axis: Vector3<f64>,
    /// Radii between which evidence exists, units.
    pub(super) inner: f64,
    pub(super) outer: f64,
    /// Blur that resampling has put in already, as a variance in dial units²: coarse and fine.
    own_blur: [f64; 2],
}

impl Bare {
    /// Prepares the face of a dial.
    pub fn new(face: &FaceModel) -> Self {
        let dial = &face.dial;
        let outer = dial.face.print_radius.min(1.1);
        let inner = if dial.face.cover_radius > 0.0 { dial.needle.span[0] + 0.02 } else { 0.12 };
        let (k, finer) = (dial.face.scale.min(COARSE), dial.face.scale.min(FINEST));
        let raw = [0, 1, 2].map(|c| face.canonical_mix([0, 1, 2].map(|i| f32::from(u8::from(i == c))), k, outer + 0.04));
        let paper = paper_colours(&raw, face);
        let cover = needle_cover(&raw[0], face);
        let mut channel = 0;
        let coarse = raw.map(|r| {
            channel += 1;
            paint_over(r, &cover, |i| paper[i][channel - 1])
        });
        let axis = Vector3::from(dial.needle.axis);
        let fine = face.canonical_mix(dial.needle.axis.map(|v| v as f32), finer, outer + 0.04);
        let along: Vec<f32> = paper.iter().map(|p| along_axis(&axis, *p)).collect();
        let cover = needle_cover(&fine, face);
        let fine = paint_over(fine, &cover, |i| along[i]);
        let own_blur = [k, finer].map(|k| face.resampling_blur(k) / (k * k));
        Self { coarse, fine, paper, axis, inner, outer, own_blur }
    }
    /// The coarse colour planes blurred by a covariance (dial units², x right, y up: xx, xy, yy) against the reference picture.
    pub(super) fn coarse(&self, blur: [f64; 3]) -> [Canonical; 3] {
        let k = self.coarse[0].k;
        let px = in_px(blur, self.own_blur[0], k);
        self.coarse.each_ref().map(|p| Canonical { k, plane: blurred(&p.plane, px) })
    }
    /// The part of the fine plane that holds some dial points, blurred likewise.
    pub(super) fn fine(&self, blur: [f64; 3], points: &[(f64, f64)]) -> Patch {
        let (p, k) = (&self.fine, self.fine.k);
        let px = in_px(blur, self.own_blur[1], k);
        let reach = 3.0 * (px[0] + px[2]).max(0.0).sqrt() + 4.0;
        let at = points.iter().map(|&(x, y)| p.px(x, y));
        let b = at.fold((f64::MAX, f64::MAX, 0f64, 0f64), |b, (u, v)| (b.0.min(u), b.1.min(v), b.2.max(u), b.3.max(v)));
        let (x0, y0) = ((b.0 - reach).max(0.0) as usize, (b.1 - reach).max(0.0) as usize);
        let (x1, y1) = ((b.2 + reach) as usize, (b.3 + reach) as usize);
        let plane = p.plane.crop(x0, y0, (x1 + 1).saturating_sub(x0), (y1 + 1).saturating_sub(y0));
        Patch { k, centre: (p.centre() - x0 as f64, p.centre() - y0 as f64), plane: blurred(&plane, px) }
    }
}

/// A part of the straight-on reference along the needle's colour axis.
#[derive(Clone, Debug)]
pub(super) struct Patch {
    k: f64,
    centre: (f64, f64),
    plane: Plane,
}

impl Patch {
    /// The level at a dial point; the border's beyond the patch.
    pub fn at(&self, x: f64, y: f64) -> f32 {
        self.plane.clamped(self.centre.0 + self.k * x, self.centre.1 - self.k * y)
    }
}

/// A colour along the needle's colour axis.
pub(super) fn along_axis(axis: &Vector3<f64>, colour: [f32; 3]) -> f32 {
    (0..3).map(|c| axis[c] as f32 * colour[c]).sum()
}

/// A blur in dial units² (y up) as one in px² (y down), what is in the picture already taken off.
fn in_px(blur: [f64; 3], own: f64, k: f64) -> [f64; 3] {
    [(blur[0] - own) * k * k, -blur[1] * k * k, (blur[2] - own) * k * k]
}

/// Steps of radius for which the paper is known.
const STEPS: usize = 112;

/// Paper colour by radius (steps of 0.01): the median round the swept part of the face.
fn paper_colours(raw: &[Canonical; 3], face: &FaceModel) -> Vec<[f32; 3]> {
    let marks = &face.dial.marks;
    let (a, b) = (marks.first().map_or(-120.0, |m| m.angle), marks.last().map_or(120.0, |m| m.angle));
    let (low, high) = (a.min(b) - 10.0, a.max(b) + 10.0);
    let directions: Vec<(f64, f64)> = (0..=((high - low) / 0.8) as usize).map(|s| (low + 0.8 * s as f64).to_radians().sin_cos()).collect();
    let median: Vec<[f32; 3]> = (0..STEPS)
        .map(|i| {
            let r = i as f64 / 100.0;
            [0, 1, 2].map(|c| {
                let at = |(sn, cs): &(f64, f64)| raw[c].px(r * sn, r * cs);
                let mut v: Vec<f32> = directions.iter().map(at).map(|(u, w)| raw[c].plane.clamped(u, w)).collect();
                let m = v.len() / 2;
                *v.select_nth_unstable_by(m, f32::total_cmp).1
            })
        })
        .collect();
    (0..median.len())
        .map(|i| {
            let w = &median[i.saturating_sub(2)..(i + 3).min(median.len())];
            [0, 1, 2].map(|c| w.iter().map(|p| p[c]).sum::<f32>() / w.len() as f32)
        })
        .collect()
}

/// How much of each place the reference's needle covers, softly at its edge.
fn needle_cover(r: &Canonical, face: &FaceModel) -> Plane {
    let needle = face.reference_needle();
    let n = r.plane.width;
    let covered = Plane::from_fn(n, n, |i, j| {
        let (x, y) = r.dial(i, j);
        f32::from(u8::from(needle.covers(x, y, 0.022)))
    });
    covered.gaussian(0.8)
}

/// Paints the needle's place with paper; `paper`: its level by radius in steps of 0.01.
fn paint_over(mut r: Canonical, cover: &Plane, paper: impl Fn(usize) -> f32) -> Canonical {
    let n = r.plane.width;
    for (i, &c) in cover.data.iter().enumerate().filter(|(_, c)| **c > 0.0) {
        let (x, y) = r.dial(i % n, i / n);
        let p = paper(((x.hypot(y) * 100.0) as usize).min(STEPS - 1));
        let v = &mut r.plane.data[i];
        *v = *v * (1.0 - c) + p * c;
    }
    r
}
