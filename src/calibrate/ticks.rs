//! Printed ticks of the scale: found as radial strokes in a polar picture, located to a fraction of a pixel.
use super::dots;
use super::polar::{Polar, Stroke, bounds};
use super::tick::{TICK_END, Tick};
use super::tick_line;
use crate::maths::angle::run;
use crate::maths::homography::Homography;
use crate::maths::point::DialPoint;
use crate::maths::robust::high_median;
use crate::photo::Plane;

/// Finds the ticks of the ring on which the clicked marks (dial points in the frame of `h`) lie.
/// `h`: dial plane to photo px; `scale`: px per unit.
pub fn find<P>(luma: &Plane, h: &Homography<DialPoint, P>, scale: f64, clicks: &[(f64, f64)]) -> Vec<Tick> {
    find_within(luma, h, scale, clicks, BEYOND)
}

/// The same with ticks up to `beyond` degrees outside the first and the last mark.
pub fn find_within<P>(luma: &Plane, h: &Homography<DialPoint, P>, scale: f64, clicks: &[(f64, f64)], beyond: f64) -> Vec<Tick> {
    found((luma, h, scale), clicks, beyond, &|t| sharpen(luma, t))
}

/// As [`find`], the centre lines as the ring shows them: to some tenths of a pixel, for a small part of the work.
pub fn find_roughly<P>(luma: &Plane, h: &Homography<DialPoint, P>, scale: f64, clicks: &[(f64, f64)]) -> Vec<Tick> {
    found((luma, h, scale), clicks, BEYOND, &|t| t)
}

fn found<P>(
    (luma, h, scale): (&Plane, &Homography<DialPoint, P>, f64),
    clicks: &[(f64, f64)],
    beyond: f64,
    finish: &dyn Fn(Tick) -> Tick,
) -> Vec<Tick> {
    let ring = Polar::unwrap(luma, h, scale);
    let over = |window: f64| find_over(h, ring.above_face(window), clicks, beyond);
    let finished = |ticks: Vec<Tick>| -> Vec<Tick> { ticks.into_iter().map(finish).collect() };
    let wide = |t: &Tick| (2.0 * t.half_width / scale).to_degrees();
    let mut ticks = finished(over(WINDOW));
    if high_median(ticks.iter().map(wide)).is_some_and(|w| w > WINDOW / 3.0) {
        ticks = finished(over(2.0 * WINDOW));
    }
    // marks wider than half the window were taken for the face, or the edges of dots for ticks; entries on no mark must not find some by
    // looking harder
    let wider = over(4.0 * WINDOW);
    let on = clicked(&wider, clicks);
    let better = on.iter().all(|t| t.is_dot()) || on.len() > clicked(&ticks, clicks).len();
    if 4 * on.len() >= 3 * clicks.len() && better && wider.len() >= ticks.len() { finished(wider) } else { ticks }
}

/// Degrees over which the middle level is the face's; twice as many where the ticks are wide (wedges, bold bars): else the level of
/// their wide end is taken for the face's, and they seem to end before it. Four times as many where more marks are found so: dots may be wider.
const WINDOW: f64 = 6.0;

/// The ticks of a ring above the face's level.
fn find_over<P>(h: &Homography<DialPoint, P>, mut polar: Polar, clicks: &[(f64, f64)], beyond: f64) -> Vec<Tick> {
    let Some(level) = polar.polarise(clicks) else { return Vec::new() };
    let strokes = strokes(&polar, 0.45 * level);
    let ticks: Vec<Tick> =
        strokes.iter().filter_map(|s| locate(&polar, s, level, h).or_else(|| dots::locate(&polar, s, level, h))).collect();
    on_ring(ticks, clicks).into_iter().filter(|t| on_scale(t.angle, clicks, beyond)).collect()
}

/// The same tick with its centre line fitted to the photo's own pixels, where that succeeds.
fn sharpen(luma: &Plane, tick: Tick) -> Tick {
    if tick.is_dot() {
        return tick;
    }
    match tick_line::refine(luma, tick.line, tick.half_width) {
        Some(l) => Tick { line: l.line, sigma: l.sigma, sigma_angle: l.sigma_angle, half_width: l.half_width, ..tick },
        None => tick,
    }
}

fn strokes(p: &Polar, threshold: f32) -> Vec<Stroke> {
    let mut seen = vec![false; p.rows * p.columns];
    let mut out = Vec::new();
    for r in 0..p.rows {
        for c in 0..p.columns {
            if seen[r * p.columns + c] || p.ridge[r * p.columns + c] < threshold {
                continue;
            }
            let mut stack = vec![(r, c as i64)];
            let mut stroke = Vec::new();
            seen[r * p.columns + c] = true;
            while let Some((r, c)) = stack.pop() {
                stroke.push((r, c));
                for (dr, dc) in [(-1i64, 0i64), (1, 0), (0, -1), (0, 1)] {
                    let (nr, nc) = (r as i64 + dr, c + dc);
                    if nr < 0 || nr >= p.rows as i64 {
                        continue;
                    }
                    let i = nr as usize * p.columns + nc.rem_euclid(p.columns as i64) as usize;
                    if !seen[i] && p.ridge[i] >= threshold {
                        seen[i] = true;
                        stack.push((nr as usize, nc));
                    }
                }
            }
            if stroke.len() >= 12 {
                out.push(stroke);
            }
        }
    }
    out
}

/// Fits the centre line and the ends of a radial stroke; `None` when it is none.
fn locate<P>(p: &Polar, stroke: &Stroke, level: f32, h: &Homography<DialPoint, P>) -> Option<Tick> {
    let ([r0, r1], [c0, c1]) = bounds(stroke)?;
    let length = (r1 - r0 + 1) as f64 * p.dr;
    let width = p.angle((c1 - c0 + 1) as f64).to_radians() * p.radius(r1 as f64);
    if r0 == 0 || r1 + 1 >= p.rows || r1 - r0 < 5 || length < 0.018 || width > 0.9 * length.max(0.03) {
        return None;
    }
    let margin = 4;
    let trim = ((r1 - r0) / 6).clamp(1, 3);
    let mut pts = Vec::new();
    for r in r0 + trim..=r1 - trim {
        let (mut s, mut sc) = (0f64, 0f64);
        for c in c0 - margin..=c1 + margin {
            let v = (p.at(r, c) - 0.15 * level).clamp(0.0, 2.0 * level) as f64;
            s += v;
            sc += v * c as f64;
        }
        if s > 0.0 {
            pts.push((p.radius(r as f64), sc / s));
        }
    }
    let (a, b, sd) = robust_line(&pts)?;
    let angle_at = |r: f64| p.angle(a + b * r);
    let centre = |r: usize| a + b * p.radius(r as f64);
    let outer = end(p, r1, 1, &centre, level)?;
    let inner = end(p, r0, -1, &centre, level)?;
    let photo = |r: f64| {
        let (s, c) = angle_at(r).to_radians().sin_cos();
        h.at(r * s, r * c)
    };
    let (ra, rb) = (pts.first()?.0, pts.last()?.0);
    let mid = 0.5 * (ra + rb);
    let px = p.angle(sd).to_radians() * mid * (photo(mid) - photo(mid - 0.05)).norm() / 0.05;
    let sigma = px.max(0.05) * (3.0 / pts.len() as f64).sqrt();
    let line = [photo(ra), photo(rb)];
    let sigma_angle = sigma * 12f64.sqrt() / (line[1] - line[0]).norm().max(1.0);
    let half_width = 0.5 * p.angle((c1 - c0 + 1) as f64).to_radians() * mid * (photo(mid) - photo(mid - 0.05)).norm() / 0.05;
    Some(Tick {
        line,
        sigma,
        sigma_angle,
        half_width,
        outer: photo(outer),
        inner: photo(inner),
        radii: [outer, inner],
        angle: angle_at(mid),
        sigma_end: TICK_END,
    })
}

/// Line through (x, y) with weights that drop outliers; intercept, slope and robust scatter.
fn robust_line(pts: &[(f64, f64)]) -> Option<(f64, f64, f64)> {
    if pts.len() < 4 {
        return None;
    }
    let mut w = vec![1.0; pts.len()];
    let (mut a, mut b, mut sd) = (0f64, 0f64, 0f64);
    for _ in 0..5 {
        let sw: f64 = w.iter().sum();
        let mx = pts.iter().zip(&w).map(|(p, w)| w * p.0).sum::<f64>() / sw;
        let my = pts.iter().zip(&w).map(|(p, w)| w * p.1).sum::<f64>() / sw;
        let sxx = pts.iter().zip(&w).map(|(p, w)| w * (p.0 - mx).powi(2)).sum::<f64>();
        b = pts.iter().zip(&w).map(|(p, w)| w * (p.0 - mx) * (p.1 - my)).sum::<f64>() / sxx.max(1e-12);
        a = my - b * mx;
        let e: Vec<f64> = pts.iter().map(|p| (p.1 - a - b * p.0).abs()).collect();
        w = e.iter().map(|e| 1.0 / (1.0 + (e / (2.0 * sd.max(0.05))).powi(2))).collect();
        sd = 1.4826 * high_median(e).unwrap_or(0.0);
    }
    Some((a, b, sd))
}

/// Radius at which the stroke falls to half its own height beyond `row`, going `dir`.
fn end(p: &Polar, row: usize, dir: i64, centre: &impl Fn(usize) -> f64, level: f32) -> Option<f64> {
    let value = |r: i64| {
        let c = centre(r as usize).round() as i64;
        (-1..=1).map(|d| p.at(r as usize, c + d)).sum::<f32>() / 3.0
    };
    let inside: Vec<f32> = (2..6).map(|i| row as i64 - dir * i).filter(|r| *r >= 0 && *r < p.rows as i64).map(value).collect();
    let top = inside.iter().fold(0f32, |a, &b| a.max(b)).min(1.5 * level);
    let mut r = row as i64 - 3 * dir;
    for _ in 0..14 {
        let next = r + dir;
        if next < 0 || next >= p.rows as i64 {
            return None;
        }
        let (a, b) = (value(r), value(next));
        if b < 0.5 * top {
            let f = ((a - 0.5 * top) / (a - b).max(1e-6)).clamp(0.0, 1.0) as f64;
            return Some(p.radius(r as f64 + dir as f64 * f));
        }
        r = next;
    }
    None
}

/// The tick that a click lies on, or nearly: a numeral's stroke may stand at the same angle.
fn nearest(ticks: &[Tick], (x, y): (f64, f64)) -> Option<&Tick> {
    let (a, r) = (x.atan2(y).to_degrees(), x.hypot(y));
    let on = ticks.iter().filter(|t| r > t.radii[1] - 0.04 && r < t.radii[0] + 0.04 && off(t.angle, a) < 2.0);
    on.min_by(|p, q| off(p.angle, a).total_cmp(&off(q.angle, a)))
}

/// The ticks that clicks lie on.
fn clicked<'a>(ticks: &'a [Tick], clicks: &[(f64, f64)]) -> Vec<&'a Tick> {
    clicks.iter().filter_map(|c| nearest(ticks, *c)).collect()
}

/// Keeps the strokes that end (outside or inside) where the clicked ones do.
fn on_ring(ticks: Vec<Tick>, clicks: &[(f64, f64)]) -> Vec<Tick> {
    let near = clicked(&ticks, clicks);
    if near.len() < clicks.len().min(2) {
        return Vec::new();
    }
    let end = |i: usize| high_median(near.iter().map(|t| t.radii[i]));
    let (Some(outer), Some(inner)) = (end(0), end(1)) else { return Vec::new() };
    ticks
        .into_iter()
        .filter(|t| (t.radii[0] - outer).abs() < 0.03 || (t.radii[1] - inner).abs() < 0.02 && t.radii[0] > inner + 0.02)
        .collect()
}

/// Degrees beyond the first and the last mark at which ticks may still belong to the scale.
const BEYOND: f64 = 6.0;

/// Whether a direction lies on the swept part of the dial: letters elsewhere have strokes that end where ticks do. Two marks do not
/// tell which way round the scale goes.
fn on_scale(angle: f64, clicks: &[(f64, f64)], beyond: f64) -> bool {
    if clicks.len() < 3 {
        return true;
    }
    let raw: Vec<f64> = clicks.iter().map(|(x, y)| x.atan2(*y).to_degrees()).collect();
    let swept = run(&raw);
    let (a, b) = (swept[0], swept[swept.len() - 1]);
    off(angle, 0.5 * (a + b)) < 0.5 * (b - a).abs() + beyond
}

fn off(a: f64, b: f64) -> f64 {
    crate::maths::angle::wrap(a - b).abs()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn strokes_of_letters_beside_the_scale_are_no_ticks() {
        let at = |deg: f64| (deg.to_radians().sin(), deg.to_radians().cos());
        let across_the_bottom = [130.0, 180.0, 230.0].map(at);
        let over_the_top = [50.0, 0.0, -50.0].map(at);
        assert!([126.0, 180.0, -128.0].into_iter().all(|a| on_scale(a, &across_the_bottom, BEYOND)));
        assert!([41.5, -2.0, -90.0].into_iter().all(|a| !on_scale(a, &across_the_bottom, BEYOND)));
        assert!([55.0, 10.0, -54.0].into_iter().all(|a| on_scale(a, &over_the_top, BEYOND)));
        assert!([152.5, 90.0, -70.0].into_iter().all(|a| !on_scale(a, &over_the_top, BEYOND)));
        // two marks do not tell which way round the scale goes
        assert!(on_scale(170.0, &over_the_top[..2], BEYOND));
    }
}
