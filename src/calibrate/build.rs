//! From a photo and the user's marks to a dial, step by step.
use super::adjust::{Found, adjust, by_directions, by_tick_lines};
use super::asked::Question;
use super::beyond;
use super::clicked::{Clicked, in_plane, is_cut};
use super::cut::cut_face;
use super::error::CalibrateError;
use super::extent;
use super::hidden;
use super::labels::{Labels, label_angles};
use super::marks::{ROLL, ScaleMarks, known_angles, scale_marks};
use super::needle_look;
use super::question;
use super::request::{Calibration, Request};
use super::self_fit;
use super::strip::Sheet;
use super::tick_pivot::{TickPivot, tick_pivot};
use super::uncover;
use super::views::View;
use super::warning::Warning;
use crate::dial::{Declared, Dial, FORMAT_VERSION, Mark, NeedleLook};
use crate::maths::homography::PlaneInPhoto;
use crate::maths::pose::Camera;
use crate::photo::{Photo, Plane};
use crate::reading::angle_in_reference;
use crate::register::face::FaceModel;
use crate::scale::{Place, Scale};

/// Calibrates a dial.
///
/// The user gives marks (value at a place), or known needle angles with the pivot and a place on the marks' ring. Counts: clicks,
/// ticks, pivot, tilt and focal length of the reference photo, each as a term of its own. Does not count: the gauge's accuracy.
///
/// # Errors
/// See [`CalibrateError`]: each says what was seen and what to do.
pub fn calibrate(photo: &Photo, request: &Request) -> Result<Calibration, CalibrateError> {
    calibrate_with(photo, &[], request).map(|done| done.0)
}

/// The same with further photos that have been laid over the reference photo (the first view is that photo itself), and where the
/// dial's plane lies in the reference photo.
///
/// Where the marks' circle gives no dial and no pivot was given, the pivot is taken where the ticks' lines meet.
pub fn calibrate_with(photo: &Photo, views: &[View], request: &Request) -> Result<(Calibration, PlaneInPhoto), CalibrateError> {
    let by_circle = calibrated(photo, (request, None), views);
    let Err(e) = &by_circle else { return by_circle };
    let lines = if request.pivot.is_none() && e.may_be_of_the_pivot() { tick_pivot(photo, &request.marks) } else { None };
    // a circle that leaves its middle open may as well be too small
    let open = matches!(e, CalibrateError::PivotUntold { .. });
    let lines = lines.filter(|l| open || is_cut(&request.marks, l.place));
    lines.and_then(|lines| calibrated(photo, (request, Some(&lines)), views).ok()).map_or(by_circle, Ok)
}

fn calibrated(
    photo: &Photo,
    (request, lines): (&Request, Option<&TickPivot>),
    views: &[View],
) -> Result<(Calibration, PlaneInPhoto), CalibrateError> {
    let luma = photo.luma();
    let camera = Camera::of_picture(photo.width, photo.height, photo.focal_ratio);
    let Learned { found, marks, mut warnings, questions, rival_steps } = scale(photo, &luma, &camera, (request, lines), views)?;
    if request.pivot.is_none() && lines.is_none() {
        told(&found, &questions)?;
    }
    let h = found.plane.homography;
    let scale = found.plane.pose.scale;
    let ends = (marks[0].angle, marks[marks.len() - 1].angle);
    let mut needle = learn_needle(photo, &h, scale, ends).ok_or_else(|| no_needle(photo, &luma, request, &questions))?;
    if !views.is_empty() {
        needle.stand = found.plane.stand;
    }
    let radius = if found.within { extent::WIDEST } else { extent::print_radius(&luma, &h, scale) };
    let face = cut_face(photo, &found.plane, radius, found.cover_radius)?;
    if marks.len() == 2 {
        warnings.push(Warning::TwoValues);
    }
    if found.ticks.len() < 3 && lines.is_none() {
        warnings.push(Warning::FewTicks);
    }
    let mut dial = Dial {
        name: request.name.clone(),
        unit: request.unit,
        id: String::new(),
        marks,
        face,
        needle,
        focal_ratio: photo.focal_ratio,
        reference: photo.hash.clone(),
        declared: Declared::default(),
        questions: Vec::new(),
        version: FORMAT_VERSION,
        prepared: None,
    };
    let mut needle_reads = refine_needle(photo, &mut dial, &found);
    if let Some(face) = uncover::face_below_needle(&dial, &h, views)? {
        dial.face = face;
        needle_reads = refine_needle(photo, &mut dial, &found);
    }
    hidden::doubt(&mut dial, &found.ticks, scale);
    if FaceModel::new(dial.clone()).is_mirrored() {
        warnings.push(Warning::Mirrored);
    }
    if dial.face.tilt > STEEP {
        warnings.push(Warning::Steep(dial.face.tilt));
    }
    Ok((Calibration { dial: dial.sealed(), needle_reads, warnings, rival_steps, questions }, h))
}

/// Standard uncertainty of the pivot, both directions together, from which the marks' circle does not tell it, radii. 45 photographed dials and three changed copies of each,
/// calibrated without a pivot: 0.16 at most, but for one scale along a cut (1.0 to 2.2), of which two copies read off by a fifth of the scale and more.
const UNTOLD: f64 = 0.3;

/// Whether the marks and their ticks tell the pivot; wrong entries come before that.
fn told(found: &Found, questions: &[Question]) -> Result<(), CalibrateError> {
    let around = &found.plane.covariance;
    let off = (around[(2, 2)] + around[(3, 3)]).sqrt() / found.plane.pose.scale;
    if off < UNTOLD { Ok(()) } else { Err(CalibrateError::PivotUntold { off: 100.0 * off, asked: lines_of(questions) }) }
}

/// Why no needle may be there: wrong entries come before a bad photo.
fn no_needle(photo: &Photo, luma: &Plane, request: &Request, questions: &[Question]) -> CalibrateError {
    match questions {
        [] if question::fits_exchanged(photo, luma, request) => CalibrateError::Exchanged,
        [] if request.pivot.is_none() => CalibrateError::NoNeedleNorPivot,
        [] => CalibrateError::NoNeedle,
        asked => CalibrateError::Questioned(lines_of(asked)),
    }
}

/// What is asked, each with a line of its own.
fn lines_of(questions: &[Question]) -> String {
    questions.iter().map(|q| format!("{}\n", q.text)).collect()
}

/// Where the marks lie on the dial.
struct Placed {
    found: Found,
    labels: Labels,
    directions_only: bool,
}

/// Lays the marks on the dial; where they do not fit, tells what would.
fn placed(
    photo: &Photo,
    luma: &Plane,
    camera: &Camera,
    (marks, request): (&[Clicked], &Request),
    views: &[View],
) -> Result<Placed, CalibrateError> {
    let directed = |found: Found| Ok(Placed { labels: label_angles(&found, marks)?, found, directions_only: true });
    let placed = adjust(photo, luma, camera, (marks, request), views).and_then(|f| Ok((label_angles(&f, marks)?, f)));
    match placed {
        Ok((labels, found)) => Ok(Placed { found, labels, directions_only: false }),
        Err(e) if e.is_of_places() && question::fits_exchanged(photo, luma, request) => Err(CalibrateError::Exchanged),
        Err(e @ CalibrateError::NoPlane(_)) => match question::pivot_elsewhere(photo, luma, request) {
            Some(elsewhere) => Err(elsewhere),
            None if request.pivot.is_some_and(|p| is_cut(marks, p.vector())) => {
                by_directions(camera, marks, request).ok_or(e).and_then(directed)
            }
            None => Err(e),
        },
        Err(e @ CalibrateError::OutOfOrder(_)) => by_directions(camera, marks, request).ok_or(e).and_then(directed),
        Err(e) => Err(e),
    }
}

/// The marks laid by their directions from where the ticks' lines meet.
fn laid_by_lines(camera: &Camera, marks: &[Clicked], lines: &TickPivot) -> Result<Placed, CalibrateError> {
    let found = by_tick_lines(camera, marks, lines).ok_or_else(|| CalibrateError::NoPlane("its ticks' lines do not tell it".into()))?;
    Ok(Placed { labels: label_angles(&found, marks)?, found, directions_only: true })
}

/// The plane and the marks of the scale, and what there is to say of them.
struct Learned {
    found: Found,
    marks: Vec<Mark>,
    warnings: Vec<Warning>,
    questions: Vec<Question>,
    rival_steps: Option<[f64; 2]>,
}

fn scale(
    photo: &Photo,
    luma: &Plane,
    camera: &Camera,
    (request, lines): (&Request, Option<&TickPivot>),
    views: &[View],
) -> Result<Learned, CalibrateError> {
    if request.marks.is_empty() && !request.angles.is_empty() {
        let (Some(_), Some(rim)) = (request.pivot, request.rim) else { return Err(CalibrateError::NeedsRim) };
        let found = adjust(photo, luma, camera, (&[(0.0, rim)], request), views)?;
        let marks = known_angles(&request.angles)?;
        let questions = question::of_angles(&marks, request);
        return Ok(Learned { found, marks, warnings: vec![Warning::AsHeld(ROLL)], questions, rival_steps: None });
    }
    let mut marks = request.marks.clone();
    marks.sort_by(|a, b| a.0.total_cmp(&b.0));
    check_marks(&marks)?;
    let Placed { found, labels, directions_only } = match lines {
        Some(lines) => laid_by_lines(camera, &marks, lines)?,
        None => placed(photo, luma, camera, (&marks, request), views)?,
    };
    let questions = question::of_marks((photo, luma), request, &found, &marks, &labels);
    let clicks = in_plane(&found.plane.homography, &marks).unwrap_or_default();
    let ScaleMarks { marks, mut warnings, rival_steps } = scale_marks(&found, &marks, &labels, request.tick_step);
    if request.pivot.is_none() {
        warnings.iter_mut().filter(|w| **w == Warning::Askew).for_each(|w| *w = Warning::AskewNorPivot);
    }
    warnings.extend(beyond::offers(luma, &found, &marks, &clicks));
    if lines.is_some() {
        // their ticks are known, though the plane does not rest on their ends
        warnings.retain(|w| !matches!(w, Warning::ClickBare(..)));
        warnings.insert(0, Warning::PivotOfTicks);
    } else if directions_only {
        warnings.push(Warning::DirectionsOnly);
    }
    Ok(Learned { found, marks, warnings, questions, rival_steps })
}

/// Tilt of the reference photo from which a word of warning is due, degrees: in 24 photographs of dials from within 20° the needle passes the
/// pivot 0.018 radii (rms) beside where it should, in 13 from further aside 0.059.
const STEEP: f64 = 25.0;

/// The needle's look corrected by fitting it in the reference photo itself; what it reads there, when it is on the scale.
fn refine_needle(photo: &Photo, dial: &mut Dial, found: &Found) -> Option<f64> {
    let mut reads = None;
    for _ in 0..2 {
        if let Some(f) = self_fit::needle_in_reference(photo, dial, &found.plane.homography, &found.plane.camera) {
            dial.needle = self_fit::corrected(&dial.needle, &f);
            let (scale, angle) = (Scale::new(dial), angle_in_reference(dial));
            reads = (scale.place(angle, 0.0) == Place::On).then(|| scale.value(angle));
        }
    }
    reads
}

fn check_marks(marks: &[Clicked]) -> Result<(), CalibrateError> {
    if marks.len() < 2 {
        return Err(CalibrateError::TooFewMarks(marks.len()));
    }
    for (i, a) in marks.iter().enumerate() {
        for b in &marks[i + 1..] {
            if a.0 == b.0 || a.1.distance(b.1) < 3.0 {
                return Err(CalibrateError::SameMark(a.0, b.0));
            }
        }
    }
    Ok(())
}

fn learn_needle(photo: &Photo, h: &PlaneInPhoto, scale: f64, (a, b): (f64, f64)) -> Option<NeedleLook> {
    let channel = |c: usize| Plane {
        width: photo.width,
        height: photo.height,
        data: photo.rgb.iter().skip(c).step_by(3).map(|&v| v as f32).collect(),
    };
    let sheet = Sheet::new(&[channel(0), channel(1), channel(2)], h, scale.min(420.0), a.min(b), a.max(b));
    needle_look::learn(&sheet, a.min(b), a.max(b))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calibrate::geometry::{self, MARK_CLICK, Observations};
    use crate::calibrate::view_prior::ViewPrior;
    use crate::maths::pose::PlanePose;
    use nalgebra::Vector2;

    /// Clicks on a ring of 200 px, over so many degrees of it, and nothing else.
    fn clicked_over(sweep: f64) -> Result<(), CalibrateError> {
        let origin = Vector2::new(600.0, 450.0);
        let click = |k: i32| {
            let (s, c) = (sweep * f64::from(k) / 12.0).to_radians().sin_cos();
            (origin + 200.0 * Vector2::new(s, -c), MARK_CLICK)
        };
        let clicks = Observations::of((-6..=6).map(click).collect(), Vec::new(), ViewPrior::usual(false));
        let start = PlanePose { rx: 0.0, ry: 0.0, origin, scale: 200.0 };
        let plane = geometry::fit(&Camera::of_picture(1200, 900, None), start, &clicks).unwrap();
        told(&Found { plane, ticks: Vec::new(), cover_radius: 0.0, radial: true, within: false }, &[])
    }

    #[test]
    fn a_short_arc_of_marks_tells_no_pivot() {
        assert!(clicked_over(260.0).is_ok() && clicked_over(120.0).is_ok());
        let untold = clicked_over(16.0).unwrap_err();
        assert!(
            matches!(untold, CalibrateError::PivotUntold { off, .. } if off > 30.0) && untold.to_string().contains("--pivot"),
            "{untold}"
        );
        assert!(untold.may_be_of_the_pivot());
    }
}
