//! Matches of features and the homographies that many of them agree on.
use super::criteria::SearchCriteria;
use super::features::ViewFeature;
use super::features::{Feature, LENGTH};
use crate::maths::homography::{Homography, PlaneInWork, WorkPoint};
use crate::maths::point::DialPoint;
use nalgebra::{DMatrix, DVector, Vector2};
use rayon::prelude::*;

/// A match between the dial plane and the photo.
#[derive(Clone, Debug)]
struct Match {
    dial: Vector2<f64>,
    photo: Vector2<f64>,
    /// Best distance over second best: small is distinct.
    ratio: f32,
    proposal: PlaneInWork,
}

/// A proposed place of the dial and the number of distinct matches that agree.
#[derive(Clone, Debug)]
pub struct Proposal {
    /// Dial plane to px of the picture that has the features.
    pub homography: PlaneInWork,
    /// Distinct agreeing matches.
    pub support: usize,
}

/// Most promising places of the dial, best first, different from each other.
pub fn propose(reference: &[ViewFeature], photo: &[Feature], most: usize, criteria: &SearchCriteria) -> Vec<Proposal> {
    let matches = matches(reference, photo, criteria.match_ratio);
    let mut proposals: Vec<Proposal> = Vec::new();
    // a match that agrees with a well supported place would only propose that place again
    let mut spent = vec![false; matches.len()];
    for i in 0..matches.len().min(400) {
        if spent[i] {
            continue;
        }
        let Some((p, inliers)) = grow(&matches, i, criteria) else { continue };
        if p.support >= criteria.own_support {
            inliers.iter().for_each(|&j| spent[j] = true);
        }
        if p.support >= criteria.least_support {
            proposals.push(p);
        }
    }
    proposals.sort_by_key(|p| std::cmp::Reverse(p.support));
    let mut out: Vec<Proposal> = Vec::new();
    for p in proposals {
        if !out.iter().any(|q| same_place(&q.homography, &p.homography)) {
            out.push(p);
            if out.len() >= most {
                break;
            }
        }
    }
    out
}

/// Whether two homographies put the dial at nearly the same place.
pub fn same_place<B>(a: &Homography<DialPoint, B>, b: &Homography<DialPoint, B>) -> bool {
    let s = a.local_scale().0;
    [(0.7, 0.0), (-0.7, 0.0), (0.0, 0.7), (0.0, -0.7)].iter().all(|&(x, y)| (a.at(x, y) - b.at(x, y)).norm() < 0.15 * s)
}

/// Products of one descriptor with many, and the largest of them, as work for the processor's widest vectors.
struct Dots<'a> {
    packed: &'a [f32],
    descriptor: &'a [f32],
}

impl pulp::WithSimd for Dots<'_> {
    type Output = (Vec<f32>, f32);
    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) -> (Vec<f32>, f32) {
        let all: Vec<f32> = self.packed.chunks_exact(LENGTH).map(|d| dot(d, self.descriptor)).collect();
        let mut most = [-1f32; 8];
        for eight in all.chunks(8) {
            most.iter_mut().zip(eight).for_each(|(m, v)| *m = if v > m { *v } else { *m });
        }
        (all, most.into_iter().fold(-1.0, f32::max))
    }
}

#[inline(always)]
fn dot(a: &[f32], b: &[f32]) -> f32 {
    // eight running sums, so that the compiler can keep them in vector registers
    let mut s = [0f32; 8];
    for (x, y) in a.chunks_exact(8).zip(b.chunks_exact(8)) {
        for i in 0..8 {
            s[i] += x[i] * y[i];
        }
    }
    s.iter().sum()
}

fn matches(reference: &[ViewFeature], photo: &[Feature], ratio: f32) -> Vec<Match> {
    let packed: Vec<f32> = reference.iter().flat_map(|r| r.descriptor.iter().copied()).collect();
    let arch = pulp::Arch::new();
    let mut all: Vec<Match> = photo
        .par_iter()
        .flat_map_iter(|f| {
            let (sims, most) = arch.dispatch(Dots { packed: &packed, descriptor: &f.descriptor });
            best_two(reference, &sims, most).map(|(i, ratio)| Match {
                dial: reference[i].place,
                photo: Vector2::new(f.x, f.y),
                ratio,
                proposal: f.frame() * reference[i].frame,
            })
        })
        .collect();
    all.retain(|m| m.ratio < ratio);
    all.sort_by(|a, b| a.ratio.total_cmp(&b.ratio));
    all.truncate(1500);
    all
}

/// Index of the best reference feature, whose product is `most`, and its distance over that of the best one elsewhere on the dial.
fn best_two(reference: &[ViewFeature], sims: &[f32], most: f32) -> Option<(usize, f32)> {
    let best = sims.iter().rposition(|&s| s == most)?;
    let mut second = -1f32;
    for (i, &s) in sims.iter().enumerate() {
        if s > second && (reference[i].place - reference[best].place).norm() > 0.06 {
            second = s;
        }
    }
    let d = |s: f32| (2.0 - 2.0 * s).max(1e-6).sqrt();
    Some((best, d(sims[best]) / d(second)))
}

/// From one proposal: the matches that agree with it, a better fit to those, and again.
fn grow(matches: &[Match], from: usize, criteria: &SearchCriteria) -> Option<(Proposal, Vec<usize>)> {
    let (start, anchor) = (matches[from].proposal, matches[from].dial);
    if !plausible(&start, criteria) {
        return None;
    }
    let scale = start.local_scale().0;
    let mut h = start;
    let mut inliers = agreeing(matches, &h, |m| 3.0 + 0.18 * scale * (m.dial - anchor).norm());
    for (round, tolerance) in [0.06, 0.04, 0.03].into_iter().enumerate() {
        if distinct(matches, &inliers) < criteria.least_support {
            return None;
        }
        h = fit(matches, &inliers, round > 0 && inliers.len() >= 10)?;
        if !plausible(&h, criteria) {
            return None;
        }
        let s = h.local_scale().0;
        inliers = agreeing(matches, &h, |_| 2.0 + tolerance * s);
    }
    let support = distinct(matches, &inliers);
    Some((Proposal { homography: h, support }, inliers))
}

fn agreeing(matches: &[Match], h: &PlaneInWork, tolerance: impl Fn(&Match) -> f64) -> Vec<usize> {
    (0..matches.len())
        .filter(|&i| (h.at(matches[i].dial.x, matches[i].dial.y) - matches[i].photo).norm() < tolerance(&matches[i]))
        .collect()
}

/// Counts agreeing matches that differ in both places.
fn distinct(matches: &[Match], inliers: &[usize]) -> usize {
    let mut dial = std::collections::BTreeSet::new();
    let mut photo = std::collections::BTreeSet::new();
    let mut n = 0;
    for &i in inliers {
        let m = &matches[i];
        let d = ((m.dial.x / 0.04).round() as i64, (m.dial.y / 0.04).round() as i64);
        let p = ((m.photo.x / 3.0).round() as i64, (m.photo.y / 3.0).round() as i64);
        let (new_d, new_p) = (dial.insert(d), photo.insert(p));
        n += usize::from(new_d && new_p);
    }
    n
}

/// Least-squares affine map or homography (algebraic, normalised by the dial unit) through the inliers.
fn fit(matches: &[Match], inliers: &[usize], projective: bool) -> Option<PlaneInWork> {
    let n = if projective { 8 } else { 6 };
    let centre = inliers.iter().map(|&i| matches[i].photo).sum::<Vector2<f64>>() / inliers.len() as f64;
    let unit = inliers.iter().map(|&i| (matches[i].photo - centre).norm()).sum::<f64>() / inliers.len() as f64 + 1e-9;
    let mut a = DMatrix::zeros(2 * inliers.len(), n);
    let mut b = DVector::zeros(2 * inliers.len());
    for (r, &i) in inliers.iter().enumerate() {
        let (d, p) = (matches[i].dial, (matches[i].photo - centre) / unit);
        for (o, v) in [(0, p.x), (1, p.y)] {
            a[(2 * r + o, 3 * o)] = d.x;
            a[(2 * r + o, 3 * o + 1)] = d.y;
            a[(2 * r + o, 3 * o + 2)] = 1.0;
            if projective {
                a[(2 * r + o, 6)] = -v * d.x;
                a[(2 * r + o, 7)] = -v * d.y;
            }
            b[2 * r + o] = v;
        }
    }
    let mut normal = a.transpose() * &a;
    let small = 1e-6 * normal.trace() / n as f64;
    for i in 0..n {
        normal[(i, i)] += if i >= 6 { 1e3 * small } else { small * 1e-3 };
    }
    let x = normal.cholesky()?.solve(&(a.transpose() * b));
    let last = if projective { [x[6], x[7], 1.0] } else { [0.0, 0.0, 1.0] };
    Some(Homography::<WorkPoint, _>::scaled(unit, centre) * Homography::from_rows([[x[0], x[1], x[2]], [x[3], x[4], x[5]], last]))
}

/// Whether a camera could see the dial so: not mirrored, not absurdly small, tilted or foreshortened.
pub fn plausible<B>(h: &Homography<DialPoint, B>, criteria: &SearchCriteria) -> bool {
    let (big, small, det) = h.local_scale();
    let h = h.matrix();
    if !(big.is_finite() && small.is_finite())
        || det >= 0.0
        || small < criteria.least_radius_px
        || big / small > criteria.most_foreshortened
    {
        return false;
    }
    (0..16).all(|i| {
        let (s, c) = (i as f64 * std::f64::consts::PI / 8.0).sin_cos();
        let w = (h[(2, 0)] * s + h[(2, 1)] * c + h[(2, 2)]) / h[(2, 2)];
        w > criteria.perspective[0] && w < criteria.perspective[1]
    })
}
