//! How a plane was seen: camera and viewing direction, from the plane's map to the photo and what is known of cameras beforehand.
//!
//! A map has eight numbers, the place and direction of a camera six: a plane's axes are at right angles and of equal lengths for some focal
//! lengths and principal points only. Of a whole photo both are known to some per cent; of a part of one, and no photo says whether it is one,
//! the focal length is longer and the principal point is anywhere. So the answer is a mixture: the whole photo, and parts of all sizes, each
//! with its linear Gaussian posterior over principal point and map, weighed by how well the axes fit (D. S. Sivia and J. Skilling, Data
//! Analysis, 2006, chapter 3 and 4.1; R. Hartley and A. Zisserman, Multiple View Geometry, 2004, 8.8; both from memory).
//!
//! Counts: the map's own covariance, focal length, principal point. Does not count: a lens that bends lines, and a plane whose own axes are
//! not what they are taken for.
use super::homography::Homography;
use super::pose::{Camera, camera_centre, tilt_degrees};
use nalgebra::{Matrix2, Matrix4, SMatrix, SVector, Vector2, Vector3, Vector4};

/// How a plane was seen.
#[derive(Clone, Copy, Debug)]
pub struct PlaneView {
    /// The likeliest camera: mean of log focal length and principal point.
    pub camera: Camera,
    /// Camera centre in the plane's frame (its units, z towards the camera): mean of its direction and of its nearness 1/z. `None` when the map
    /// is not that of a plane before a camera.
    pub centre: Option<Vector3<f64>>,
    /// Covariance of its direction, x/z and y/z.
    pub direction: Matrix2<f64>,
}

/// Standard uncertainty of the angle of a plane's axes (radians) and of the ratio of their lengths, the map's own aside: lenses, covers. With the
/// focal length that EXIF tells, or the usual one, 20 looks at a photographed cluster were within 0.015; parts of larger photos were 0.27 and
/// more away.
const AXES: f64 = 0.015;
/// Standard deviation of the direction in which dials are seen, x/z and y/z. Assumed; with 0.25 and 0.8 readings of parts of 240 renderings
/// scatter alike.
const DIRECTION: f64 = 0.4;
/// Standard uncertainty of the log of a whole photo's focal length, told by EXIF or taken to be the usual one, and of its principal point as a
/// share of the longer side. Assumed: EXIF tells whole millimetres, and phones' main lenses are of 23 to 28 mm.
const WHOLE: [f64; 2] = [0.05, 0.25];
const WHOLE_MIDDLE: f64 = 0.01;
/// Share of photos that are parts of larger ones, or by longer lenses than the usual, beforehand: where EXIF tells a focal length, which may stay
/// with a part, and where it tells none, as copies of messengers and screens do. Assumed; with 0.03 to 0.3 for the one nothing changes, with 0.3
/// and 0.7 for the other the tilts of parts are wrong by 4.1 and 3.6° (rms of 108) where 0.5 gives 3.8°.
const PARTS: [f64; 2] = [0.1, 0.5];
/// Log of how much longer a part's focal length is: the far side of a normal density about 0 of this standard deviation, at the middles of
/// steps. Assumed: a third of the parts are less than 1.4 times smaller, a tenth more than 3.7 times.
const PART: f64 = 0.8;
const PART_STEP: f64 = 0.15;
const PART_STEPS: u32 = 16;
/// Standard uncertainty of a part's principal point, share of the longer side, for each time that the focal length is longer than the usual one
/// less one: a part of half the size from anywhere in the whole has 0.29 (rectangular), and a dial is rather in the middle.
const PART_MIDDLE: f64 = 0.2;

/// What a camera makes of a plane's map: log of the ratio of its axes' lengths, cosine of their angle, direction of the camera (x/z, y/z),
/// nearness 1/z.
type Seen = SVector<f64, 5>;

/// One supposed camera.
struct Supposed {
    log_focal: f64,
    /// Log of how likely the map is with it, but for a constant.
    weight: f64,
    /// Principal point from the picture's centre, px.
    middle: Vector2<f64>,
    direction: Vector2<f64>,
    nearness: f64,
    covariance: Matrix2<f64>,
}

impl PlaneView {
    /// From the plane's map to a photo of so many px, known but for independent small maps on the plane's side, one sigma each. `focal_ratio`:
    /// as EXIF tells it, see [`Camera::of_picture`].
    pub fn new<A, B>(size: (usize, usize), focal_ratio: Option<f64>, plane: &Homography<A, B>, shifts: &[Homography<A, A>]) -> Self {
        let usual = Camera::of_picture(size.0, size.1, focal_ratio);
        let longer = size.0.max(size.1) as f64;
        let priors = priors(focal_ratio.is_some());
        let at = |(log, share, middle): (f64, f64, f64)| supposed(&usual, (log, share, middle * longer), plane, shifts);
        let all: Vec<Supposed> = priors.into_iter().filter_map(at).filter(|s| s.weight.is_finite()).collect();
        Self::mixed(&usual, &all).unwrap_or_else(|| Self { camera: usual, centre: camera_centre(plane, &usual), direction: Matrix2::zeros() })
    }
    /// Tilt of the view, degrees; 0 where it is not known.
    pub fn tilt_degrees(&self) -> f64 {
        self.centre.map_or(0.0, |c| tilt_degrees(&c))
    }
    /// Mean and covariance of a mixture.
    fn mixed(usual: &Camera, all: &[Supposed]) -> Option<Self> {
        let top = all.iter().map(|s| s.weight).reduce(f64::max)?;
        let weights: Vec<f64> = all.iter().map(|s| (s.weight - top).exp()).collect();
        let total: f64 = weights.iter().sum();
        let mean = |of: &dyn Fn(&Supposed) -> f64| all.iter().zip(&weights).map(|(s, w)| w * of(s)).sum::<f64>() / total;
        let direction = Vector2::new(mean(&|s| s.direction.x), mean(&|s| s.direction.y));
        let off = |s: &Supposed| s.covariance + (s.direction - direction) * (s.direction - direction).transpose();
        let z = mean(&|s| s.nearness).recip();
        let middle = Vector2::new(mean(&|s| s.middle.x), mean(&|s| s.middle.y));
        Some(Self {
            camera: Camera { focal: usual.focal * mean(&|s| s.log_focal).exp(), centre: usual.centre + middle },
            centre: Some(Vector3::new(direction.x * z, direction.y * z, z)),
            direction: Matrix2::from_fn(|i, j| mean(&|s| off(s)[(i, j)])),
        })
    }
}

/// Supposed logs of the focal length over the usual one, their shares, and the standard uncertainty of the principal point, longer sides.
fn priors(told: bool) -> Vec<(f64, f64, f64)> {
    let (whole, parts) = if told { (WHOLE[0], PARTS[0]) } else { (WHOLE[1], PARTS[1]) };
    // a normal density by three points (Gauss and Hermite)
    let of_whole = [(-1.0, 1.0 / 6.0), (0.0, 2.0 / 3.0), (1.0, 1.0 / 6.0)];
    let of_whole = of_whole.map(|(at, share)| (at * 3f64.sqrt() * whole, share * (1.0 - parts), WHOLE_MIDDLE));
    let logs = (0..PART_STEPS).map(|i| PART_STEP * (f64::from(i) + 0.5));
    let density = |log: f64| (-0.5 * (log / PART).powi(2)).exp();
    let total: f64 = logs.clone().map(density).sum();
    let of_parts = logs.map(|log| (log, parts * density(log) / total, PART_MIDDLE * log.exp_m1() + WHOLE_MIDDLE));
    of_whole.into_iter().chain(of_parts).collect()
}

/// What follows of a plane's map for one supposed focal length, linearly: unknown are the principal point (to `middle` px) and the map.
fn supposed<A, B>(
    usual: &Camera,
    (log_focal, share, middle): (f64, f64, f64),
    plane: &Homography<A, B>,
    shifts: &[Homography<A, A>],
) -> Option<Supposed> {
    let camera = Camera { focal: usual.focal * log_focal.exp(), centre: usual.centre };
    let here = seen(&camera, plane)?;
    // a step that is small for the perspective, and then as far as the principal point may lie
    let step = 0.01 * camera.focal;
    let aside = |by: Vector2<f64>| Some((seen(&Camera { centre: camera.centre + by, ..camera }, plane)? - here) * (middle / step));
    let (right, down) = (aside(Vector2::new(step, 0.0))?, aside(Vector2::new(0.0, step))?);
    let shifted = shifts.iter().map(|s| Some(seen(&camera, &(*plane * *s))? - here)).collect::<Option<Vec<_>>>()?;
    let columns: Vec<Seen> = [right, down].into_iter().chain(shifted).collect();
    let joint: SMatrix<f64, 5, 5> = columns.iter().map(|c| c * c.transpose()).sum();
    // the axes and the usual direction are observed, and the direction and the nearness follow
    let noise = Matrix4::from_diagonal(&Vector4::new(AXES, AXES, DIRECTION, DIRECTION).map(|s| s * s));
    let observed: Matrix4<f64> = joint.fixed_view::<4, 4>(0, 0) + noise;
    let inverse = observed.try_inverse()?;
    let off = here.fixed_rows::<4>(0).into_owned();
    let pull = -(inverse * off);
    let told = joint.fixed_view::<3, 4>(2, 0).into_owned();
    let follows = here.fixed_rows::<3>(2) + told * pull;
    let covariance = joint.fixed_view::<3, 3>(2, 2) - told * inverse * told.transpose();
    let moved = |column: &Seen| middle * column.fixed_rows::<4>(0).dot(&pull);
    Some(Supposed {
        log_focal,
        weight: share.ln() - 0.5 * (off.dot(&(inverse * off)) + observed.determinant().ln()),
        middle: Vector2::new(moved(&right), moved(&down)),
        direction: follows.xy(),
        // no nearer than a camera can come
        nearness: follows.z.clamp(0.2 * here[4], 5.0 * here[4]),
        covariance: covariance.fixed_view::<2, 2>(0, 0).into_owned(),
    })
}

fn seen<A, B>(camera: &Camera, plane: &Homography<A, B>) -> Option<Seen> {
    let (ratio, angle) = camera.skew(plane)?;
    let c = camera_centre(plane, camera)?;
    let seen = Seen::from([ratio, angle, c.x / c.z, c.y / c.z, 1.0 / c.z]);
    (c.z > 0.0 && seen.iter().all(|v| v.is_finite())).then_some(seen)
}
