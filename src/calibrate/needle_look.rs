//! The needle's look, learned from the reference photo: where it lies, its colour against the paper, its outline and tail.
use super::strip::{Sheet, Strip};
use crate::dial::{NeedleLook, Stand};
use crate::maths::angle::wrap;
use crate::maths::robust::{high_median, median, ranked};
use crate::register::face::LineFrame;
use nalgebra::{Matrix3, Vector3};

/// A line shorter than this that begins further out than [`FAR_OUT`] may be a tick or a numeral, units. Of the thirteen such lines that
/// were learned in 76 photographed and rendered dials some are ticks, others needles whose outer part alone stands out.
const SHORT: f64 = 0.3;
/// See [`SHORT`].
const FAR_OUT: f64 = 0.5;
/// A mark that begins further out than [`FAR_OUT`] and is not so many times as long as wide is no line: a numeral, a stain. The needles of 76
/// photographed and rendered dials have 3.7 and more, what was taken for one 1.5 to 1.7; one line in doubt has 2.5.
const LINE: f64 = 2.0;

/// Learns the needle. `low..high`: angles of the scale's ends (degrees clockwise from up, low < high numerically). The strongest line that
/// is no tick by its outline; where there is none, the strongest line. Where that looks like a shadow and a coloured line lies beside it, that line;
/// where it has no outline at all, the next that is no tick.
pub fn learn(sheet: &Sheet, low: f64, high: f64) -> Option<NeedleLook> {
    let lines = search(sheet, low, high, &Matrix3::identity());
    let strongest = along(sheet, *lines.first()?);
    let mut looks = lines[1..].iter().filter_map(|line| along(sheet, *line));
    // a shadow that the needle half covers has no outline
    let Some(first) = strongest else { return looks.find(|l| !short(l)) };
    if !short(&first) {
        return Some(needle_beside(sheet, low, high, &first).unwrap_or(first));
    }
    let least = LEAST * contrast(&first).norm();
    looks.find(|l| !short(l) && contrast(l).norm() >= least).or(Some(first).filter(is_line))
}

fn short(look: &NeedleLook) -> bool {
    look.span[0] > FAR_OUT && look.span[1] - look.span[0] < SHORT
}

fn contrast(look: &NeedleLook) -> Vector3<f64> {
    Vector3::from(look.contrast)
}

/// A shadow takes the same share of the paper's red, green and blue: what it takes lies along the paper's colour but for this share of it. In
/// 46 dials of 21 photographs the one shadow that was learned has 0.05, darker needles with a hue have 0.7 to 1, black and grey hands up to
/// 0.56: those stay unless a coloured line lies beside them.
const SHADE: f64 = 0.2;
/// A needle and its shadow point within this of one another, degrees.
const SHADOW_TURNED: f64 = 30.0;
/// And lie this far apart somewhere along them, units: nearer ones are two colours of one needle.
const SHADOW_APART: f64 = 0.06;
/// And the shadow passes the pivot so much further aside, units: 0.043 in the one photograph.
const SHADOW_ASIDE: f64 = 0.02;

/// The coloured line beside what may be its shadow, by what a shadow cannot do: change the paper's hue. `None` where `shadow` takes
/// not all colours alike, or no such line is there. A needle comes from the pivot and its shadow from beside it, so that a red limit line beside
/// a black needle is not taken for one.
///
/// In low sun or under a lamp a needle's shadow on a light face is a stronger step than a red needle.
fn needle_beside(sheet: &Sheet, low: f64, high: f64, shadow: &NeedleLook) -> Option<NeedleLook> {
    let (step, paper) = (contrast(shadow), sheet.paper(0.4, 0.8).try_normalize(1.0)?);
    let hue = Matrix3::identity() - paper * paper.transpose();
    if step.dot(&paper) > 0.0 || (hue * step).norm() > SHADE * step.norm() {
        return None;
    }
    let beside = |l: &NeedleLook| {
        let (a, b) = (LineFrame::new(shadow.angle, shadow.offset), LineFrame::new(l.angle, l.offset));
        let aside = shadow.offset.abs() > l.offset.abs() + SHADOW_ASIDE;
        aside && wrap(l.angle - shadow.angle).abs() < SHADOW_TURNED && a.beside(&b, l.span) > SHADOW_APART
    };
    let mut lines = search(sheet, low, high, &hue).into_iter().filter_map(|line| along(sheet, line));
    lines.find(|l| !short(l) && (hue * contrast(l)).norm() >= LEAST * step.norm() && beside(l))
}

/// Whether a mark far out is longer than wide.
fn is_line(look: &NeedleLook) -> bool {
    let [from, to] = look.span;
    let widths: Vec<f64> = look.half_width.iter().zip(&look.radii).filter(|(_, r)| (from..=to).contains(*r)).map(|(w, _)| *w).collect();
    median(&widths).is_some_and(|w| to - from > LINE * 2.0 * w)
}

/// Learns the needle that lies along a line (angle, offset).
fn along(sheet: &Sheet, (mut angle, mut offset): (f64, f64)) -> Option<NeedleLook> {
    let (k, start) = (sheet.k, offset);
    let mut colour = Vector3::zeros();
    for _ in 0..6 {
        let strip = Strip::cut(sheet, angle, offset, k);
        colour = strip.core_colour(0.45, 0.8)?;
        let (d_angle, d_offset) = strip.symmetry(&colour, 0.35, 0.84)?;
        angle += d_angle.clamp(-1.0, 1.0);
        offset = (offset + d_offset.clamp(-0.02, 0.02)).clamp(start - 0.04, start + 0.04);
    }
    let strip = Strip::cut(sheet, angle, offset, k);
    let (half_width, span) = outline(&strip, &colour)?;
    Some(NeedleLook {
        angle,
        offset,
        tail_shift: strip.tail_shift(&colour, &half_width),
        half_width,
        radii: strip.s.clone(),
        span,
        contrast: [colour.x, colour.y, colour.z],
        axis: colour_axis(&colour),
        stand: Stand::default(),
    })
}

/// Most lines that are looked at.
const LINES: usize = 4;
/// Least step of one of them against the strongest.
const LEAST: f64 = 0.4;

/// Directions and offsets at which most of a radial line shows one colour step against both flanks, strongest first, 12° apart. `part`: what
/// of a step counts.
fn search(sheet: &Sheet, low: f64, high: f64, part: &Matrix3<f64>) -> Vec<(f64, f64)> {
    let s: Vec<f64> = (0..28).map(|i| 0.42 + 0.44 * i as f64 / 27.0).collect();
    let mut lines: Vec<(f64, f64, f64)> = Vec::new();
    let mut a = low - 12.0;
    while a <= high + 12.0 {
        let mut best = (f64::MIN, a, 0.0);
        for d in -10..=10 {
            let offset = d as f64 * 0.005;
            let score = step_score(sheet, a, offset, &s, part) * (1.0 - 4.0 * offset.abs());
            if score > best.0 {
                best = (score, a, offset);
            }
        }
        lines.push(best);
        a += 0.5;
    }
    lines.sort_by(|a, b| b.0.total_cmp(&a.0));
    let strongest = lines.first().map_or(0.0, |l| l.0);
    let mut out: Vec<(f64, f64)> = Vec::new();
    for (_, angle, offset) in lines.into_iter().take_while(|l| l.0 > 6.0 && l.0 >= LEAST * strongest) {
        if out.len() < LINES && out.iter().all(|o| wrap(o.0 - angle).abs() > 12.0) {
            out.push((angle, offset));
        }
    }
    out
}

fn step_score(sheet: &Sheet, angle: f64, offset: f64, s: &[f64], part: &Matrix3<f64>) -> f64 {
    let flank = 0.072;
    let mut quarters = Vec::new();
    for q in s.chunks(s.len() / 4) {
        let mut sum = Vector3::zeros();
        for &s in q {
            let c = sheet.at(angle, s, offset);
            sum += c - 0.5 * (sheet.at(angle, s, offset - flank) + sheet.at(angle, s, offset + flank));
        }
        quarters.push(part * sum / q.len() as f64);
    }
    Vector3::from_fn(|c, _| {
        let rank = |k: usize| ranked(quarters.iter().map(|q: &Vector3<f64>| q[c]), |_| k).unwrap_or(0.0);
        0.5 * (rank(1) + rank(2))
    })
    .norm()
}

/// Half width at each radius, and the span of the needle proper.
fn outline(strip: &Strip, colour: &Vector3<f64>) -> Option<(Vec<f64>, [f64; 2])> {
    let alpha = strip.symmetric_alpha(colour);
    let good: Vec<bool> = alpha.iter().map(|row| strip.mean(row, 0.0, 0.012) > 0.5 && strip.mean(row, 0.1, 0.16) < 0.35).collect();
    let runs = runs(&good);
    let main = runs.iter().filter(|r| strip.s[r.1] > 0.3).max_by_key(|r| r.1 - r.0)?;
    let (s0, s1) = (strip.s[main.0], strip.s[main.1]);
    let mut hw: Vec<f64> = alpha.iter().map(|row| strip.half_width(row)).collect();
    let inside: Vec<f64> = hw[main.0..=main.1].iter().copied().filter(|v| v.is_finite()).collect();
    if inside.len() < 10 || s1 - s0 < 0.12 {
        return None;
    }
    let typical = high_median(inside)?;
    let mut keep = vec![false; strip.s.len()];
    for (i, s) in strip.s.iter().enumerate() {
        keep[i] = *s >= s0 + 0.015 && *s <= s1 + 0.05;
    }
    for r in tail(&runs, strip, s0) {
        if high_median(hw[r.0..=r.1].iter().copied().filter(|v| v.is_finite())).is_some_and(|w| w < 3.0 * typical) {
            keep.iter_mut().enumerate().for_each(|(i, k)| *k |= strip.s[i] >= strip.s[r.0] - 0.02 && strip.s[i] <= strip.s[r.1] - 0.01);
        }
    }
    let limit = (2.2 * typical).clamp(0.03, 0.1);
    for (w, k) in hw.iter_mut().zip(&keep) {
        *w = if *k && w.is_finite() { w.min(limit) } else { 0.0 };
    }
    Some((smooth(&hw), [s0, s1]))
}

/// Most that may hide a tail between two pieces of it, or between it and the hub, units.
const HIDDEN: f64 = 0.06;

/// The pieces of the tail: it comes out of the hub, which lies about the pivot, and goes on from there. What stands apart is a letter.
fn tail(runs: &[(usize, usize)], strip: &Strip, hub: f64) -> Vec<(usize, usize)> {
    let mut from = -hub - HIDDEN;
    let mut out = Vec::new();
    for r in runs.iter().rev().filter(|r| strip.s[r.1] < -0.05 && strip.s[r.0] > -0.58 && r.1 - r.0 > (0.025 * strip.k) as usize) {
        if strip.s[r.1] < from {
            break;
        }
        out.push(*r);
        from = strip.s[r.0] - HIDDEN;
    }
    out
}

/// Runs of true: (first, last).
fn runs(good: &[bool]) -> Vec<(usize, usize)> {
    let mut out = Vec::new();
    let mut start = None;
    for i in 0..=good.len() {
        match (good.get(i).copied().unwrap_or(false), start) {
            (true, None) => start = Some(i),
            (false, Some(s)) => {
                out.push((s, i - 1));
                start = None;
            }
            _ => {}
        }
    }
    out
}

/// Median of 9 then mean of 5 inside each run of positive widths.
fn smooth(hw: &[f64]) -> Vec<f64> {
    let mut out = hw.to_vec();
    for (a, b) in runs(&hw.iter().map(|w| *w > 0.0).collect::<Vec<_>>()) {
        let window = |v: &[f64], i: usize, r: usize| v[i.saturating_sub(r).max(a)..=(i + r).min(b)].to_vec();
        let median: Vec<f64> = (0..hw.len())
            .map(|i| {
                if i < a || i > b {
                    return 0.0;
                }
                high_median(window(hw, i, 4)).unwrap_or(0.0)
            })
            .collect();
        for (i, o) in out.iter_mut().enumerate().take(b + 1).skip(a) {
            let w = window(&median, i, 2);
            *o = w.iter().sum::<f64>() / w.len() as f64;
        }
    }
    out
}

/// Weights that give 1 on the needle's step and suppress shade (grey changes) and noise.
fn colour_axis(colour: &Vector3<f64>) -> [f64; 3] {
    let size = colour.norm();
    let grey = Vector3::repeat(1.0 / 3f64.sqrt());
    let spread = Matrix3::identity() * ((0.12 * size).powi(2) + 9.0) + grey * grey.transpose() * (0.15 * size).powi(2);
    let u = spread.try_inverse().map_or(*colour, |m| m * colour);
    let axis = u / u.dot(colour);
    [axis.x, axis.y, axis.z]
}
