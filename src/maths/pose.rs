//! Camera pose of a plane: from a tilted plane to its homography and back (pinhole camera, square pixels).
use super::homography::{Homography, PlaneInPhoto};
use nalgebra::{Matrix3, Rotation3, Vector2, Vector3};

/// A pinhole camera: focal length and principal point in px.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Camera {
    /// Focal length, px.
    pub focal: f64,
    /// Principal point, px.
    pub centre: Vector2<f64>,
}

impl Camera {
    /// A camera whose principal point is the centre of a picture of this size. `focal_ratio` is the focal length over the
    /// longer side; without one 28/36 is taken, the usual main lens of a phone (common practice, not a standard).
    pub fn of_picture(width: usize, height: usize, focal_ratio: Option<f64>) -> Self {
        let longer = width.max(height) as f64;
        let centre = Vector2::new((width as f64 - 1.0) / 2.0, (height as f64 - 1.0) / 2.0);
        Self { focal: focal_ratio.unwrap_or(28.0 / 36.0) * longer, centre }
    }
    /// How far the axes of a plane with this map are from equal lengths (log of their ratio) and from a right angle (cosine of theirs).
    pub fn skew<A, B>(&self, plane: &Homography<A, B>) -> Option<(f64, f64)> {
        let b = self.matrix().try_inverse()? * plane.matrix();
        let (x, y) = (b.column(0), b.column(1));
        Some(((x.norm() / y.norm()).ln(), x.dot(&y) / (x.norm() * y.norm())))
    }
    /// The calibration matrix K.
    pub fn matrix(&self) -> Matrix3<f64> {
        Matrix3::new(self.focal, 0.0, self.centre.x, 0.0, self.focal, self.centre.y, 0.0, 0.0, 1.0)
    }
}

/// The pose of a plane seen without roll: rotation vector (rx, ry, 0), image of its origin, and px per unit there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlanePose {
    /// Rotation about the camera's x axis, radians.
    pub rx: f64,
    /// Rotation about the camera's y axis, radians.
    pub ry: f64,
    /// Image of the origin, px.
    pub origin: Vector2<f64>,
    /// px per unit at the origin (before foreshortening).
    pub scale: f64,
}

impl PlanePose {
    fn rotation(&self) -> Matrix3<f64> {
        let r = Rotation3::new(Vector3::new(self.rx, self.ry, 0.0)).into_inner();
        r * Matrix3::from_diagonal(&Vector3::new(1.0, -1.0, -1.0)) // the plane's y is up, its normal faces the camera
    }
    fn translation(&self, camera: &Camera) -> Vector3<f64> {
        let z = camera.focal / self.scale;
        let d = (self.origin - camera.centre) / camera.focal * z;
        Vector3::new(d.x, d.y, z)
    }
    /// Plane (x right, y up) to photo px.
    pub fn homography(&self, camera: &Camera) -> PlaneInPhoto {
        let r = self.rotation();
        let pose = Matrix3::from_columns(&[r.column(0).into_owned(), r.column(1).into_owned(), self.translation(camera)]);
        PlaneInPhoto::new(camera.matrix() * pose)
    }
    /// Photo px of the point that stands `height` units above the origin, towards the camera.
    pub fn above_origin(&self, camera: &Camera, height: f64) -> Vector2<f64> {
        let p = self.translation(camera) + self.rotation() * Vector3::new(0.0, 0.0, height);
        Vector2::new(p.x / p.z * camera.focal, p.y / p.z * camera.focal) + camera.centre
    }
}

/// Camera centre in the plane's frame (units of the plane, z towards the camera) from the plane-to-photo homography.
/// `None` when the homography is not that of a plane before a camera.
pub fn camera_centre<A, B>(h: &Homography<A, B>, camera: &Camera) -> Option<Vector3<f64>> {
    let mut b = camera.matrix().try_inverse()? * h.matrix();
    if b[(2, 2)] < 0.0 {
        b = -b;
    }
    let l = 0.5 * (b.column(0).norm() + b.column(1).norm());
    if !(l.is_finite() && l > 0.0) {
        return None;
    }
    let svd = nalgebra::SVD::new(b.fixed_columns::<2>(0) / l, true, true);
    let r2 = svd.u? * svd.v_t?;
    let (c0, c1) = (r2.column(0).into_owned(), r2.column(1).into_owned());
    let r = Matrix3::from_columns(&[c0, c1, c0.cross(&c1)]);
    let c = -r.transpose() * (b.column(2) / l);
    c.iter().all(|v| v.is_finite()).then_some(c)
}

/// A camera's centre that is known and more than twice `height` above the plane: nearer ones tell nothing of what stands so high.
fn far_above(height: f64, centre: Option<Vector3<f64>>) -> Option<Vector3<f64>> {
    centre.filter(|c| c.z > 2.0 * height)
}

/// By how much what stands `height` above a place of the plane seems to lie beside it (x right, y up, units of the plane) from a camera at
/// `centre`, far above: 0 where that is not known, and for a camera no higher than twice that.
pub fn shifted(height: f64, centre: Option<Vector3<f64>>) -> [f64; 2] {
    far_above(height, centre).map_or([0.0; 2], |c| [c.x, c.y].map(|v| -v * height / (c.z - height)))
}

/// By how much [`shifted`] grows with the camera's direction (x/z, y/z), units of the plane; 0 where it is 0.
pub fn shifted_per_direction(height: f64, centre: Option<Vector3<f64>>) -> f64 {
    far_above(height, centre).map_or(0.0, |c| c.z * height / (c.z - height))
}

/// Tilt of the view in degrees: angle between the plane's normal and the direction from its origin to the camera.
pub fn tilt_degrees(centre: &Vector3<f64>) -> f64 {
    centre.x.hypot(centre.y).atan2(centre.z.abs()).to_degrees()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against the projection of a point above the origin.
    #[test]
    fn what_stands_above_the_plane_is_seen_beside_its_place() {
        let camera = Camera::of_picture(1600, 1200, Some(0.8));
        for (rx, ry) in [(0.0, 0.6), (-0.4, 0.2), (0.5, -0.5)] {
            let pose = PlanePose { rx, ry, origin: Vector2::new(500.0, 700.0), scale: 240.0 };
            let plane = pose.homography(&camera);
            let top = pose.above_origin(&camera, 0.2);
            let beside = plane.inverse().unwrap().at(top.x, top.y);
            let [x, y] = shifted(0.2, camera_centre(&plane, &camera));
            assert!((beside - Vector2::new(x, y)).norm() < 1e-9 && beside.norm() > 0.05, "{beside} for {x}, {y}");
        }
        assert_eq!(shifted(0.2, None), [0.0; 2]);
        assert_eq!(shifted(0.2, Some(Vector3::new(1.0, 1.0, 0.3))), [0.0; 2]);
    }
}
