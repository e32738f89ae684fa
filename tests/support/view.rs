//! A pinhole camera before the dial. Photo frame: pixel (0,0) is the centre of the top-left pixel, x right, y down.
//! Dial frame: origin at the pivot on the face, unit = radius of the marks' circle, x right, y up, z towards the viewer.
use nalgebra::{Matrix3, Rotation3, Unit, Vector2, Vector3};

/// Where the camera is.
#[derive(Clone, Copy, Debug)]
pub struct View {
    /// Picture size, px.
    pub size: (usize, usize),
    /// px per dial unit at the pivot.
    pub radius: f64,
    /// Where the pivot is seen, px from the picture's centre (x right, y down).
    pub off: (f64, f64),
    /// Angle between the face's normal and the optical axis, degrees.
    pub tilt: f64,
    /// From which side of the dial the camera looks, degrees clockwise from up.
    pub azimuth: f64,
    /// The dial turned clockwise in the picture, degrees.
    pub roll: f64,
    /// Focal length over the longer side of the picture.
    pub focal: f64,
    /// Whether the photo tells its focal length.
    pub tells_focal: bool,
}

impl View {
    /// Straight on and upright, the dial in the middle; a phone's main lens.
    pub fn straight(width: usize, height: usize, radius: f64) -> Self {
        let (off, focal) = ((0.0, 0.0), 28.0 / 36.0);
        Self { size: (width, height), radius, off, tilt: 0.0, azimuth: 0.0, roll: 0.0, focal, tells_focal: true }
    }
    pub fn tilted(self, tilt: f64, azimuth: f64) -> Self {
        Self { tilt, azimuth, ..self }
    }
    pub fn rolled(self, roll: f64) -> Self {
        Self { roll, ..self }
    }
    pub fn at(self, x: f64, y: f64) -> Self {
        Self { off: (x, y), ..self }
    }
    fn focal_px(&self) -> f64 {
        self.focal * self.size.0.max(self.size.1) as f64
    }
    fn centre(&self) -> Vector2<f64> {
        Vector2::new((self.size.0 as f64 - 1.0) / 2.0, (self.size.1 as f64 - 1.0) / 2.0)
    }
    /// Dial to camera (x right, y down, z forward).
    fn rotation(&self) -> Matrix3<f64> {
        let azimuth = self.azimuth.to_radians();
        // turns the direction of the camera (sin az, cos az) sin tilt + z cos tilt onto z
        let axis = Unit::new_normalize(Vector3::new(azimuth.cos(), -azimuth.sin(), 0.0));
        let tilt = Rotation3::from_axis_angle(&axis, self.tilt.to_radians()).into_inner();
        let roll = Rotation3::from_axis_angle(&Vector3::z_axis(), self.roll.to_radians()).into_inner();
        roll * Matrix3::from_diagonal(&Vector3::new(1.0, -1.0, -1.0)) * tilt
    }
    fn translation(&self) -> Vector3<f64> {
        let f = self.focal_px();
        Vector3::new(self.off.0 / f, self.off.1 / f, 1.0) * (f / self.radius)
    }
    /// Where the camera stands in the dial frame.
    pub fn camera(&self) -> Vector3<f64> {
        -(self.rotation().transpose() * self.translation())
    }
    /// Plane at `height` above the face to photo px.
    pub fn plane(&self, height: f64) -> Matrix3<f64> {
        let (r, f, c) = (self.rotation(), self.focal_px(), self.centre());
        let k = Matrix3::new(f, 0.0, c.x, 0.0, f, c.y, 0.0, 0.0, 1.0);
        let origin = self.translation() + r.column(2) * height;
        k * Matrix3::from_columns(&[r.column(0).into_owned(), r.column(1).into_owned(), origin])
    }
    /// Photo px of a point of the face.
    pub fn px(&self, x: f64, y: f64) -> Vector2<f64> {
        apply(&self.plane(0.0), x, y)
    }
}

/// Applies a homography.
pub fn apply(h: &Matrix3<f64>, x: f64, y: f64) -> Vector2<f64> {
    let p = h * Vector3::new(x, y, 1.0);
    Vector2::new(p.x / p.z, p.y / p.z)
}
