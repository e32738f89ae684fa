//! From where on a remark is made. A remark changes no number; it tells the reader of one what to mind.

/// Criteria of the remarks. "No curve kept": nothing measured is on record for the number.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RemarkCriteria {
    /// Camera's tilt off straight on from which a view is steep. Degrees. No curve kept.
    pub tilt_deg: f64,
    /// Diameter of the marks' circle below which the dial is small. px. No curve kept; the band widens by itself.
    pub dial_px: f64,
    /// Standard deviation of the photo's blur against the reference from which it is blurred. px of the photo. No curve kept.
    pub blur_px: f64,
    /// Share of the print that agrees, below which part of the face is hidden. 0..1. No curve kept.
    pub face_seen: f64,
    /// Share of the needle's length below which it is partly hidden. 0..1. No curve kept.
    pub needle_seen: f64,
    /// Share of a half of the needle from which that half counts as seen. 0..1. No curve kept.
    pub half_seen: f64,
    /// Share of a half of the needle below which that half counts as hidden. 0..1. No curve kept.
    pub half_hidden: f64,
    /// Distance of the line from where the camera's pose lets it pass the pivot. Standard uncertainties. No curve kept.
    pub off_pivot: f64,
    /// Distance from an end of the scale within which the needle stands at it. Standard uncertainties of the reading. Ground: the 95 % band.
    pub at_end: f64,
    /// Distance from the reference photo's needle within which the photo's needle stands over it. Degrees. No curve kept.
    pub over_reference_deg: f64,
    /// Share of the needle proper from which the face below the reference needle counts as known. 0..1. No curve kept.
    pub uncovered: f64,
    /// As many marks, or fewer, are few. Count. Ground: three points show no curve.
    pub few_marks: usize,
    /// Longest focal length of a very wide lens over the longer side of the picture. Ratio: 18 mm of 36. Phones call them 0.5x or 0.6x and
    /// write 13 to 16 mm into EXIF; their 1x lenses have 23 to 28 mm (common practice).
    pub wide_lens: f64,
    /// How far such a lens may still be bent at the corner after the phone's own correction. Share of the half diagonal: 3 % (from memory of
    /// lens reviews: 1 to 3 %, against 10 to 20 % without correction).
    pub lens_bent: f64,
    /// What the bend may do to the needle before it is remarked. Degrees. Ground: as much as an ordinary reading's own sigma.
    pub lens_turn_deg: f64,
    /// Distance of the dial from the picture's middle from which it is remarked at any size: what a correction leaves out there is no smooth
    /// cubic any more. Half diagonals. No photos measured.
    pub lens_far_out: f64,
}

impl Default for RemarkCriteria {
    fn default() -> Self {
        Self {
            tilt_deg: 30.0,
            dial_px: 150.0,
            blur_px: 2.5,
            face_seen: 0.75,
            needle_seen: 0.67,
            half_seen: 0.5,
            half_hidden: 0.2,
            off_pivot: 3.0,
            at_end: 1.96,
            over_reference_deg: 3.0,
            uncovered: 0.9,
            few_marks: 3,
            wide_lens: 18.0 / 36.0,
            lens_bent: 0.03,
            lens_turn_deg: 0.1,
            lens_far_out: 0.5,
        }
    }
}

/// A share in words where it has a common name: "a quarter", "two thirds"; otherwise in per cent.
pub(super) fn share_in_words(share: f64) -> String {
    match (100.0 * share).round() as i64 {
        25 => "a quarter".to_string(),
        33 => "a third".to_string(),
        50 => "half".to_string(),
        67 => "two thirds".to_string(),
        75 => "three quarters".to_string(),
        other => format!("{other} %"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_have_names_or_per_cent() {
        assert_eq!([0.25, 0.67, 0.6].map(share_in_words), ["a quarter", "two thirds", "60 %"]);
    }
}
