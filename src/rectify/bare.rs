//! The reference face without its needle: prepared once for a dial, blurred for every photo.
use crate::photo::Plane;
use crate::register::face::{Canonical, FaceModel};
use crate::register::template::blurred;
use nalgebra::Vector3;

/// px per unit above which nothing is gained.
const FINEST: f64 = 300.0;

/// The reference face straight on in colour, its needle painted over with paper.
#[derive(Clone, Debug)]
pub struct Bare {
    planes: [Canonical; 3],
    /// Paper colour by radius, steps of 0.01.
    pub(super) paper: Vec<[f32; 3]>,
    /// Weights of the colours that give the needle's measure.
    pub(super) axis: Vector3<f64>,
    /// Radii between which evidence exists, units.
    pub(super) inner: f64,
    pub(super) outer: f64,
    /// Blur that resampling has put in already, as a variance in dial units².
    own_blur: f64,
}

impl Bare {
    /// Prepares the face of a dial.
    pub fn new(face: &FaceModel) -> Self {
        let dial = &face.dial;
        let outer = dial.face.print_radius.min(1.1);
        let inner = if dial.face.cover_radius > 0.0 { dial.needle.span[0] + 0.02 } else { 0.12 };
        let k = dial.face.scale.min(FINEST);
        let raw = [0, 1, 2].map(|c| face.canonical_channel(c, k, outer + 0.04));
        let paper = paper_colours(&raw, face);
        let mut channel = 0;
        let planes = raw.map(|mut r| {
            r.plane = paint_over(&r, face, &paper, channel);
            channel += 1;
            r
        });
        let own_blur = face.resampling_blur(k) / (k * k);
        Self { planes, paper, axis: Vector3::from(dial.needle.axis), inner, outer, own_blur }
    }
    /// The planes blurred by a covariance (dial units², x right, y up: xx, xy, yy) against the reference picture.
    pub(super) fn blurred(&self, blur: [f64; 3]) -> [Canonical; 3] {
        let k2 = self.planes[0].k * self.planes[0].k;
        let px = [(blur[0] - self.own_blur) * k2, -blur[1] * k2, (blur[2] - self.own_blur) * k2];
        self.planes.each_ref().map(|p| Canonical { k: p.k, plane: blurred(&p.plane, px) })
    }
}

/// Paper colour by radius (steps of 0.01): the median round the swept part of the face.
fn paper_colours(raw: &[Canonical; 3], face: &FaceModel) -> Vec<[f32; 3]> {
    let marks = &face.dial.marks;
    let (a, b) = (marks.first().map_or(-120.0, |m| m.angle), marks.last().map_or(120.0, |m| m.angle));
    let (low, high) = (a.min(b) - 10.0, a.max(b) + 10.0);
    let median: Vec<[f32; 3]> = (0..112)
        .map(|i| {
            let r = i as f64 / 100.0;
            [0, 1, 2].map(|c| {
                let mut v: Vec<f32> = (0..=((high - low) / 0.8) as usize)
                    .map(|s| {
                        let (sn, cs) = (low + 0.8 * s as f64).to_radians().sin_cos();
                        let (u, w) = raw[c].px(r * sn, r * cs);
                        raw[c].plane.clamped(u, w)
                    })
                    .collect();
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

/// Paints the needle's place with paper, softly at its edge.
fn paint_over(r: &Canonical, face: &FaceModel, paper: &[[f32; 3]], channel: usize) -> Plane {
    let needle = face.reference_needle();
    let n = r.plane.width;
    let mut cover = Plane { width: n, height: n, data: vec![0.0; n * n] };
    for (i, c) in cover.data.iter_mut().enumerate() {
        let (x, y) = r.dial(i % n, i / n);
        *c = f32::from(needle.covers(x, y, 0.022));
    }
    let cover = cover.gaussian(0.8);
    let mut out = r.plane.clone();
    for (i, v) in out.data.iter_mut().enumerate() {
        let c = cover.data[i];
        if c > 0.0 {
            let (x, y) = r.dial(i % n, i / n);
            let p = paper[((x.hypot(y) * 100.0) as usize).min(paper.len() - 1)][channel];
            *v = *v * (1.0 - c) + p * c;
        }
    }
    out
}
