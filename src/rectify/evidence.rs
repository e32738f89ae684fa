//! Evidence of the needle: photo minus reference face in the photo's light, along the needle's colour.
use super::bare::Bare;
use super::light::{Light, Place};
use super::work::Work;
use crate::base::pose::project;
use crate::photo::Plane;
use crate::register::Registration;
use crate::register::face::Canonical;
use nalgebra::Vector3;

/// What the photo shows beyond the printed face.
#[derive(Debug)]
pub struct Evidence {
    /// The reference face as colours, blurred as the photo is, its needle painted over with paper.
    reference: [Canonical; 3],
    paper: Vec<[f32; 3]>,
    light: Light,
    places: Vec<Place>,
    axis: Vector3<f64>,
    inner: f64,
    outer: f64,
}

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

impl Evidence {
    /// Compares the working picture with the reference.
    pub fn new(reference: &Bare, work: &Work, registration: &Registration) -> Self {
        let planes = reference.blurred(registration.blur);
        let mut e = Self {
            reference: planes,
            paper: reference.paper.clone(),
            light: Light::fit(&[], reference.outer),
            places: Vec::new(),
            axis: reference.axis,
            inner: reference.inner,
            outer: reference.outer,
        };
        e.places = e.places(work);
        e.light = Light::fit(&e.places, e.outer);
        e
    }
    /// The light fitted once more without the places that are hidden: soft flanks of the needle pass for light.
    pub fn light_without(&self, hidden: impl Fn(f64, f64) -> bool) -> Light {
        let bare: Vec<Place> = self.places.iter().filter(|p| !hidden(p.0 as f64, p.1 as f64)).copied().collect();
        Light::fit(&bare, self.outer)
    }
    /// The photo's light on the face.
    pub fn light(&self) -> &Light {
        &self.light
    }
    /// Radius out to which evidence exists.
    pub fn outer(&self) -> f64 {
        self.outer
    }
    fn reference_at(&self, x: f64, y: f64) -> [f32; 3] {
        let (u, v) = self.reference[0].px(x, y);
        [0, 1, 2].map(|c| self.reference[c].plane.clamped(u, v))
    }
    fn places(&self, work: &Work) -> Vec<Place> {
        let p = &work.planes;
        let mut out = Vec::new();
        let step = if work.scale > 220.0 { 2 } else { 1 };
        for y in (0..p[0].height).step_by(step) {
            for x in (0..p[0].width).step_by(step) {
                let q = project(&work.back, x as f64, y as f64);
                let r = q.x.hypot(q.y);
                if r > self.inner && r < self.outer.min(1.05) {
                    let i = y * p[0].width + x;
                    out.push((q.x as f32, q.y as f32, [p[0].data[i], p[1].data[i], p[2].data[i]], self.reference_at(q.x, q.y)));
                }
            }
        }
        out
    }
    /// Evidence from a photo colour at a dial point.
    fn pixel(&self, light: &Light, x: f64, y: f64, colour: [f32; 3]) -> Pixel {
        let m = self.reference_at(x, y);
        let (a, b) = light.at(x, y);
        let r = x.hypot(y);
        let paper = self.paper_at(r);
        // in units of the whole face's gain: what a reflection does to one cell must not draw an edge across the needle
        let gain = light.global().max(0.05);
        let e = Vector3::from_fn(|c, _| (colour[c] as f64 - a * m[c] as f64 - b[c]) / gain);
        let print = Vector3::from_fn(|c, _| (m[c] - paper[c]) as f64);
        Pixel { x, y, value: self.axis.dot(&e), print: self.axis.dot(&print).clamp(-0.5, 1.5) * a / gain, gain: a }
    }
    fn paper_at(&self, r: f64) -> [f32; 3] {
        let i = ((r * 100.0) as usize).min(self.paper.len().saturating_sub(1));
        self.paper.get(i).copied().unwrap_or([0.0; 3])
    }
    /// All photo pixels whose dial point satisfies `keep`, in this light.
    pub fn pixels(&self, light: &Light, work: &Work, bounds: (f64, f64, f64, f64), keep: impl Fn(f64, f64) -> bool) -> Vec<Pixel> {
        let p = &work.planes;
        let mut out = Vec::new();
        let clip = |v: f64, top: usize| v.clamp(0.0, top as f64 - 1.0) as usize;
        let (x0, y0) = (clip(bounds.0, p[0].width), clip(bounds.1, p[0].height));
        let (x1, y1) = (clip(bounds.2.ceil(), p[0].width), clip(bounds.3.ceil(), p[0].height));
        for y in y0..=y1 {
            for x in x0..=x1 {
                let q = project(&work.back, x as f64, y as f64);
                let r = q.x.hypot(q.y);
                if r < self.inner || r > self.outer || !keep(q.x, q.y) {
                    continue;
                }
                let i = y * p[0].width + x;
                out.push(self.pixel(light, q.x, q.y, [p[0].data[i], p[1].data[i], p[2].data[i]]));
            }
        }
        out
    }
    /// The evidence seen straight on, for the vote: value clipped to -1..1.5, and visibility 0..1 (a reflection shows nothing).
    pub fn map(&self, work: &Work) -> (Canonical, Canonical) {
        let k = work.scale.min(130.0);
        let n = 2 * (k * self.outer).ceil() as usize + 1;
        let blank = Plane { width: n, height: n, data: vec![0.0; n * n] };
        let mut value = Canonical { k, plane: blank };
        let mut seen = value.clone();
        let soft = work.scale / k;
        let planes = if soft > 1.2 { work.planes.each_ref().map(|p| p.gaussian(0.45 * soft)) } else { work.planes.clone() };
        for j in 0..n {
            for i in 0..n {
                let (x, y) = value.dial(i, j);
                let r = x.hypot(y);
                if r < self.inner || r > self.outer {
                    continue;
                }
                let q = project(&work.homography, x, y);
                if q.x < 0.0 || q.y < 0.0 || q.x > planes[0].width as f64 - 1.0 || q.y > planes[0].height as f64 - 1.0 {
                    continue;
                }
                let p = self.pixel(&self.light, x, y, [0, 1, 2].map(|c| planes[c].clamped(q.x, q.y)));
                value.plane.data[j * n + i] = p.value.clamp(-1.0, 1.5) as f32;
                seen.plane.data[j * n + i] = ((p.gain - 0.08) / 0.3).clamp(0.02, 1.0) as f32;
            }
        }
        value.plane = value.plane.gaussian((0.010 * k).max(0.5));
        (value, seen)
    }
}
