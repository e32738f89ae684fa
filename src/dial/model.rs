//! What calibration learns of a dial and reading needs.
use super::declared::Declared;
use crate::diagnostics::RemarkCriteria;
use crate::maths::homography::PlaneInFace;
use crate::maths::source::Cause;
use crate::maths::units::Unit;
use crate::photo::Buffer;
use std::collections::BTreeMap;

/// The format version of the dial file that this program writes.
pub const FORMAT_VERSION: u64 = 3;

/// The oldest format version that it reads.
pub const FIRST_VERSION: u64 = 1;

/// How the value of a mark is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MarkKind {
    /// The user gave the value.
    Labelled,
    /// An unlabelled printed tick between two labelled ones, counted.
    Counted,
    /// The user gave value and angle.
    Angle,
    /// The needle stood there in a photo at a temperature that another thermometer gave.
    Known,
}

/// A known point of the scale.
#[derive(Clone, Debug, PartialEq)]
pub struct Mark {
    /// Value in the dial's unit.
    pub value: f64,
    /// Degrees clockwise from straight up in the dial frame; monotone along the scale (unwrapped, may leave ±180).
    pub angle: f64,
    /// How the value is known.
    pub kind: MarkKind,
    /// Signed one-sigma contributions to the angle, degrees, by the name of the source inside the dial (`mark/3`, `pivot/0`).
    pub terms: BTreeMap<Cause, f64>,
    /// Signed one-sigma contributions to the value, dial unit, by the name of the source inside the dial; for values that were measured.
    pub value_terms: BTreeMap<Cause, f64>,
    /// Where the user put the mark and where the printed tick is, in reference photo pixels, when it came from a click.
    pub click: Option<Click>,
}

impl Mark {
    /// Standard uncertainty of the angle, degrees.
    pub fn sigma(&self) -> f64 {
        self.terms.values().map(|t| t * t).sum::<f64>().sqrt()
    }
}

/// A click and what it was snapped to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Click {
    /// As given, px in the upright reference photo.
    pub given: [f64; 2],
    /// The nearest point of the printed tick's centre line, px; equal to `given` when there is no tick there.
    pub snapped: [f64; 2],
    /// Distance of the two in px across the tick; `None` when no tick was found.
    pub residual: Option<f64>,
}

impl Click {
    /// Distance from its tick, px, from which a click may be on the wrong one.
    pub const FAR: f64 = 4.0;
}

/// The reference picture of the face: the part of the reference photo round the dial, RGB, row by row.
///
/// `rgb` is what `jpeg` decodes to, so calibration and every later reading see the same pixels; see [`Face::from_rgb`].
#[derive(Clone, Debug, PartialEq)]
pub struct Face {
    /// Width in px.
    pub width: usize,
    /// Height in px.
    pub height: usize,
    /// 3 bytes a pixel.
    pub rgb: Buffer<u8>,
    /// The picture as it is stored in the dial file.
    pub jpeg: Vec<u8>,
    /// Dial plane to face-picture pixel.
    pub plane: PlaneInFace,
    /// Pixels per radius of the marks' circle at the pivot.
    pub scale: f64,
    /// Tilt of the reference photo that was removed, degrees.
    pub tilt: f64,
    /// Radius, in units of the marks' circle, out to which the picture shows print on the face's own plane.
    pub print_radius: f64,
    /// Radius of a cover (hub cap, mask) over the pivot, 0 when there is none.
    pub cover_radius: f64,
    /// `plane` moved by one sigma along each independent direction of its covariance, and by the principal point's doubt (terms `plane/0`,
    /// `plane/1`, ... of the marks).
    pub plane_terms: Vec<PlaneInFace>,
    /// Signed radii along the needle of the reference photo between which the picture shows the face in place of that needle, as
    /// further photos saw it; rising, empty when none did.
    pub uncovered: Vec<[f64; 2]>,
    /// Where the camera of the reference photo stood in the dial frame, radii, z above the face; `None` where it is not known.
    pub camera: Option<[f64; 3]>,
}

/// How the needle stands over the face: learned from several photos, or what dials usually show.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stand {
    /// Height above the face, radii of the marks' circle.
    pub height: f64,
    /// Its standard uncertainty, radii.
    pub height_sigma: f64,
    /// How far the needle's axis passes beside the pivot, radii, positive to the right of its direction.
    pub axis: f64,
    /// Its standard uncertainty, radii.
    pub axis_sigma: f64,
}

impl Default for Stand {
    /// Nothing learned: the middle of what dials show (heights of 0.03 to 0.25; common practice), and an axis near the pivot.
    fn default() -> Self {
        Self { height: 0.12, height_sigma: 0.06, axis: 0.0, axis_sigma: 0.012 }
    }
}

/// The look of the needle, learned from the reference photo.
#[derive(Clone, Debug, PartialEq)]
pub struct NeedleLook {
    /// Angle in the reference photo, degrees clockwise from straight up.
    pub angle: f64,
    /// Offset of its axis from the pivot in the reference photo, radii, positive to the right of the direction.
    pub offset: f64,
    /// Half width at each radius of `radii` (0 where the needle is not seen), radii of the marks' circle.
    pub half_width: Vec<f64>,
    /// Signed radii along the needle at which `half_width` is given (negative: the tail), evenly spaced.
    pub radii: Vec<f64>,
    /// Sideways shift of the tail against the needle's axis, radii, positive to the right of the direction.
    pub tail_shift: f64,
    /// Visible span of the needle proper (not the tail).
    pub span: [f64; 2],
    /// Needle colour minus paper colour in the reference, levels (R, G, B).
    pub contrast: [f64; 3],
    /// Weights (R, G, B) that give 1 on needle minus paper in the reference's light and little on shade and noise.
    pub axis: [f64; 3],
    /// How it stands over the face.
    pub stand: Stand,
}

/// A calibrated dial.
#[derive(Clone, Debug, PartialEq)]
pub struct Dial {
    /// Name given by the user.
    pub name: String,
    /// Unit printed on the dial.
    pub unit: Unit,
    /// Hash of the content: the identity of the dial's shared error terms.
    pub id: String,
    /// The scale, by rising value; at least two.
    pub marks: Vec<Mark>,
    /// The reference face.
    pub face: Face,
    /// The needle's look.
    pub needle: NeedleLook,
    /// Focal length of the reference photo over its longer side, when EXIF told it.
    pub focal_ratio: Option<f64>,
    /// SHA-256 of the reference photo.
    pub reference: String,
    /// What the owner declares of the gauge.
    pub declared: Declared,
    /// What was asked about the entries when the file was written all the same: sentences; empty for nearly every dial.
    pub questions: Vec<String>,
    /// Format version of its file, over which its identity is worked out: that which was read, or the present one.
    pub version: u64,
    /// What [`crate::register::prepared`] made ready for reading; no part of the identity. A dial without it is read the same, only later.
    pub prepared: Option<Vec<u8>>,
}

impl Dial {
    /// Whether it rests on so few marks that the shape of the scale between them is assumed.
    pub fn has_few_marks(&self) -> bool {
        self.marks.len() <= RemarkCriteria::default().few_marks
    }
    /// Share of the needle proper (not the tail) below which the picture of the face shows the face, 0..1.
    pub fn uncovered_share(&self) -> f64 {
        let [from, to] = self.needle.span;
        self.face.uncovered.iter().map(|[a, b]| (b.min(to) - a.max(from)).max(0.0)).fold(0.0, |sum, v| sum + v) / (to - from).max(1e-9)
    }
    /// Whether some click was moved onto a printed tick. Where none was, nothing can be said of a single one: the marks may stand as they were
    /// clicked because their ring tells no plane.
    pub fn has_ticks_at_clicks(&self) -> bool {
        self.marks.iter().filter_map(|m| m.click.as_ref()).any(|c| c.residual.is_some())
    }
    /// Lowest and highest value of the scale.
    pub fn span(&self) -> (f64, f64) {
        match (self.marks.first(), self.marks.last()) {
            (Some(a), Some(b)) => (a.value, b.value),
            _ => (f64::NAN, f64::NAN),
        }
    }
}
