//! From a photo and the user's marks to a dial, step by step.
use super::counted;
use super::extent;
use super::geometry::{self, MARK_CLICK, Observations, Plane as DialPlane};
use super::needle_look;
use super::request::{Calibration, Request};
use super::self_fit;
use super::strip::Sheet;
use super::ticks::{self, Tick};
use crate::base::angle::wrap;
use crate::base::measured::independent_terms;
use crate::base::pose::{Camera, PlanePose, camera_centre, project, tilt_degrees};
use crate::base::robust::median;
use crate::dial::{Click, Dial, DialFileError, Face, FaceFrame, Mark, MarkKind};
use crate::photo::{Photo, Plane};
use crate::scale::{Place, Scale};
use nalgebra::{Matrix3, Vector2};
use std::collections::BTreeMap;

/// Why a calibration could not be made.
#[derive(Debug, thiserror::Error)]
pub enum CalibrateError {
    /// Fewer than two marks.
    #[error("{0} mark(s) given; a scale needs at least two known values. Add --mark VALUE@X,Y.")]
    TooFewMarks(usize),
    /// Two marks with one value, or at one place.
    #[error("The marks {0} and {1} have the same value or stand at the same place. Check the two positions.")]
    SameMark(f64, f64),
    /// Marks do not follow each other round the dial.
    #[error(
        "The marks do not follow each other round the dial: the mark {0} stands out of order. Check its position; a click on the wrong tick is the usual cause."
    )]
    OutOfOrder(f64),
    /// No pivot and too few marks to find it.
    #[error("With two marks the pivot cannot be found from the marks alone. Add --pivot X,Y, the needle's axis.")]
    NeedsPivot,
    /// The geometry did not come out.
    #[error("The marks do not lie on a circle round the pivot ({0}). Check the positions.")]
    NoPlane(String),
    /// No needle in the reference photo.
    #[error(
        "No needle was found in the reference photo between the marks. Use a sharp photo taken straight on, with the whole needle visible and free of glare."
    )]
    NoNeedle,
    /// The face's picture could not be stored.
    #[error("The face could not be stored: {0}")]
    Face(#[from] DialFileError),
}

/// Calibrates a dial.
///
/// # Errors
/// See [`CalibrateError`]: each says what was seen and what to do.
pub fn calibrate(photo: &Photo, request: &Request) -> Result<Calibration, CalibrateError> {
    let mut marks = request.marks.clone();
    marks.sort_by(|a, b| a.0.total_cmp(&b.0));
    check_marks(&marks)?;
    let luma = photo.luma();
    let camera = Camera::of_picture(photo.width, photo.height, photo.focal_ratio);
    let start = starting_pose(&marks, request)?;
    let found = adjust(&luma, &camera, start, &marks, request, photo.focal_ratio.is_some())?;
    let labels = label_angles(&found, &marks)?;
    let (scale_marks, mut warnings) = scale_marks(&found, &marks, &labels);
    let h = found.plane.homography;
    let needle = learn_needle(photo, &h, found.plane.pose.scale, &labels).ok_or(CalibrateError::NoNeedle)?;
    let radius = extent::print_radius(&luma, &h, found.plane.pose.scale);
    let cover = found.cover_radius;
    let face = cut_face(photo, &found.plane, radius, cover)?;
    if marks.len() == 2 {
        warnings.push("Only two marks: the scale is taken as even between them, and the tilt of the reference photo is uncertain.".into());
    }
    let mut dial = Dial {
        name: request.name.clone(),
        unit: request.unit,
        id: String::new(),
        marks: scale_marks,
        face,
        needle,
        focal_ratio: photo.focal_ratio,
        reference: photo.hash.clone(),
    };
    let mut needle_reads = None;
    for _ in 0..2 {
        if let Some(f) = self_fit::needle_in_reference(photo, &dial, &h, &found.plane.camera) {
            dial.needle = self_fit::corrected(&dial.needle, &f);
            let scale = Scale::new(&dial);
            needle_reads = (scale.place(f.angle, 0.0) == Place::On).then(|| scale.value(f.angle));
        }
    }
    Ok(Calibration { dial: dial.sealed(), needle_reads, warnings })
}

fn check_marks(marks: &[(f64, crate::base::point::PhotoPoint)]) -> Result<(), CalibrateError> {
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

fn starting_pose(marks: &[(f64, crate::base::point::PhotoPoint)], request: &Request) -> Result<PlanePose, CalibrateError> {
    let origin = match request.pivot {
        Some(p) => p.vector(),
        None if marks.len() < 3 => return Err(CalibrateError::NeedsPivot),
        None => {
            // circle through the clicks (Kåsa): 2 x cx + 2 y cy + c = x² + y²
            let a = nalgebra::DMatrix::from_fn(marks.len(), 3, |i, j| match j {
                0 => 2.0 * marks[i].1.x,
                1 => 2.0 * marks[i].1.y,
                _ => 1.0,
            });
            let b = nalgebra::DVector::from_fn(marks.len(), |i, _| marks[i].1.x.powi(2) + marks[i].1.y.powi(2));
            let x = a.svd(true, true).solve(&b, 1e-12).map_err(|e| CalibrateError::NoPlane(e.to_string()))?;
            Vector2::new(x[0], x[1])
        }
    };
    let scale = marks.iter().map(|m| (m.1.vector() - origin).norm()).sum::<f64>() / marks.len() as f64;
    Ok(PlanePose { rx: 0.0, ry: 0.0, origin, scale })
}

/// The adjusted plane and the ticks it rests on.
struct Found {
    plane: DialPlane,
    ticks: Vec<Tick>,
    cover_radius: f64,
    /// Whether the ticks point at the pivot.
    radial: bool,
}

fn adjust(
    luma: &Plane,
    camera: &Camera,
    start: PlanePose,
    marks: &[(f64, crate::base::point::PhotoPoint)],
    request: &Request,
    focal_known: bool,
) -> Result<Found, CalibrateError> {
    let failed = || CalibrateError::NoPlane("the adjustment did not converge".into());
    // EXIF gives whole millimetres; without it a phone's main or tele lens is possible
    let focal_sigma = if focal_known { 0.03 } else { 0.4 };
    let clicks = |sigma: f64| Observations {
        ends: marks.iter().map(|m| (m.1.vector(), sigma)).collect(),
        rings: Vec::new(),
        lines: Vec::new(),
        pivot: request.pivot.map(|p| p.vector()),
        cover: None,
        focal_sigma,
    };
    let mut plane = geometry::fit(camera, start, &clicks(MARK_CLICK)).ok_or_else(failed)?;
    let mut ticks = Vec::new();
    let mut cover_radius = 0.0;
    let mut radial = true;
    let mut cover = None;
    for round in 0..4 {
        let Some(back) = plane.homography.try_inverse() else { return Err(failed()) };
        let at: Vec<(f64, f64)> = marks
            .iter()
            .map(|m| {
                let q = project(&back, m.1.x, m.1.y);
                (q.x, q.y)
            })
            .collect();
        ticks = ticks::find(luma, &plane.homography, plane.pose.scale, &at);
        if request.pivot.is_none()
            && round == 1
            && let Some((centre, radius)) = extent::cover(luma, &plane.homography, plane.pose.scale)
        {
            cover = Some(centre);
            cover_radius = radius;
        }
        if ticks.len() < 3 {
            break;
        }
        let unit = labelled_radius(&ticks, &at);
        let mut obs = clicks(MARK_CLICK);
        obs.ends.clear();
        obs.cover = cover;
        obs.add_ticks(&ticks, unit, plane.pose.origin);
        if obs.ends.len() < 3 {
            obs.ends.extend(marks.iter().map(|m| (m.1.vector(), MARK_CLICK)));
        }
        let mut from = plane.pose;
        from.scale *= unit;
        // first without the ticks' directions: not every maker draws them towards the pivot
        let lines = std::mem::take(&mut obs.lines);
        plane = geometry::fit(camera, from, &obs).ok_or_else(failed)?;
        let apart = geometry::lines_disagree(&plane, &lines);
        radial = apart.is_some_and(|a| a < 2.5);
        if radial {
            obs.lines = lines;
            plane = geometry::fit(camera, plane.pose, &obs).ok_or_else(failed)?;
        }
    }
    if !(plane.pose.scale > 20.0 && plane.pose.rx.hypot(plane.pose.ry) < 0.9) {
        return Err(CalibrateError::NoPlane(format!(
            "radius {:.0} px, tilt {:.0}°",
            plane.pose.scale,
            plane.pose.rx.hypot(plane.pose.ry).to_degrees()
        )));
    }
    Ok(Found { plane, ticks, cover_radius, radial })
}

/// Median outer radius of the ticks next to the clicks.
fn labelled_radius(ticks: &[Tick], clicks: &[(f64, f64)]) -> f64 {
    let mut r: Vec<f64> = clicks
        .iter()
        .filter_map(|&(x, y)| {
            let a = x.atan2(y).to_degrees();
            ticks
                .iter()
                .filter(|t| wrap(t.angle - a).abs() < 3.0)
                .min_by(|p, q| wrap(p.angle - a).abs().total_cmp(&wrap(q.angle - a).abs()))
                .map(|t| t.radii[0])
        })
        .collect();
    r.sort_by(f64::total_cmp);
    r.get(r.len() / 2).copied().unwrap_or(1.0)
}

/// A label's tick (index into the ticks) and angle on one monotone run.
struct Labels {
    angle: Vec<f64>,
    tick: Vec<Option<usize>>,
    /// Angle of every tick on the same run, degrees.
    tick_angles: Vec<f64>,
    /// Photo px of every tick's mark.
    tick_places: Vec<Vector2<f64>>,
}

fn label_angles(found: &Found, marks: &[(f64, crate::base::point::PhotoPoint)]) -> Result<Labels, CalibrateError> {
    let back = found.plane.homography.try_inverse().ok_or_else(|| CalibrateError::NoPlane("singular".into()))?;
    let scale = found.plane.pose.scale;
    // a mark is where the user put it, across its tick: its foot on the tick's centre line; counted ticks are taken at the same radius
    let radius = foot_radius(found, marks, &back);
    let tick_at: Vec<f64> = found
        .ticks
        .iter()
        .map(|t| {
            let q = at_radius(t, &back, radius);
            q.x.atan2(q.y).to_degrees()
        })
        .collect();
    let reach = (7.0 / scale).to_degrees();
    let (mut raw, mut tick) = (Vec::new(), Vec::new());
    for m in marks {
        let q = project(&back, m.1.x, m.1.y);
        let a = q.x.atan2(q.y).to_degrees();
        let near = (0..tick_at.len()).min_by(|&i, &j| wrap(tick_at[i] - a).abs().total_cmp(&wrap(tick_at[j] - a).abs()));
        let own = near.filter(|&i| wrap(tick_at[i] - a).abs() < reach);
        raw.push(own.map_or(a, |i| tick_at[i]));
        tick.push(own);
    }
    let angle = run(&raw);
    for (i, w) in angle.windows(2).enumerate() {
        if (w[1] - w[0]).abs() < 0.2 || (angle[angle.len() - 1] - angle[0]) * (w[1] - w[0]) <= 0.0 {
            return Err(CalibrateError::OutOfOrder(marks[i + 1].0));
        }
    }
    if (angle[angle.len() - 1] - angle[0]).abs() >= 359.0 {
        return Err(CalibrateError::OutOfOrder(marks[marks.len() / 2].0));
    }
    let middle = 0.5 * (angle[0] + angle[angle.len() - 1]);
    let tick_angles = tick_at.iter().map(|a| middle + wrap(a - middle)).collect();
    let tick_places = found
        .ticks
        .iter()
        .map(|t| {
            let q = at_radius(t, &back, radius);
            project(&found.plane.homography, q.x, q.y)
        })
        .collect();
    Ok(Labels { angle, tick, tick_angles, tick_places })
}

/// Median radius at which the user put the marks, within the ticks' length.
fn foot_radius(found: &Found, marks: &[(f64, crate::base::point::PhotoPoint)], back: &Matrix3<f64>) -> f64 {
    let clicks: Vec<f64> = marks.iter().map(|m| project(back, m.1.x, m.1.y).norm()).collect();
    let inner: Vec<f64> = found.ticks.iter().map(|t| t.radii[1]).collect();
    median(&clicks).unwrap_or(1.0).clamp(median(&inner).unwrap_or(1.0).min(1.0), 1.0)
}

/// The dial point of a tick's centre line at a radius.
fn at_radius(t: &Tick, back: &Matrix3<f64>, radius: f64) -> Vector2<f64> {
    let (a, b) = (project(back, t.line[0].x, t.line[0].y), project(back, t.line[1].x, t.line[1].y));
    let f = (radius - a.norm()) / (b.norm() - a.norm()).max(1e-6);
    a + (b - a) * f.clamp(-0.5, 1.5)
}

/// Unwraps angles into one monotone run, the way round that sweeps less.
fn run(raw: &[f64]) -> Vec<f64> {
    let go = |sign: f64| {
        let mut out = vec![raw[0]];
        for w in raw.windows(2) {
            let d = (sign * (w[1] - w[0])).rem_euclid(360.0);
            out.push(out[out.len() - 1] + sign * d);
        }
        out
    };
    let (up, down) = (go(1.0), go(-1.0));
    let sweep = |v: &[f64]| (v[v.len() - 1] - v[0]).abs();
    if sweep(&up) <= sweep(&down) { up } else { down }
}

fn scale_marks(found: &Found, marks: &[(f64, crate::base::point::PhotoPoint)], labels: &Labels) -> (Vec<Mark>, Vec<String>) {
    let scale = found.plane.pose.scale;
    let pairs: Vec<counted::Label> = marks.iter().zip(&labels.angle).map(|(m, a)| (m.0, *a)).collect();
    let counted = counted::count(&pairs, &labels.tick_angles, (8.0 / scale).to_degrees());
    let mut warnings = Vec::new();
    if !found.radial {
        warnings.push("The printed ticks do not point at the pivot; only their places are used.".to_string());
    }
    if counted.left_out > 0 {
        warnings.push(format!(
            "In {} interval(s) between marks the unlabelled ticks could not be counted with certainty; they are not used.",
            counted.left_out
        ));
    }
    let mut out = Vec::new();
    for (i, m) in marks.iter().enumerate() {
        let (click, sigma) = snap(found, labels.tick[i], m.1.vector());
        match click.residual {
            Some(r) if r > 4.0 => {
                warnings.push(format!(
                    "The click on {} is {r:.1} px beside the printed tick it was snapped to; check that it is the right tick.",
                    m.0
                ));
            }
            None => {
                warnings.push(format!("No printed tick was found at the click on {}; the click itself is used (± {MARK_CLICK} px).", m.0))
            }
            _ => {}
        }
        out.push((
            m.0,
            labels.angle[i],
            MarkKind::Labelled,
            sigma,
            Some(click),
            labels.tick[i].map_or(m.1.vector(), |t| labels.tick_places[t]),
        ));
    }
    for &(value, t) in &counted.values {
        let tick = &found.ticks[t];
        out.push((value, labels.tick_angles[t], MarkKind::Counted, tick.sigma, None, labels.tick_places[t]));
    }
    out.sort_by(|a, b| a.0.total_cmp(&b.0));
    let shifts = plane_shifts(&found.plane);
    let marks = out
        .into_iter()
        .enumerate()
        .map(|(i, (value, angle, kind, sigma, click, place))| {
            let mut terms = BTreeMap::new();
            terms.insert(format!("mark/{i}"), (sigma / scale).to_degrees());
            for (j, h) in shifts.iter().enumerate() {
                terms.insert(format!("plane/{j}"), angle_change(h, place, angle));
            }
            Mark { value, angle, kind, terms, click }
        })
        .collect();
    (marks, warnings)
}

fn snap(found: &Found, tick: Option<usize>, click: Vector2<f64>) -> (Click, f64) {
    let given = [click.x, click.y];
    let Some(t) = tick.map(|t| &found.ticks[t]) else { return (Click { given, snapped: given, residual: None }, MARK_CLICK) };
    let d = (t.line[1] - t.line[0]).normalize();
    let foot = t.line[0] + d * d.dot(&(click - t.line[0]));
    (Click { given, snapped: [foot.x, foot.y], residual: Some((click - foot).norm()) }, t.sigma)
}

/// The plane's homography moved by one sigma along each independent direction of its covariance.
pub fn plane_shifts(plane: &DialPlane) -> Vec<Matrix3<f64>> {
    let l = independent_terms(&plane.covariance);
    (0..l.ncols())
        .map(|j| {
            let p = plane.pose;
            let camera = Camera { focal: plane.camera.focal * l[(6, j)].exp(), centre: plane.camera.centre };
            PlanePose {
                rx: p.rx + l[(0, j)],
                ry: p.ry + l[(1, j)],
                origin: p.origin + Vector2::new(l[(2, j)], l[(3, j)]),
                scale: p.scale + l[(4, j)],
            }
            .homography(&camera)
        })
        .collect()
}

fn angle_change(moved: &Matrix3<f64>, place: Vector2<f64>, angle: f64) -> f64 {
    moved.try_inverse().map_or(0.0, |b| {
        let q = project(&b, place.x, place.y);
        wrap(q.x.atan2(q.y).to_degrees() - angle)
    })
}

fn learn_needle(photo: &Photo, h: &Matrix3<f64>, scale: f64, labels: &Labels) -> Option<crate::dial::NeedleLook> {
    let (a, b) = (labels.angle[0], labels.angle[labels.angle.len() - 1]);
    let channel = |c: usize| Plane {
        width: photo.width,
        height: photo.height,
        data: photo.rgb.iter().skip(c).step_by(3).map(|&v| v as f32).collect(),
    };
    let sheet = Sheet::new(&[channel(0), channel(1), channel(2)], h, scale.min(420.0), a.min(b), a.max(b));
    needle_look::learn(&sheet, a.min(b), a.max(b))
}

/// Cuts the part of the photo that holds the print.
fn cut_face(photo: &Photo, plane: &DialPlane, print_radius: f64, cover_radius: f64) -> Result<Face, DialFileError> {
    let h = plane.homography;
    let reach = print_radius.max(1.1) + 0.08;
    let (mut x0, mut y0, mut x1, mut y1) = (f64::MAX, f64::MAX, f64::MIN, f64::MIN);
    for i in 0..64 {
        let (s, c) = (i as f64 * std::f64::consts::PI / 32.0).sin_cos();
        let q = project(&h, reach * s, reach * c);
        (x0, y0, x1, y1) = (x0.min(q.x), y0.min(q.y), x1.max(q.x), y1.max(q.y));
    }
    let clip = |v: f64, top: usize| v.max(0.0).min(top as f64 - 1.0) as usize;
    let (x0, y0) = (clip(x0, photo.width), clip(y0, photo.height));
    let (x1, y1) = (clip(x1.ceil(), photo.width), clip(y1.ceil(), photo.height));
    let (width, height) = (x1 - x0 + 1, y1 - y0 + 1);
    let mut rgb = Vec::with_capacity(3 * width * height);
    for y in y0..=y1 {
        rgb.extend_from_slice(&photo.rgb[3 * (y * photo.width + x0)..3 * (y * photo.width + x1 + 1)]);
    }
    let shift = Matrix3::new(1.0, 0.0, -(x0 as f64), 0.0, 1.0, -(y0 as f64), 0.0, 0.0, 1.0);
    let tilt = camera_centre(&h, &plane.camera).map_or(0.0, |c| tilt_degrees(&c));
    let plane_terms = plane_shifts(plane).into_iter().map(|m| shift * m).collect();
    let frame = FaceFrame { plane: shift * h, scale: plane.pose.scale, tilt, print_radius, cover_radius, plane_terms };
    Face::from_rgb(&rgb, width, height, frame)
}
