//! The reference face seen straight on ("canonical" picture) and which of its places may vote.
use crate::base::pose::project;
use crate::dial::{Dial, NeedleLook};
use crate::photo::Plane;

/// A straight-on picture of the dial plane: `k` px per unit, pivot at the centre, y down.
#[derive(Clone, Debug)]
pub struct Canonical {
    /// px per unit.
    pub k: f64,
    /// The picture (square).
    pub plane: Plane,
}

impl Canonical {
    /// Centre pixel coordinate.
    pub fn centre(&self) -> f64 {
        (self.plane.width as f64 - 1.0) / 2.0
    }
    /// Dial point to canonical px.
    pub fn px(&self, x: f64, y: f64) -> (f64, f64) {
        (self.centre() + self.k * x, self.centre() - self.k * y)
    }
    /// Canonical px to dial point.
    pub fn dial(&self, i: usize, j: usize) -> (f64, f64) {
        ((i as f64 - self.centre()) / self.k, (self.centre() - j as f64) / self.k)
    }
}

/// The reference face made ready for comparing.
#[derive(Clone, Debug)]
pub struct FaceModel {
    /// The dial it was made from.
    pub dial: Dial,
    luma: Plane,
}

impl FaceModel {
    /// Prepares the reference face of a dial.
    pub fn new(dial: Dial) -> Self {
        let f = &dial.face;
        let data = f.rgb.chunks_exact(3).map(|p| 0.299 * p[0] as f32 + 0.587 * p[1] as f32 + 0.114 * p[2] as f32).collect();
        let luma = Plane { width: f.width, height: f.height, data };
        Self { dial, luma }
    }
    /// One colour plane of the reference face picture.
    pub fn channel(&self, c: usize) -> Plane {
        let f = &self.dial.face;
        Plane { width: f.width, height: f.height, data: f.rgb.iter().skip(c).step_by(3).map(|&v| v as f32).collect() }
    }
    /// Whether the dial has no bezel near its print, so that the plane round it serves too.
    pub fn is_wide(&self) -> bool {
        self.dial.face.print_radius > 1.35
    }
    /// Luma seen straight on at `k` px per unit out to `extent` units.
    pub fn canonical(&self, k: f64, extent: f64) -> Canonical {
        canonical_of(&self.luma, self, k, extent)
    }
    /// A colour plane seen straight on.
    pub fn canonical_channel(&self, c: usize, k: f64, extent: f64) -> Canonical {
        canonical_of(&self.channel(c), self, k, extent)
    }
    /// Whether the reference shows static print (or bare face) at this dial point: on the face's plane, inside the picture,
    /// off the pivot's cover and off the reference needle.
    pub fn votes(&self, x: f64, y: f64) -> bool {
        let d = &self.dial;
        let r = x.hypot(y);
        if r > d.face.print_radius || r < self.inner_radius() {
            return false;
        }
        self.in_picture(x, y, 4.0) && !needle_covers(&d.needle, d.needle.angle, d.needle.offset, x, y, 0.03)
    }
    /// Whether the point lies in the reference picture, `margin` px from its edge.
    pub fn in_picture(&self, x: f64, y: f64, margin: f64) -> bool {
        let q = project(&self.dial.face.plane, x, y);
        q.x > margin && q.y > margin && q.x < self.luma.width as f64 - 1.0 - margin && q.y < self.luma.height as f64 - 1.0 - margin
    }
    /// Inside this radius the hub stands above the face.
    pub fn inner_radius(&self) -> f64 {
        let d = &self.dial;
        (d.face.cover_radius + 0.08).max(d.needle.span[0] + 0.03).min(0.6)
    }
}

fn canonical_of(source: &Plane, face: &FaceModel, k: f64, extent: f64) -> Canonical {
    let ratio = face.dial.face.scale / k;
    let soft;
    let source = if ratio > 1.15 {
        soft = source.gaussian(0.5 * (ratio * ratio - 1.0).sqrt());
        &soft
    } else {
        source
    };
    let n = 2 * (k * extent).ceil() as usize + 1;
    let c = (n as f64 - 1.0) / 2.0;
    let mut data = Vec::with_capacity(n * n);
    for j in 0..n {
        for i in 0..n {
            let q = project(&face.dial.face.plane, (i as f64 - c) / k, (c - j as f64) / k);
            data.push(source.bicubic(q.x, q.y));
        }
    }
    Canonical { k, plane: Plane { width: n, height: n, data } }
}

/// Coordinates along (s) and to the right of (t) a needle line of this angle and offset, for a dial point.
pub fn along_across(angle: f64, offset: f64, x: f64, y: f64) -> (f64, f64) {
    let (sa, ca) = angle.to_radians().sin_cos();
    (x * sa + y * ca, x * ca - y * sa - offset)
}

/// Whether a needle of this look, at this angle and offset, covers the dial point, grown by `grow` units.
pub fn needle_covers(look: &NeedleLook, angle: f64, offset: f64, x: f64, y: f64, grow: f64) -> bool {
    let (s, t) = along_across(angle, offset, x, y);
    let (Some(first), Some(last)) = (look.radii.first(), look.radii.last()) else { return false };
    let widest = look.half_width.iter().fold(0.0f64, |a, &b| a.max(b));
    if t.abs() > widest + grow || s < first - grow || s > last + grow {
        return false;
    }
    let step = (last - first) / (look.radii.len() - 1).max(1) as f64;
    let lo = (((s - grow - first) / step).floor().max(0.0)) as usize;
    let hi = ((((s + grow - first) / step).ceil()).max(0.0) as usize).min(look.radii.len() - 1);
    let w = look.half_width[lo.min(hi)..=hi].iter().fold(0.0f64, |a, &b| a.max(b));
    w > 0.0 && t.abs() < w + grow
}
