//! The last alignments of a photo: at half resolution for a first look, then at full resolution without the needle's place.
use super::align::{Aligned, align};
use super::consensus::plausible;
use super::find::Registrar;
use super::pyramid::{Level, Pyramid};
use super::registration::{OWN_PRINT, Registration, clamp_blur, registration};
use super::task::{Prior, Task};
use super::template::Blur;
use crate::maths::homography::mean_scale;
use nalgebra::{DMatrix, Matrix3};

/// px per unit of the photo that is enough for a last alignment.
const ENOUGH: f64 = 230.0;
/// Standard uncertainty of each parameter of the dial's own map against that of the plane round it (lens, waviness), dial units.
const LENS_DOUBT: f64 = 0.004;

/// Step below which an alignment stands still, canonical px: a small part of what noise leaves open.
const STILL: f64 = 0.008;

/// Where an alignment begins, and how fine it is.
#[derive(Clone, Copy)]
struct Start {
    /// Dial plane to photo px.
    homography: Matrix3<f64>,
    /// Matches that proposed the place.
    matches: usize,
    /// Blur of the photo against the reference, dial units² (y up), where it is known.
    blur: Option<[f64; 3]>,
    /// Share of the finest resolution worth comparing at.
    share: f64,
}

/// Size of a blur, px², with one pixel's own so that a small one may double.
fn grown(blur: &Blur) -> f64 {
    1.0 + blur[0] + blur[2]
}

impl Registrar {
    /// The first whole look at a proposed place, at half resolution.
    pub fn fine(&self, pyramid: &Pyramid, place: &Matrix3<f64>, matches: usize) -> Option<Registration> {
        self.both(pyramid, Start { homography: *place, matches, blur: None, share: 0.5 }, |_, _| false)
    }
    /// The last alignment, at full resolution with the blur matched; `hidden` names dial points that must not vote.
    pub fn again(&self, pyramid: &Pyramid, first: &Registration, hidden: impl Fn(f64, f64) -> bool) -> Option<Registration> {
        let start = Start { homography: first.homography, matches: first.matches, blur: Some(first.blur), share: 1.0 };
        self.both(pyramid, start, hidden)
    }
    /// Where the plane round the dial serves too, it only says roughly where the dial is: a domed lens bends it, so the dial's own
    /// print decides, held to the wide answer by a prior with a width. Where the own print agrees clearly better by itself, what
    /// surrounds it lies in other planes and does not hold it.
    fn both(&self, pyramid: &Pyramid, start: Start, hidden: impl Fn(f64, f64) -> bool) -> Option<Registration> {
        let first = self.within(pyramid, start, self.extent(), None, &hidden);
        if !self.face.is_wide() {
            return first;
        }
        let alone = || self.within(pyramid, start, OWN_PRINT, None, &hidden);
        let Some(first) = first else { return alone() };
        let doubt = first.covariance.clone() + DMatrix::identity(8, 8) * (LENS_DOUBT * LENS_DOUBT);
        let prior = Prior { w: first.back, information: doubt.try_inverse()? };
        let near = Start { homography: first.homography, blur: Some(first.blur), ..start };
        let held = self.within(pyramid, near, OWN_PRINT, Some(prior), &hidden).unwrap_or(first);
        if held.print_match > self.criteria.clear_agreement {
            return Some(held);
        }
        alone().filter(|a| a.print_match > held.print_match + self.criteria.better_alone).or(Some(held))
    }
    fn within(
        &self,
        pyramid: &Pyramid,
        start: Start,
        extent: f64,
        prior: Option<Prior>,
        hidden: &impl Fn(f64, f64) -> bool,
    ) -> Option<Registration> {
        let finest = start.share * self.finest(extent);
        let Level { map, plane } = pyramid.at(&start.homography, extent, (start.share * ENOUGH).min(0.8 * finest));
        let up = map.try_inverse()?;
        let prior = prior.map(|p| Prior { w: p.w * up, ..p });
        let mut w = (map * start.homography).try_inverse()?;
        let base = self.base(mean_scale(&(map * start.homography)).min(finest), extent);
        let k = base.canonical.k;
        let own = self.face.resampling_blur(k);
        let known = start.blur.map(|b| clamp_blur([b[0] * k * k - own, -b[1] * k * k, b[2] * k * k - own]));
        let mut blur: Blur = known.unwrap_or([0.5, 0.0, 0.5]);
        let task = Task { extent, rounds: 1, blur: None, uneven: known.is_some(), prior: prior.as_ref(), still: STILL };
        let mut near = None;
        let mut last: Option<Aligned> = None;
        let mut mask = None;
        for _ in 0..5 {
            let template = base.template(blur, mask.as_ref(), hidden);
            let a = align(plane, &template, &w, Task { blur: Some(blur), ..task }, &mut near)?;
            mask = Some(template.mask);
            w = a.w;
            let next = clamp_blur(a.blur);
            let settled = (0..3).all(|i| (next[i] - blur[i]).abs() < 0.1 + 0.1 * blur[i].abs());
            if grown(&next) > 2.0 * grown(&blur) {
                // print is wider than the places that were chosen for less blur
                (mask, near) = (None, None);
            }
            blur = next;
            last = Some(a);
            if settled {
                break;
            }
        }
        let a = match known {
            // a first look: what follows is finer
            None => last?,
            Some(_) => {
                let template = base.template(blur, mask.as_ref(), hidden);
                align(plane, &template, &w, Task { rounds: 4, ..task }, &mut near).or(last)?
            }
        };
        let homography = up * a.w.try_inverse()?;
        let homography = homography / homography[(2, 2)];
        plausible(&homography, &self.criteria)
            .then(|| registration(homography, &a, start.matches, k, [blur[0] + own, blur[1], blur[2] + own]))
            .flatten()
    }
}
