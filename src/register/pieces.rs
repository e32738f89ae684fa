//! Print in one piece (a numeral, a word) on the straight-on face: what [`super::glyphs`] compares.
use super::face::FaceModel;
use super::ink::ink;
use super::mask::keep;
use super::rendering::Canonical;
use crate::dial::Mark;
use crate::maths::angle::wrap;
use image::{GrayImage, Luma};
use imageproc::region_labelling::{Connectivity, connected_components};

/// Pieces of print nearer than this (units) belong to one glyph.
const JOIN: f64 = 0.022;
/// Round a glyph this much of the face (units) is looked at.
const AROUND: f64 = 0.035;
/// Radii (units) between which a scale has its ticks.
const RING: std::ops::Range<f64> = 0.8..1.06;
/// Radii (units) and half of the width at which a mark has most of its tick.
const TICK_PLACE: std::ops::Range<f64> = 0.8..1.08;
const TICK_HALF: f64 = 0.035;
/// Length over width from which a piece may be a bar.
const LONG: f64 = 2.2;
/// Share of its rectangle that a bar fills, and that a dot does.
const BAR: f64 = 0.78;
const DOT: f64 = 0.97;
/// Width of a digit over its height (common practice: 0.5 to 0.75).
const WIDE: f64 = 0.7;
/// Longest side of a glyph, units: a ring or a zone is none.
const LARGEST: f64 = 0.75;

/// A piece of print: pixels of the straight-on face, rising.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Piece {
    /// Its ink.
    pub ink: Vec<usize>,
    /// Its ink and the face round it.
    pub pixels: Vec<usize>,
}

/// Connected print, joined over small gaps, each with the face round it.
pub(super) fn pieces(face: &FaceModel, canonical: &Canonical, extent: f64) -> Vec<Piece> {
    let n = canonical.plane.width;
    let usable = face.voting(canonical, extent);
    let mut is_ink = ink(face, canonical, &usable);
    if let Some(strokes) = face.strokes_on(canonical) {
        keep(&mut is_ink, &strokes);
    }
    remove_ticks(&mut is_ink, face, canonical);
    let (label, mut found) = joined(&mut is_ink, canonical);
    found.iter_mut().filter(|p| p.len() < 9 || is_bar(p, n)).for_each(Vec::clear);
    let most = found.iter().map(Vec::len).max().unwrap_or(0);
    // beside the numerals what is small and lies among the ticks is ticks, whole or in part
    let on_ring = |i: &usize| RING.contains(&radius(canonical, (i % n) as f64, (i / n) as f64));
    found.iter_mut().filter(|p| 2 * p.len() < most && p.iter().all(on_ring)).for_each(Vec::clear);
    let wide = (AROUND * canonical.k).max(2.0);
    (1..)
        .zip(found)
        .filter(|(_, ink)| !ink.is_empty())
        .map(|(number, ink)| {
            let rows = ink.iter().fold((n, 0), |b, i| (b.0.min(i / n), b.1.max(i / n)));
            let (from, to) = (rows.0.saturating_sub(wide.ceil() as usize), (rows.1 + wide.ceil() as usize + 1).min(n));
            let mut own = vec![false; (to - from) * n];
            ink.iter().for_each(|&i| own[i - from * n] = true);
            let near = grown(&own, n, wide);
            // print of other pieces does not belong
            let belongs = |i: usize| usable[i] && (label[i] == 0 || label[i] == number);
            let pixels = (from * n..to * n).filter(|&i| near[i - from * n] && belongs(i)).collect();
            Piece { ink, pixels }
        })
        .collect()
}

/// Ticks belong to no numeral, whether they touch it or not: bars among the ticks, and what lies where a mark has its tick.
fn remove_ticks(ink: &mut [bool], face: &FaceModel, canonical: &Canonical) {
    let n = canonical.plane.width;
    let is_tick = |p: &Vec<usize>| {
        let (x, y) = moments(p, n).0;
        is_bar(p, n) && RING.contains(&radius(canonical, x, y))
    };
    for tick in parts(&components(ink, n), |i| ink[i]).iter().filter(|p| is_tick(p)) {
        tick.iter().for_each(|&i| ink[i] = false);
    }
    let at_mark = |i: usize| {
        let (x, y) = canonical.dial(i % n, i / n);
        let beside = |m: &Mark| wrap(x.atan2(y).to_degrees() - m.angle).to_radians().abs() * x.hypot(y);
        TICK_PLACE.contains(&x.hypot(y)) && face.dial.marks.iter().any(|m| beside(m) < TICK_HALF)
    };
    ink.iter_mut().enumerate().filter(|(i, ink)| **ink && at_mark(*i)).for_each(|(_, ink)| *ink = false);
}

/// Distance of a pixel from the pivot, units.
fn radius(canonical: &Canonical, x: f64, y: f64) -> f64 {
    (x - canonical.centre()).hypot(y - canonical.centre()) / canonical.k
}

/// Print joined over small gaps: for each place the number of its piece (0: none, or one that is too large), and the ink of each piece.
///
/// Numerals that stand close to their ticks and to each other would make one piece round the dial; where one becomes too large its
/// parts are joined over smaller gaps.
fn joined(ink: &mut [bool], canonical: &Canonical) -> (Vec<u32>, Vec<Vec<usize>>) {
    let n = canonical.plane.width;
    let (mut piece, mut found) = (vec![0; n * n], Vec::<Vec<usize>>::new());
    for gap in [JOIN, JOIN / 2.0, 0.0] {
        if !ink.contains(&true) {
            break;
        }
        let label = components(&grown(ink, n, (gap * canonical.k).max(1.0)), n);
        let parts = parts(&label, |i| ink[i]);
        let small = |p: &Vec<usize>| !p.is_empty() && side(p, n) as f64 <= LARGEST * canonical.k;
        let number: Vec<u32> = parts
            .iter()
            .scan(found.len() as u32, |k, p| {
                Some(if small(p) {
                    *k += 1;
                    *k
                } else {
                    0
                })
            })
            .collect();
        piece.iter_mut().zip(&label).filter(|(p, _)| **p == 0).for_each(|(p, l)| *p = number[*l as usize]);
        for p in parts.into_iter().filter(small) {
            p.iter().for_each(|&i| ink[i] = false);
            found.push(p);
        }
    }
    (piece, found)
}

/// The ink of each label, by its number.
fn parts(label: &[u32], is_ink: impl Fn(usize) -> bool) -> Vec<Vec<usize>> {
    let mut parts: Vec<Vec<usize>> = vec![Vec::new(); label.iter().max().map_or(0, |m| *m as usize + 1)];
    (0..label.len()).filter(|&i| is_ink(i)).for_each(|i| parts[label[i] as usize].push(i));
    parts
}

/// Cuts a glyph along its longer direction into stretches 0.7 of its height long, about a digit's width, each overlapping the next by half: from
/// the outer side of the first pixel to that of the last. A single digit is cut across, into its upper, middle and lower parts.
pub(super) fn letters(ink: &[usize], pixels: &[usize], n: usize) -> Vec<Vec<usize>> {
    let (centre, direction) = axis(ink, n);
    let along = |i: &usize| ((i % n) as f64 - centre.0) * direction.0 + ((i / n) as f64 - centre.1) * direction.1;
    let across = |i: &usize| ((i / n) as f64 - centre.1) * direction.0 - ((i % n) as f64 - centre.0) * direction.1;
    let span = |of: &dyn Fn(&usize) -> f64| ink.iter().map(of).fold((f64::MAX, f64::MIN), |b, v| (b.0.min(v), b.1.max(v)));
    let ((a, b), (c, d)) = (span(&along), span(&across));
    // a pixel is one long
    let (long, wide) = (b - a + 1.0, WIDE * (d - c + 1.0));
    let count = (2.0 * long / wide - 1.0).round();
    if count < 2.0 {
        return Vec::new();
    }
    let step = (long - wide) / (count - 1.0);
    let stretch = |k: usize| {
        let from = a - 0.5 + step * k as f64;
        (0..pixels.len()).filter(|&p| (from..from + wide).contains(&along(&pixels[p]))).collect()
    };
    (0..count as usize).map(stretch).collect()
}

/// Middle of some pixels, and their second moments about it: xx, xy, yy.
fn moments(pixels: &[usize], n: usize) -> ((f64, f64), [f64; 3]) {
    let count = pixels.len() as f64;
    let (mx, my) = pixels.iter().fold((0.0, 0.0), |m, i| (m.0 + (i % n) as f64 / count, m.1 + (i / n) as f64 / count));
    let second = pixels.iter().fold([0.0; 3], |[xx, xy, yy], i| {
        let (dx, dy) = ((i % n) as f64 - mx, (i / n) as f64 - my);
        [xx + dx * dx / count, xy + dx * dy / count, yy + dy * dy / count]
    });
    ((mx, my), second)
}

/// Middle of some pixels and the direction in which they spread most.
fn axis(pixels: &[usize], n: usize) -> ((f64, f64), (f64, f64)) {
    let (middle, [xx, xy, yy]) = moments(pixels, n);
    let (s, c) = (0.5 * f64::atan2(2.0 * xy, xx - yy)).sin_cos();
    (middle, (c, s))
}

/// Longer side of the box round some pixels.
fn side(pixels: &[usize], n: usize) -> usize {
    let span = |v: &mut dyn Iterator<Item = usize>| v.fold((usize::MAX, 0), |b, c| (b.0.min(c), b.1.max(c)));
    let (a, b) = (span(&mut pixels.iter().map(|i| i % n)), span(&mut pixels.iter().map(|i| i / n)));
    if pixels.is_empty() { 0 } else { (a.1 - a.0).max(b.1 - b.0) + 1 }
}

/// Whether pixels are a bar or a dot: a tick says nothing of the numbers. A filled rectangle has the area 12 √det(second moments), a filled
/// ellipse 1.047 times that; a numeral is less filled, or not as long.
fn is_bar(pixels: &[usize], n: usize) -> bool {
    let (_, [xx, xy, yy]) = moments(pixels, n);
    // a pixel has an extent of its own: 1/12
    let own = 1.0 / 12.0;
    let (xx, yy) = (xx + own, yy + own);
    let filled = pixels.len() as f64 / (12.0 * (xx * yy - xy * xy).max(0.0).sqrt());
    let (half, apart) = (0.5 * (xx + yy), (0.5 * (xx - yy)).hypot(xy));
    let is_long = half + apart > LONG * LONG * (half - apart);
    filled > if is_long { BAR } else { DOT }
}

/// Places within `reach` px of a set one; rows of `n`.
fn grown(set: &[bool], n: usize, reach: f64) -> Vec<bool> {
    let rows = set.len() / n;
    let mut out = set.to_vec();
    let r = reach.ceil() as i64;
    let disc = (-r..=r).flat_map(|a| (-r..=r).map(move |b| (a, b)));
    let disc: Vec<(i64, i64)> = disc.filter(|(a, b)| (a * a + b * b) as f64 <= reach * reach).collect();
    // what lies within reach of an inner place lies within reach of one at the rim too
    let inner = |i: usize| {
        let (x, y) = (i % n, i / n);
        x > 0 && y > 0 && x + 1 < n && y + 1 < rows && set[i - 1] && set[i + 1] && set[i - n] && set[i + n]
    };
    for i in (0..set.len()).filter(|&i| set[i] && !inner(i)) {
        let (x, y) = ((i % n) as i64, (i / n) as i64);
        for (dx, dy) in &disc {
            let (u, v) = (x + dx, y + dy);
            if (0..n as i64).contains(&u) && (0..rows as i64).contains(&v) {
                out[v as usize * n + u as usize] = true;
            }
        }
    }
    out
}

/// Labels connected places from 1 on; 0 elsewhere.
fn components(set: &[bool], n: usize) -> Vec<u32> {
    let picture = GrayImage::from_fn(n as u32, n as u32, |x, y| Luma([u8::from(set[y as usize * n + x as usize])]));
    connected_components(&picture, Connectivity::Four, Luma([0])).into_raw()
}

#[cfg(test)]
mod tests {
    use super::{is_bar, letters};

    /// Drawn by hand on 100 px a row: ticks at any turn and dots are bars, digits are none (an eight whose holes a blur has shut passes for a dot).
    #[test]
    fn ticks_and_dots_are_bars_and_digits_are_none() {
        let draw = |of: &dyn Fn(f64, f64) -> bool| -> Vec<usize> {
            (0..100 * 100).filter(|i| of((i % 100) as f64 - 50.0, (i / 100) as f64 - 50.0)).collect()
        };
        for degrees in [0.0, 20.0, 45.0, 70.0_f64] {
            let (s, c) = degrees.to_radians().sin_cos();
            let tick = draw(&|x, y| (x * c + y * s).abs() < 12.0 && (y * c - x * s).abs() < 4.0);
            assert!(is_bar(&tick, 100), "{degrees}");
        }
        assert!(is_bar(&draw(&|x, y| x.hypot(y) < 7.0), 100));
        // a ring, as of a nought; two strokes, as of a seven or a one with its serif
        let ring = |x: f64, y: f64| (4.0..9.0).contains(&(0.7 * y).hypot(x));
        let seven = |x: f64, y: f64| y.abs() < 12.0 && x.abs() < 7.0 && (y < -8.0 || (x - 4.0 + 0.4 * y).abs() < 2.5);
        for (name, digit) in [("nought", draw(&ring)), ("seven", draw(&seven))] {
            assert!(!is_bar(&digit, 100), "{name}");
        }
    }

    /// By hand: 42 long and 20 high are five stretches of 14, seven apart, from the first pixel to the last.
    #[test]
    fn stretches_reach_from_the_first_pixel_to_the_last() {
        let n = 100;
        let block: Vec<usize> = (40..60).flat_map(|y| (20..62).map(move |x| y * n + x)).collect();
        let columns: Vec<(usize, usize)> = letters(&block, &block, n)
            .iter()
            .map(|s| {
                let x = |p: &usize| block[*p] % n;
                assert_eq!(s.len(), 280);
                (s.iter().map(x).min().unwrap(), s.iter().map(x).max().unwrap())
            })
            .collect();
        assert_eq!(columns, [(20, 33), (27, 40), (34, 47), (41, 54), (48, 61)]);
        // hardly longer than high: two, which share what lies in the middle
        let two: Vec<usize> = block.iter().copied().filter(|i| i % n < 44).collect();
        assert_eq!(letters(&two, &two, n).iter().map(Vec::len).collect::<Vec<_>>(), [280, 280]);
    }
}
