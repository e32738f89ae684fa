//! The last alignments of a photo: at half resolution for a first look, then at full resolution without the needle's place.
use super::align::{Aligned, align};
use super::consensus::plausible;
use super::find::Registrar;
use super::pyramid::{Level, Pyramid};
use super::registration::{OWN_PRINT, Registration, registration};
use super::task::{Prior, Task};
use super::template::Blur;
use crate::maths::blur::BlurCovariance;
use crate::maths::homography::{Homography, PlaneInPhoto};
use crate::maths::point::{DialPoint, PhotoPoint};
use nalgebra::DMatrix;

/// px per unit of the photo that is enough for a last alignment.
const ENOUGH: f64 = 230.0;
/// Standard uncertainty of each parameter of the dial's own map against that of the plane round it (lens, waviness), dial units.
const LENS_DOUBT: f64 = 0.004;

/// Step below which an alignment stands still, canonical px: a small part of what noise leaves open.
const STILL: f64 = 0.008;

/// Variance of the blur that a first look begins with, canonical px².
const FIRST_BLUR: f64 = 0.5;
/// Most that a blur may have in any direction, canonical px².
const MOST_BLUR: f64 = 36.0;

/// Where an alignment begins, and how fine it is.
#[derive(Clone, Copy)]
struct Start {
    /// Dial plane to photo px.
    dial_to_photo: PlaneInPhoto,
    /// Matches that proposed the place.
    matches: usize,
    /// Blur of the photo against the reference picture, where it is known.
    blur: Option<BlurCovariance<DialPoint>>,
    /// Share of the finest resolution worth comparing at.
    share: f64,
}

/// Size of a blur, px², with one pixel's own so that a small one may double.
fn grown(blur: &Blur) -> f64 {
    1.0 + blur.trace()
}

/// A blur that a photo can have.
fn possible(blur: Blur) -> Blur {
    blur.clamped(MOST_BLUR).unwrap_or(Blur::round(FIRST_BLUR))
}

impl Registrar {
    /// The first whole look at a proposed place, at half resolution.
    pub fn fine(&self, pyramid: &Pyramid, place: &PlaneInPhoto, matches: usize) -> Option<Registration> {
        self.both(pyramid, Start { dial_to_photo: *place, matches, blur: None, share: 0.5 }, |_, _| false)
    }
    /// The last alignment, at full resolution with the blur matched; `hidden` names dial points that must not vote.
    pub fn again(&self, pyramid: &Pyramid, first: &Registration, hidden: impl Fn(f64, f64) -> bool) -> Option<Registration> {
        let start = Start { dial_to_photo: first.dial_to_photo, matches: first.matches, blur: Some(first.blur), share: 1.0 };
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
        let prior = (first.dial_to_photo.inverse()?, doubt.try_inverse()?);
        let near = Start { dial_to_photo: first.dial_to_photo, blur: Some(first.blur), ..start };
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
        prior: Option<(Homography<PhotoPoint, DialPoint>, DMatrix<f64>)>,
        hidden: &impl Fn(f64, f64) -> bool,
    ) -> Option<Registration> {
        let finest = start.share * self.finest(extent);
        let Level { from_photo, plane } = pyramid.at(&start.dial_to_photo, extent, (start.share * ENOUGH).min(0.8 * finest));
        let up = from_photo.inverse()?;
        let prior = prior.map(|(expected, information)| Prior { to_dial: expected * up, information });
        let here = from_photo * start.dial_to_photo;
        let mut to_dial = here.inverse()?;
        let base = self.base(here.mean_scale().min(finest), extent);
        let known = start.blur.map(|b| possible(base.canonical.lacking(&b)));
        let mut blur = known.unwrap_or(Blur::round(FIRST_BLUR));
        let task = Task { extent, rounds: 1, blur_too: false, uneven: known.is_some(), prior: prior.as_ref(), still: STILL };
        let mut near = None;
        let mut last: Option<Aligned> = None;
        let mut mask = None;
        for _ in 0..5 {
            let template = base.template(blur, mask.as_ref(), hidden);
            let a = align(plane, &template, &to_dial, Task { blur_too: true, ..task }, &mut near)?;
            mask = Some(template.mask);
            to_dial = a.to_dial;
            let next = a.blur.map_or(blur, possible);
            let settled = next.entries().iter().zip(blur.entries()).all(|(n, b)| (n - b).abs() < 0.1 + 0.1 * b.abs());
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
                align(plane, &template, &to_dial, Task { rounds: 4, ..task }, &mut near).or(last)?
            }
        };
        let dial_to_photo = (up * a.to_dial.inverse()?).normalised();
        plausible(&dial_to_photo, &self.criteria).then(|| registration(dial_to_photo, &a, start.matches, base.canonical.in_photo(&blur)))
    }
}
