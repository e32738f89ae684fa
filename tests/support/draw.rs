//! The picture of a drawn dial. Every sample of a pixel is a ray through the planes of bezel, needle, face and dash in turn, so
//! that parallax is right by construction. A pixel whose four corners differ is averaged over 55 rays on a Fibonacci lattice
//! (edges along rows or columns then fall on 55 different offsets, not on a few); lines must be wider than a pixel.
use super::light::{Layer, Light};
use super::plan::Plan;
use super::shapes::{Colour, Sheet};
use super::view::{View, apply};
use nalgebra::Matrix3;
use needleband::maths::point::PhotoPoint;
use needleband::photo::{Photo, sha256_hex};

/// Height of the surroundings over the face, dial units.
const DASH: f64 = -0.25;

/// A dial ready to be photographed.
pub struct Drawn {
    pub plan: Plan,
    face: Sheet,
    dash: Sheet,
}

/// A photo and its truth.
pub struct Picture {
    pub photo: Photo,
    /// The pivot on the face, photo px.
    pub pivot: PhotoPoint,
    pub view: View,
}

/// The planes a ray passes, as photo px to plane, and the needle's direction.
struct Rays {
    bezel: Matrix3<f64>,
    needle: Matrix3<f64>,
    face: Matrix3<f64>,
    dash: Matrix3<f64>,
    direction: Option<(f64, f64)>,
}

impl Drawn {
    pub fn new(plan: Plan) -> Self {
        let (face, dash) = (plan.face(), plan.surroundings());
        Self { plan, face, dash }
    }
    /// The photo of the needle at a value (beyond the ends: straight on).
    pub fn at(&self, value: f64, view: &View, light: &Light) -> Picture {
        let angle = self.plan.angle(value);
        let p = view.px(0.0, 0.0);
        let photo = self.photo(Some(angle), view, light);
        Picture { photo, pivot: PhotoPoint::new(p.x, p.y), view: *view }
    }
    /// The photo with the needle at an angle, or without a needle.
    pub fn photo(&self, angle: Option<f64>, view: &View, light: &Light) -> Photo {
        let (width, height) = view.size;
        let rays = self.rays(angle, view);
        let corner = |x: usize, y: usize| self.colour(&rays, x as f64 - 0.5, y as f64 - 0.5);
        let mut layers = [0, 1, 2].map(|_| Layer { width, height, data: Vec::with_capacity(width * height) });
        let mut above: Vec<Colour> = (0..=width).map(|x| corner(x, 0)).collect();
        for y in 0..height {
            let below: Vec<Colour> = (0..=width).map(|x| corner(x, y + 1)).collect();
            for x in 0..width {
                let c = above[x];
                let even = [above[x + 1], below[x], below[x + 1]].iter().all(|o| *o == c);
                let c = if even { c } else { self.mean(&rays, x as f64, y as f64) };
                layers.iter_mut().zip(c).for_each(|(l, v)| l.data.push(v));
            }
            above = below;
        }
        let rgb = light.expose(layers);
        let hash = sha256_hex(&rgb);
        Photo { width, height, rgb: rgb.into(), hash, taken_at: None, focal_ratio: view.tells_focal.then_some(view.focal) }
    }
    fn rays(&self, angle: Option<f64>, view: &View) -> Rays {
        let back = |height: f64| view.plane(height).try_inverse().unwrap();
        let bezel = self.plan.bezel.map_or(0.0, |b| b.1);
        let direction = angle.map(|a| a.to_radians().sin_cos());
        Rays { bezel: back(bezel), needle: back(self.plan.needle.height), face: back(0.0), dash: back(DASH), direction }
    }
    fn mean(&self, rays: &Rays, x: f64, y: f64) -> Colour {
        const N: usize = 55;
        let mut sum = [0.0; 3];
        for i in 0..N {
            let (u, v) = ((i as f64 + 0.5) / N as f64, ((i * 34 % N) as f64 + 0.5) / N as f64);
            let c = self.colour(rays, x + u - 0.5, y + v - 0.5);
            sum.iter_mut().zip(c).for_each(|(s, v)| *s += v / N as f64);
        }
        sum
    }
    /// Colour seen at a photo point.
    fn colour(&self, rays: &Rays, x: f64, y: f64) -> Colour {
        let plan = &self.plan;
        if let Some((width, _, colour)) = plan.bezel {
            let b = apply(&rays.bezel, x, y).norm();
            if (plan.rim..plan.rim + width).contains(&b) {
                return colour;
            }
        }
        if let Some(direction) = rays.direction {
            let n = apply(&rays.needle, x, y);
            if n.norm() < plan.needle.hub {
                return plan.needle.hub_colour;
            }
            if self.depth(direction, n.x, n.y) >= 0.0 {
                return plan.needle.colour;
            }
        }
        let q = apply(&rays.face, x, y);
        if q.norm() > plan.rim {
            let d = apply(&rays.dash, x, y);
            return self.dash.colour(d.x, d.y);
        }
        let lit = self.face.colour(q.x, q.y);
        match (plan.shadow, rays.direction) {
            (Some(s), Some(direction)) => {
                let inside = self.depth(direction, q.x - s.shift.0, q.y - s.shift.1);
                let share = (0.5 + inside / s.soft).clamp(0.0, 1.0);
                lit.map(|v| v * (1.0 - s.depth * share))
            }
            _ => lit,
        }
    }
    fn depth(&self, (s, c): (f64, f64), x: f64, y: f64) -> f64 {
        self.plan.needle.depth(x * s + y * c, x * c - y * s)
    }
}

impl Picture {
    /// Photo px of a face point at an angle (degrees clockwise from up) and radius.
    pub fn place(&self, angle: f64, radius: f64) -> PhotoPoint {
        let (s, c) = angle.to_radians().sin_cos();
        let p = self.view.px(radius * s, radius * c);
        PhotoPoint::new(p.x, p.y)
    }
}
