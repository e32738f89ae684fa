//! Whether the numerals and words in the photo are the dial's own: a dial of the same family has the same ticks and other numbers.
//!
//! Print in one piece (a numeral, a word) is a glyph. Each is compared by itself, on a grid of the straight-on face: where its
//! ink should be and is not (missing), and where there is ink that it does not have (extra). Glare and a hand do one of the
//! two; another numeral does both. Both pictures are compared by their top-hats, in which shade leaves nothing.
use super::criteria::GlyphCriteria;
use super::face::FaceModel;
use super::frames::bounds;
use super::grain::grain;
use super::kept::print_of;
use super::packed::unpack_pieces;
use super::pieces::{Piece, letters, pieces};
use super::pyramid::{Level, Pyramid};
use super::registration::Registration;
use super::rendering::Canonical;
use super::top_hat::{HALF_WIDTH, top_hat};
use crate::dial::Dial;
use crate::maths::angle::wrap;
use crate::maths::homography::{Homography, PlaneInWork};
use crate::maths::robust::ranked;
use crate::photo::{Plane, warped};

/// Finest grid, px per unit.
const FINEST: f64 = 170.0;

/// Radii (units) at which a scale has its numerals.
const SCALE: std::ops::Range<f64> = 0.35..1.25;
/// How far beyond its end marks a scale may have numerals, degrees.
const BESIDE: f64 = 8.0;
/// Limits of a glyph's contrast against the face's. Much less is what shade leaves of none; a reference in haze has little of what a clear photo shows.
const STRENGTH: [f64; 2] = [0.5, 4.0];
/// Standard deviation to which both pictures are smoothed at least, dial units: a blur that is not quite the photo's matters less (with 0.007 right
/// numerals under motion blur were alike to 0.6 to 0.7, with this to 0.7 to 0.8).
const SOFT: f64 = 0.012;
/// Standard deviation of rounding to whole levels: 1 / √12. A clipped or smoothed photo has no other grain.
const LEVEL: f64 = 0.2887;
/// Least share of ink among the places of a glyph or a stretch of it, and least share of paper: with less of either there is nothing to compare.
const LEAST_INK: f64 = 0.08;
/// How far from its place a glyph is looked for, dial units.
const SEARCH: f64 = 0.02;

/// One glyph of the face: its pixels on the grid of [`Glyphs`].
#[derive(Clone, Debug)]
struct Glyph {
    pixels: Vec<usize>,
    /// See [`letters`].
    letters: Vec<Vec<usize>>,
}

/// What one glyph shows in a photo: of its stretches the one that differs most, since one digit makes another number.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Seen {
    /// Share of its ink that is not there.
    pub missing: f64,
    /// Ink that it does not have, as a share of its own.
    pub extra: f64,
    /// Correlation of its top-hat with the reference's, of the least like stretch.
    pub likeness: f64,
}

/// The glyphs of a face.
#[derive(Clone, Debug)]
pub struct Glyphs {
    face: Canonical,
    glyphs: Vec<Glyph>,
    extent: f64,
    /// Whether print is lighter than the face.
    lighter: bool,
    criteria: GlyphCriteria,
}

impl Seen {
    /// What it differs in both senses.
    pub fn difference(&self) -> f64 {
        self.missing.min(self.extra)
    }
    /// Whether much differs, and in both senses.
    pub fn differs(&self, criteria: &GlyphCriteria) -> bool {
        self.missing + self.extra > criteria.differs && self.difference() > criteria.in_both
    }
}

/// px per unit and extent of the grid.
fn grid_of(face: &FaceModel) -> (f64, f64) {
    (face.dial.face.scale.min(FINEST), face.dial.face.print_radius.min(1.5))
}

impl Glyphs {
    /// Finds the glyphs of a face.
    pub fn new(face: &FaceModel) -> Self {
        Self::with(face, GlyphCriteria::default())
    }
    /// The same, compared by these criteria.
    pub fn with(face: &FaceModel, criteria: GlyphCriteria) -> Self {
        let (k, extent) = grid_of(face);
        let canonical = face.canonical(k, extent);
        let n = canonical.plane.width;
        let kept = face.dial.prepared.as_deref().and_then(|bytes| unpack_pieces(bytes, print_of(&face.dial), n * n));
        let glyph = |p: Piece| Glyph { letters: letters(&p.ink, &p.pixels, n), pixels: p.pixels };
        let pieces = kept.unwrap_or_else(|| pieces(face, &canonical, extent));
        let numerals = numerals(pieces, &face.dial, &canonical);
        let lighter = is_lighter(&canonical.plane, &numerals);
        Self { face: canonical, glyphs: numerals.into_iter().map(glyph).collect(), extent, lighter, criteria }
    }
    /// What [`Self::new`] finds on a face, to be kept.
    pub(super) fn pieces(face: &FaceModel) -> Vec<Piece> {
        let (k, extent) = grid_of(face);
        pieces(face, &face.canonical(k, extent), extent)
    }
    /// Middles of the glyphs, dial units.
    #[cfg(test)]
    pub(super) fn places(&self) -> Vec<(f64, f64)> {
        self.glyphs.iter().map(|g| middle(&g.pixels, &self.face)).collect()
    }
    /// Compares the glyphs that can be made out; `hidden` names dial points where something else stands (the needle).
    pub fn compare(&self, pyramid: &Pyramid, r: &Registration, hidden: impl Fn(f64, f64) -> bool) -> Vec<Seen> {
        let Some(shown) = self.shown(pyramid, r) else { return Vec::new() };
        self.glyphs.iter().filter_map(|e| self.seen(e, &shown, r.gain, &hidden)).collect()
    }
    /// What is narrow in the photo smoothed to the grid, and in the reference blurred as the photo is and smoothed the same.
    fn shown(&self, pyramid: &Pyramid, r: &Registration) -> Option<Shown> {
        let k = self.face.k;
        let Level { from_photo, plane } = pyramid.at(&r.dial_to_photo, self.extent, k);
        let h = from_photo * r.dial_to_photo;
        let [x0, y0, x1, y1] = bounds(&h, self.extent, (plane.width, plane.height))?;
        let here = h.mean_scale();
        let soft = (SOFT * k).max(0.45 * k / here).max(0.6);
        let reference = self.face.shown(&r.blur, soft * soft).plane;
        let sigma = (soft * here / k).max(0.3);
        let shift = Homography::shifted(-(x0 as f64), -(y0 as f64));
        // white noise of standard deviation s has s / (2 sqrt(pi) sigma) left after a Gaussian of sigma
        let noise = grain(plane, &h.inverse()?, self.extent).hypot(LEVEL) * (0.28 / sigma).min(1.0);
        let photo = plane.crop(x0, y0, x1 - x0 + 1, y1 - y0 + 1).gaussian(sigma);
        let n = self.face.plane.width;
        let dial_to_px: PlaneInWork = shift * h;
        let [straight] = warped([&photo], &(dial_to_px * self.face.to_dial()), n, n);
        let narrow = |seen: &Plane| top_hat(seen, HALF_WIDTH * k, self.lighter);
        Some(Shown { reference: narrow(&reference), photo: narrow(&straight), part: photo, dial_to_px, noise })
    }
    /// What a glyph shows where it fits best near its place: a recessed or domed face does not lie in one plane to the last pixel.
    fn seen(&self, glyph: &Glyph, shown: &Shown, gain: f64, hidden: &impl Fn(f64, f64) -> bool) -> Option<Seen> {
        let first = self.look(glyph, shown, gain, (0.0, 0.0), hidden)?;
        if !first.differs(&self.criteria) {
            return Some(first);
        }
        let steps = || (-2..=2).map(|i| f64::from(i) * 0.5 * SEARCH);
        let moved = steps().flat_map(|x| steps().map(move |y| (x, y))).filter_map(|by| self.look(glyph, shown, gain, by, hidden));
        Some(moved.fold(first, |a, b| if b.likeness > a.likeness { b } else { a }))
    }
    fn look(&self, glyph: &Glyph, shown: &Shown, gain: f64, by: (f64, f64), hidden: &impl Fn(f64, f64) -> bool) -> Option<Seen> {
        let n = self.face.plane.width;
        let at = |&i: &usize| {
            let (x, y) = self.face.dial(i % n, i / n);
            let (x1, y1) = (x + by.0, y + by.1);
            let (u, v) = self.face.px(x1, y1);
            let photo = if hidden(x, y) || !shown.holds(x1, y1) { None } else { shown.photo.bilinear(u, v) };
            photo.map(|p| (shown.reference.data[i] as f64, p as f64))
        };
        let levels: Vec<Option<(f64, f64)>> = glyph.pixels.iter().map(at).collect();
        let found: Vec<(f64, f64)> = levels.iter().flatten().copied().collect();
        if 3 * found.len() <= 2 * levels.len() {
            return None;
        }
        let ink = Ink::new(&found, gain, (shown.noise, self.criteria.noise))?;
        let whole = ink.seen(found.iter())?;
        let letters = glyph.letters.iter().filter_map(|l| ink.seen(l.iter().filter_map(|&i| levels[i].as_ref())));
        let worst = letters
            .fold(whole, |a, b| Seen { likeness: a.likeness.min(b.likeness), ..if b.difference() > a.difference() { b } else { a } });
        Some(worst)
    }
}

/// The pieces along the scale, among which its numerals are; all, where there are hardly any. Words in the middle, the numerals of a
/// smaller dial on the same face and displays say nothing of this scale, and other needles move over them.
fn numerals(pieces: Vec<Piece>, dial: &Dial, canonical: &Canonical) -> Vec<Piece> {
    let angles = || dial.marks.iter().map(|m| m.angle);
    let (from, to) = (angles().fold(f64::MAX, f64::min) - BESIDE, angles().fold(f64::MIN, f64::max) + BESIDE);
    let along = |p: &Piece| {
        let (x, y) = middle(&p.ink, canonical);
        let turn = wrap(x.atan2(y).to_degrees() - 0.5 * (from + to)).abs();
        SCALE.contains(&x.hypot(y)) && turn < 0.5 * (to - from)
    };
    let (own, others): (Vec<Piece>, Vec<Piece>) = pieces.into_iter().partition(along);
    if own.len() > 2 { own } else { own.into_iter().chain(others).collect() }
}

/// Middle of some pixels, dial units.
fn middle(pixels: &[usize], canonical: &Canonical) -> (f64, f64) {
    let (n, count) = (canonical.plane.width, pixels.len().max(1) as f64);
    pixels.iter().map(|i| canonical.dial(i % n, i / n)).fold((0.0, 0.0), |s, d| (s.0 + d.0 / count, s.1 + d.1 / count))
}

/// Whether the ink of pieces is lighter than the face round it.
fn is_lighter(face: &Plane, pieces: &[Piece]) -> bool {
    let sum = |of: &[usize]| of.iter().map(|&i| f64::from(face.data[i])).sum::<f64>();
    let step = |p: &Piece| {
        let (ink, all) = (p.ink.len() as f64, p.pixels.len() as f64);
        // the mean of the ink against that of the rest, each piece by its ink
        let (on, both) = (sum(&p.ink), sum(&p.pixels));
        on - (both - on) * ink / (all - ink).max(1.0)
    };
    pieces.iter().map(step).sum::<f64>() > 0.0
}

/// A photo and the reference as it would show it, ready to be compared place by place.
struct Shown {
    /// Top-hats of both, seen straight on, on one grid: one disc for both, however small or slanted the photo shows the dial.
    reference: Plane,
    photo: Plane,
    /// The part of the photo that was looked at, and the dial plane to its px.
    part: Plane,
    dial_to_px: PlaneInWork,
    /// Noise of a level of the photo.
    noise: f64,
}

impl Shown {
    /// Whether the photo shows a dial point.
    fn holds(&self, x: f64, y: f64) -> bool {
        let q = self.dial_to_px.at(x, y);
        self.part.holds(q.x, q.y)
    }
}

/// How ink is told from paper in one glyph.
struct Ink {
    paper: f64,
    contrast: f64,
    bare: f64,
    full: f64,
}

impl Ink {
    /// From the (reference, photo) levels of a glyph; `None` when it cannot be made out: noise above `most` of its contrast.
    fn new(v: &[(f64, f64)], gain: f64, (noise, most): (f64, f64)) -> Option<Self> {
        // a top-hat is nothing on paper, and ink stands above it
        let paper = rank(v.iter().map(|p| p.0), 0.25)?;
        let contrast = rank(v.iter().map(|p| p.0 - paper), 0.96).filter(|far| *far > 0.0)?;
        let bare = rank(v.iter().filter(|p| (p.0 - paper) / contrast < 0.25).map(|p| p.1), 0.5)?;
        // strength of the ink here against the whole face's: light changes it, another numeral does not
        let strength = rank(v.iter().map(|p| (p.1 - bare) / (gain * contrast)), 0.96)?.clamp(STRENGTH[0], STRENGTH[1]);
        if noise > most * strength * gain * contrast {
            return None;
        }
        Some(Self { paper, contrast, bare, full: strength * gain * contrast })
    }
    /// What some of its places show; `None` where there is no ink to compare.
    fn seen<'a>(&self, places: impl Iterator<Item = &'a (f64, f64)>) -> Option<Seen> {
        let (mut ink, mut missing, mut extra) = (0.0, 0.0, 0.0);
        let mut sums = Sums::default();
        for p in places {
            sums.add(p.0, p.1);
            let (own, found) = ((p.0 - self.paper) / self.contrast, (p.1 - self.bare) / self.full);
            ink += f64::from(u8::from(own > 0.6));
            missing += f64::from(u8::from(own > 0.6 && found < 0.35));
            extra += f64::from(u8::from(own < 0.3 && found > 0.62));
        }
        let share = ink / sums.0[0];
        (LEAST_INK..1.0 - LEAST_INK).contains(&share).then(|| Seen {
            missing: missing / ink,
            extra: extra / ink,
            likeness: sums.correlation(),
        })
    }
}

/// Sums of pairs, for their correlation.
#[derive(Default)]
struct Sums([f64; 6]);

impl Sums {
    fn add(&mut self, x: f64, y: f64) {
        self.0.iter_mut().zip([1.0, x, y, x * x, x * y, y * y]).for_each(|(s, v)| *s += v);
    }
    fn correlation(&self) -> f64 {
        let [n, x, y, xx, xy, yy] = self.0;
        (n * xy - x * y) / ((n * xx - x * x) * (n * yy - y * y) + 1e-9).max(1e-9).sqrt()
    }
}

/// The value at a share of the sorted values.
fn rank(values: impl Iterator<Item = f64>, share: f64) -> Option<f64> {
    ranked(values, |count| (count.saturating_sub(1) as f64 * share) as usize)
}
