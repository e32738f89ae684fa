//! From a photo to a registration: features propose, and round outlines where they are not clear; direct alignment decides.
use super::align::align;
use super::consensus::{plausible, propose, same_place};
use super::criteria::SearchCriteria;
use super::face::FaceModel;
use super::features::Feature;
use super::features::ViewFeature;
use super::outline::outlines;
use super::pyramid::{Level, Pyramid};
use super::registration::{OWN_PRINT, Registration, agreement};
use super::rings::Rings;
use super::task::Task;
use super::template::{Base, Blur};
use super::turn::Turned;
use super::views::Views;
use crate::maths::homography::{Homography, PlaneInPhoto, WorkPoint};
use crate::maths::point::PhotoPoint;
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, OnceLock};

/// Finds one dial in photos.
#[derive(Debug)]
pub struct Registrar {
    /// The reference face.
    pub face: FaceModel,
    views: Views,
    pub(super) criteria: SearchCriteria,
    bases: Mutex<BTreeMap<(u32, u32), Arc<Base>>>,
    rings: OnceLock<Rings>,
}

/// Longer side of a photo's level, px, whose features are looked at first.
const COARSE_SIDE: usize = 1100;

/// Longer side of the level in which round outlines are sought, px; how many, and how many places in them are looked at.
const OUTLINE_SIDE: usize = 640;
const OUTLINES: usize = 4;
const TURNED: usize = 6;
const LOOKED_AT: usize = 4;

/// The farthest that a point of the marks' circle moves between two places of the dial, dial units.
fn apart(a: &PlaneInPhoto, b: &PlaneInPhoto) -> f64 {
    let scale = a.mean_scale();
    let moved = |(x, y): (f64, f64)| (a.at(x, y) - b.at(x, y)).norm() / scale;
    [(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)].map(moved).into_iter().fold(0.0, f64::max)
}

/// Step below which the alignment of a proposed place stands still, canonical px.
const STILL: f64 = 0.05;

/// Proposed places by features of one level of a pyramid, as places in the photo with their support.
fn proposed(views: &[ViewFeature], seen: &[Feature], level: usize, criteria: &SearchCriteria) -> Vec<(PlaneInPhoto, usize)> {
    let Some(up) = Homography::<PhotoPoint, WorkPoint>::halved(level).inverse() else { return Vec::new() };
    propose(views, seen, 4, criteria).into_iter().map(|p| (up * p.homography, p.support)).collect()
}

impl Registrar {
    /// Prepares a dial.
    pub fn new(face: FaceModel) -> Self {
        let views = Views::new(&face);
        Self::with(face, views, SearchCriteria::default())
    }
    /// A dial whose views are prepared already, searched by these criteria.
    pub(crate) fn with(face: FaceModel, views: Views, criteria: SearchCriteria) -> Self {
        Self { face, views, criteria, bases: Mutex::new(BTreeMap::new()), rings: OnceLock::new() }
    }
    pub(super) fn extent(&self) -> f64 {
        self.face.dial.face.print_radius + 0.02
    }
    /// Finest resolution worth comparing at out to `extent`: the reference's own, and no more pixels than a picture needs.
    pub(super) fn finest(&self, extent: f64) -> f64 {
        self.face.dial.face.scale.min(450.0 / extent)
    }
    /// The reference at a resolution, kept for the next photo. Resolutions are rounded to 8 % steps.
    pub(super) fn base(&self, k: f64, extent: f64) -> Arc<Base> {
        let step = (k.ln() / 0.08).round() as u32;
        let key = (step, (extent * 1000.0) as u32);
        let mut bases = self.bases.lock().unwrap_or_else(|e| e.into_inner());
        bases.entry(key).or_insert_with(|| Arc::new(Base::new(&self.face, (step as f64 * 0.08).exp(), extent))).clone()
    }
    /// Proposed places of the dial by all views, as places in the photo with their support, the best supported first. `seen`: the finest
    /// features that were sought, with those of the coarser level, and their level.
    fn proposals(&self, seen: Option<(usize, Vec<Feature>)>) -> Vec<(PlaneInPhoto, usize)> {
        seen.map(|(level, features)| proposed(self.views.all(&self.face), &features, level, &self.criteria)).unwrap_or_default()
    }
    /// Registers the photo, at half resolution ([`Self::again`] for the last alignment); `None` when nothing like the dial was found.
    /// `near`: where an earlier photo of the same scene had it, which is looked at first and taken only when the print agrees.
    pub fn find(&self, pyramid: &Pyramid, near: Option<&PlaneInPhoto>) -> Option<Registration> {
        let there = near.and_then(|h| {
            // a coarse look first: photos that are no frames end here (measured: the same place agrees to 0.7, another to 0.1)
            let same = |found: &(PlaneInPhoto, f64), least: f64| found.1 > least && apart(h, &found.0) < self.criteria.same_scene;
            self.stage(pyramid, h, Look { rounds: 2, ..self.coarse() }).filter(|f| same(f, self.criteria.coarse_agreement))?;
            self.closer(pyramid, h).filter(|f| same(f, self.criteria.quick_agreement)).map(|f| f.0)
        });
        there.and_then(|h| self.fine(pyramid, &h, 0)).or_else(|| self.search(pyramid))
    }
    /// The straight views first, by coarse features, then by fine and coarse ones: to prepare the tilted views costs more than either. A place that does
    /// not stand a finer look (a wrong tilt may pass the coarse one) is kept in case nothing better is found.
    fn search(&self, pyramid: &Pyramid) -> Option<Registration> {
        let mut seen: Option<(usize, Vec<Feature>)> = None;
        let mut doubtful: Vec<Registration> = Vec::new();
        let first = pyramid.below(COARSE_SIDE);
        for level in [Some(first), first.checked_sub(1)].into_iter().flatten() {
            let features = match seen.take() {
                Some((_, coarse)) => pyramid.finer_features(level, coarse),
                None => pyramid.features(level),
            };
            if let Some((h, support)) = self.quick(pyramid, level, &features) {
                match self.fine(pyramid, &h, support) {
                    Some(r) if r.print_match > self.criteria.clear_agreement => return Some(r),
                    r => doubtful.extend(r),
                }
            }
            seen = Some((level, features));
        }
        let found = self.thorough(pyramid, self.proposals(seen));
        doubtful.extend(found.and_then(|(h, support)| self.fine(pyramid, &h, support)));
        let best = doubtful.iter().map(|r| r.print_match).fold(-1.0, f64::max);
        if best < self.criteria.clear_agreement {
            let found = self.thorough(pyramid, self.within_outlines(pyramid)).and_then(|(h, _)| self.fine(pyramid, &h, 0));
            // taken where it is clearly better; what matches say of its place stays said
            let known =
                |r: &Registration| doubtful.iter().filter(|d| same_place(&d.dial_to_photo, &r.dial_to_photo)).map(|d| d.matches).max();
            let found = found.map(|r| Registration { matches: known(&r).unwrap_or(0), ..r });
            doubtful.extend(found.filter(|r| r.print_match > best + self.criteria.better_alone));
        }
        doubtful.into_iter().max_by(|a, b| a.print_match.total_cmp(&b.print_match))
    }
    /// A dial seen nearly straight on: without the tilted views, and only a place that much speaks for.
    fn quick(&self, pyramid: &Pyramid, level: usize, seen: &[Feature]) -> Option<(PlaneInPhoto, usize)> {
        let (start, support) = proposed(self.views.straight(), seen, level, &self.criteria).into_iter().max_by_key(|p| p.1)?;
        let clear = |found: &(PlaneInPhoto, f64)| found.1 > self.criteria.quick_agreement;
        if support < self.criteria.quick_support {
            return None;
        }
        let found = self.looked_at(pyramid, (&start, support), self.criteria.quick_agreement);
        found.filter(clear).map(|(h, _)| (h, support))
    }
    /// Places of the dial inside round outlines, as places in the photo that no match supports: for a face whose print is too faint or
    /// too small for features.
    fn within_outlines(&self, pyramid: &Pyramid) -> Vec<(PlaneInPhoto, usize)> {
        let level = pyramid.below(OUTLINE_SIDE);
        let Some(up) = Homography::<PhotoPoint, WorkPoint>::halved(level).inverse() else { return Vec::new() };
        let plane = pyramid.level(level);
        let rings = self.rings.get_or_init(|| Rings::of(&self.face));
        let found = outlines(plane, 0.8 * self.criteria.least_radius_px / (1u64 << level) as f64, OUTLINES);
        let mut places: Vec<_> = found.iter().flat_map(|e| rings.within(plane, e)).collect();
        places.sort_by(|a, b| b.likeness.total_cmp(&a.likeness));
        let mut starts: Vec<Turned> = Vec::new();
        for place in places {
            if starts.len() < TURNED && !starts.iter().any(|o| same_place(&o.homography, &place.homography)) {
                starts.push(place);
            }
        }
        let mut refined: Vec<_> = starts.iter().map(|p| rings.refined(plane, p)).filter(|p| p.likeness > self.criteria.likeness).collect();
        refined.sort_by(|a, b| b.likeness.total_cmp(&a.likeness));
        let mut out: Vec<(PlaneInPhoto, usize)> = Vec::new();
        for place in refined.iter().map(|p| up * p.homography) {
            if !out.iter().any(|o| same_place(&o.0, &place)) {
                out.push((place, 0));
            }
        }
        out.truncate(LOOKED_AT);
        out
    }
    fn thorough(&self, pyramid: &Pyramid, proposals: Vec<(PlaneInPhoto, usize)>) -> Option<(PlaneInPhoto, usize)> {
        let mut best: Option<(PlaneInPhoto, usize, f64)> = None;
        for (start, support) in proposals {
            let Some((h, agreement)) = self.looked_at(pyramid, (&start, support), self.criteria.clear_agreement) else { continue };
            if best.as_ref().is_none_or(|b| agreement > b.2) {
                best = Some((h, support, agreement));
            }
            if support >= self.criteria.clear_support && agreement > self.criteria.clear_agreement {
                break;
            }
        }
        best.map(|b| (b.0, b.1))
    }
    /// A proposed place with its agreement: closer at once where many matches say that it is near (a coarse look may leave it, where a reflection
    /// lies over much of the face), and coarse to fine unless that agrees to `enough`.
    fn looked_at(&self, pyramid: &Pyramid, (start, support): (&PlaneInPhoto, usize), enough: f64) -> Option<(PlaneInPhoto, f64)> {
        let many = support >= self.criteria.quick_sure;
        let near = if many { self.closer(pyramid, start).filter(|n| n.1 > self.criteria.hopeless) } else { None };
        if near.as_ref().is_some_and(|n| n.1 > enough) {
            return near;
        }
        better(near, self.settle(pyramid, start))
    }
    /// Coarse to fine alignment from a proposed place; the place and its agreement with the print. What surrounds a dial without a
    /// bezel may lie in other planes than its face (rims, covers, the edge of the cluster): where all of it does not agree clearly, the
    /// dial's own print is tried by itself.
    fn settle(&self, pyramid: &Pyramid, start: &PlaneInPhoto) -> Option<(PlaneInPhoto, f64)> {
        let hopeful = |look: Look| self.stage(pyramid, start, look).filter(|f| f.1 > self.criteria.hopeless);
        let wide = hopeful(self.coarse()).and_then(|(h, _)| self.closer(pyramid, &h));
        if !self.face.is_wide() || wide.as_ref().is_some_and(|w| w.1 > self.criteria.clear_agreement) {
            return wide;
        }
        let own = |look: Look| Look { extent: OWN_PRINT, ..look };
        let alone = hopeful(own(self.coarse())).and_then(|(h, _)| self.stage(pyramid, &h, own(self.finer())));
        better(wide, alone)
    }
    fn coarse(&self) -> Look {
        Look { extent: self.extent(), target: 38.0, soft: 1.2, rounds: 12 }
    }
    fn finer(&self) -> Look {
        Look { target: 75.0, soft: 0.9, rounds: 8, ..self.coarse() }
    }
    fn closer(&self, pyramid: &Pyramid, start: &PlaneInPhoto) -> Option<(PlaneInPhoto, f64)> {
        self.stage(pyramid, start, self.finer())
    }
    fn stage(&self, pyramid: &Pyramid, h: &PlaneInPhoto, look: Look) -> Option<(PlaneInPhoto, f64)> {
        let Look { extent, target, soft, rounds } = look;
        let Level { from_photo, plane } = pyramid.at(h, extent, target);
        let here = from_photo * *h;
        let k = here.mean_scale().min(self.finest(extent));
        let base = self.base(k, extent);
        let template = base.template(Blur::round(soft * soft), None, |_, _| false);
        let task = Task { extent, rounds, blur_too: false, uneven: false, prior: None, still: STILL };
        let a = align(plane, &template, &here.inverse()?, task, &mut None)?;
        let out = (from_photo.inverse()? * a.to_dial.inverse()?).normalised();
        plausible(&out, &self.criteria).then(|| (out, agreement(&a).0))
    }
}

/// The place that agrees better, the first where both agree alike.
fn better(a: Option<(PlaneInPhoto, f64)>, b: Option<(PlaneInPhoto, f64)>) -> Option<(PlaneInPhoto, f64)> {
    match (a, b) {
        (Some(a), Some(b)) => Some(if b.1 > a.1 { b } else { a }),
        (a, b) => a.or(b),
    }
}

/// How an early look at a proposed place is taken.
#[derive(Clone, Copy)]
struct Look {
    /// Units out to which the face is compared.
    extent: f64,
    /// px per unit.
    target: f64,
    /// Blur of the template, px.
    soft: f64,
    /// Most rounds of alignment.
    rounds: usize,
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dial::from_bytes;
    use crate::photo::decode;

    /// Bright blocks mirrored over the photo, as different as the face's print: the coarse look leaves the right place, the closer one stays.
    #[test]
    fn a_place_of_many_matches_is_not_left_for_a_reflection() {
        let dial = from_bytes(&std::fs::read("calibration/cluster-coolant.json").unwrap()).unwrap();
        let mut photo = decode(&std::fs::read("samples/cluster-coolant/easy.jpg").unwrap()).unwrap();
        let registrar = Registrar::new(FaceModel::new(dial));
        let place = registrar.find(&Pyramid::of(&photo), None).unwrap().dial_to_photo;
        let width = photo.width;
        for (i, pixel) in photo.rgb.chunks_exact_mut(3).enumerate() {
            let (x, y) = ((i % width / 90) as u64, (i / width / 90) as u64);
            let level = ((x * 7919 + y * 104_729).wrapping_mul(0x9E37_79B9_7F4A_7C15) >> 40) % 140;
            pixel.iter_mut().for_each(|v| *v = (u64::from(*v) + level).min(255) as u8);
        }
        let pyramid = Pyramid::of(&photo);
        let looked_at = |support: usize| registrar.looked_at(&pyramid, (&place, support), registrar.criteria.clear_agreement).unwrap();
        let (few, many) = (looked_at(registrar.criteria.quick_sure - 1), looked_at(registrar.criteria.quick_sure));
        assert!(few.1 < 0.3 && !same_place(&few.0, &place), "it stays there anyhow: {}", few.1);
        assert!(many.1 > 0.5 && same_place(&many.0, &place), "{}", many.1);
    }

    /// Coarse features alone do not show the dial in this sample; fine ones do, and the tilted views are not prepared for it.
    #[test]
    fn fine_features_come_before_tilted_views() {
        let dial = from_bytes(&std::fs::read("calibration/gearbox-oil.json").unwrap()).unwrap();
        let photo = decode(&std::fs::read("samples/gearbox-oil/before/5.jpg").unwrap()).unwrap();
        let (registrar, pyramid) = (Registrar::new(FaceModel::new(dial)), Pyramid::of(&photo));
        let first = pyramid.below(COARSE_SIDE);
        assert!(first > 0 && registrar.quick(&pyramid, first, &pyramid.features(first)).is_none());
        let found = registrar.find(&pyramid, None).unwrap();
        assert!(found.print_match > registrar.criteria.clear_agreement && !registrar.views.tilted_made());
    }
}
