//! Whether the numerals and words in the photo are the dial's own: a dial of the same family has the same ticks and other numbers.
//!
//! Print in one piece (a numeral, a word) is an emblem. Each is compared by itself, on a grid of the straight-on face: where its
//! ink should be and is not (missing), and where there is ink that it does not have (extra). Glare, shade and a hand do one of the
//! two; another numeral does both.
use super::face::{Canonical, FaceModel};
use super::pyramid::{Level, Pyramid};
use super::registration::Registration;
use super::samples::bounds;
use super::template::blurred;
use crate::base::pose::{mean_scale, project};
use crate::photo::Plane;
use image::{GrayImage, Luma};
use imageproc::region_labelling::{Connectivity, connected_components};
use nalgebra::Matrix3;

/// Finest grid, px per unit.
const FINEST: f64 = 170.0;
/// Pieces of print nearer than this (units) belong to one emblem.
const JOIN: f64 = 0.022;
/// Round an emblem this much of the face (units) is looked at.
const AROUND: f64 = 0.035;
/// Noise above this share of an emblem's contrast, it cannot be made out.
const FAINT: f64 = 0.14;
/// Radii (units) between which a scale has its ticks.
const RING: std::ops::Range<f64> = 0.8..1.06;
/// Longest side of an emblem, units: a ring or a zone is none.
const LARGEST: f64 = 0.75;

/// One emblem of the face: its pixels on the grid of [`Emblems`].
#[derive(Clone, Debug)]
struct Emblem {
    pixels: Vec<usize>,
    /// Stretches about as long as a letter is high, along the line of writing, as places in `pixels`; more than one in a numeral of several
    /// digits.
    letters: Vec<Vec<usize>>,
}

/// What one emblem shows in a photo: of a numeral of several digits the digit that differs most, since one digit makes another number.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Seen {
    /// Share of its ink that is not there.
    pub missing: f64,
    /// Ink that it does not have, as a share of its own.
    pub extra: f64,
}

/// The emblems of a face.
#[derive(Clone, Debug)]
pub struct Emblems {
    face: Canonical,
    emblems: Vec<Emblem>,
    extent: f64,
    own_blur: f64,
}

impl Seen {
    /// What it differs in both senses.
    pub fn difference(&self) -> f64 {
        self.missing.min(self.extra)
    }
    /// Whether something else stands here: much differs, and in both senses.
    ///
    /// Measured on numerals and words of photos of their own dials: of 708 in 110 renderings with reflections, shade and blur 99 % have
    /// less than 0.005 of the lesser of the two, and three are taken for others, never two in a photo. Strong blur alone makes two of 0.02.
    pub fn is_other(&self) -> bool {
        self.missing + self.extra > 0.2 && self.difference() > 0.02
    }
}

impl Emblems {
    /// Finds the emblems of a face.
    pub fn new(face: &FaceModel) -> Self {
        let k = face.dial.face.scale.min(FINEST);
        let extent = (face.dial.face.print_radius).min(1.5);
        let canonical = face.canonical(k, extent);
        let emblems = pieces(face, &canonical, extent);
        Self { face: canonical, emblems, extent, own_blur: face.resampling_blur(k) }
    }
    /// Compares the emblems that can be made out; `hidden` names dial points where something else stands (the needle).
    pub fn compare(&self, pyramid: &Pyramid, r: &Registration, hidden: impl Fn(f64, f64) -> bool) -> Vec<Seen> {
        let Some(grid) = self.grid(pyramid, r) else { return Vec::new() };
        self.emblems.iter().filter_map(|e| self.look(e, &grid, r.gain, &hidden)).collect()
    }
    /// The photo smoothed to the grid, and the reference blurred as the photo is and smoothed the same.
    fn grid(&self, pyramid: &Pyramid, r: &Registration) -> Option<Grid> {
        let k = self.face.k;
        let Level { map, plane } = pyramid.at(&r.homography, self.extent, k);
        let h = map * r.homography;
        let [x0, y0, x1, y1] = bounds(&h, self.extent, (plane.width, plane.height))?;
        let here = mean_scale(&h);
        let k2 = k * k;
        let soft = (0.007 * k).max(0.45 * k / here).max(0.6);
        let own = (soft * soft - self.own_blur).max(0.0);
        let reference = blurred(&self.face.plane, [r.blur[0] * k2 + own, -r.blur[1] * k2, r.blur[2] * k2 + own]);
        let sigma = (soft * here / k).max(0.3);
        let shift = Matrix3::new(1.0, 0.0, -(x0 as f64), 0.0, 1.0, -(y0 as f64), 0.0, 0.0, 1.0);
        // white noise of standard deviation s has s / (2 sqrt(pi) sigma) left after a Gaussian of sigma
        let noise = r.noise * (0.28 / sigma).min(1.0);
        Some(Grid { reference, photo: plane.crop(x0, y0, x1 - x0 + 1, y1 - y0 + 1).gaussian(sigma), h: shift * h, noise })
    }
    fn look(&self, emblem: &Emblem, grid: &Grid, gain: f64, hidden: &impl Fn(f64, f64) -> bool) -> Option<Seen> {
        let n = self.face.plane.width;
        let at = |&i: &usize| {
            let (x, y) = self.face.dial(i % n, i / n);
            let q = project(&grid.h, x, y);
            let photo = if hidden(x, y) { None } else { grid.photo.bilinear(q.x, q.y) };
            photo.map(|p| (grid.reference.data[i] as f64, p as f64))
        };
        let levels: Vec<Option<(f64, f64)>> = emblem.pixels.iter().map(at).collect();
        let found: Vec<(f64, f64)> = levels.iter().flatten().copied().collect();
        if 3 * found.len() <= 2 * levels.len() {
            return None;
        }
        let ink = Ink::new(&found, gain, grid.noise)?;
        let whole = ink.seen(found.iter())?;
        let letters = emblem.letters.iter().filter_map(|l| ink.seen(l.iter().filter_map(|&i| levels[i].as_ref())));
        Some(letters.fold(whole, |a, b| if b.difference() > a.difference() { b } else { a }))
    }
}

/// A photo and the reference ready to be compared place by place.
struct Grid {
    reference: Plane,
    photo: Plane,
    /// Dial plane to px of `photo`.
    h: Matrix3<f64>,
    /// Noise of a level of `photo`.
    noise: f64,
}

/// How ink is told from paper in one emblem.
struct Ink {
    paper: f64,
    contrast: f64,
    bare: f64,
    full: f64,
}

impl Ink {
    /// From the (reference, photo) levels of an emblem; `None` when it cannot be made out.
    fn new(v: &[(f64, f64)], gain: f64, noise: f64) -> Option<Self> {
        let paper = rank(v.iter().map(|p| p.0), 0.5)?;
        let far = rank(v.iter().map(|p| (p.0 - paper).abs()), 0.96)?;
        if noise > FAINT * gain * far {
            return None;
        }
        let lean: f64 = v.iter().map(|p| ((p.0 - paper) / far).powi(3)).sum();
        let contrast = if lean < 0.0 { -far } else { far };
        let bare = rank(v.iter().filter(|p| (p.0 - paper) / contrast < 0.25).map(|p| p.1), 0.5)?;
        // strength of the ink here against the whole face's: shade changes it, another numeral does not
        let strength = rank(v.iter().map(|p| (p.1 - bare) / (gain * contrast)), 0.96)?.clamp(0.5, 1.6);
        Some(Self { paper, contrast, bare, full: strength * gain * contrast })
    }
    /// What some of its places show; `None` where there is no ink to compare.
    fn seen<'a>(&self, places: impl Iterator<Item = &'a (f64, f64)>) -> Option<Seen> {
        let (mut ink, mut missing, mut extra) = (0.0, 0.0, 0.0);
        for p in places {
            let (own, found) = ((p.0 - self.paper) / self.contrast, (p.1 - self.bare) / self.full);
            ink += f64::from(u8::from(own > 0.6));
            missing += f64::from(u8::from(own > 0.6 && found < 0.35));
            extra += f64::from(u8::from(own < 0.3 && found > 0.62));
        }
        (ink > 0.0).then(|| Seen { missing: missing / ink, extra: extra / ink })
    }
}

/// The value at a share of the sorted values.
fn rank(values: impl Iterator<Item = f64>, share: f64) -> Option<f64> {
    let mut v: Vec<f64> = values.collect();
    let at = (v.len().checked_sub(1)? as f64 * share) as usize;
    Some(*v.select_nth_unstable_by(at, f64::total_cmp).1)
}

/// Connected print, joined over small gaps, each with the face round it.
fn pieces(face: &FaceModel, canonical: &Canonical, extent: f64) -> Vec<Emblem> {
    let n = canonical.plane.width;
    let needle = face.reference_needle();
    let usable: Vec<bool> = (0..n * n)
        .map(|i| {
            let (x, y) = canonical.dial(i % n, i / n);
            x * x + y * y < extent * extent && face.votes(x, y, &needle)
        })
        .collect();
    let flat = canonical.plane.gaussian(0.09 * canonical.k);
    let mut off: Vec<f32> = canonical.plane.data.iter().zip(&flat.data).map(|(a, b)| (a - b).abs()).collect();
    let mut sorted: Vec<f32> = off.iter().zip(&usable).filter(|(_, u)| **u).map(|(o, _)| *o).collect();
    if sorted.is_empty() {
        return Vec::new();
    }
    // print may be a small part of a bare face; grain is not print
    let mut rank = |share: usize| {
        let at = (sorted.len() - 1) * share / 1000;
        *sorted.select_nth_unstable_by(at, f32::total_cmp).1
    };
    let ink = (0.4 * rank(998)).max(8.0 * rank(500));
    off.iter_mut().zip(&usable).for_each(|(o, u)| *o = if *u { *o } else { 0.0 });
    let mut is_ink: Vec<bool> = off.iter().map(|o| *o > ink).collect();
    let (label, mut found) = joined(&mut is_ink, canonical);
    let on_ring = |i: &usize| {
        RING.contains(&{
            let (x, y) = canonical.dial(i % n, i / n);
            x.hypot(y)
        })
    };
    found.iter_mut().filter(|p| p.len() < 9 || is_bar(p, n)).for_each(Vec::clear);
    let most = found.iter().map(Vec::len).max().unwrap_or(0);
    // beside the numerals what is small and lies among the ticks is ticks, whole or in part
    found.iter_mut().filter(|p| 2 * p.len() < most && p.iter().all(on_ring)).for_each(Vec::clear);
    let wide = (AROUND * canonical.k).max(2.0);
    (0..found.len())
        .filter(|&l| !found[l].is_empty())
        .map(|l| {
            let mut own = vec![false; n * n];
            found[l].iter().for_each(|&i| own[i] = true);
            let near = grown(&own, n, wide);
            // print of other pieces does not belong
            let rows = found[l].iter().fold((n, 0), |b, i| (b.0.min(i / n), b.1.max(i / n)));
            let (from, to) = (rows.0.saturating_sub(wide.ceil() as usize), (rows.1 + wide.ceil() as usize + 1).min(n));
            let pixels: Vec<usize> = (from * n..to * n).filter(|&i| near[i] && usable[i] && (label[i] == 0 || label[i] == l + 1)).collect();
            Emblem { letters: letters(&found[l], &pixels, n), pixels }
        })
        .collect()
}

/// Print joined over small gaps: for each place the number of its piece (0: none, or one that is too large), and the ink of each piece.
///
/// Numerals that stand close to their ticks and to each other would make one piece round the dial; where one becomes too large its
/// parts are joined over smaller gaps.
fn joined(ink: &mut [bool], canonical: &Canonical) -> (Vec<usize>, Vec<Vec<usize>>) {
    let n = canonical.plane.width;
    let (mut piece, mut found) = (vec![0; n * n], Vec::new());
    for gap in [JOIN, JOIN / 2.0, 0.0] {
        if !ink.contains(&true) {
            break;
        }
        let label = components(&grown(ink, n, (gap * canonical.k).max(1.0)), n);
        let mut parts: Vec<Vec<usize>> = vec![Vec::new(); label.iter().max().map_or(0, |m| m + 1)];
        (0..n * n).filter(|&i| ink[i]).for_each(|i| parts[label[i]].push(i));
        let small = |p: &Vec<usize>| !p.is_empty() && side(p, n) as f64 <= LARGEST * canonical.k;
        let number: Vec<usize> = parts
            .iter()
            .scan(found.len(), |k, p| {
                Some(if small(p) {
                    *k += 1;
                    *k
                } else {
                    0
                })
            })
            .collect();
        piece.iter_mut().zip(&label).filter(|(p, _)| **p == 0).for_each(|(p, l)| *p = number[*l]);
        for p in parts.into_iter().filter(small) {
            p.iter().for_each(|&i| ink[i] = false);
            found.push(p);
        }
    }
    (piece, found)
}

/// Cuts an emblem along its longer direction into stretches as long as its ink is high, each overlapping the next by half: from the outer
/// side of the first pixel to that of the last. None where one stretch would hold it all.
fn letters(ink: &[usize], pixels: &[usize], n: usize) -> Vec<Vec<usize>> {
    let (centre, direction) = axis(ink, n);
    let along = |i: &usize| ((i % n) as f64 - centre.0) * direction.0 + ((i / n) as f64 - centre.1) * direction.1;
    let across = |i: &usize| ((i / n) as f64 - centre.1) * direction.0 - ((i % n) as f64 - centre.0) * direction.1;
    let span = |of: &dyn Fn(&usize) -> f64| ink.iter().map(of).fold((f64::MAX, f64::MIN), |b, v| (b.0.min(v), b.1.max(v)));
    let ((a, b), (c, d)) = (span(&along), span(&across));
    // a pixel is one long
    let (long, high) = (b - a + 1.0, d - c + 1.0);
    let count = (2.0 * long / high - 1.0).round();
    if count < 2.0 {
        return Vec::new();
    }
    let step = (long - high) / (count - 1.0);
    let stretch = |k: usize| {
        let from = a - 0.5 + step * k as f64;
        (0..pixels.len()).filter(|&p| (from..from + high).contains(&along(&pixels[p]))).collect()
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

/// Whether pixels fill a rectangle: a tick says nothing of the numbers. A filled one has the area 12 √det(second moments).
fn is_bar(pixels: &[usize], n: usize) -> bool {
    let (_, [xx, xy, yy]) = moments(pixels, n);
    // a pixel has an extent of its own: 1/12
    let own = 1.0 / 12.0;
    pixels.len() as f64 > 0.78 * 12.0 * ((xx + own) * (yy + own) - xy * xy).max(0.0).sqrt()
}

/// Places within `reach` px of a set one.
fn grown(set: &[bool], n: usize, reach: f64) -> Vec<bool> {
    let mut out = set.to_vec();
    let r = reach.ceil() as i64;
    let disc = (-r..=r).flat_map(|a| (-r..=r).map(move |b| (a, b)));
    let disc: Vec<(i64, i64)> = disc.filter(|(a, b)| (a * a + b * b) as f64 <= reach * reach).collect();
    // what lies within reach of an inner place lies within reach of one at the rim too
    let inner = |i: usize| {
        let (x, y) = (i % n, i / n);
        x > 0 && y > 0 && x + 1 < n && y + 1 < n && set[i - 1] && set[i + 1] && set[i - n] && set[i + n]
    };
    for i in (0..set.len()).filter(|&i| set[i] && !inner(i)) {
        let (x, y) = ((i % n) as i64, (i / n) as i64);
        for (dx, dy) in &disc {
            let (u, v) = (x + dx, y + dy);
            if (0..n as i64).contains(&u) && (0..n as i64).contains(&v) {
                out[v as usize * n + u as usize] = true;
            }
        }
    }
    out
}

/// Labels connected places from 1 on; 0 elsewhere.
fn components(set: &[bool], n: usize) -> Vec<usize> {
    let picture = GrayImage::from_fn(n as u32, n as u32, |x, y| Luma([u8::from(set[y as usize * n + x as usize])]));
    let labels = connected_components(&picture, Connectivity::Four, Luma([0]));
    labels.pixels().map(|p| p.0[0] as usize).collect()
}

#[cfg(test)]
mod tests {
    use super::letters;

    /// By hand: 30 long and 10 high are five stretches of 10, five apart, from the first pixel to the last.
    #[test]
    fn stretches_reach_from_the_first_pixel_to_the_last() {
        let n = 100;
        let block: Vec<usize> = (40..50).flat_map(|y| (20..50).map(move |x| y * n + x)).collect();
        let columns: Vec<(usize, usize)> = letters(&block, &block, n)
            .iter()
            .map(|s| {
                let x = |p: &usize| block[*p] % n;
                assert_eq!(s.len(), 100);
                (s.iter().map(x).min().unwrap(), s.iter().map(x).max().unwrap())
            })
            .collect();
        assert_eq!(columns, [(20, 29), (25, 34), (30, 39), (35, 44), (40, 49)]);
        // as long as high: one stretch would be all of it
        let square: Vec<usize> = block.iter().copied().filter(|i| i % n < 30).collect();
        assert!(letters(&square, &square, n).is_empty());
    }
}
