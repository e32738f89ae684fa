//! Angles in degrees: wrapped, and joined to a run.

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
