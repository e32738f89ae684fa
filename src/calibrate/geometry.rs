//! The plane of the dial in the reference photo: pivot, tilt and scale adjusted together to ticks, clicks and camera.
//!
//! Unknowns: two tilts, the pivot's image, px per unit and the focal length; the principal point is taken to be the picture's centre, and its
//! doubt is told apart. Observations: outer tick ends lie on the unit circle; the centre line of a tick passes through the pivot's image (a
//! line through the pivot stays one in any view); the pivot click, when there is one; a hub cover's rim, which stands above the pivot; the
//! needle's line in several photos; and what is known of the view without them.
use super::descent::{Kind, descend, normal_equations};
use super::needle_line::NeedleLine;
use super::stand;
use super::tick::Tick;
use super::view_prior::{SeenFace, ViewPrior};
use crate::dial::Stand;
use crate::maths::angle::swept;
use crate::maths::homography::{Homography, PlaneInPhoto};
use crate::maths::pose::{Camera, PlanePose};
use crate::maths::robust::median;
use nalgebra::{DMatrix, DVector, Matrix3, Vector2, Vector3};

/// Unknowns: two tilts, pivot x and y, scale, height of the cover, log of the focal length, the needle's height and axis (both in
/// their usual sigmas), principal point x and y.
const N: usize = 11;
/// Of these, those that are adjusted; the principal point stays in the picture's centre, and what its doubt does to them is told apart (consider
/// parameters: S. F. Schmidt, Application of state-space methods to navigation problems, 1966; from memory). Adjusted too it explains few marks by
/// another view altogether: of 72 photographed dials five were then not calibrated, and two wrongly; and in the covariance it lets ticks agree that
/// do not.
const ADJUSTED: usize = 9;
/// Steps of numeric derivatives.
const STEPS: [f64; N] = [1e-5, 1e-5, 1e-3, 1e-3, 1e-3, 1e-4, 1e-4, 1e-4, 1e-4, 1e-5, 1e-5];
/// Standard uncertainty of a click on the pivot, px.
const PIVOT_CLICK: f64 = 2.0;
/// Standard uncertainty of a click on a mark, px.
pub const MARK_CLICK: f64 = 1.2;
/// Standard uncertainty of the pivot against the rings from the cover's refraction, units (renderings with flat and domed covers:
/// 0.0003 to 0.0006 where many ticks fix it, 0.0025 with five).
const LENS_PIVOT: f64 = 0.0003;
/// Height over the face at which a cover's rim is seen, and its standard deviation, units: the needles of eight drawn dials stand 0.08 to 0.28
/// high (the highest is a sub-dial's, high for its small radius), and their covers' rims are seen at that height, most within a half of it.
const COVER_HEIGHT: [f64; 2] = [0.15, 0.1];
/// How far the ends of all ticks together may move the middle of their ring, px: uneven light and grain moved it by 2.8 px on one of 45
/// renderings; and how far beside the pivot ticks may be drawn to point, units: 0.019 on a drawn dial, 0.02 to 0.03 on real sub-dials.
/// Standard deviations.
const SPOILT_TOGETHER: f64 = 2.0;
const DRAWN_ASIDE: f64 = 0.03;
/// Ticks from which on a ring that fits a circle is one: photographed large dials were seen at tilts of up to 24° off the usual.
pub const A_CIRCLE: usize = 10;
/// Ticks over more than this, degrees, are on a circle: a bent ring follows the rim of the dial that it lies in, less than half round.
pub const HALF_ROUND: f64 = 180.0;
/// Ticks whose ends differ by less than this (units) are drawn to the same radius.
const SAME_RING: f64 = 0.012;

/// What the plane is adjusted to.
#[derive(Clone, Debug)]
pub struct Observations {
    /// Points on the unit circle with their standard uncertainty, px.
    pub ends: Vec<(Vector2<f64>, f64)>,
    /// Points on further circles about the pivot, whose radii are not known: ring by ring.
    pub rings: Vec<Vec<(Vector2<f64>, f64)>>,
    /// Centre lines: two points and the standard uncertainty of the line where it passes the pivot, px.
    pub lines: Vec<(Vector2<f64>, Vector2<f64>, f64)>,
    /// Pivot click.
    pub pivot: Option<Vector2<f64>>,
    /// Centre of a round cover that stands above the pivot, with its standard uncertainty, px.
    pub cover: Option<(Vector2<f64>, f64)>,
    /// The needle's line in each of several photos; none where there is but the one.
    pub needles: Vec<NeedleLine>,
    /// What is known of tilt, focal length and principal point.
    pub view: ViewPrior,
}

/// The adjusted plane.
#[derive(Clone, Debug)]
pub struct DialPlane {
    /// The pose.
    pub pose: PlanePose,
    /// Dial plane to photo px.
    pub homography: PlaneInPhoto,
    /// The camera, its focal length adjusted.
    pub camera: Camera,
    /// Log of its focal length over the one assumed.
    pub log_focal: f64,
    /// Covariance of (rx, ry, x, y, scale, cover height in its sigmas, log focal length, needle height and axis in their sigmas), the principal
    /// point aside.
    pub covariance: DMatrix<f64>,
    /// What the same change by where the principal point lies one standard uncertainty to the right, and down.
    pub middle: DMatrix<f64>,
    /// That standard uncertainty, over the focal length assumed.
    pub middle_sigma: f64,
    /// How the needle stands over the face, as far as its lines tell.
    pub stand: Stand,
    /// What the fit costs: twice the negative log likelihood, less a constant.
    pub cost: f64,
}

impl Observations {
    /// Of ends and lines alone.
    pub fn of(ends: Vec<(Vector2<f64>, f64)>, lines: Vec<(Vector2<f64>, Vector2<f64>, f64)>, view: ViewPrior) -> Self {
        Self { ends, rings: Vec::new(), lines, pivot: None, cover: None, needles: Vec::new(), view }
    }
    /// Ends and lines from ticks. Only ends near the unit circle count as ends.
    pub fn add_ticks(&mut self, ticks: &[Tick], unit: f64, pivot: Vector2<f64>) {
        self.rings = rings(ticks);
        for t in ticks {
            if (t.radii[0] - unit).abs() < 0.015 {
                self.ends.push((t.outer, t.sigma_end));
            }
            self.lines.push(t.observed_line(pivot));
        }
    }
}

/// Inner tick ends by the radius they are drawn to; a ring needs two.
fn rings(ticks: &[Tick]) -> Vec<Vec<(Vector2<f64>, f64)>> {
    let mut sorted: Vec<&Tick> = ticks.iter().collect();
    sorted.sort_by(|a, b| a.radii[1].total_cmp(&b.radii[1]));
    let mut out: Vec<Vec<(Vector2<f64>, f64)>> = Vec::new();
    let mut last = f64::MIN;
    for t in sorted {
        if t.radii[1] - last > SAME_RING {
            out.push(Vec::new());
        }
        last = t.radii[1];
        if let Some(ring) = out.last_mut() {
            ring.push((t.inner, t.sigma_end));
        }
    }
    out.retain(|r| r.len() >= 2);
    out
}

/// How far from the plane's pivot the centre lines meet: in standard deviations (of both), and px; `None` with fewer than two directions.
pub fn lines_disagree(plane: &DialPlane, lines: &[(Vector2<f64>, Vector2<f64>, f64)]) -> Option<(f64, Vector2<f64>)> {
    if lines.len() < 2 {
        return None;
    }
    let (mut n, mut v) = (nalgebra::Matrix2::zeros(), Vector2::zeros());
    for (a, b, s) in lines {
        let d = (b - a).normalize();
        let normal = Vector2::new(-d.y, d.x);
        n += normal * normal.transpose() / (s * s);
        v += normal * (normal.dot(a) / (s * s));
    }
    let own = n.try_inverse()?;
    let off = own * v - plane.pose.origin;
    let both = own + plane.covariance.fixed_view::<2, 2>(2, 2);
    Some(((off.transpose() * both.try_inverse()? * off)[(0, 0)].max(0.0).sqrt(), off))
}

impl DialPlane {
    /// How the face is seen: tilts, and focal length over that of the camera it was fitted with.
    pub fn seen(&self) -> SeenFace {
        let at = [0, 1, 6];
        SeenFace {
            mean: Vector3::new(self.pose.rx, self.pose.ry, self.log_focal),
            covariance: Matrix3::from_fn(|i, j| self.covariance[(at[i], at[j])]),
        }
    }
    /// The same with the pivot in doubt by as much as ticks may be drawn to point beside it ([`DRAWN_ASIDE`]).
    pub fn drawn_aside(mut self) -> Self {
        let aside = DRAWN_ASIDE * self.pose.scale;
        (2..4).for_each(|k| self.covariance[(k, k)] += aside * aside);
        self
    }
    /// The same with a further doubt of the pivot: that it may lie so far off, px, where the ticks point, because their ends are all spoilt
    /// ([`SPOILT_TOGETHER`]), rather than where it is, because they are drawn to another point ([`DRAWN_ASIDE`]). The mean square of the two
    /// distances, that and 0, each as likely as these and the click on the pivot make it (Bayes' rule, normal densities).
    pub fn in_doubt_by(mut self, off: Vector2<f64>, click: Option<Vector2<f64>>) -> Self {
        let log_density = |d: f64, sigma: f64| -0.5 * (d / sigma).powi(2) - 2.0 * sigma.ln();
        let from_click = |place: Vector2<f64>| click.map_or(0.0, |c| log_density((c - place).norm(), PIVOT_CLICK));
        let here = log_density(off.norm(), DRAWN_ASIDE * self.pose.scale) + from_click(self.pose.origin);
        let there = log_density(off.norm(), SPOILT_TOGETHER) + from_click(self.pose.origin + off);
        let there = 1.0 / (1.0 + (here - there).exp());
        let mut pivot = self.covariance.fixed_view_mut::<2, 2>(2, 2);
        pivot += there * off * off.transpose();
        self
    }
}

/// A camera of another focal length (log of the ratio) and another principal point (shift over the focal length assumed).
fn adjusted(assumed: &Camera, log_focal: f64, middle: [f64; 2]) -> Camera {
    Camera { focal: assumed.focal * log_focal.exp(), centre: assumed.centre + Vector2::from(middle) * assumed.focal }
}

/// Whether so many ticks, whose ends lie in these directions (degrees), are on a circle.
pub fn on_a_circle(ticks: usize, directions: impl Iterator<Item = f64>) -> bool {
    ticks >= A_CIRCLE && swept(directions.collect()) >= HALF_ROUND
}

/// Fits the plane from a starting pose.
pub fn fit(camera: &Camera, start: PlanePose, obs: &Observations) -> Option<DialPlane> {
    let p = DVector::from_vec(vec![start.rx, start.ry, start.origin.x, start.origin.y, start.scale, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0]);
    let at = |p: &DVector<f64>| residuals(camera, p, obs);
    let (p, _) = descend(&at, p, &STEPS[..ADJUSTED], Kind::at_first)?;
    let (p, cost) = descend(&at, p, &STEPS[..ADJUSTED], |k| k)?;
    let normal = normal_equations(&at, &p, &STEPS, |k| k).0;
    let mut inverse = normal.view((0, 0), (ADJUSTED, ADJUSTED)).into_owned().try_inverse()?;
    let middle = -&inverse * normal.view((0, ADJUSTED), (ADJUSTED, N - ADJUSTED)) * obs.view.middle();
    let pose = PlanePose { rx: p[0], ry: p[1], origin: Vector2::new(p[2], p[3]), scale: p[4] };
    let camera = adjusted(camera, p[6], [0.0; 2]);
    // a cover bends the view: the pivot appears beside the middle of the rings, and nothing in the photo tells by how much
    let bent = (LENS_PIVOT * pose.scale).powi(2);
    inverse[(2, 2)] += bent;
    inverse[(3, 3)] += bent;
    let variance = |k: usize| inverse[(k, k)] + middle.row(k).norm_squared();
    let stand = stand::posterior(p[7], p[8], variance(7), variance(8));
    let (homography, cost) = (pose.homography(&camera), cost + obs.view.conflict());
    Some(DialPlane { pose, camera, log_focal: p[6], homography, covariance: inverse, middle, middle_sigma: obs.view.middle(), stand, cost })
}

/// Radius of a ring of tick ends, a spoilt one left out: the weighted mean, from the median on.
fn ring_radius(radii: &[f64], ring: &[(Vector2<f64>, f64)], scale: f64) -> f64 {
    let mut middle = median(radii).unwrap_or(0.0);
    for _ in 0..12 {
        let (mut n, mut sum) = (0.0, 0.0);
        for (v, (_, s)) in radii.iter().zip(ring) {
            let w = Kind::Spoilable.weight((v - middle) * scale / s) / (s * s);
            n += w;
            sum += w * v;
        }
        middle = sum / n.max(1e-300);
    }
    middle
}

/// Distance of a point from the line through two others, signed, px.
pub(super) fn off_line(a: &Vector2<f64>, b: &Vector2<f64>, point: &Vector2<f64>) -> f64 {
    let (d, o) = ((b - a).normalize(), point - a);
    d.x * o.y - d.y * o.x
}

/// Residuals in units of sigma, and how each counts.
fn residuals(camera: &Camera, p: &DVector<f64>, obs: &Observations) -> Vec<(f64, Kind)> {
    let pose = PlanePose { rx: p[0], ry: p[1], origin: Vector2::new(p[2], p[3]), scale: p[4] };
    let camera = &adjusted(camera, p[6], [p[9], p[10]]);
    let back = pose.homography(camera).inverse().unwrap_or_else(Homography::identity);
    let mut r = Vec::new();
    for (e, s) in &obs.ends {
        r.push(((back.at(e.x, e.y).norm() - 1.0) * pose.scale / s, Kind::Spoilable));
    }
    for ring in &obs.rings {
        let radii: Vec<f64> = ring.iter().map(|(e, _)| back.at(e.x, e.y).norm()).collect();
        let middle = ring_radius(&radii, ring, pose.scale);
        r.extend(radii.iter().zip(ring).map(|(v, (_, s))| ((v - middle) * pose.scale / s, Kind::Spoilable)));
    }
    for (a, b, s) in &obs.lines {
        r.push((off_line(a, b, &pose.origin) / s, Kind::Soft));
    }
    if let Some(c) = obs.pivot {
        r.push(((pose.origin.x - c.x) / PIVOT_CLICK, Kind::Soft));
        r.push(((pose.origin.y - c.y) / PIVOT_CLICK, Kind::Soft));
    }
    if let Some((c, sigma)) = obs.cover {
        let top = pose.above_origin(camera, COVER_HEIGHT[0] + COVER_HEIGHT[1] * p[5]);
        r.push(((top.x - c.x) / sigma, Kind::Soft));
        r.push(((top.y - c.y) / sigma, Kind::Soft));
    }
    let homography = pose.homography(camera);
    for n in &obs.needles {
        r.push((n.residual(&homography, &back, stand::height(p[7]), Stand::default().axis_sigma * p[8]), Kind::Soft));
    }
    r.extend(obs.view.residuals([p[0], p[1], p[6]]).into_iter().chain([p[5], p[7], p[8]]).map(|v| (v, Kind::Firm)));
    r
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Fitted anew with the principal point one standard uncertainty aside.
    #[test]
    fn what_the_principal_points_doubt_does_is_what_moving_it_does() {
        let camera = Camera::of_picture(1600, 1200, Some(0.8));
        let pose = PlanePose { rx: 0.2, ry: -0.15, origin: Vector2::new(820.0, 580.0), scale: 300.0 };
        let h = pose.homography(&camera);
        let turns: Vec<(f64, f64)> = (0..24).map(|k| (f64::from(k) * 11.0 - 126.0).to_radians().sin_cos()).collect();
        let ends = turns.iter().map(|&(s, c)| (h.at(s, c), 0.2)).collect();
        let lines = turns.iter().map(|&(s, c)| (h.at(0.9 * s, 0.9 * c), h.at(s, c), 0.5)).collect();
        let obs = Observations::of(ends, lines, ViewPrior::usual(true));
        let plane = fit(&camera, pose, &obs).unwrap();
        let aside = plane.middle_sigma * camera.focal;
        for (k, by) in [Vector2::new(aside, 0.0), Vector2::new(0.0, aside)].into_iter().enumerate() {
            let other = fit(&Camera { centre: camera.centre + by, ..camera }, plane.pose, &obs).unwrap();
            let numbers = |p: &DialPlane| [p.pose.rx, p.pose.ry, p.pose.origin.x, p.pose.origin.y, p.pose.scale, p.log_focal];
            let (here, there) = (numbers(&plane), numbers(&other));
            for (i, row) in [0, 1, 2, 3, 4, 6].into_iter().enumerate() {
                let (change, said) = (there[i] - here[i], plane.middle[(row, k)]);
                let least = [1e-5, 1e-5, 1e-3, 1e-3, 1e-2, 1e-5][i];
                assert!((change - said).abs() < 0.1 * change.abs() + least, "{k} {row}: {change} where {said} is told");
            }
            assert!(plane.middle.column(k).rows(0, 2).norm() > 1e-4, "it does something: {}", plane.middle);
        }
    }
}
