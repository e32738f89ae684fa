//! The reference face without its needle: prepared once for a dial, blurred for every photo.
use super::needle_axis::NeedleAxis;
use super::paint::{STEPS, covered, paint_over};
use super::under::FineReference;
use crate::maths::blur::BlurCovariance;
use crate::maths::point::DialPoint;
use crate::maths::robust::high_median;
use crate::register::face::FaceModel;
use crate::register::rendering::Canonical;

/// px per unit that is enough for the light and for the vote.
const COARSE: f64 = 120.0;

/// The reference face, its needle painted over with paper: straight on and coarse in colour, and fine where
/// a photo's needle is.
#[derive(Clone, Debug)]
pub struct InpaintedReference {
    coarse: [Canonical; 3],
    pub(super) fine: FineReference,
    /// Paper colour by radius, steps of 0.01.
    pub(super) paper: Vec<[f32; 3]>,
    /// What the needle is told by: its colour in the reference.
    pub(super) own: NeedleAxis,
    /// The same where it is lit.
    pub(super) lit: Option<NeedleAxis>,
    /// Radii between which evidence exists, units.
    pub(super) inner: f64,
    pub(super) outer: f64,
}

impl InpaintedReference {
    /// Prepares the face of a dial.
    pub fn new(face: &FaceModel) -> Self {
        let dial = &face.dial;
        let outer = dial.face.print_radius.min(1.1);
        let inner = if dial.face.cover_radius > 0.0 { dial.needle.span[0] + 0.02 } else { 0.12 };
        let k = dial.face.scale.min(COARSE);
        let mut coarse = face.colours(k).straight_on(outer + 0.04);
        let paper = paper_colours(&coarse, face);
        let n = coarse[0].plane.width;
        let covered = covered((n, n), &face.reference_needle(), |i, j| coarse[0].dial(i, j));
        for (channel, r) in coarse.iter_mut().enumerate() {
            paint_over(&mut r.plane, &covered, |step| paper[step][channel]);
        }
        let (own, lit) = (NeedleAxis::of_look(&dial.needle), NeedleAxis::lit(&dial.needle, &coarse, [inner, outer]));
        let fine = FineReference::new(face, &paper);
        Self { coarse, fine, paper, own, lit, inner, outer }
    }
    /// The coarse colour planes as a photo of this blur shows them.
    pub(super) fn coarse(&self, blur: &BlurCovariance<DialPoint>) -> [Canonical; 3] {
        self.coarse.each_ref().map(|p| p.shown(blur, 0.0))
    }
}

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
                high_median(directions.iter().map(at).map(|(u, w)| raw[c].plane.clamped(u, w))).unwrap_or(0.0)
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
