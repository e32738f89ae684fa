//! The photo's pixels near print, each with the reference at its place.
use super::align::Task;
use super::cells::cell_of;
use super::template::Template;
use super::uneven::Uneven;
use crate::base::pose::project;
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

/// Photo pixels that compare with print.
pub fn samples(photo: &Plane, template: &Template, w: &Matrix3<f64>, task: &Task) -> Vec<Sample> {
    let (extent, with_blur) = (task.extent, task.blur.is_some());
    let mut out = Vec::new();
    let Some(h) = w.try_inverse() else { return out };
    let uneven = if task.uneven { Uneven::new(template, w, &h, extent) } else { None };
    let Some((x0, y0, x1, y1)) = bounds(&h, extent, photo) else { return out };
    let (n, k) = (template.n, template.k);
    let c = (n as f64 - 1.0) / 2.0;
    let top = n as f64 - 3.0;
    for py in y0..=y1 {
        let y = py as f64;
        let row = [0, 1, 2].map(|r| w[(r, 1)] * y + w[(r, 2)]);
        for px in x0..=x1 {
            let x = px as f64;
            let z = 1.0 / (row[2] + w[(2, 0)] * x);
            let (qx, qy) = ((row[0] + w[(0, 0)] * x) * z, (row[1] + w[(1, 0)] * x) * z);
            let (u, v) = (c + k * qx, c - k * qy);
            let inside = (2.0..top).contains(&u) && (2.0..top).contains(&v);
            if !inside || !template.mask[(v + 0.5) as usize * n + (u + 0.5) as usize] {
                continue;
            }
            let kf = k as f32;
            let (tx, ty) = (template.tx.clamped(u, v), template.ty.clamped(u, v));
            let bl = if with_blur || uneven.is_some() { second(template, u, v) } else { [0.0; 3] };
            let more = uneven.as_ref().map_or(0.0, |d| d.more(qx, qy, z).iter().zip(&bl).map(|(m, b)| m * b).sum::<f32>());
            out.push(Sample {
                cell: cell_of(qx, qy, extent),
                i: photo.data[py * photo.width + px],
                t: template.t.bicubic(u, v) + more,
                gx: tx * kf,
                gy: -ty * kf,
                x: qx as f32,
                y: qy as f32,
                bl,
            });
        }
    }
    out
}

/// Second derivatives of the reference, halved: change of level per unit of blur covariance.
fn second(template: &Template, u: f64, v: f64) -> [f32; 3] {
    [
        0.25 * (template.tx.clamped(u + 1.0, v) - template.tx.clamped(u - 1.0, v)),
        0.5 * (template.tx.clamped(u, v + 1.0) - template.tx.clamped(u, v - 1.0)),
        0.25 * (template.ty.clamped(u, v + 1.0) - template.ty.clamped(u, v - 1.0)),
    ]
}

/// Photo rectangle that holds the dial out to `extent` units; `None` when it lies outside the picture.
pub fn bounds(h: &Matrix3<f64>, extent: f64, photo: &Plane) -> Option<(usize, usize, usize, usize)> {
    let (mut x0, mut y0, mut x1, mut y1) = (f64::MAX, f64::MAX, f64::MIN, f64::MIN);
    for i in 0..32 {
        let (s, c) = (i as f64 * std::f64::consts::PI / 16.0).sin_cos();
        let q = project(h, extent * s, extent * c);
        if !(q.x.is_finite() && q.y.is_finite()) {
            return None;
        }
        (x0, y0, x1, y1) = (x0.min(q.x), y0.min(q.y), x1.max(q.x), y1.max(q.y));
    }
    let (x0, y0) = (x0.max(1.0), y0.max(1.0));
    let (x1, y1) = (x1.min(photo.width as f64 - 2.0), y1.min(photo.height as f64 - 2.0));
    let large = x1 > x0 + 8.0 && y1 > y0 + 8.0;
    large.then_some((x0 as usize, y0 as usize, x1 as usize, y1 as usize))
}
