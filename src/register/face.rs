//! The reference face made ready for comparing, and which of its places may vote.
use super::kept::{Way, headed, print_of};
use super::rendering::{Canonical, Softened};
use super::strokes::Strokes;
use crate::dial::{Dial, NeedleLook};
use crate::maths::pose::shifted;
use crate::photo::{Plane, half_channel, luma, part_of};
use nalgebra::Vector3;
use std::borrow::Cow;
use std::sync::OnceLock;

/// Nearer than this to the picture's edge, px, nothing is compared.
const EDGE: f64 = 4.0;

/// px per unit at which strokes are looked for.
const STROKES_SCALE: f64 = 110.0;

/// The reference face made ready for comparing.
#[derive(Clone, Debug)]
pub struct FaceModel {
    /// The dial it was made from.
    pub dial: Dial,
    luma: Plane,
    /// [`Self::luma`] at half the size, once it was needed.
    half: OnceLock<Plane>,
    /// Whether all print lies well inside the picture.
    all_in_picture: bool,
    /// What the hub hides in the reference picture.
    hub: HubPlace,
    /// The needle's look without the parts below which the picture shows the face.
    covering: NeedleLook,
    /// Which edges are print's, and where strokes are if only they are; once it was needed.
    way: OnceLock<(Way, Option<Strokes>)>,
}

impl FaceModel {
    /// Prepares the reference face of a dial.
    pub fn new(dial: Dial) -> Self {
        let covering = covering(&dial);
        let mut face = Self {
            dial,
            luma: Plane::default(),
            half: OnceLock::new(),
            all_in_picture: false,
            hub: HubPlace::default(),
            covering,
            way: OnceLock::new(),
        };
        face.hub = face.hub_from(face.dial.face.camera.map(Vector3::from));
        face.luma = face.level(luma);
        // a circle seen in perspective is convex, and so is the picture: some points of a circle a little larger speak for all of it
        let beyond = 1.01 * face.dial.face.print_radius;
        let turn = |i: u32| (f64::from(i) * std::f64::consts::PI / 32.0).sin_cos();
        face.all_in_picture = (0..64).map(turn).all(|(s, c)| face.in_picture(beyond * s, beyond * c, EDGE));
        face
    }
    /// Whether the dial has no bezel near its print, so that the plane round it serves too.
    pub fn is_wide(&self) -> bool {
        self.dial.face.print_radius > 1.35
    }
    /// Luma seen straight on at `k` px per unit out to `extent` units.
    pub fn canonical(&self, k: f64, extent: f64) -> Canonical {
        let f = &self.dial.face;
        let half = |_| Cow::Borrowed(self.half.get_or_init(|| self.luma.half()));
        let [out] = Softened::new(&f.plane, (f.scale, k), |_| Cow::Borrowed(&self.luma), half).straight_on(extent);
        out
    }
    /// Red, green and blue of the reference picture for grids of `k` px per unit.
    pub fn colours(&self, k: f64) -> Softened<'static, 3> {
        let f = &self.dial.face;
        let full = |channel: usize| Cow::Owned(self.level(|p| f32::from(p[channel])));
        Softened::new(&f.plane, (f.scale, k), full, |channel| Cow::Owned(half_channel(&f.rgb, f.width, channel)))
    }
    fn level(&self, of: impl Fn(&[u8]) -> f32) -> Plane {
        let f = &self.dial.face;
        part_of(&f.rgb, f.width, [0, 0, f.width, f.height], of)
    }
    /// Whether the reference shows static print (or bare face) at this dial point: on the face's plane, inside the picture,
    /// off the pivot's cover and off the reference needle.
    pub fn votes(&self, x: f64, y: f64, needle: &NeedlePlace) -> bool {
        let r = x * x + y * y;
        if r > self.dial.face.print_radius.powi(2) || self.hub.hides(x, y) {
            return false;
        }
        (self.all_in_picture || self.in_picture(x, y, EDGE)) && !needle.covers(x, y, 0.03)
    }
    /// [`Self::votes`] at each pixel of a straight-on picture, out to `extent` units.
    pub fn voting(&self, canonical: &Canonical, extent: f64) -> Vec<bool> {
        let (n, needle) = (canonical.plane.width, self.reference_needle());
        let mut out = vec![false; n * n];
        for (j, row) in out.chunks_exact_mut(n).enumerate() {
            for (i, v) in row.iter_mut().enumerate() {
                let (x, y) = canonical.dial(i, j);
                *v = x * x + y * y < extent * extent && self.votes(x, y, &needle);
            }
        }
        out
    }
    /// Which of the face's edges count as print: all of them, or strokes alone where the cover mirrors what is before it.
    pub(super) fn way(&self) -> Way {
        self.strokes_by_way().0
    }
    /// Whether the reference shows, beside print, what the cover mirrors.
    pub fn is_mirrored(&self) -> bool {
        self.way() != Way::Edges
    }
    /// Whether an edge at this dial point may be print's.
    pub(super) fn may_have_print(&self, x: f64, y: f64) -> bool {
        self.strokes().is_none_or(|s| s.near(x, y))
    }
    /// [`Self::may_have_print`] at each pixel of a straight-on picture; `None` where that is everywhere.
    pub(super) fn strokes_on(&self, canonical: &Canonical) -> Option<Vec<bool>> {
        let (strokes, n) = (self.strokes()?, canonical.plane.width);
        Some((0..n * n).map(|i| canonical.dial(i % n, i / n)).map(|(x, y)| strokes.near(x, y)).collect())
    }
    fn strokes(&self) -> Option<&Strokes> {
        self.strokes_by_way().1.as_ref()
    }
    fn strokes_by_way(&self) -> &(Way, Option<Strokes>) {
        self.way.get_or_init(|| {
            let kept = self.dial.prepared.as_deref().and_then(|bytes| headed(bytes, print_of(&self.dial)));
            let kept = kept.map(|(way, _)| way);
            if let Some(way @ (Way::Edges | Way::Striped)) = kept {
                return (way, None);
            }
            let (strokes, steps) = self.look_for_strokes();
            let way = kept.unwrap_or(Way::by(steps));
            (way, (way == Way::Strokes).then_some(strokes))
        })
    }
    /// The strokes of the face, and the share of its edges that belong to none.
    fn look_for_strokes(&self) -> (Strokes, f64) {
        let extent = self.dial.face.print_radius;
        let canonical = self.canonical(self.dial.face.scale.min(STROKES_SCALE), extent);
        Strokes::of(&canonical, &self.voting(&canonical, extent))
    }
    /// The needle's look in the reference photo, without what further photos have uncovered.
    pub fn covering(&self) -> &NeedleLook {
        &self.covering
    }
    /// The needle's place in the reference photo, without what further photos have uncovered.
    pub fn reference_needle(&self) -> NeedlePlace<'_> {
        NeedlePlace::new(&self.covering, self.dial.needle.angle, self.dial.needle.offset)
    }
    /// Whether the point lies in the reference picture, `margin` px from its edge.
    pub fn in_picture(&self, x: f64, y: f64, margin: f64) -> bool {
        let q = self.dial.face.plane.at(x, y);
        q.x > margin && q.y > margin && q.x < self.luma.width as f64 - 1.0 - margin && q.y < self.luma.height as f64 - 1.0 - margin
    }
    /// What the hub may hide from a camera there (dial frame, radii): it stands as high as the needle may, to two standard uncertainties.
    pub fn hub_from(&self, camera: Option<Vector3<f64>>) -> HubPlace {
        let stand = &self.dial.needle.stand;
        HubPlace { radius: self.inner_radius(), top: shifted(stand.height + 2.0 * stand.height_sigma, camera) }
    }
    /// Inside this radius the hub stands above the face.
    fn inner_radius(&self) -> f64 {
        let d = &self.dial;
        (d.face.cover_radius + 0.08).max(d.needle.span[0] + 0.03).min(0.6)
    }
}

fn covering(dial: &Dial) -> NeedleLook {
    let mut look = dial.needle.clone();
    let uncovered = |r: f64| dial.face.uncovered.iter().any(|[from, to]| (*from..=*to).contains(&r));
    look.half_width.iter_mut().zip(&look.radii).for_each(|(w, r)| *w *= f64::from(!uncovered(*r)));
    look
}

/// Where a hub hides the face: within its radius of the line from the pivot to where its top is seen. That the top, nearer to the camera, looks
/// larger by some hundredths is within the margin of the radius.
#[derive(Clone, Copy, Debug, Default)]
pub struct HubPlace {
    radius: f64,
    top: [f64; 2],
}

impl HubPlace {
    /// Whether it may hide the dial point.
    #[inline]
    pub fn hides(&self, x: f64, y: f64) -> bool {
        let [a, b] = self.top;
        let share = ((x * a + y * b) / (a * a + b * b).max(1e-12)).clamp(0.0, 1.0);
        (x - share * a).powi(2) + (y - share * b).powi(2) < self.radius * self.radius
    }
}

/// The frame of a needle line.
#[derive(Clone, Copy, Debug)]
pub struct LineFrame {
    turn: (f64, f64),
    offset: f64,
}

impl LineFrame {
    /// Of a line at `angle` (degrees clockwise from up) and `offset` to the right of the pivot.
    pub fn new(angle: f64, offset: f64) -> Self {
        Self { turn: angle.to_radians().sin_cos(), offset }
    }
    /// The dial point so far along (s) and to the right of (t) the line.
    #[inline]
    pub fn point(&self, s: f64, t: f64) -> (f64, f64) {
        let ((sa, ca), t) = (self.turn, t + self.offset);
        (s * sa + t * ca, s * ca - t * sa)
    }
    /// Coordinates along (s) and to the right of (t) the line, for a dial point.
    #[inline]
    pub fn along_across(&self, x: f64, y: f64) -> (f64, f64) {
        let (sa, ca) = self.turn;
        (x * sa + y * ca, x * ca - y * sa - self.offset)
    }
    /// Most that another line lies beside this one between two places along it, either way.
    pub fn beside(&self, other: &Self, span: [f64; 2]) -> f64 {
        let off = |s: f64| {
            let (x, y) = other.point(s, 0.0);
            self.along_across(x, y).1.abs()
        };
        off(span[0]).max(off(span[1]))
    }
}

/// The place a needle of this look covers at one angle and offset.
#[derive(Clone, Debug)]
pub struct NeedlePlace<'a> {
    look: &'a NeedleLook,
    frame: LineFrame,
    widest: f64,
    first: f64,
    last: f64,
    step: f64,
}

impl<'a> NeedlePlace<'a> {
    /// The needle at `angle` (degrees clockwise from up) and `offset` to the right of the pivot.
    pub fn new(look: &'a NeedleLook, angle: f64, offset: f64) -> Self {
        let (first, last) = (look.radii.first().copied().unwrap_or(0.0), look.radii.last().copied().unwrap_or(0.0));
        Self {
            look,
            frame: LineFrame::new(angle, offset),
            widest: look.half_width.iter().fold(0.0f64, |a, &b| a.max(b)),
            first,
            last,
            step: ((last - first) / look.radii.len().saturating_sub(1).max(1) as f64).max(1e-6),
        }
    }
    /// Half of the angle it covers at a radius, degrees.
    pub fn half_angle_at(&self, radius: f64) -> f64 {
        let i = ((radius - self.first) / self.step).round();
        let w = if i < 0.0 { 0.0 } else { self.look.half_width.get(i as usize).copied().unwrap_or(0.0) };
        (w / radius).atan().to_degrees()
    }
    /// Whether it covers the dial point, grown by `grow` units.
    pub fn covers(&self, x: f64, y: f64, grow: f64) -> bool {
        let (s, t) = self.frame.along_across(x, y);
        if t.abs() > self.widest + grow {
            return false;
        }
        if self.look.half_width.is_empty() || s < self.first - grow || s > self.last + grow {
            return false;
        }
        let top = self.look.half_width.len() - 1;
        let lo = (((s - grow - self.first) / self.step).max(0.0) as usize).min(top);
        let hi = (((s + grow - self.first) / self.step).max(0.0) as usize + 1).min(top);
        let w = self.look.half_width[lo..=hi].iter().fold(0.0f64, |a, &b| a.max(b));
        w > 0.0 && t.abs() < w + grow
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Seen from the left, the top of a hub hides the face to the right of it.
    #[test]
    fn a_hub_seen_from_aside_hides_the_face_beyond_it() {
        let mut dial = crate::dial::from_bytes(&std::fs::read("calibration/gearbox-oil.json").unwrap()).unwrap();
        let beside = |face: &FaceModel, side: f64| {
            let (needle, place) = (face.reference_needle(), side * (face.inner_radius() + 0.05));
            (face.hub.hides(place, 0.0), face.votes(place, 0.0, &needle))
        };
        dial.face.camera = Some([0.0, 0.0, 10.0]);
        let straight = FaceModel::new(dial.clone());
        assert_eq!([beside(&straight, 1.0), beside(&straight, -1.0)], [(false, true), (false, true)]);
        dial.face.camera = Some([-7.0, 0.0, 7.0]);
        let aside = FaceModel::new(dial);
        assert_eq!([beside(&aside, 1.0), beside(&aside, -1.0)], [(true, false), (false, true)]);
        // the top stands 0.24 radii above the face (0.12 and two standard uncertainties) and is seen 0.25 beside it
        let (edge, top) = (aside.hub.radius, 7.0 * 0.24 / (7.0 - 0.24));
        assert!(aside.hub.hides(edge + top - 0.01, 0.0) && !aside.hub.hides(edge + top + 0.01, 0.0));
    }

    /// Stripes over all of a face are as narrow as print, and none of them stands out: all edges serve then.
    #[test]
    fn a_face_mirrored_over_by_stripes_keeps_its_edges() {
        let mut dial = crate::dial::from_bytes(&std::fs::read("calibration/gearbox-oil.json").unwrap()).unwrap();
        // what the file keeps prepared is of the face without stripes
        dial.prepared = None;
        let width = dial.face.width;
        for (i, pixel) in dial.face.rgb.chunks_exact_mut(3).enumerate() {
            let stripe = 32.0 + 32.0 * (0.157 * (i % width) as f64).sin();
            pixel.iter_mut().for_each(|v| *v = *v / 2 + stripe as u8);
        }
        let face = FaceModel::new(dial);
        let (_, steps) = face.look_for_strokes();
        assert!(steps > 0.99, "no stroke stands out: {steps}");
        assert!(face.way() == Way::Striped && face.is_mirrored() && face.may_have_print(0.9, 0.0));
        // what a file keeps prepared is believed without a look
        let mut dial = crate::dial::from_bytes(&std::fs::read("calibration/gearbox-oil.json").unwrap()).unwrap();
        dial.prepared = Some([&[Way::Striped as u8][..], &print_of(&dial).to_le_bytes()].concat());
        assert_eq!(FaceModel::new(dial).way(), Way::Striped);
    }
}
