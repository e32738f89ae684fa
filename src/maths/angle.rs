//! Needle angles: one zero, one turn direction, one way to wrap.
use super::point::DialPoint;

/// A direction on the dial in degrees clockwise from straight up (12 o'clock = 0, 3 o'clock = 90).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Angle(f64);

impl Angle {
    /// From degrees clockwise from straight up; not wrapped.
    pub fn from_degrees(deg: f64) -> Self {
        Self(deg)
    }
    /// Direction of the vector (x right, y up), in (-180, 180].
    pub fn of_direction(x: f64, y: f64) -> Self {
        Self(x.atan2(y).to_degrees())
    }
    /// Degrees, as held.
    pub fn degrees(self) -> f64 {
        self.0
    }
    /// Unit vector of the direction in the dial frame (x right, y up).
    pub fn direction(self) -> DialPoint {
        let (s, c) = self.0.to_radians().sin_cos();
        DialPoint::new(s, c)
    }
    /// The equal direction nearest to `other` (differs from it by at most 180 degrees).
    pub fn near(self, other: Self) -> Self {
        Self(other.0 + wrap(self.0 - other.0))
    }
}

/// Wraps degrees into [-180, 180). NaN for infinite or NaN.
pub fn wrap(deg: f64) -> f64 {
    let wrapped = (deg + 180.0).rem_euclid(360.0) - 180.0;
    // The remainder of a tiny negative number rounds up to the whole turn.
    if wrapped >= 180.0 { -180.0 } else { wrapped }
}

/// Unwraps angles (degrees) into one monotone run, the way round that sweeps less.
pub fn run(raw: &[f64]) -> Vec<f64> {
    let Some(&first) = raw.first() else { return Vec::new() };
    let go = |sign: f64| {
        let mut out = vec![first];
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
