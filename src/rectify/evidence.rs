//! Evidence of the needle: photo minus reference face in the photo's light, along the needle's colour, or by brightness where it has lost it.
use super::inpainted::InpaintedReference;
use super::needle_axis::NeedleAxis;
use super::paint::{along_axis, mixed};
use super::photometric::{AxisModel, PhotometricModel, Place};
use super::work::Work;
use crate::maths::blur::BlurCovariance;
use crate::maths::point::DialPoint;
use crate::register::Registration;
use crate::register::rendering::Canonical;
use nalgebra::Vector2;

/// What the photo shows beyond the printed face.
#[derive(Debug)]
pub struct Evidence<'a> {
    reference: &'a InpaintedReference,
    axis: &'a NeedleAxis,
    blur: BlurCovariance<DialPoint>,
    /// The reference face as colours, blurred as the photo is.
    coarse: [Canonical; 3],
    model: PhotometricModel,
    places: Vec<Place>,
}

/// Most places of the face that are asked for the light, roughly.
const PLACES: f64 = 16_000.0;

/// Least gain of a face that a place's own is held against: in the dark nothing is seen well.
const DARK: f64 = 0.1;

/// Evidence at one photo pixel.
#[derive(Clone, Copy, Debug)]
pub struct Pixel {
    /// Dial point.
    pub x: f64,
    /// Dial point.
    pub y: f64,
    /// 1 on a needle as bright against the paper as in the reference, 0 on the bare face or print.
    pub value: f64,
    /// The same measure for the print below (a white tick on a white-needled dial is near 1).
    pub print: f64,
    /// The photo's gain here relative to the reference: small where a reflection hides the face.
    pub gain: f64,
}

impl<'a> Evidence<'a> {
    /// Compares the working picture with the reference.
    pub fn new(reference: &'a InpaintedReference, work: &Work, registration: &Registration) -> Self {
        let coarse = reference.coarse(&registration.blur);
        let places = places(reference, &coarse, work);
        let model = PhotometricModel::fit(&places, reference.outer);
        Self { reference, axis: &reference.own, blur: registration.blur, coarse, model, places }
    }
    /// Takes the blur of a registration that is a little better; the light stays.
    pub fn sharpen(&mut self, registration: &Registration) {
        self.blur = registration.blur;
    }
    /// The same by brightness, one being the print's contrast, instead of the needle's colour in the reference. `None` where that is
    /// brightness or darkness already, and in a light like the reference's, in which the needle has its colour.
    pub fn by_brightness(self) -> Option<Self> {
        let lit = self.reference.lit.as_ref().filter(|lit| self.model.is_other_light(&lit.weights))?;
        Some(Self { axis: lit, ..self })
    }
    /// The model fitted once more without the places that are hidden: soft flanks of the needle pass for model.
    pub fn photometric_without(&self, hidden: impl Fn(f64, f64) -> bool) -> PhotometricModel {
        let reference: Vec<Place> = self.places.iter().filter(|p| !hidden(p.0 as f64, p.1 as f64)).copied().collect();
        PhotometricModel::fit(&reference, self.reference.outer)
    }
    /// The photo's light on the face.
    pub fn model(&self) -> &PhotometricModel {
        &self.model
    }
    /// Whether it is by brightness and not by the needle's colour in the reference.
    pub fn is_by_brightness(&self) -> bool {
        self.reference.lit.as_ref().is_some_and(|lit| std::ptr::eq(lit, self.axis))
    }
    fn along(&self, model: &PhotometricModel) -> AxisModel {
        model.along(&self.axis.weights, &self.axis.contrast)
    }
    /// Evidence at a dial point where the photo has the level `own` along the needle's colour axis, and the reference `under`.
    fn pixel(&self, model: &AxisModel, (x, y): (f64, f64), own: f32, under: f32) -> Pixel {
        let (a, b) = model.at(x, y);
        // in units of the whole face's light: what a reflection does to one cell must not draw an edge across the needle
        let unit = model.unit;
        let (own, under) = (f64::from(own) - b, f64::from(under));
        let print = under - f64::from(self.paper_at(model, (x * x + y * y).sqrt()));
        Pixel { x, y, value: (own - a * under) / unit, print: print.clamp(-0.5, 1.5) * a / unit, gain: a }
    }
    fn paper_at(&self, model: &AxisModel, r: f64) -> f32 {
        let i = ((r * 100.0) as usize).min(self.reference.paper.len().saturating_sub(1));
        self.reference.paper.get(i).map_or(0.0, |p| along_axis(&model.axis, *p))
    }
    /// The photo pixels of a part of the face, in this model: those within the rectangle of these dial points (given round it)
    /// whose dial point satisfies `keep`.
    pub fn pixels(
        &self,
        model: &PhotometricModel,
        work: &Work,
        corners: &[Vector2<f64>; 4],
        keep: impl Fn(f64, f64) -> bool,
    ) -> Vec<Pixel> {
        let p = &work.planes;
        let model = self.along(model);
        let under = self.reference.fine.strip(&self.blur, corners, &model.axis);
        let mut out = Vec::new();
        let seen = corners.iter().map(|c| work.homography.at(c.x, c.y));
        let b = seen.fold((f64::MAX, f64::MAX, f64::MIN, f64::MIN), |b, q| (b.0.min(q.x), b.1.min(q.y), b.2.max(q.x), b.3.max(q.y)));
        let clip = |v: f64, top: usize| v.clamp(0.0, top as f64 - 1.0) as usize;
        let (x0, y0) = (clip(b.0, p[0].width), clip(b.1, p[0].height));
        let (x1, y1) = (clip(b.2.ceil(), p[0].width), clip(b.3.ceil(), p[0].height));
        let (inner, outer) = (self.reference.inner.powi(2), self.reference.outer.powi(2));
        for y in y0..=y1 {
            for x in x0..=x1 {
                let q = work.back.at(x as f64, y as f64);
                let r2 = q.norm_squared();
                if r2 < inner || r2 > outer || !keep(q.x, q.y) {
                    continue;
                }
                let i = y * p[0].width + x;
                let own = along_axis(&self.axis.weights, [0, 1, 2].map(|c| p[c].data[i]));
                out.push(self.pixel(&model, (q.x, q.y), own, under.at(q.x, q.y)));
            }
        }
        out
    }
    /// The evidence seen straight on, for the vote: value clipped to -1..1.5, and visibility 0..1 (a reflection shows nothing).
    pub fn map(&self, work: &Work) -> (Canonical, Canonical) {
        let k = work.scale.min(130.0);
        let mut value = Canonical::blank(k, self.reference.outer);
        let mut seen = value.clone();
        let n = value.plane.width;
        let soft = work.scale / k;
        let own = mixed(&self.axis.weights, work.planes.each_ref());
        let own = if soft > 1.2 { own.gaussian(0.45 * soft) } else { own };
        let model = self.along(&self.model);
        let under = mixed(&model.axis, self.coarse.each_ref().map(|c| &c.plane));
        let whole = model.global.clamp(DARK, 1.0);
        for j in 0..n {
            for i in 0..n {
                let (x, y) = value.dial(i, j);
                let r = (x * x + y * y).sqrt();
                if r < self.reference.inner || r > self.reference.outer {
                    continue;
                }
                let q = work.homography.at(x, y);
                if !own.holds(q.x, q.y) {
                    continue;
                }
                let (u, v) = self.coarse[0].px(x, y);
                let p = self.pixel(&model, (x, y), own.clamped(q.x, q.y), under.clamped(u, v));
                value.plane.data[j * n + i] = p.value.clamp(-1.0, 1.5) as f32;
                seen.plane.data[j * n + i] = ((p.gain / whole - 0.08) / 0.3).clamp(0.02, 1.0) as f32;
            }
        }
        value.plane = value.plane.gaussian((0.010 * k).max(0.5));
        (value, seen)
    }
}

fn reference_at(planes: &[Canonical; 3], x: f64, y: f64) -> [f32; 3] {
    let (u, v) = planes[0].px(x, y);
    planes.each_ref().map(|p| p.plane.clamped(u, v))
}

/// Places of the face all over, a few thousand of them.
fn places(reference: &InpaintedReference, print: &[Canonical; 3], work: &Work) -> Vec<Place> {
    let p = &work.planes;
    let outer = reference.outer.min(1.05);
    let step = ((std::f64::consts::PI * (outer * work.scale).powi(2) / PLACES).sqrt().round() as usize).max(1);
    let mut out = Vec::new();
    for y in (0..p[0].height).step_by(step) {
        for x in (0..p[0].width).step_by(step) {
            let q = work.back.at(x as f64, y as f64);
            let r = q.norm();
            if r > reference.inner && r < outer {
                let i = y * p[0].width + x;
                out.push((q.x as f32, q.y as f32, [p[0].data[i], p[1].data[i], p[2].data[i]], reference_at(print, q.x, q.y)));
            }
        }
    }
    out
}
