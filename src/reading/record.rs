//! What a photo gave: a reading, an end of the scale, or a refusal, with the evidence that pictures are drawn from.
use crate::diagnostics::{Flag, Refusal};
use crate::maths::estimate::Estimate;
use crate::maths::homography::PlaneInPhoto;
use crate::maths::units::Unit;

/// Where the dial and the needle are in the photo: all that a picture of the result needs.
#[derive(Clone, Debug, PartialEq)]
pub struct Evidence {
    /// Dial plane to photo pixel.
    pub homography: PlaneInPhoto,
    /// Camera tilt against straight on, degrees.
    pub tilt: f64,
    /// Radius of the marks' circle in the photo, px (the diameter "across" is twice this).
    pub radius_px: f64,
    /// Agreement of the print with the reference face, -1..1.
    pub print_match: f64,
    /// Number of feature matches that agreed (0 where an earlier photo had the dial).
    pub matches: usize,
    /// The needle, when one was fitted.
    pub needle: Option<NeedleEvidence>,
}

/// The fitted needle.
#[derive(Clone, Debug, PartialEq)]
pub struct NeedleEvidence {
    /// Its direction, degrees clockwise from straight up. It reads where it crosses the marks' ring, which is elsewhere when the file's pivot
    /// is.
    pub angle: f64,
    /// Standard uncertainty of the angle at which it reads, degrees: every term of this photo (needle, edges, blur, registration) and those of
    /// the dial's own plane and pivot, root of the sum of squares. Photos of one dial share the latter.
    pub sigma: f64,
    /// Offset of the line from the pivot, radii, positive to the right of the direction.
    pub offset: f64,
    /// From where to where (radii along the line, from the point nearest the pivot) the needle was seen.
    pub span: [f64; 2],
    /// Share of the expected length that was seen, 0..1.
    pub seen: f64,
}

/// A temperature with its band.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// Temperature in the dial's unit; terms of the dial and of the photo. In or beside a flat zone of the dial with the interval in which
    /// every value fits what was seen equally well; its value is only one of them.
    pub temperature: Estimate,
    /// The dial's unit.
    pub unit: Unit,
    /// Remarks.
    pub flags: Vec<Flag>,
}

/// The outcome of one photo.
#[derive(Clone, Debug, PartialEq)]
pub enum Outcome {
    /// A temperature.
    Reading(Reading),
    /// The needle stands below the first mark.
    BelowScale,
    /// The needle stands above the last mark.
    AboveScale,
    /// Not read, with the reason; the text adds what was seen in this photo.
    Refused(Refusal, String),
}

/// One photo's record.
#[derive(Clone, Debug, PartialEq)]
pub struct Record {
    /// First 12 hex digits of the SHA-256 of the file: identity of the photo's error terms.
    pub photo_id: String,
    /// EXIF capture time as written ("2026-08-14 10:31:07"), local camera time.
    pub taken_at: Option<String>,
    /// Upright size in pixels.
    pub size: (usize, usize),
    /// What it gave.
    pub outcome: Outcome,
    /// Where things are in the photo; `None` when the dial was not found.
    pub evidence: Option<Evidence>,
}
