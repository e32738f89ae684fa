//! The photo's pixels near print, each with the reference at its place.
use super::cells::cell_of;
use super::frames::bounds;
use super::mask::grown;
use super::task::Task;
use super::template::Template;
use super::uneven::Uneven;
use crate::maths::homography::WorkToPlane;
use crate::photo::Plane;
use nalgebra::Matrix3;

/// One photo pixel against the reference.
#[derive(Clone, Copy, Debug)]
pub struct Sample {
    /// Cell of the face.
    pub cell: u16,
    /// Photo level.
    pub i: f32,
    /// Reference level.
    pub t: f32,
    /// Derivatives of the reference per dial unit (x right, y up).
    pub gx: f32,
    /// See `gx`.
    pub gy: f32,
    /// Dial point.
    pub x: f32,
    /// Dial point.
    pub y: f32,
    /// Second derivatives per canonical px², halved: change per unit of blur covariance.
    pub bl: [f32; 3],
}

/// Photo pixels near print at one map, with room for the map to move a little.
#[derive(Debug)]
pub struct Near {
    places: Vec<(u32, u32)>,
    to_dial: WorkToPlane,
    corners: [(f64, f64); 4],
}

/// Room for the map to move, canonical px.
const ROOM: usize = 2;

impl Near {
    /// Photo pixels within [`ROOM`] of print.
    fn new(photo: &Plane, template: &Template, to_dial: &WorkToPlane, extent: f64) -> Self {
        let mut out = Self { places: Vec::new(), to_dial: *to_dial, corners: [(0.0, 0.0); 4] };
        let around = to_dial.inverse().and_then(|h| bounds(&h, extent, (photo.width, photo.height)));
        let Some([x0, y0, x1, y1]) = around else { return out };
        let w = to_dial.matrix();
        out.corners = [(x0, y0), (x1, y0), (x0, y1), (x1, y1)].map(|(x, y)| (x as f64, y as f64));
        let n = template.n;
        let near = grown(&template.mask, n, ROOM);
        let (c, k, top) = ((n as f64 - 1.0) / 2.0, template.k, n as f64 - 1.0);
        for py in y0..=y1 {
            let y = py as f64;
            let row = [0, 1, 2].map(|r| w[(r, 1)] * y + w[(r, 2)]);
            for px in x0..=x1 {
                let x = px as f64;
                let z = k / (row[2] + w[(2, 0)] * x);
                let (u, v) = (c + (row[0] + w[(0, 0)] * x) * z, c - (row[1] + w[(1, 0)] * x) * z);
                let inside = u >= 0.0 && v >= 0.0 && u < top && v < top;
                if inside && near[(v + 0.5) as usize * n + (u + 0.5) as usize] {
                    out.places.push((px as u32, py as u32));
                }
            }
        }
        out
    }
    /// Whether the pixels near print at this map are still among these.
    fn holds(&self, to_dial: &WorkToPlane, k: f64) -> bool {
        self.corners.iter().all(|&(x, y)| (to_dial.at(x, y) - self.to_dial.at(x, y)).norm() * k < ROOM as f64 - 0.75)
    }
}

/// Photo pixels that compare with print. `near` keeps what is near print from one call to the next; it must be of the same mask.
pub fn samples(photo: &Plane, template: &Template, to_dial: &WorkToPlane, task: &Task, near: &mut Option<Near>) -> Vec<Sample> {
    let uneven = if task.uneven { Uneven::new(template, to_dial, task.extent) } else { None };
    let second_too = task.blur_too || uneven.is_some();
    if near.as_ref().is_none_or(|n| !n.holds(to_dial, template.k)) {
        *near = Some(Near::new(photo, template, to_dial, task.extent));
    }
    let places = near.as_ref().map_or(&[] as &[(u32, u32)], |n| &n.places);
    let w = to_dial.matrix();
    pulp::Arch::new().dispatch(Compared { places, photo, template, w, reach: task.extent, second_too, uneven: uneven.as_ref() })
}

/// A photo's pixels and what they are compared with, as work for the processor's widest vectors.
struct Compared<'a> {
    places: &'a [(u32, u32)],
    photo: &'a Plane,
    template: &'a Template,
    /// Photo px to dial plane.
    w: &'a Matrix3<f64>,
    reach: f64,
    second_too: bool,
    uneven: Option<&'a Uneven>,
}

impl pulp::WithSimd for Compared<'_> {
    type Output = Vec<Sample>;
    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) -> Vec<Sample> {
        let mut out = Vec::with_capacity(self.places.len());
        for &place in self.places {
            if let Some(sample) = self.sample(place) {
                out.push(sample);
            }
        }
        out
    }
}

impl Compared<'_> {
    /// `None` off the print.
    #[inline(always)]
    fn sample(&self, (px, py): (u32, u32)) -> Option<Sample> {
        let (template, w) = (self.template, self.w);
        let (n, k) = (template.n, template.k);
        let (c, top) = ((n as f64 - 1.0) / 2.0, n as f64 - 3.0);
        let (x, y) = (f64::from(px), f64::from(py));
        let z = 1.0 / (w[(2, 0)] * x + w[(2, 1)] * y + w[(2, 2)]);
        let qx = (w[(0, 0)] * x + w[(0, 1)] * y + w[(0, 2)]) * z;
        let qy = (w[(1, 0)] * x + w[(1, 1)] * y + w[(1, 2)]) * z;
        let (u, v) = (c + k * qx, c - k * qy);
        let inside = (2.0..top).contains(&u) && (2.0..top).contains(&v);
        let nearest = if inside { (v + 0.5) as usize * n + (u + 0.5) as usize } else { return None };
        if !template.mask[nearest] {
            return None;
        }
        let kf = k as f32;
        let at = Spot::new(u, v, n);
        let (tx, ty) = (at.of(&template.tx.data), at.of(&template.ty.data));
        let bl = if self.second_too { second(template, nearest) } else { [0.0; 3] };
        let more = self.uneven.map_or(0.0, |d| d.more(qx, qy, z).iter().zip(&bl).map(|(m, b)| m * b).sum::<f32>());
        Some(Sample {
            cell: cell_of(qx, qy, self.reach),
            i: self.photo.data[py as usize * self.photo.width + px as usize],
            t: template.t.bicubic(u, v) + more,
            gx: tx * kf,
            gy: -ty * kf,
            x: qx as f32,
            y: qy as f32,
            bl,
        })
    }
}

/// A place between pixels of a square picture, for several pictures.
struct Spot {
    at: usize,
    n: usize,
    u: f32,
    v: f32,
}

impl Spot {
    #[inline(always)]
    fn new(u: f64, v: f64, n: usize) -> Self {
        let (i, j) = (u as usize, v as usize);
        Self { at: j * n + i, n, u: (u - i as f64) as f32, v: (v - j as f64) as f32 }
    }
    /// Bilinear value.
    #[inline(always)]
    fn of(&self, data: &[f32]) -> f32 {
        let (top, bottom) = (&data[self.at..self.at + 2], &data[self.at + self.n..self.at + self.n + 2]);
        let (a, b) = (top[0] + (top[1] - top[0]) * self.u, bottom[0] + (bottom[1] - bottom[0]) * self.u);
        a + (b - a) * self.v
    }
}

/// Second derivatives of the reference at its pixel `i`, halved: change of level per unit of blur covariance.
#[inline(always)]
fn second(template: &Template, i: usize) -> [f32; 3] {
    let (tx, ty, n) = (&template.tx.data, &template.ty.data, template.n);
    [0.25 * (tx[i + 1] - tx[i - 1]), 0.5 * (tx[i + n] - tx[i - n]), 0.25 * (ty[i + n] - ty[i - n])]
}
