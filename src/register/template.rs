//! The reference face blurred as the photo is, with its derivatives: what the photo's pixels are compared with.
use super::face::FaceModel;
use super::mask::{grown, keep, strong};
use super::rendering::Canonical;
use crate::maths::blur::BlurCovariance;
use crate::maths::homography::StraightPoint;
use crate::photo::Plane;
use std::sync::Arc;

/// Blur in px of a straight-on picture of the reference.
pub type Blur = BlurCovariance<StraightPoint>;

/// Places of the canonical picture that may vote at all (reference side), reusable for every photo at this `k`.
#[derive(Clone, Debug)]
pub struct Base {
    /// The unblurred canonical picture.
    pub canonical: Canonical,
    votes: Vec<bool>,
    /// See [`FaceModel::strokes_on`].
    strokes: Option<Vec<bool>>,
}

/// What the photo is compared with at one blur.
#[derive(Clone, Debug)]
pub struct Template {
    /// px per unit.
    pub k: f64,
    /// Side length in px.
    pub n: usize,
    /// Blurred reference luma.
    pub t: Plane,
    /// Derivatives per canonical px (x right, y down).
    pub tx: Plane,
    /// See `tx`.
    pub ty: Plane,
    /// Its blur against the canonical picture.
    pub blur: Blur,
    /// Where there is print to compare.
    pub mask: Arc<Vec<bool>>,
}

impl Base {
    /// The reference at `k` px per unit, out to `extent` units.
    pub fn new(face: &FaceModel, k: f64, extent: f64) -> Self {
        let canonical = face.canonical(k, extent + 0.01);
        let votes = face.voting(&canonical, extent);
        let strokes = face.strokes_on(&canonical);
        Self { canonical, votes, strokes }
    }
    /// The template at a blur; `hidden` names dial points that must not vote in this photo (its needle). `mask`: where there is
    /// print to compare, when that is known from a blur near this one.
    pub fn template(&self, blur: Blur, mask: Option<&Arc<Vec<bool>>>, hidden: impl Fn(f64, f64) -> bool) -> Template {
        let t = self.canonical.plane.blurred(&blur);
        let (tx, ty) = t.gradient();
        let mask = mask.cloned().unwrap_or_else(|| Arc::new(self.print(&tx, &ty, hidden)));
        Template { k: self.canonical.k, n: t.width, t, tx, ty, blur, mask }
    }
    fn print(&self, tx: &Plane, ty: &Plane, hidden: impl Fn(f64, f64) -> bool) -> Vec<bool> {
        let n = tx.width;
        let strength: Vec<f32> = tx.data.iter().zip(&ty.data).map(|(a, b)| (a * a + b * b).sqrt()).collect();
        let mut mask = self.mask(&strength, n);
        for (i, m) in mask.iter_mut().enumerate().filter(|(_, m)| **m) {
            let (x, y) = self.canonical.dial(i % n, i / n);
            *m = !hidden(x, y);
        }
        mask
    }
    /// Voting places with a gradient worth comparing, grown by two pixels so that both sides of an edge take part.
    fn mask(&self, strength: &[f32], n: usize) -> Vec<bool> {
        let mut strong = strong(strength, &self.votes);
        if let Some(strokes) = &self.strokes {
            keep(&mut strong, strokes);
        }
        strong.chunks_exact_mut(n).for_each(|row| [0, 1, n - 2, n - 1].into_iter().for_each(|x| row[x] = false));
        [0, 1, n - 2, n - 1].into_iter().for_each(|y| strong[y * n..(y + 1) * n].fill(false));
        let mut mask = grown(&strong, n, 2);
        keep(&mut mask, &self.votes);
        mask
    }
}
