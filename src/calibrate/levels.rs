//! A photo's luma at full size, half of it, a quarter and so on, each made once when it is needed; and a dial's surroundings at a size that
//! is enough to fit its plane.
use super::tick::Tick;
use super::view_prior::ViewPrior;
use crate::maths::homography::{Homography, PlaneInPhoto, PlaneInWork};
use crate::maths::pose::Camera;
use crate::photo::{Photo, Plane};
use crate::tick_detection::{Bar, Clear, Dot, Group, Marks, SparseScale, marks};
use nalgebra::Vector2;
use std::cell::OnceCell;

/// Halvings that are kept at most: a photo of 100 000 px is 200 px wide then.
const MOST: usize = 10;
/// Radius of a dial that is enough for its plane, px.
const ENOUGH: f64 = 220.0;
/// The surroundings reach so far from the pivot, radii: as far as ticks are looked for, in a tilted view.
const REACH: f64 = 1.6;

/// The luma of a photo in sizes.
pub struct Levels<'a> {
    photo: &'a Photo,
    halves: [OnceCell<Plane>; MOST],
}

impl<'a> Levels<'a> {
    /// Of a photo; nothing is made yet.
    pub fn of(photo: &'a Photo) -> Self {
        Self { photo, halves: std::array::from_fn(|_| OnceCell::new()) }
    }
    /// What is known of how the photo sees a face.
    pub fn view_prior(&self) -> ViewPrior {
        ViewPrior::usual(self.photo.focal_ratio.is_some())
    }
    /// Part (left, top, width, height) of the luma halved so often.
    pub fn part(&self, halvings: u32, [x, y, w, h]: [usize; 4]) -> Plane {
        match halvings {
            0 => self.photo.luma_of(x, y, w, h),
            k => self.halved(k as usize).crop(x, y, w, h),
        }
    }
    /// What may be marks in a part of the photo (left, top, width, height; photo px) halved so often: in its own px, where it lies, and its size.
    pub fn marks(&self, halvings: u32, part: [usize; 4], least: Clear) -> (Marks, Frame, (usize, usize)) {
        let [x0, y0, width, height] = part.map(|v| v >> halvings);
        let found = marks((width, height), &|[x, y, w, h]| self.part(halvings, [x0 + x, y0 + y, w, h]), least);
        (found, Frame::of(halvings, [x0, y0]), (width, height))
    }
    fn halved(&self, k: usize) -> &Plane {
        let k = k.clamp(1, MOST);
        self.halves[k - 1].get_or_init(|| if k == 1 { self.photo.half_luma() } else { self.halved(k - 1).half() })
    }
    /// Width and height, halved so often.
    fn size(&self, halvings: u32) -> (usize, usize) {
        (self.photo.width >> halvings, self.photo.height >> halvings)
    }
    /// The surroundings of a dial: its pivot and radius, photo px.
    pub fn about(&self, pivot: Vector2<f64>, radius: f64) -> View {
        let halvings = (0..MOST as u32).find(|k| radius / f64::from(1u32 << k) <= ENOUGH).unwrap_or(MOST as u32);
        let (step, (width, height)) = (f64::from(1u32 << halvings), self.size(halvings));
        let edge = |v: f64, top: usize| (v / step).clamp(0.0, top as f64) as usize;
        let reach = REACH * radius;
        let (x0, y0) = (edge(pivot.x - reach, width), edge(pivot.y - reach, height));
        let (x1, y1) = (edge(pivot.x + reach, width), edge(pivot.y + reach, height));
        let frame = Frame::of(halvings, [x0, y0]);
        let whole = Camera::of_picture(width, height, self.photo.focal_ratio);
        let camera = Camera { centre: whole.centre - frame.corner, ..whole };
        View { luma: self.part(halvings, [x0, y0, x1 - x0, y1 - y0]), camera, frame }
    }
}

/// A part of a photo at a reduced size.
pub struct View {
    /// Its luma.
    pub luma: Plane,
    /// The camera, in its px.
    pub camera: Camera,
    /// Where it lies in the photo.
    pub frame: Frame,
}

/// Where a part of a reduced photo lies in the photo.
#[derive(Clone, Copy, Debug)]
pub struct Frame {
    /// Photo px to one of its own.
    pub step: f64,
    /// Its top left corner in the reduced photo.
    corner: Vector2<f64>,
}

impl Frame {
    /// Of a part of the photo halved so often that begins there.
    pub fn of(halvings: u32, [left, top]: [usize; 2]) -> Self {
        Self { step: f64::from(1u32 << halvings.min(31)), corner: Vector2::new(left as f64, top as f64) }
    }
    /// A place of the photo in the part.
    pub fn to(&self, p: Vector2<f64>) -> Vector2<f64> {
        (p + Vector2::repeat(0.5)) / self.step - Vector2::repeat(0.5) - self.corner
    }
    /// Photo px of a point of the part.
    pub fn back(&self, p: Vector2<f64>) -> Vector2<f64> {
        (p + self.corner + Vector2::repeat(0.5)) * self.step - Vector2::repeat(0.5)
    }
    /// A group of the photo in the part.
    pub fn group(&self, g: &Group) -> Group {
        let bar = |b: &Bar| Bar { centre: self.to(b.centre), length: b.length / self.step, width: b.width / self.step, ..*b };
        Group { pivot: self.to(g.pivot), radius: g.radius / self.step, ticks: g.ticks.iter().map(bar).collect() }
    }
    /// A bar of the part in the photo.
    pub fn bar_back(&self, b: &Bar) -> Bar {
        Bar { centre: self.back(b.centre), length: b.length * self.step, width: b.width * self.step, ..*b }
    }
    /// A group of the part in the photo.
    pub fn group_back(&self, g: &Group) -> Group {
        Group { pivot: self.back(g.pivot), radius: g.radius * self.step, ticks: g.ticks.iter().map(|b| self.bar_back(b)).collect() }
    }
    /// A scale of few marks of the part in the photo.
    pub fn scale_back(&self, s: &SparseScale) -> SparseScale {
        let dot = |d: &Dot| Dot { centre: self.back(d.centre), diameter: d.diameter * self.step, ..*d };
        SparseScale {
            pivot: self.back(s.pivot),
            radius: s.radius * self.step,
            bars: s.bars.iter().map(|b| self.bar_back(b)).collect(),
            dots: s.dots.iter().map(dot).collect(),
            ..*s
        }
    }
    /// A plane (dial plane to px of the part) to photo px.
    pub fn plane_back(&self, h: &PlaneInWork) -> PlaneInPhoto {
        Homography::scaled(self.step, self.back(Vector2::zeros())) * *h
    }
    /// A tick of the part in the photo.
    pub fn tick_back(&self, t: &Tick) -> Tick {
        Tick {
            line: t.line.map(|p| self.back(p)),
            sigma: t.sigma * self.step,
            half_width: t.half_width * self.step,
            outer: self.back(t.outer),
            inner: self.back(t.inner),
            sigma_end: t.sigma_end * self.step,
            ..*t
        }
    }
}
