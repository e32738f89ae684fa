//! How a plane was seen: camera and viewing direction, from the plane's map to the photo and what is known of cameras beforehand.
//!
//! A map has eight numbers, the place and direction of a camera six: a plane's axes are at right angles and of equal lengths for some focal
//! lengths and principal points only. Of a whole photo both are known to some per cent; of a part of one, and no photo says whether it is one,
//! the focal length is longer and the principal point is anywhere. So the answer is a mixture: the whole photo, and parts of all sizes, each
//! with its linear Gaussian posterior over principal point and map, weighed by how likely the map is: the axes' fit and the direction's, and the
//! change of measure from direction to map, any place and size in the picture being as likely as another (D. S. Sivia and J. Skilling, Data
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
    /// The camera by the means of log focal length and principal point.
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
pub const AXES: f64 = 0.015;
/// Standard deviation of the direction in which dials are seen, x/z and y/z: 22°. Assumed.
const DIRECTION: f64 = 0.4;
/// Standard uncertainty of the log of a whole photo's focal length, told by EXIF or taken to be the usual one, and of its principal point as a
/// share of the longer side. Assumed: EXIF tells whole millimetres, and phones' main lenses are of 23 to 28 mm.
const WHOLE: [f64; 2] = [TOLD_FOCAL, 0.25];
/// See [`WHOLE`].
pub const TOLD_FOCAL: f64 = 0.05;
/// See [`WHOLE`].
pub const WHOLE_MIDDLE: f64 = 0.01;
/// Share of photos that are parts of larger ones, or by longer lenses than the usual, beforehand: where EXIF tells a focal length, which may stay
/// with a part, and where it tells none, as copies of messengers and screens do. Assumed; a photo that shows no perspective is a part seven times as
/// likely as that, for a long lens shows none of most directions, and with 0.03 for the former a pivot's fault is seen less well
/// (`tests/off_pivot`).
const PARTS: [f64; 2] = [0.01, 0.5];
/// Log of how much longer a part's focal length is: the far side of a normal density about 0 of this standard deviation, at the middles of
/// steps. Assumed: two fifths of the parts are less than 1.5 times smaller, a tenth more than 3.7 times.
const PART: f64 = 0.8;
/// Steps of the log of the focal length; within one it is even (rectangular). A twelfth of a photo's width is the least that is supposed.
const STEP: f64 = 0.1;
const PART_STEPS: u32 = 25;
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
        let at = |p: Prior| supposed(&usual, &Prior { middle: p.middle * longer, ..p }, plane, shifts);
        let all: Vec<Supposed> = priors.into_iter().filter_map(at).filter(|s| s.weight.is_finite()).collect();
        Self::mixed(&usual, &all).unwrap_or_else(|| {
            let centre = camera_centre(plane, &usual).filter(|c| c.z > 0.0);
            Self { camera: usual, centre, direction: Matrix2::identity() * (DIRECTION * DIRECTION) }
        })
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

/// What is supposed beforehand of a camera.
#[derive(Clone, Copy)]
struct Prior {
    /// Log of the focal length over the usual one, and its standard deviation within its step of the mixture.
    log_focal: f64,
    within: f64,
    share: f64,
    /// Standard uncertainty of the principal point in each direction: longer sides, or px.
    middle: f64,
}

/// All that is supposed; `told`: whether EXIF tells the focal length.
fn priors(told: bool) -> Vec<Prior> {
    let (whole, parts) = if told { (WHOLE[0], PARTS[0]) } else { (WHOLE[1], PARTS[1]) };
    let step = STEP.min(whole);
    let far = (2.5 * whole / step).round() as i32;
    let even = |step: f64| step / 12f64.sqrt();
    let of_whole = normal((-far..=far).map(|i| step * f64::from(i)), whole).into_iter();
    let of_whole =
        of_whole.map(|(log_focal, share)| Prior { log_focal, within: even(step), share: (1.0 - parts) * share, middle: WHOLE_MIDDLE });
    let of_parts = normal((0..PART_STEPS).map(|i| STEP * (f64::from(i) + 0.5)), PART).into_iter();
    let middle = |log: f64| WHOLE_MIDDLE + PART_MIDDLE * log.exp_m1();
    let of_parts =
        of_parts.map(|(log_focal, share)| Prior { log_focal, within: even(STEP), share: parts * share, middle: middle(log_focal) });
    of_whole.chain(of_parts).collect()
}

/// Places with the shares that a normal density about 0 gives them.
fn normal(at: impl Iterator<Item = f64>, sigma: f64) -> Vec<(f64, f64)> {
    let all: Vec<(f64, f64)> = at.map(|x| (x, (-0.5 * (x / sigma).powi(2)).exp())).collect();
    let total: f64 = all.iter().map(|a| a.1).sum();
    all.into_iter().map(|(x, density)| (x, density / total)).collect()
}

/// What follows of a plane's map for one supposed focal length, linearly: unknown are the principal point (to `middle` px) and the map.
fn supposed<A, B>(
    usual: &Camera,
    &Prior { log_focal, within, share, middle }: &Prior,
    plane: &Homography<A, B>,
    shifts: &[Homography<A, A>],
) -> Option<Supposed> {
    let camera = Camera { focal: usual.focal * log_focal.exp(), centre: usual.centre };
    let here = seen(&camera, plane)?;
    // a step that is small for the perspective, and then as far as the principal point may lie
    let step = 0.01 * camera.focal;
    let longer = seen(&Camera { focal: camera.focal * (0.01f64).exp(), ..camera }, plane)? - here;
    let aside = |by: Vector2<f64>| Some((seen(&Camera { centre: camera.centre + by, ..camera }, plane)? - here) * (middle / step));
    let (right, down) = (aside(Vector2::new(step, 0.0))?, aside(Vector2::new(0.0, step))?);
    let shifted = shifts.iter().map(|s| Some(seen(&camera, &(*plane * *s))? - here)).collect::<Option<Vec<_>>>()?;
    let columns: Vec<Seen> = [right, down, longer * (within / 0.01)].into_iter().chain(shifted).collect();
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
        // of the map itself: a longer lens makes the same perspective a larger direction, in two dimensions
        weight: share.ln() + 2.0 * log_focal - 0.5 * (off.dot(&(inverse * off)) + observed.determinant().ln()),
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

#[cfg(test)]
mod tests {
    use super::super::point::PhotoPoint;
    use super::super::pose::PlanePose;
    use super::*;
    use rand::rngs::StdRng;
    use rand::{RngExt, SeedableRng};

    const SIZE: (usize, usize) = (1600, 1200);

    /// A plane seen so by a camera of this focal length (over the longer side) whose principal point is so far from the picture's centre
    /// (longer sides).
    fn plane((rx, ry): (f64, f64), focal: f64, middle: Vector2<f64>) -> Homography<PhotoPoint, PhotoPoint> {
        let mut camera = Camera::of_picture(SIZE.0, SIZE.1, Some(focal));
        camera.centre += middle * SIZE.0 as f64;
        let pose = PlanePose { rx, ry, origin: Vector2::new(700.0, 650.0), scale: 400.0 };
        Homography::new(*pose.homography(&camera).matrix())
    }

    /// The true direction: of a camera that is known.
    fn truth((rx, ry): (f64, f64), focal: f64, middle: Vector2<f64>) -> Vector2<f64> {
        let mut camera = Camera::of_picture(SIZE.0, SIZE.1, Some(focal));
        camera.centre += middle * SIZE.0 as f64;
        let c = camera_centre(&plane((rx, ry), focal, middle), &camera).unwrap();
        c.xy() / c.z
    }

    fn tilt(direction: Vector2<f64>) -> f64 {
        direction.norm().atan().to_degrees()
    }

    #[test]
    fn a_part_of_a_photo_tells_its_lens_where_the_plane_is_seen_at_a_slant() {
        for (tilted, focal, middle) in [((0.0, 0.6), 2.4, (0.0, 0.0)), ((0.1, -0.7), 1.7, (0.2, 0.0)), ((-0.5, 0.3), 3.5, (0.3, -0.2))] {
            let middle = Vector2::new(middle.0, middle.1);
            let (h, truth) = (plane(tilted, focal, middle), tilt(truth(tilted, focal, middle)));
            let usual = camera_centre(&h, &Camera::of_picture(SIZE.0, SIZE.1, None)).map_or(f64::NAN, |c| tilt_degrees(&c));
            let seen = PlaneView::new(SIZE, None, &h, &[]);
            let (before, now) = (usual - truth, seen.tilt_degrees() - truth);
            assert!(now.abs() < 2.5 && now.abs() < 0.3 * before.abs(), "{truth:.1}° by {focal}: {before:.1}° off, now {now:.1}°");
        }
    }

    #[test]
    fn a_map_that_is_hardly_known_leaves_the_prior() {
        let shifts: Vec<_> = (0..8).map(|k| Homography::small(std::array::from_fn(|i| if i == k { 0.6 } else { 0.0 }))).collect();
        let seen = PlaneView::new(SIZE, None, &plane((0.3, 0.2), 2.0, Vector2::zeros()), &shifts);
        let prior: f64 = priors(false).iter().map(|p| p.log_focal * p.share).sum();
        let log = (seen.camera.focal / Camera::of_picture(SIZE.0, SIZE.1, None).focal).ln();
        assert!((log - prior).abs() < 0.12, "{log} where the prior has {prior}");
        let doubt = seen.direction.symmetric_eigenvalues();
        assert!(doubt.iter().all(|v| v.sqrt() > 0.6 * DIRECTION && v.sqrt() < 1.3 * DIRECTION), "{doubt}");
    }

    #[test]
    fn a_plane_that_says_nothing_leaves_what_is_usual() {
        let usual = Camera::of_picture(SIZE.0, SIZE.1, Some(0.8));
        let straight = PlaneView::new(SIZE, Some(0.8), &plane((0.01, 0.0), 0.8, Vector2::zeros()), &[]);
        // no perspective is what a long lens shows of most directions: some of the parts' share stays
        assert!((straight.camera.focal / usual.focal).ln().abs() < 0.3, "{}", straight.camera.focal);
        // no plane before a camera
        let none = Homography::<PhotoPoint, PhotoPoint>::new(nalgebra::Matrix3::from_element(f64::NAN));
        let seen = PlaneView::new(SIZE, Some(0.8), &none, &[]);
        assert_eq!((seen.camera, seen.centre), (usual, None));
        assert!(seen.direction[(0, 0)] > 0.1, "what is not known is in doubt: {}", seen.direction);
    }

    /// Direction errors over their covariance (squared Mahalanobis distance, 2 on average) for cameras and directions as the priors have them and maps that are
    /// moved within their own covariance. They are somewhat less uncertain than they seem.
    #[test]
    fn directions_are_as_uncertain_as_they_are_wrong() {
        let mut rng = StdRng::seed_from_u64(31);
        let mut normal = |sigma: f64| sigma * (0..12).map(|_| rng.random_range(-0.5..0.5)).sum::<f64>();
        for told in [true, false] {
            let mut squares = Vec::new();
            for i in 0..300 {
                let (whole, parts) = if told { (WHOLE[0], PARTS[0]) } else { (WHOLE[1], PARTS[1]) };
                let is_part = f64::from(i) < 300.0 * parts;
                let log = if is_part { normal(PART).abs() } else { normal(whole) };
                let wide = WHOLE_MIDDLE + if is_part { PART_MIDDLE * log.exp_m1() } else { 0.0 };
                let (ratio, middle) = (if told { 0.8 } else { 28.0 / 36.0 }, Vector2::new(normal(wide), normal(wide)));
                let (tilted, focal) = ((normal(DIRECTION).atan(), normal(DIRECTION).atan()), ratio * log.exp());
                let shifts = [0.002, 0.004, 0.01, 0.02].map(|s| (0..8).map(|_| normal(s * 0.3)).collect::<Vec<_>>());
                let shifts = shifts.map(|s| std::array::from_fn::<f64, 8, _>(|k| s[k]));
                let mut moved = plane(tilted, focal, middle);
                for s in &shifts {
                    let by = normal(1.0);
                    moved = moved * Homography::small(s.map(|v| by * v));
                }
                let seen = PlaneView::new(SIZE, told.then_some(ratio), &moved, &shifts.map(Homography::small));
                let c = seen.centre.unwrap();
                let off = c.xy() / c.z - truth(tilted, focal, middle);
                squares.push(off.dot(&(seen.direction.try_inverse().unwrap() * off)));
            }
            let mean = squares.iter().sum::<f64>() / squares.len() as f64;
            let within = squares.iter().filter(|s| **s < 5.99).count() as f64 / squares.len() as f64;
            println!("told {told}: mean square {mean:.2}, within 95 % ellipses {within:.3}");
            assert!((1.2..2.6).contains(&mean) && (0.92..0.995).contains(&within), "told {told}: {mean} {within}");
        }
    }
}
