//! Further photos of the dial, laid over the reference photo by what is printed: their ticks and needles.
use super::needle_line::NeedleLine;
use super::tick::Tick;
use super::ticks;
use crate::dial::NeedleLook;
use crate::maths::angle::wrap;
use crate::maths::homography::{Homography, PlaneInPhoto, ViewPoint};
use crate::maths::point::PhotoPoint;
use crate::maths::robust::high_median;
use crate::photo::{Photo, Plane};
use crate::reading::Sight;
use crate::register::Registration;
use crate::register::face::NeedlePlace;
use nalgebra::Vector2;

/// A further photo.
pub struct View<'a> {
    /// The photo.
    pub photo: &'a Photo,
    /// What it shows of the dial as one photo calibrated it.
    pub sight: Sight,
    /// Its luma.
    luma: Plane,
    /// Reference photo px to its own, for points of the dial's plane.
    to_photo: Homography<PhotoPoint, ViewPoint>,
    /// Standard uncertainty of where a point of the marks' ring is laid, px of the reference photo.
    laid: f64,
    /// Its blur against the reference photo, px of that photo: it moves the ends of ticks, along its own direction the most.
    blur: f64,
    /// Its needle's line.
    pub needle: Option<NeedleLine>,
    /// Direction of its needle, degrees clockwise from up, and half of the angle that it hides.
    hides: (f64, f64),
}

/// Direction beside the needle's edge (degrees) in which its blur and shadow may touch a tick.
const BESIDE: f64 = 1.5;

impl<'a> View<'a> {
    /// Lays a photo over the reference photo, in which the dial's plane lies by `plane`.
    pub fn new(photo: &'a Photo, sight: Sight, plane: &PlaneInPhoto, look: &NeedleLook) -> Option<Self> {
        let camera = sight.registration.view(photo).camera;
        let ring = NeedlePlace::new(look, 0.0, 0.0).half_angle_at(0.9);
        Some(Self {
            luma: photo.luma(),
            to_photo: sight.registration.dial_to_photo.onto::<ViewPoint>() * plane.inverse()?,
            laid: laid(&sight, plane.mean_scale()),
            blur: plane.mean_scale() * sight.registration.blur.trace().max(0.0).sqrt(),
            needle: NeedleLine::new(&sight, plane, camera),
            hides: (sight.needle.angle, ring + BESIDE),
            photo,
            sight,
        })
    }
    /// Where it shows the dial whose plane lies in the reference photo by `h`.
    pub fn registration(&self, h: &PlaneInPhoto) -> Registration {
        Registration { dial_to_photo: (self.to_photo * *h).onto(), ..self.sight.registration.clone() }
    }
    /// Its ticks in the reference photo's pixels, those beside its needle left out. `h`: the dial's plane in the reference photo.
    fn ticks(&self, h: &PlaneInPhoto, clicks: &[(f64, f64)]) -> Option<Vec<Tick>> {
        let own = self.to_photo * *h;
        let back = self.to_photo.inverse()?;
        let scale = own.mean_scale();
        let ratio = h.mean_scale() / scale;
        let carried = |p: Vector2<f64>| back.at(p.x, p.y);
        let mut out = ticks::find(&self.luma, &own, scale, clicks);
        out.retain(|t| wrap(t.angle - self.hides.0).abs() > self.hides.1);
        for t in &mut out {
            t.line = t.line.map(carried);
            (t.outer, t.inner) = (carried(t.outer), carried(t.inner));
            t.sigma = (t.sigma * ratio).hypot(self.laid);
            t.half_width *= ratio;
            t.sigma_end = t.sigma_end.hypot(self.laid).hypot(self.blur);
        }
        Some(out)
    }
}

/// Standard uncertainty of where a point of the marks' ring is laid, px of the reference photo.
fn laid(sight: &Sight, scale: f64) -> f64 {
    let c = &sight.registration.covariance;
    // a shift (parameters 2 and 5) and what the others add at the ring, on average over directions
    let shift = 0.5 * (c[(2, 2)] + c[(5, 5)]);
    let turn = 0.25 * (c[(0, 0)] + c[(1, 1)] + c[(3, 3)] + c[(4, 4)]);
    scale * (shift + turn).max(0.0).sqrt()
}

/// Ticks of several photos as one list; the first view is the reference photo.
///
/// A tick counts when the reference photo shows it, or two others do, or one does where the reference photo's needle hides it.
pub fn merge(h: &PlaneInPhoto, clicks: &[(f64, f64)], views: &[View]) -> Vec<Tick> {
    let Some(first) = views.first() else { return Vec::new() };
    let found: Vec<Vec<Tick>> = views.iter().filter_map(|v| v.ticks(h, clicks)).collect();
    let mut groups: Vec<Vec<(usize, &Tick)>> = Vec::new();
    for (photo, ticks) in found.iter().enumerate() {
        for t in ticks {
            match groups.iter_mut().find(|g| g.iter().all(|m| m.0 != photo) && same(g[0].1, t)) {
                Some(g) => g.push((photo, t)),
                None => groups.push(vec![(photo, t)]),
            }
        }
    }
    let hidden = |t: &Tick| wrap(t.angle - first.hides.0).abs() <= first.hides.1;
    groups.retain(|g| g[0].0 == 0 || g.len() > 1 || hidden(g[0].1));
    groups.iter().map(|g| mean(&g.iter().map(|m| m.1).collect::<Vec<_>>())).collect()
}

/// Whether two photos show the same tick: nearer than ticks stand to each other, and of about the same length.
fn same(a: &Tick, b: &Tick) -> bool {
    wrap(a.angle - b.angle).abs() < 0.6 && (a.radii[0] - b.radii[0]).abs() < 0.03 && (a.radii[1] - b.radii[1]).abs() < 0.03
}

/// The weighted mean of one tick's centre lines and ends.
fn mean(ticks: &[&Tick]) -> Tick {
    let base = ticks[0];
    let along = (base.line[1] - base.line[0]).normalize();
    let across = Vector2::new(-along.y, along.x);
    // where the other line crosses the perpendicular through a point of the first
    let crossing = |t: &Tick, p: Vector2<f64>| {
        let d = t.line[1] - t.line[0];
        let f = along.dot(&(p - t.line[0])) / along.dot(&d);
        across.dot(&(t.line[0] + d * f - p))
    };
    let offs: Vec<f64> = ticks.iter().map(|t| crossing(t, 0.5 * (base.line[0] + base.line[1]))).collect();
    let middle = high_median(offs.iter().copied()).unwrap_or(0.0);
    let weight = |(t, o): (&&Tick, &f64)| 1.0 / (t.sigma * t.sigma + (o - middle) * (o - middle) / 4.0);
    let weights: Vec<f64> = ticks.iter().zip(&offs).map(weight).collect();
    let total: f64 = weights.iter().sum();
    let shifted = |p: Vector2<f64>| p + across * (ticks.iter().zip(&weights).map(|(t, w)| w * crossing(t, p)).sum::<f64>() / total);
    let trust: f64 = ticks.iter().map(|t| t.sigma_end.powi(-2)).sum();
    let point = |of: fn(&Tick) -> Vector2<f64>| ticks.iter().fold(Vector2::zeros(), |a, t| a + of(t) * t.sigma_end.powi(-2)) / trust;
    Tick {
        line: base.line.map(shifted),
        sigma: (1.0 / total).sqrt(),
        sigma_angle: base.sigma_angle / (ticks.len() as f64).sqrt(),
        outer: point(|t| t.outer),
        inner: point(|t| t.inner),
        // half of the variance of one photo's is the print's own and in every photo the same
        sigma_end: trust.powf(-0.5).max(base.sigma_end / 2f64.sqrt()),
        ..base.clone()
    }
}
