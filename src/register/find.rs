//! From a photo to a registration: features propose, direct alignment decides.
use super::align::{Aligned, Prior, Task, align};
use super::consensus::{plausible, propose};
use super::face::FaceModel;
use super::features::detect;
use super::template::{Base, Blur};
use super::views::{ViewFeature, view_features};
use crate::base::measured::independent_terms;
use crate::base::pose::local_scale;
use crate::photo::Plane;
use nalgebra::{DMatrix, Matrix3};
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex};

/// Where the dial is in the photo.
#[derive(Clone, Debug)]
pub struct Registration {
    /// Dial plane to photo px.
    pub homography: Matrix3<f64>,
    /// Photo px to dial plane.
    pub back: Matrix3<f64>,
    /// Covariance of the eight parameters D of a small homography on the dial side (back <- (1 + D) back), row by row.
    pub covariance: DMatrix<f64>,
    /// Agreement with the print, -1..1: correlation by cells, weighted by how much print a cell has.
    pub print_match: f64,
    /// Share of the print (by weight) in cells that agree.
    pub seen: f64,
    /// Share of the print (by weight) in cells where the photo clearly shows something else.
    pub contradicted: f64,
    /// Matches that proposed the place.
    pub matches: usize,
    /// px per unit.
    pub scale: f64,
    /// Blur of the photo against the reference as a covariance in dial units² (x right, y up).
    pub blur: [f64; 3],
    /// Robust noise of the comparison, levels.
    pub noise: f64,
    /// Photo levels per reference level of the whole face.
    pub gain: f64,
}

impl Registration {
    /// Small homographies on the dial side, one sigma along each independent direction of the covariance.
    pub fn shifts(&self) -> Vec<Matrix3<f64>> {
        let l = independent_terms(&self.covariance);
        let small = |k: usize| {
            Matrix3::new(1.0 + l[(0, k)], l[(1, k)], l[(2, k)], l[(3, k)], 1.0 + l[(4, k)], l[(5, k)], l[(6, k)], l[(7, k)], 1.0)
        };
        (0..l.ncols()).map(small).collect()
    }
}

/// Finds one dial in photos.
#[derive(Debug)]
pub struct Registrar {
    /// The reference face.
    pub face: FaceModel,
    features: Vec<ViewFeature>,
    bases: Mutex<BTreeMap<(u32, u32), Arc<Base>>>,
}

/// A photo as a pyramid of luma planes; level i is 2^i times smaller.
#[derive(Debug)]
pub struct Pyramid {
    levels: Vec<Plane>,
}

impl Pyramid {
    /// From the full-size luma.
    pub fn new(luma: Plane) -> Self {
        let mut levels = vec![luma];
        while levels.len() < 6 && levels[levels.len() - 1].width.min(levels[levels.len() - 1].height) > 120 {
            let next = levels[levels.len() - 1].half();
            levels.push(next);
        }
        Self { levels }
    }
    /// Level index and plane whose scale is nearest above `target` px per unit, for a dial of `scale` px per unit.
    pub fn at(&self, scale: f64, target: f64) -> (usize, &Plane) {
        let mut i = 0;
        while i + 1 < self.levels.len() && scale / (1 << (i + 1)) as f64 >= target {
            i += 1;
        }
        (i, &self.levels[i])
    }
}

/// Full-size px to px of pyramid level `i` (pixel centres at integers).
pub fn level_map(i: usize) -> Matrix3<f64> {
    let f = (1u64 << i) as f64;
    Matrix3::new(1.0 / f, 0.0, 0.5 / f - 0.5, 0.0, 1.0 / f, 0.5 / f - 0.5, 0.0, 0.0, 1.0)
}

impl Registrar {
    /// Prepares a dial.
    pub fn new(face: FaceModel) -> Self {
        let features = view_features(&face);
        Self { face, features, bases: Mutex::new(BTreeMap::new()) }
    }
    fn extent(&self) -> f64 {
        self.face.dial.face.print_radius + 0.02
    }
    /// Finest resolution worth comparing at out to `extent`: the reference's own, and no more pixels than a picture needs.
    fn finest(&self, extent: f64) -> f64 {
        self.face.dial.face.scale.min(450.0 / extent)
    }
    /// The reference at a resolution, kept for the next photo. Resolutions are rounded to 8 % steps.
    fn base(&self, k: f64, extent: f64) -> Arc<Base> {
        let step = (k.ln() / 0.08).round() as u32;
        let key = (step, (extent * 1000.0) as u32);
        let mut bases = self.bases.lock().unwrap_or_else(|e| e.into_inner());
        bases.entry(key).or_insert_with(|| Arc::new(Base::new(&self.face, (step as f64 * 0.08).exp(), extent))).clone()
    }
    /// Proposed places of the dial by features, as full-size homographies with their support.
    pub fn proposals(&self, pyramid: &Pyramid) -> Vec<(Matrix3<f64>, usize)> {
        let mut out = Vec::new();
        let longest = |p: &Plane| p.width.max(p.height);
        let first = pyramid.levels.iter().position(|p| longest(p) <= 1100).unwrap_or(pyramid.levels.len() - 1);
        for i in [first, first.saturating_sub(1)] {
            let plane = &pyramid.levels[i];
            let found = detect(plane, 0.6, 1.2, 1500, |_, _| true);
            let Some(up) = level_map(i).try_inverse() else { continue };
            out.extend(propose(&self.features, &found, 4).into_iter().map(|p| (up * p.homography, p.support)));
            if out.iter().any(|p: &(Matrix3<f64>, usize)| p.1 >= 14) || first == 0 {
                break;
            }
        }
        out.sort_by_key(|p| std::cmp::Reverse(p.1));
        out.truncate(5);
        out
    }
    /// Registers the photo; `None` when nothing like the dial was found.
    pub fn find(&self, pyramid: &Pyramid) -> Option<Registration> {
        let mut best: Option<(Matrix3<f64>, usize, f64)> = None;
        for (start, support) in self.proposals(pyramid) {
            let Some((h, agreement)) = self.settle(pyramid, &start) else { continue };
            if best.as_ref().is_none_or(|b| agreement > b.2) {
                best = Some((h, support, agreement));
            }
            // many matches and much of the print agree: another place will not do better
            if support >= 9 && agreement > 0.72 {
                break;
            }
        }
        let (h, support, _) = best?;
        self.fine(pyramid, &h, support, |_, _| false)
    }
    /// Coarse to fine alignment from a proposed place; the homography and its agreement with the print.
    fn settle(&self, pyramid: &Pyramid, start: &Matrix3<f64>) -> Option<(Matrix3<f64>, f64)> {
        let (h, _) = self.stage(pyramid, start, 38.0, 1.2, 12)?;
        self.stage(pyramid, &h, 75.0, 0.9, 8)
    }
    fn stage(&self, pyramid: &Pyramid, h: &Matrix3<f64>, target: f64, soft: f64, rounds: usize) -> Option<(Matrix3<f64>, f64)> {
        let extent = self.extent();
        let (level, plane) = pyramid.at(mean_scale(h), target);
        let map = level_map(level);
        let here = map * h;
        let k = mean_scale(&here).min(self.finest(extent));
        let template = self.base(k, extent).template([soft * soft, 0.0, soft * soft], |_, _| false);
        let a = align(plane, &template, &here.try_inverse()?, Task { extent, rounds, blur: None, uneven: false, prior: None })?;
        let out = map.try_inverse()? * a.w.try_inverse()?;
        let out = out / out[(2, 2)];
        plausible(&out).then(|| (out, agreement(&a).0))
    }
    /// The last alignment, at full resolution with the blur matched; `hidden` names dial points that must not vote.
    ///
    /// Where the plane round the dial serves too, it only says roughly where the dial is: a domed lens bends it, so the dial's own
    /// print decides, held to the wide answer by a prior with a width.
    pub fn fine(&self, pyramid: &Pyramid, start: &Matrix3<f64>, matches: usize, hidden: impl Fn(f64, f64) -> bool) -> Option<Registration> {
        let first = self.fine_within(pyramid, start, matches, self.extent(), None, &hidden)?;
        if !self.face.is_wide() {
            return Some(first);
        }
        let doubt = first.covariance.clone() + DMatrix::identity(8, 8) * (LENS_DOUBT * LENS_DOUBT);
        let prior = Prior { w: first.back, information: doubt.try_inverse()? };
        self.fine_within(pyramid, &first.homography, matches, OWN_PRINT, Some(prior), &hidden).or(Some(first))
    }
    fn fine_within(
        &self,
        pyramid: &Pyramid,
        start: &Matrix3<f64>,
        matches: usize,
        extent: f64,
        prior: Option<Prior>,
        hidden: &impl Fn(f64, f64) -> bool,
    ) -> Option<Registration> {
        let scale = mean_scale(start);
        let (level, plane) = pyramid.at(scale, 230f64.min(0.8 * self.finest(extent)));
        let map = level_map(level);
        let up = map.try_inverse()?;
        let prior = prior.map(|p| Prior { w: p.w * up, ..p });
        let mut w = (map * start).try_inverse()?;
        let base = self.base((scale / (1u64 << level) as f64).min(self.finest(extent)), extent);
        let mut blur: Blur = [0.5, 0.0, 0.5];
        let mut last: Option<Aligned> = None;
        for _ in 0..5 {
            let template = base.template(blur, hidden);
            let a = align(plane, &template, &w, Task { extent, rounds: 1, blur: Some(blur), uneven: true, prior: prior.as_ref() })?;
            w = a.w;
            let next = clamp_blur(a.blur);
            let settled = (0..3).all(|i| (next[i] - blur[i]).abs() < 0.1 + 0.1 * blur[i].abs());
            blur = next;
            last = Some(a);
            if settled {
                break;
            }
        }
        let template = base.template(blur, hidden);
        let a = align(plane, &template, &w, Task { extent, rounds: 4, blur: None, uneven: true, prior: prior.as_ref() }).or(last)?;
        let homography = up * a.w.try_inverse()?;
        let homography = homography / homography[(2, 2)];
        let own = self.face.resampling_blur(base.canonical.k);
        let blur = [blur[0] + own, blur[1], blur[2] + own];
        plausible(&homography).then(|| registration(homography, &a, matches, base.canonical.k, blur)).flatten()
    }
}

/// Radius out to which print counts as the dial's own where no bezel ends it.
const OWN_PRINT: f64 = 1.35;
/// Standard uncertainty of each parameter of the dial's own map against that of the plane round it (lens, waviness), dial units.
const LENS_DOUBT: f64 = 0.004;

fn registration(homography: Matrix3<f64>, a: &Aligned, matches: usize, k: f64, blur: Blur) -> Option<Registration> {
    let weight: f64 = a.cells.iter().map(|c| c.0.sqrt()).sum::<f64>() + 1e-9;
    let (print_match, seen) = agreement(a);
    let gain = a.cells.iter().zip(&a.light).map(|(c, l)| c.0.sqrt() * l.0).sum::<f64>() / weight;
    let contradicted = a.cells.iter().zip(&a.contradicts).filter(|c| *c.1).map(|c| c.0.0.sqrt()).sum::<f64>() / weight;
    Some(Registration {
        homography,
        back: homography.try_inverse()?,
        covariance: a.covariance.clone(),
        print_match,
        seen,
        contradicted,
        matches,
        scale: mean_scale(&homography),
        blur: [blur[0] / (k * k), -blur[1] / (k * k), blur[2] / (k * k)],
        noise: a.noise,
        gain,
    })
}

/// Correlation with the print by cells, weighted by how much print a cell has, and the share of the print that agrees.
fn agreement(a: &Aligned) -> (f64, f64) {
    let weight: f64 = a.cells.iter().map(|c| c.0.sqrt()).sum::<f64>() + 1e-9;
    let print_match = a.cells.iter().map(|c| c.0.sqrt() * c.1).sum::<f64>() / weight;
    let seen = a.cells.iter().filter(|c| c.1 > 0.5).map(|c| c.0.sqrt()).sum::<f64>() / weight;
    (print_match, seen)
}

/// Keeps the blur a covariance: eigenvalues between nothing and 6 px.
fn clamp_blur(b: Blur) -> Blur {
    let m = nalgebra::Matrix2::new(b[0], b[1], b[1], b[2]);
    if m.iter().any(|v| !v.is_finite()) {
        return [0.5, 0.0, 0.5];
    }
    let e = m.symmetric_eigen();
    let d = nalgebra::Matrix2::from_diagonal(&e.eigenvalues.map(|v| v.clamp(0.0, 36.0)));
    let c = e.eigenvectors * d * e.eigenvectors.transpose();
    [c[(0, 0)], c[(0, 1)], c[(1, 1)]]
}

/// Geometric mean of the two local scales, px per unit.
pub fn mean_scale(h: &Matrix3<f64>) -> f64 {
    let (a, b, _) = local_scale(h);
    (a * b).sqrt()
}
