//! Angles in degrees: wrapped, and joined to a run.

/// Wraps degrees into [-180, 180). NaN for infinite or NaN.
pub fn wrap(deg: f64) -> f64 {
    let wrapped = (deg + 180.0).rem_euclid(360.0) - 180.0;
    // The remainder of a tiny negative number rounds up to the whole turn.
    if wrapped >= 180.0 { -180.0 } else { wrapped }
}

/// Turn over which directions (degrees) lie, the widest gap left out.
pub fn swept(mut angles: Vec<f64>) -> f64 {
    angles.sort_by(f64::total_cmp);
    let Some((first, last)) = angles.first().zip(angles.last()) else { return 0.0 };
    let gaps = angles.windows(2).map(|w| w[1] - w[0]).chain([first + 360.0 - last]);
    360.0 - gaps.fold(0.0, f64::max)
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn directions_across_the_bottom_lie_together() {
        assert!((swept(vec![170.0, -170.0, 150.0, 180.0]) - 40.0).abs() < 1e-9);
        assert_eq!((swept(vec![30.0]), swept(Vec::new())), (0.0, 0.0));
    }
}
