//! The marks of the dial: labelled ones, counted ones, or known angles, each with its error terms.
use super::adjust::Found;
use super::clicked::Clicked;
use super::counted;
use super::error::CalibrateError;
use super::geometry::{DialPlane, MARK_CLICK};
use super::labels::Labels;
use super::warning::Warning;
use crate::dial::{Click, Mark, MarkKind};
use crate::maths::angle::{run, wrap};
use crate::maths::homography::PlaneInPhoto;
use crate::maths::measured::independent_terms;
use crate::maths::pose::{Camera, PlanePose};
use crate::maths::source::Cause;
use nalgebra::{DVectorView, Vector2};
use std::collections::BTreeMap;

/// The marks of a scale.
pub struct ScaleMarks {
    /// Labelled and counted ones, by rising value.
    pub marks: Vec<Mark>,
    /// What the user should know.
    pub warnings: Vec<Warning>,
    /// Two steps that explain the unlabelled ticks about equally well.
    pub rival_steps: Option<[f64; 2]>,
}

/// Labelled and counted marks; `tick_step` where it is told.
pub fn scale_marks(found: &Found, marks: &[Clicked], labels: &Labels, tick_step: Option<f64>) -> ScaleMarks {
    let scale = found.plane.pose.scale;
    let (pairs, strokes, guard) = to_count(found, marks, labels);
    let counted = counted::count(&pairs, &strokes, guard, tick_step);
    let mut warnings = Vec::new();
    if !found.radial {
        warnings.push(Warning::Askew);
    }
    if let (true, Some(step)) = (counted.amiss, tick_step) {
        warnings.push(Warning::StepAmiss(step));
    }
    if let Some(steps) = counted.rivals {
        warnings.push(Warning::RivalSteps(steps));
    } else if counted.left_out > 0 {
        warnings.push(Warning::NotCounted(counted.left_out));
    }
    let mut out = Vec::new();
    for (i, m) in marks.iter().enumerate() {
        let (click, sigma) = snap(found, labels.tick[i], m.1.vector());
        warnings.extend(click_warning(m.0, &click));
        out.push((
            m.0,
            labels.angle[i],
            MarkKind::Labelled,
            sigma,
            Some(click),
            labels.tick[i].map_or(m.1.vector(), |t| labels.tick_places[t]),
            labels.tick[i].map_or(0.0, |t| labels.askew[t]),
        ));
    }
    for &(value, t) in &counted.values {
        let tick = &found.ticks[t];
        out.push((value, labels.tick_angles[t], MarkKind::Counted, tick.sigma, None, labels.tick_places[t], labels.askew[t]));
    }
    out.sort_by(|a, b| a.0.total_cmp(&b.0));
    let shifts = plane_shifts(&found.plane);
    let marks = out
        .into_iter()
        .enumerate()
        .map(|(i, (value, angle, kind, sigma, click, place, askew))| {
            let mut terms = BTreeMap::new();
            terms.insert(Cause::Mark(i), (sigma / scale).to_degrees());
            if askew != 0.0 {
                terms.insert(Cause::Askew, askew);
            }
            for (j, h) in shifts.iter().enumerate() {
                terms.insert(Cause::Plane(j), angle_change(h, place, angle));
            }
            Mark { value, angle, kind, terms, value_terms: BTreeMap::new(), click }
        })
        .collect();
    ScaleMarks { marks, warnings, rival_steps: counted.rivals }
}

/// What `counted` takes: the labels, angle and length of every tick, and the degrees next to a label within which a tick is its own.
pub fn to_count(found: &Found, marks: &[Clicked], labels: &Labels) -> (Vec<counted::Label>, Vec<counted::Stroke>, f64) {
    let pairs = marks.iter().zip(&labels.angle).map(|(m, a)| (m.0, *a)).collect();
    let strokes = labels.tick_angles.iter().zip(&found.ticks).map(|(a, t)| (*a, t.radii[0] - t.radii[1])).collect();
    (pairs, strokes, (8.0 / found.plane.pose.scale).to_degrees())
}

/// What the user should know of a click: beside its tick, or on none.
fn click_warning(value: f64, click: &Click) -> Option<Warning> {
    match click.residual {
        Some(r) if r > Click::FAR => Some(Warning::ClickBeside(value, r)),
        None => Some(Warning::ClickBare(value, MARK_CLICK)),
        _ => None,
    }
}

/// Standard uncertainty of a stated needle angle, degrees.
const KNOWN_ANGLE: f64 = 0.3;
/// Standard uncertainty of the photo's upright against the dial's own, degrees: nobody holds a phone better than that.
pub const ROLL: f64 = 1.0;

/// Marks from known needle angles (degrees clockwise from the dial's straight up), by rising value.
pub fn known_angles(angles: &[(f64, f64)]) -> Result<Vec<Mark>, CalibrateError> {
    let mut sorted = angles.to_vec();
    sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
    if sorted.len() < 2 {
        return Err(CalibrateError::TooFewMarks(sorted.len()));
    }
    if let Some(w) = sorted.windows(2).find(|w| w[0].0 == w[1].0) {
        return Err(CalibrateError::SameMark(w[0].0, w[1].0));
    }
    let stated: Vec<f64> = sorted.iter().map(|a| a.1).collect();
    let rises = stated[stated.len() - 1] > stated[0];
    // as stated where they follow each other so (-120 to 120 is the long way over the top); else the shorter way round
    let as_stated = stated.windows(2).all(|w| (w[1] > w[0]) == rises) && (stated[stated.len() - 1] - stated[0]).abs() < 359.0;
    let on_run = if as_stated { stated } else { run(&stated) };
    let rises = on_run[on_run.len() - 1] > on_run[0];
    if let Some(i) = on_run.windows(2).position(|w| (w[1] - w[0]).abs() < 0.2 || (w[1] > w[0]) != rises) {
        return Err(CalibrateError::OutOfOrder(sorted[i + 1].0));
    }
    // a scale whose ends meet: the same angle was given for two values
    if (on_run[on_run.len() - 1] - on_run[0]).abs() >= 359.0 {
        return Err(CalibrateError::OutOfOrder(sorted[sorted.len() - 1].0));
    }
    Ok(sorted
        .iter()
        .zip(on_run)
        .enumerate()
        .map(|(i, (a, angle))| Mark {
            value: a.0,
            angle,
            kind: MarkKind::Angle,
            terms: BTreeMap::from([(Cause::Mark(i), KNOWN_ANGLE), (Cause::Roll, ROLL)]),
            value_terms: BTreeMap::new(),
            click: None,
        })
        .collect())
}

fn snap(found: &Found, tick: Option<usize>, click: Vector2<f64>) -> (Click, f64) {
    let given = [click.x, click.y];
    let Some(t) = tick.map(|t| &found.ticks[t]) else { return (Click { given, snapped: given, residual: None }, MARK_CLICK) };
    let d = (t.line[1] - t.line[0]).normalize();
    let foot = t.line[0] + d * d.dot(&(click - t.line[0]));
    (Click { given, snapped: [foot.x, foot.y], residual: Some((click - foot).norm()) }, t.sigma)
}

/// The plane's homography moved by one sigma along each independent direction of its covariance, and for the principal point's doubt to the
/// right and down.
pub fn plane_shifts(plane: &DialPlane) -> Vec<PlaneInPhoto> {
    let l = independent_terms(&plane.covariance);
    let aside = plane.middle_sigma * plane.camera.focal / plane.log_focal.exp();
    let own = l.column_iter().map(|by| moved(plane, by, Vector2::zeros()));
    let middle = plane.middle.column_iter().zip([Vector2::new(aside, 0.0), Vector2::new(0.0, aside)]).map(|(by, to)| moved(plane, by, to));
    own.chain(middle).collect()
}

/// The plane's homography with other unknowns (in the order of its covariance) and another principal point (px).
fn moved(plane: &DialPlane, by: DVectorView<f64>, middle: Vector2<f64>) -> PlaneInPhoto {
    let (p, c) = (plane.pose, plane.camera);
    let pose = PlanePose { rx: p.rx + by[0], ry: p.ry + by[1], origin: p.origin + Vector2::new(by[2], by[3]), scale: p.scale + by[4] };
    pose.homography(&Camera { focal: c.focal * by[6].exp(), centre: c.centre + middle })
}

fn angle_change(moved: &PlaneInPhoto, place: Vector2<f64>, angle: f64) -> f64 {
    moved.inverse().map_or(f64::NAN, |b| {
        let q = b.at(place.x, place.y);
        wrap(q.x.atan2(q.y).to_degrees() - angle)
    })
}
