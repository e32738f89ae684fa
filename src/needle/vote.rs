//! The vote over direction: which lines show the needle's step against both flanks along their length?
//!
//! A Hough-style accumulator over (direction, offset). Each place along a line votes with the needle evidence on the line minus
//! the stronger of the two flanks, clipped, so that a long even needle beats a bright spot, a broad shade or an edge.
use crate::dial::{NeedleLook, Stand};
use crate::maths::angle::wrap;
use crate::maths::plane_view::PlaneView;
use crate::maths::pose::{shifted, shifted_per_direction};
use crate::maths::robust::ranked;
use crate::register::face::LineFrame;
use crate::register::rendering::Canonical;
use nalgebra::{Matrix2, Vector2, Vector3};

/// The shift of things that stand above the face, in dial units per unit of height, and what is assumed of the height.
#[derive(Clone, Copy, Debug)]
pub struct Parallax {
    /// Shift (x right, y up) of a needle at the assumed height.
    pub shift: [f64; 2],
    /// Relative standard uncertainty of the height.
    pub spread: f64,
    /// Where the needle's axis passes the pivot when there is no shift, radii to the right of its direction, and its standard
    /// uncertainty.
    pub axis: (f64, f64),
    /// Covariance of the shift, radii², because the camera's place is known to a width only.
    pub view: Matrix2<f64>,
}

impl Parallax {
    /// From the camera's centre in the dial frame (none known, no shift assumed), taken to be exact, and how the needle stands over the face.
    pub fn from_camera(centre: Option<Vector3<f64>>, stand: &Stand) -> Self {
        let spread = stand.height_sigma / stand.height;
        Self { shift: shifted(stand.height, centre), spread, axis: (stand.axis, stand.axis_sigma), view: Matrix2::zeros() }
    }
    /// As the photo's camera is known, see [`PlaneView`].
    pub(crate) fn of_view(view: &PlaneView, stand: &Stand) -> Self {
        let known = Self::from_camera(view.centre, stand);
        let per = shifted_per_direction(stand.height, view.centre);
        Self { view: view.direction * (per * per), ..known }
    }
    /// Variance, because of the camera's place, of the shift to the right of a direction, radii².
    pub fn view_across(&self, angle: f64) -> f64 {
        let (s, c) = angle.to_radians().sin_cos();
        let right = Vector2::new(c, -s);
        right.dot(&(self.view * right)).max(0.0)
    }
    /// Shift to the right of a direction.
    pub fn across(&self, angle: f64) -> f64 {
        let (s, c) = angle.to_radians().sin_cos();
        self.shift[0] * c - self.shift[1] * s
    }
    /// Shift along a direction.
    pub fn along(&self, angle: f64) -> f64 {
        let (s, c) = angle.to_radians().sin_cos();
        self.shift[0] * s + self.shift[1] * c
    }
    /// Size of the shift.
    pub fn size(&self) -> f64 {
        self.shift[0].hypot(self.shift[1])
    }
}

/// A line that may be the needle.
#[derive(Clone, Copy, Debug)]
pub struct Candidate {
    /// Degrees clockwise from up.
    pub angle: f64,
    /// Offset to the right of the pivot, radii.
    pub offset: f64,
    /// Mean clipped step along the line, 1 = as in the reference.
    pub score: f64,
}

/// Steps of offset, dial units.
const STEP: f64 = 0.0125;
/// Steps to either side.
const MOST: i32 = 8;

/// The best lines, best first, no two of which lie over each other. `blur`: standard deviation of the photo's blur, dial units.
pub fn vote(value: &Canonical, seen: &Canonical, look: &NeedleLook, parallax: &Parallax, blur: f64) -> Vec<Candidate> {
    let stations = stations(look, blur);
    let mut best_by_angle = Vec::with_capacity(360);
    for a in 0..360 {
        let angle = a as f64 - 180.0;
        let look_at = |d: i32| {
            let step = STEP * f64::from(d);
            let offset = parallax.across(angle) + parallax.axis.0 + step;
            let score = line_score(value, seen, angle, offset, &stations, parallax.along(angle)) * (1.0 - 0.25 * step.abs() / 0.1);
            (d, Candidate { angle, offset, score })
        };
        let better = |a: (i32, Candidate), b: (i32, Candidate)| if b.1.score > a.1.score { b } else { a };
        // every other offset, then the two beside the best
        let (at, best) =
            (-MOST / 2..=MOST / 2).map(|d| look_at(2 * d)).fold((0, Candidate { angle, offset: 0.0, score: f64::MIN }), better);
        let best = [at - 1, at + 1].into_iter().filter(|d| d.abs() <= MOST).map(look_at).fold((at, best), better).1;
        best_by_angle.push(best);
    }
    let reach = stations.first().map_or(0.0, |s| s.flank);
    let mut order: Vec<Candidate> = best_by_angle;
    order.sort_by(|a, b| b.score.total_cmp(&a.score));
    let mut out: Vec<Candidate> = Vec::new();
    for c in order {
        if out.iter().all(|o| apart(o, &c, look.span, reach)) {
            out.push(c);
            if out.len() == 4 {
                break;
            }
        }
    }
    out
}

/// Whether two lines are not one needle seen twice: more than 12° apart, and somewhere along the needle further from each other than the
/// flanks are looked at. A short wide needle is met by lines that lean by more than 12°.
fn apart(a: &Candidate, b: &Candidate, span: [f64; 2], reach: f64) -> bool {
    let turn = wrap(b.angle - a.angle).abs();
    let frame = |c: &Candidate| LineFrame::new(c.angle, c.offset);
    turn > 12.0 && (turn > 90.0 || frame(a).beside(&frame(b), span) > reach)
}

/// A place along the line and how far off it its flanks are looked at.
struct Station {
    s: f64,
    flank: f64,
}

/// Places along the needle and along its tail: where a reflection lies on the one, the other still shows.
fn stations(look: &NeedleLook, blur: f64) -> Vec<Station> {
    let tail: Vec<f64> = look.radii.iter().zip(&look.half_width).filter(|(r, w)| **r < 0.0 && **w > 0.0).map(|(r, _)| *r).collect();
    let mut out = part(look, look.span[0], look.span[1], blur);
    if let (Some(a), Some(b)) = (tail.first(), tail.last())
        && b - a > 0.05
    {
        out.extend(part(look, *a, *b, blur));
    }
    out
}

fn part(look: &NeedleLook, from: f64, to: f64, blur: f64) -> Vec<Station> {
    let seen = look.half_width.iter().zip(&look.radii).filter(|(w, r)| **w > 0.0 && **r > from && **r < to).map(|(w, _)| *w);
    let widest = ranked(seen, |count| count * 9 / 10).unwrap_or(0.03);
    let flank = (widest + 0.045).clamp(0.05, 0.12) + 0.3 * blur;
    let margin = 0.03f64.min(0.2 * (to - from));
    let (a, b) = (from + margin, to - margin);
    let n = (((b - a) / 0.02) as usize).max(4);
    (0..n).map(|i| Station { s: a + (b - a) * i as f64 / (n - 1) as f64, flank }).collect()
}

fn line_score(value: &Canonical, seen: &Canonical, angle: f64, offset: f64, stations: &[Station], along: f64) -> f64 {
    let frame = LineFrame::new(angle, offset);
    let (mut sum, mut weight) = (0.0, 0.0);
    for Station { s, flank } in stations {
        let r = s + along;
        let w = level(seen, &frame, r, 0.0);
        let ridge = level(value, &frame, r, 0.0) - level(value, &frame, r, -flank).max(level(value, &frame, r, *flank));
        sum += w * ridge.clamp(-0.3, 0.8);
        weight += w;
    }
    sum / weight.max(0.3 * stations.len() as f64)
}

/// The level so far along and to the right of a line.
#[inline(always)]
fn level(p: &Canonical, line: &LineFrame, s: f64, t: f64) -> f64 {
    let (x, y) = line.point(s, t);
    let (u, v) = p.px(x, y);
    f64::from(p.plane.clamped(u, v))
}
