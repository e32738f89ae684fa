//! The face below the reference photo's needle, taken from further photos in which the needle stands elsewhere.
//!
//! A further photo counts place by place along the needle, and as much as it agrees with the reference photo's bare face beside the
//! needle there: noise, light, blur and how well it is laid over are all in that one measured number. Where none counts, the
//! place stays hidden.
use super::views::View;
use crate::dial::{Dial, DialFileError, Face, FaceFrame, NeedleLook};
use crate::maths::homography::{PlaneInPhoto, PlaneInWork};
use crate::maths::robust::median;
use crate::photo::{Buffer, Plane};
use crate::rectify::{Evidence, InpaintedReference, PhotometricModel, Work};
use crate::register::face::{FaceModel, LineFrame, NeedlePlace};

/// Round the needle so much is taken from the further photos, units: the same as is kept from voting.
const ROUND: f64 = 0.03;
/// Over so much beyond, the two pictures pass into each other, units.
const SOFT: f64 = 0.01;
/// Beyond that, so much of the bare face on both sides is compared, and its shade (the needle's shadow) taken off, units.
const FLANK: f64 = 0.12;
/// Standard deviation over which the shade beside the needle is averaged, units: print keeps the sharpness of the reference photo.
const SHADE: f64 = 0.015;
/// Length of a piece of the needle that is judged by itself, units.
const PIECE: f64 = 0.05;
/// Round a further photo's own needle so much does not count, units: parallax moves it along itself, and its shadow lies beside it.
const BESIDE: f64 = 0.07;
/// Most that a piece may differ from the reference beside it against what the photo differs on the whole (a reflection, a shadow).
const OUTLINE_DISTANCE: f64 = 2.0;
/// So far beside the reference needle its shadow may lie, which the further photos have elsewhere: it says nothing of their light, units.
const SHADOWED: f64 = 0.1;
/// What a piece may differ in any case, as a share of the needle's contrast: print differs by its blur, the more the darker the rest.
const ANYWAY: f64 = 0.06;
/// Least share of a piece's flanks that must be compared.
const COMPARED: f64 = 0.4;
/// Shortest length that is worth uncovering, units.
const SHORTEST: f64 = 0.06;

/// The face with its needle replaced by what further photos show there, wherever one does; `None` when none does. `h`: the dial's
/// plane in the reference photo; the first view is the reference photo itself.
///
/// # Errors
/// As [`Face::from_rgb`].
pub fn face_below_needle(dial: &Dial, h: &PlaneInPhoto, views: &[View]) -> Result<Option<Face>, DialFileError> {
    let reference = InpaintedReference::new(&FaceModel::new(dial.clone()));
    let whole = to_the_ticks(&dial.needle);
    let own = NeedlePlace::new(&whole, dial.needle.angle, dial.needle.offset);
    let places = places(dial, &own);
    let layers: Vec<Layer> = views.iter().skip(1).filter_map(|v| Layer::new(v, dial, (&reference, h), &own)).collect();
    let judged: Vec<(&Layer, Vec<Option<f64>>)> = layers.iter().map(|l| (l, l.trust(&places))).collect();
    let below: Vec<Option<[f64; 3]>> = places.iter().map(|p| seen(p, &judged)).collect();
    let uncovered = uncovered(dial, &places, &below);
    if uncovered.is_empty() {
        return Ok(None);
    }
    let rgb = replaced(&dial.face, &places, &below);
    let f = &dial.face;
    let (plane, scale, tilt) = (f.plane, f.scale, f.tilt);
    let (print_radius, cover_radius, plane_terms) = (f.print_radius, f.cover_radius, f.plane_terms.clone());
    let frame = FaceFrame { plane, scale, tilt, print_radius, cover_radius, plane_terms, uncovered, camera: f.camera };
    Face::from_rgb(&rgb, f.width, f.height, frame).map(Some)
}

/// The pixels of the face with what lies below the needle, and without its shade beside it.
fn replaced(face: &Face, places: &[Place], below: &[Option<[f64; 3]>]) -> Buffer<u8> {
    let shade = shade(face, places, below);
    let mut rgb = face.rgb.clone();
    for (i, p) in places.iter().enumerate() {
        for c in 0..3 {
            let own = p.colour[c] + p.near * f64::from(shade[c].data[p.pixel]);
            let level = below[i].map_or(own, |b| own * (1.0 - p.share) + b[c] * p.share);
            rgb[3 * p.pixel + c] = level.round().clamp(0.0, 255.0) as u8;
        }
    }
    rgb
}

/// What the further photos show beyond the reference photo beside the needle, averaged; 0 where they show nothing.
fn shade(face: &Face, places: &[Place], below: &[Option<[f64; 3]>]) -> [Plane; 3] {
    let blank = Plane { width: face.width, height: face.height, data: Buffer::zeroed(face.width * face.height) };
    let (mut sums, mut count) = ([0, 1, 2].map(|_| blank.clone()), blank);
    for (p, colour) in places.iter().zip(below).filter_map(|(p, c)| c.filter(|_| p.share == 0.0).map(|c| (p, c))) {
        count.data[p.pixel] = 1.0;
        (0..3).for_each(|c| sums[c].data[p.pixel] = (colour[c] - p.colour[c]) as f32);
    }
    let sigma = SHADE * face.scale;
    let count = count.gaussian(sigma);
    sums.map(|s| {
        let mut s = s.gaussian(sigma);
        // a lone place says nothing of the shade about it
        s.data.iter_mut().zip(&count.data).for_each(|(v, n)| *v = if *n > 0.1 { *v / n } else { 0.0 });
        s
    })
}

/// The needle's outline drawn out to the marks: over a numeral of its own colour its outer end may not have been learned.
fn to_the_ticks(look: &NeedleLook) -> NeedleLook {
    let mut out = look.clone();
    let last = look.half_width.iter().rposition(|w| *w > 0.0).unwrap_or(0);
    for i in last + 1..look.half_width.len() {
        out.half_width[i] = if look.radii[i] < 1.0 { look.half_width[last] } else { 0.0 };
    }
    out
}

/// A pixel of the face's picture on the needle or beside it.
struct Place {
    pixel: usize,
    x: f64,
    y: f64,
    /// Along the needle, units.
    s: f64,
    /// Share of it that is to be replaced; 0 beside the needle.
    share: f64,
    /// 1 at the needle, falling to 0 where its flanks end.
    near: f64,
    colour: [f64; 3],
}

impl Place {
    fn piece(&self) -> usize {
        ((self.s + 2.0) / PIECE).max(0.0) as usize
    }
}

/// The pixels of the face's picture on the reference needle and on its flanks.
fn places(dial: &Dial, needle: &NeedlePlace) -> Vec<Place> {
    let f = &dial.face;
    let Some(back) = f.plane.inverse() else { return Vec::new() };
    let line = LineFrame::new(dial.needle.angle, dial.needle.offset);
    let mut out = Vec::new();
    for pixel in 0..f.width * f.height {
        let q = back.at((pixel % f.width) as f64, (pixel / f.width) as f64);
        if !needle.covers(q.x, q.y, ROUND + SOFT + FLANK) || q.x.hypot(q.y) > f.print_radius {
            continue;
        }
        let within = (0..4).filter(|i| needle.covers(q.x, q.y, ROUND + SOFT * (0.5 + f64::from(*i)) / 4.0)).count();
        let (s, _) = line.along_across(q.x, q.y);
        let colour = [0, 1, 2].map(|c| f64::from(f.rgb[3 * pixel + c]));
        let beyond = (0..8).filter(|i| !needle.covers(q.x, q.y, ROUND + SOFT + FLANK * (4.5 + 0.5 * f64::from(*i)) / 9.0)).count();
        out.push(Place { pixel, x: q.x, y: q.y, s, share: within as f64 / 4.0, near: 1.0 - beyond as f64 / 8.0, colour });
    }
    out
}

/// A further photo in the reference photo's light.
struct Layer<'a> {
    planes: [Plane; 3],
    to_picture: PlaneInWork,
    model: PhotometricModel,
    needle: NeedlePlace<'a>,
    /// Levels that any piece may differ.
    anyway: f64,
}

impl<'a> Layer<'a> {
    fn new(view: &View, dial: &'a Dial, (reference, h): (&InpaintedReference, &PlaneInPhoto), own: &NeedlePlace) -> Option<Self> {
        let registration = view.registration(h);
        let work = Work::cut(view.photo, &registration.dial_to_photo, registration.scale, 1.12)?;
        let evidence = Evidence::new(reference, &work, &registration);
        let fit = &view.sight.needle;
        let needle = NeedlePlace::new(&dial.needle, fit.angle, fit.offset);
        let model = evidence.photometric_without(|x, y| needle.covers(x, y, BESIDE) || own.covers(x, y, SHADOWED));
        let ratio = work.scale / dial.face.scale;
        // a finer photo is softened so that nothing aliases
        let soft = |p: Plane| if ratio > 1.15 { p.gaussian(0.5 * (ratio * ratio - 1.0).sqrt()) } else { p };
        let anyway = ANYWAY * dial.needle.contrast.iter().map(|c| c * c / 3.0).sum::<f64>().sqrt();
        Some(Self { planes: work.planes.map(soft), to_picture: work.homography, model, needle, anyway })
    }
    /// The face's colour at a place in the reference photo's light; `None` where this photo does not show it.
    fn colour(&self, p: &Place) -> Option<[f64; 3]> {
        let q = self.to_picture.at(p.x, p.y);
        let inside = |v: f64, size: usize| v > 2.0 && v < size as f64 - 3.0;
        if !inside(q.x, self.planes[0].width) || !inside(q.y, self.planes[0].height) || self.needle.covers(p.x, p.y, BESIDE) {
            return None;
        }
        let (gain, offset) = self.model.at(p.x, p.y);
        let level = [0, 1, 2].map(|c| f64::from(self.planes[c].bicubic(q.x, q.y)));
        let clipped = level.iter().any(|v| *v > 253.0);
        (gain.mean() > 0.3 * self.model.global() && !clipped).then(|| [0, 1, 2].map(|c| (level[c] - offset[c]) / gain[c]))
    }
    /// Variance of its levels against the reference beside each piece of the needle, where it may count.
    fn trust(&self, places: &[Place]) -> Vec<Option<f64>> {
        let mut off: Vec<Vec<f64>> = Vec::new();
        let mut asked: Vec<usize> = Vec::new();
        for p in places.iter().filter(|p| p.share == 0.0) {
            let piece = p.piece();
            off.resize(off.len().max(piece + 1), Vec::new());
            asked.resize(off.len(), 0);
            asked[piece] += 1;
            if let Some(level) = self.colour(p) {
                off[piece].push((0..3).map(|c| (level[c] - p.colour[c]).powi(2)).sum::<f64>() / 3.0);
            }
        }
        let enough = |v: &Vec<f64>, asked: usize| v.len() as f64 > (COMPARED * asked as f64).max(12.0);
        let middle: Vec<Option<f64>> = off.iter().zip(&asked).map(|(v, n)| median(v).filter(|_| enough(v, *n))).collect();
        let usual = median(&middle.iter().flatten().copied().collect::<Vec<_>>()).unwrap_or(0.0).max(0.3);
        let most = (OUTLINE_DISTANCE * OUTLINE_DISTANCE * usual).max(self.anyway * self.anyway);
        middle.iter().map(|m| m.filter(|m| *m < most).map(|m| m.max(0.3))).collect()
    }
}

/// The colour that the photos which count here show, weighted by how well they agree with the reference beside it; of three or more,
/// one that stands off the others counts little.
fn seen(p: &Place, judged: &[(&Layer, Vec<Option<f64>>)]) -> Option<[f64; 3]> {
    let all: Vec<([f64; 3], f64)> =
        judged.iter().filter_map(|(layer, trust)| Some((layer.colour(p)?, (*trust.get(p.piece())?)?))).collect();
    let middle = [0, 1, 2].map(|c| median(&all.iter().map(|a| a.0[c]).collect::<Vec<_>>()).unwrap_or(0.0));
    let (mut sum, mut total) = ([0.0; 3], 0.0);
    for (level, variance) in &all {
        let off = if all.len() > 2 { (0..3).map(|c| (level[c] - middle[c]).powi(2)).sum::<f64>() / 3.0 } else { 0.0 };
        let weight = 1.0 / (variance + 0.25 * off);
        (0..3).for_each(|c| sum[c] += weight * level[c]);
        total += weight;
    }
    (total > 0.0).then(|| sum.map(|v| v / total))
}

/// Lengths of the needle below which every place is seen.
fn uncovered(dial: &Dial, places: &[Place], below: &[Option<[f64; 3]>]) -> Vec<[f64; 2]> {
    let look = &dial.needle;
    let step = look.radii.windows(2).map(|w| w[1] - w[0]).fold(0.0, f64::max);
    let reach = ROUND + SOFT + step;
    let hidden: Vec<f64> = places.iter().zip(below).filter(|(p, b)| p.share > 0.0 && b.is_none()).map(|(p, _)| p.s).collect();
    let asked: Vec<f64> = places.iter().filter(|p| p.share > 0.0).map(|p| p.s).collect();
    let near = |all: &[f64], r: f64| all.iter().any(|s| (s - r).abs() <= reach);
    let shows = |r: f64, w: f64| w > 0.0 && near(&asked, r) && !near(&hidden, r);
    let mut out: Vec<[f64; 2]> = Vec::new();
    let mut open = false;
    for (r, w) in look.radii.iter().zip(&look.half_width) {
        let here = shows(*r, *w);
        match out.last_mut().filter(|_| open) {
            Some(last) if here => last[1] = *r,
            _ if here => out.push([*r, *r]),
            _ => {}
        }
        open = here;
    }
    out.retain(|[a, b]| b - a > SHORTEST);
    out
}
