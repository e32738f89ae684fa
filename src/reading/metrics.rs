//! What a read measured, stage by stage, without a verdict.
use crate::dial::Dial;
use crate::maths::angle::wrap;
use crate::maths::measured::Measured;
use crate::needle::{Candidate, NeedleFit};
use crate::photo::Photo;
use crate::register::face::{FaceModel, LineFrame};
use crate::register::{Registration, Seen};
use crate::scale::{Scale, Temperature};

/// What a stage gave.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum Step<T> {
    /// The read did not come so far.
    #[default]
    NotTaken,
    /// The stage found nothing.
    Nothing,
    /// What was measured.
    Taken(T),
}

impl<T> From<Option<T>> for Step<T> {
    fn from(found: Option<T>) -> Self {
        found.map_or(Self::Nothing, Self::Taken)
    }
}

impl<T> Step<T> {
    /// What was measured, if the stage was taken and found something.
    pub fn taken(&self) -> Option<&T> {
        if let Self::Taken(t) = self { Some(t) } else { None }
    }
}

/// All that one read measured. A read stops where it is refused; what comes after is [`Step::NotTaken`] then, unless it was told to go on.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Metrics {
    /// The picture.
    pub photo: PhotoMetrics,
    /// The dial file.
    pub file: FileMetrics,
    /// The dial's place by the first whole look, at half resolution.
    pub first: Step<PlaceMetrics>,
    /// The lines that may be the needle.
    pub line: Step<LineMetrics>,
    /// The dial's place by the last alignment, at full resolution and without the needle's place.
    pub last: Step<PlaceMetrics>,
    /// The fitted needle.
    pub needle: Step<NeedleMetrics>,
    /// The numerals and words that can be made out.
    pub glyphs: Step<Vec<Seen>>,
    /// Where the needle stands on the scale.
    pub scale: Step<ScaleMetrics>,
}

/// Of the picture.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PhotoMetrics {
    /// Upright, px.
    pub width: usize,
    /// Upright, px.
    pub height: usize,
    /// From the darkest to the lightest level, a thousandth of the pixels left out at either end; 0 for a picture without pixels.
    pub levels: u8,
    /// Focal length over the longer side, where EXIF told it.
    pub focal_ratio: Option<f64>,
}

/// Of the dial file.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct FileMetrics {
    /// Marks of the scale.
    pub marks: usize,
    /// Share of the reference photo's needle below which the face is known.
    pub uncovered: f64,
    /// Whether the reference photo shows, beside print, what its cover mirrored.
    pub mirrored: bool,
}

/// Of the dial's place.
#[derive(Clone, Debug, PartialEq)]
pub struct PlaceMetrics {
    /// Agreement with the print, -1..1.
    pub print_match: f64,
    /// Share of the print in cells that agree.
    pub seen: f64,
    /// Share of the print in cells where the photo clearly shows something else.
    pub contradicted: f64,
    /// Matches of features that proposed the place; 0 where an earlier photo did.
    pub matches: usize,
    /// Radius of the marks' circle in the photo, px.
    pub radius_px: f64,
    /// Camera's tilt off straight on, degrees.
    pub tilt_deg: f64,
    /// Standard deviation of the photo's blur against the reference, the mean of all directions, px of the photo.
    pub blur_px: f64,
    /// Robust noise of the comparison, levels.
    pub noise: f64,
    /// Photo levels per reference level.
    pub gain: f64,
    /// Distance of the pivot from the picture's middle, half diagonals.
    pub from_middle: f64,
    /// Radius of the marks' circle, half diagonals.
    pub radius: f64,
}

/// Of the vote for the needle's line. Scores: mean step along the line, 1 as in the reference.
#[derive(Clone, Debug, PartialEq)]
pub struct LineMetrics {
    /// Of the best line.
    pub score: f64,
    /// Of the second, that does not lie over it; 0 for none.
    pub runner_up: f64,
    /// Where the second is nearly as good: the most of its better half that any of the up to three others so good shows, once fitted. Share;
    /// `None` where there is no other so good, or the best line could not be fitted.
    pub runner_up_seen: Option<f64>,
    /// The best line, degrees clockwise from straight up.
    pub angle_deg: f64,
    /// Whether no line of the needle's colour could be trusted, and this is one of brightness: scores, steps and scatters are shares of the
    /// print's contrast then.
    pub lit: bool,
}

/// Of the fitted needle.
#[derive(Clone, Debug, PartialEq)]
pub struct NeedleMetrics {
    /// Degrees clockwise from straight up.
    pub angle_deg: f64,
    /// Standard uncertainty of its direction by the fit alone, degrees.
    pub sigma_deg: f64,
    /// How far the fit turned from the line of the vote, degrees.
    pub turned_deg: f64,
    /// Most that it lies beside that line within the needle's length, radii.
    pub off_line: f64,
    /// How far it stands from the reference photo's needle, degrees.
    pub from_reference_deg: f64,
    /// Median step of its pieces, 1 as in the reference.
    pub step: f64,
    /// Scatter of the comparison, in the same measure.
    pub noise: f64,
    /// The part of it that is compared, px of the photo or of the reference photo, whichever has fewer.
    pub length_px: f64,
    /// Share of its length that shows it.
    pub seen: f64,
    /// The same of its inner and its outer half.
    pub halves: [f64; 2],
    /// Change of its half width beyond what the camera's pose lets expect, radii.
    pub wider: f64,
    /// Change of half width per radius along it.
    pub taper: f64,
    /// How unlike the needle's outline it is: squared standard uncertainties of the two above, summed.
    pub outline: f64,
    /// Where it passes the pivot, radii to the right of its direction.
    pub offset: f64,
    /// Where the camera's pose lets it pass, and the standard uncertainty of that, radii.
    pub expected_offset: (f64, f64),
}

/// Of the value. In the dial's unit where no other is named.
#[derive(Clone, Debug, PartialEq)]
pub struct ScaleMetrics {
    /// The value.
    pub value: f64,
    /// Its standard uncertainty with all terms.
    pub sigma: f64,
    /// The same without what is declared of the gauge.
    pub read_sigma: f64,
    /// The 95 % band.
    pub band: (f64, f64),
    /// Whether it is in or beside a flat zone.
    pub flat: bool,
    /// Change of value per degree of needle, its size.
    pub per_degree: f64,
    /// Degrees before the first mark and after the last one; negative on the scale.
    pub beyond_deg: (f64, f64),
    /// How many times as large the variances of the dial's plane and of its place in the photo were taken, because no camera with this lens sees the
    /// face so; 1 where one does.
    pub understated: f64,
}

impl PhotoMetrics {
    /// Of a photo.
    pub fn of(photo: &Photo) -> Self {
        let step = (photo.rgb.len() / 3 / 20_000).max(1);
        let mut v: Vec<u8> = photo.rgb.chunks_exact(3).step_by(step).map(|p| p[0].max(p[1]).max(p[2])).collect();
        v.sort_unstable();
        let out = v.len() / 1000;
        let levels = v.len().checked_sub(1 + out).map_or(0, |last| v[last] - v[out]);
        Self { width: photo.width, height: photo.height, levels, focal_ratio: photo.focal_ratio }
    }
}

impl FileMetrics {
    /// Of a dial's face.
    pub fn of(face: &FaceModel) -> Self {
        Self { marks: face.dial.marks.len(), uncovered: face.dial.uncovered_share(), mirrored: face.is_mirrored() }
    }
}

impl PlaceMetrics {
    /// Of a registration in a photo.
    pub fn of(r: &Registration, photo: &Photo) -> Self {
        let (w, h) = (photo.width as f64, photo.height as f64);
        let half_diagonal = 0.5 * w.hypot(h);
        let centre = r.dial_to_photo.at(0.0, 0.0);
        Self {
            print_match: r.print_match,
            seen: r.seen,
            contradicted: r.contradicted,
            matches: r.matches,
            radius_px: r.scale,
            tilt_deg: r.view(photo).tilt_degrees(),
            blur_px: r.blur.standard_deviation() * r.scale,
            noise: r.noise,
            gain: r.gain,
            from_middle: (centre.x - 0.5 * (w - 1.0)).hypot(centre.y - 0.5 * (h - 1.0)) / half_diagonal,
            radius: r.scale / half_diagonal,
        }
    }
}

impl LineMetrics {
    /// Of the candidates, best first; `None` for none.
    pub fn of(candidates: &[Candidate], lit: bool) -> Option<Self> {
        let best = candidates.first()?;
        Some(Self {
            score: best.score,
            runner_up: candidates.get(1).map_or(0.0, |c| c.score),
            runner_up_seen: None,
            angle_deg: best.angle,
            lit,
        })
    }
}

impl NeedleMetrics {
    /// Of a fit that began at a line of the vote, of a dial that the photo shows with `radius_px` px per unit.
    pub fn of(n: &NeedleFit, from: &Candidate, dial: &Dial, radius_px: f64) -> Self {
        let [inner, outer] = dial.needle.span;
        let finest = radius_px.min(dial.face.scale);
        let (line, fitted) = (LineFrame::new(from.angle, from.offset), LineFrame::new(n.angle, n.offset));
        Self {
            length_px: (outer - inner) * finest,
            angle_deg: n.angle,
            sigma_deg: n.covariance[(1, 1)].max(0.0).sqrt().to_degrees(),
            turned_deg: wrap(n.angle - from.angle).abs(),
            off_line: line.beside(&fitted, [inner, outer]),
            from_reference_deg: wrap(n.angle - dial.needle.angle).abs(),
            step: n.step,
            noise: n.noise,
            seen: n.seen,
            halves: n.halves,
            wider: n.wider - n.usual_wider,
            taper: n.taper,
            outline: n.squared_mahalanobis(1.0 / finest, outer - inner),
            offset: n.offset,
            expected_offset: n.expected,
        }
    }
    /// How far beside where the camera's pose lets it pass the pivot it passes it, radii.
    pub fn beside_pivot(&self) -> f64 {
        (self.offset - self.expected_offset.0).abs()
    }
}

impl ScaleMetrics {
    /// Of a measured angle and what the scale made of it.
    pub fn of(scale: &Scale, angle: &Measured, t: &Temperature, understated: f64) -> Self {
        Self {
            value: t.estimate.value(),
            sigma: t.estimate.sigma(),
            read_sigma: t.read,
            band: t.estimate.band(),
            flat: t.estimate.interval().is_some(),
            per_degree: scale.slope(angle.value()).abs().max(1e-9),
            beyond_deg: scale.beyond_ends(angle.value()),
            understated,
        }
    }
}
