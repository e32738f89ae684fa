//! The needle's line to a fraction of a pixel, by synthesis: two soft edges about a line, fitted to the photo's own pixels.
//!
//! Unknowns: offset d and angle of the line, a change of half width, the blur; and for each block of length three levels (left
//! flank, needle, right flank). Levels by block take up glare, shade and a shadow's edge; the two flanks may differ, so that a
//! shadow along one side does not pull the line. Robust Gauss–Newton. The line is not forced through the pivot: its offset has a
//! prior from the camera's pose (parallax) with a width. Covariance: cluster-robust over blocks, never below the model's own.
use super::blocks::{Block, LineMatrix, LineVector};
use super::rows::{Row, State, beside, window};
use super::shape::{Shadow, Shape};
use super::sums::{LevelSums, LineSums, Rows};
use super::vote::{Candidate, Parallax};
use crate::dial::NeedleLook;
use crate::maths::angle::wrap;
use crate::maths::robust::high_median;
use crate::rectify::{Evidence, PhotometricModel, Pixel, Work};
use crate::register::face::LineFrame;
use nalgebra::{Matrix2, Vector2, Vector4};

/// A fitted needle.
#[derive(Clone, Debug)]
pub struct NeedleFit {
    /// Degrees clockwise from up.
    pub angle: f64,
    /// Offset to the right of the pivot, radii.
    pub offset: f64,
    /// Covariance of (offset, angle): radii², radii·rad, rad².
    pub covariance: Matrix2<f64>,
    /// Offset expected from the camera's pose and its standard uncertainty.
    pub expected: (f64, f64),
    /// Share of the needle proper whose blocks show it.
    pub seen: f64,
    /// The same for its inner and its outer half.
    pub halves: [f64; 2],
    /// Median step of the blocks, 1 = as in the reference.
    pub step: f64,
    /// Scatter of the comparison, in the same measure.
    pub noise: f64,
    /// Change of half width, radii.
    pub wider: f64,
    /// Change of half width that the camera's pose lets expect, radii.
    pub usual_wider: f64,
    /// Change of half width per radius along the needle, against the reference.
    pub taper: f64,
    /// Sideways place of the tail, radii.
    pub tail_shift: f64,
    /// Standard uncertainty of the angle from blur, radians: the photo's blur is not quite even, and that share of it which pulls
    /// one end of the needle is not known.
    pub smear: f64,
    /// Standard uncertainty of the angle from edges that turn against each other beyond their noise, radians: one edge may be pulled
    /// by something the model lacks (a shadow, a reflection), and the centre line may be off by up to half the difference.
    pub uneven: f64,
    /// Blur across the needle, radii.
    pub blur: f64,
    /// Visible span along the line, radii.
    pub span: [f64; 2],
    /// What the camera's pose did to it.
    pub parallax: Parallax,
}

impl NeedleFit {
    /// How unlike the needle's outline the line is: its changes of width and taper over their standard uncertainties, squared and summed.
    /// The edge of a reflection has neither the needle's width nor its taper.
    ///
    /// `px`: size of a pixel in the coarser of the two pictures, radii. Halos, sharpening and processing move an edge by up to a pixel,
    /// which is much of a small dial's needle: half a pixel comes on top of the width's standard uncertainty, and one over `length`
    /// (radii) on top of the taper's.
    pub fn squared_mahalanobis(&self, px: f64, length: f64) -> f64 {
        let (wider, taper) = (WIDER.hypot(0.5 * px), TAPER.hypot(px / length));
        ((self.wider - self.usual_wider) / wider).powi(2) + (self.taper / taper).powi(2)
    }
}

/// Share of the blur across the needle by which one end of the line may be pulled against the other. It is not measured by itself but
/// together with all other terms: errors over what they say have an rms of 0.83 in 240 drawn photos (tests/coverage; 0.75 with the 0.05 of
/// an earlier fit, 0.95 without this term), of 0.84 in 110 renderings, and of 0.92 in 703 that were sharpened, darkened, blurred, scaled,
/// turned or given another tone or white balance, of whose 95 % bands 95.9 % hold.
const UNEVEN_BLUR: f64 = 0.035;
/// Standard uncertainty of the needle's taper against the reference, radians.
const TAPER: f64 = 0.015;
/// Standard uncertainty of the change of its half width, radii: a lamp that spills over, sharpening.
const WIDER: f64 = 0.02;
/// Standard uncertainty of the tail's sideways place against the needle's axis, radii: it is a part of its own, near the hub's
/// shadow, and its learned place is no better.
const TAIL: f64 = 0.0015;

/// Fits the line from a candidate. `blur`: standard deviation of the photo's blur, radii. `None` when too little is seen.
pub fn fit(evidence: &Evidence, work: &Work, look: &NeedleLook, start: &Candidate, parallax: &Parallax, blur: f64) -> Option<NeedleFit> {
    let (first, last) = (*look.radii.first()?, *look.radii.last()?);
    let shape = Shape {
        look,
        along: parallax.along(start.angle),
        first,
        per: (last - first) / (look.radii.len() - 1) as f64,
        blur0: blur.hypot(0.55 / work.scale).max(0.6 / work.scale),
    };
    let mut state = State {
        d: start.offset,
        angle: start.angle,
        wider: 0.1 * parallax.size(),
        log_blur: shape.blur0.ln(),
        tail: look.tail_shift,
        taper: 0.0,
        step: start.score.max(0.2),
        scatter: 0.5,
        shadow: None,
        shade: 0.0,
    };
    let scale = work.scale;
    let mut solved = settle(&strip(evidence, evidence.model(), work, &shape, start), &shape, &mut state, (parallax, scale), 0)?;
    if state.log_blur.exp() > shape.usual_half_width() {
        // a needle that is all soft flank passes for light: once more in a light that it has no part in
        let model = evidence.photometric_without(|x, y| state.shows(&shape, x, y));
        let again = Candidate { angle: state.angle, offset: state.d, ..*start };
        solved = settle(&strip(evidence, &model, work, &shape, &again), &shape, &mut state, (parallax, scale), AGAIN)?;
    }
    Some(result(&solved, &state, parallax, &shape))
}

/// The round at which a fit that begins at a known line joins in.
const AGAIN: usize = 9;

/// Rounds of the fit until the line stands still.
fn settle(pixels: &[Pixel], shape: &Shape, state: &mut State, (parallax, scale): (&Parallax, f64), from: usize) -> Option<Solved> {
    if pixels.len() < 40 {
        return None;
    }
    let mut solved = None;
    // while the line is still on its way every so many pixels serve as well
    let few: Vec<Pixel> = pixels.iter().step_by(pixels.len() / ON_THE_WAY + 1).copied().collect();
    for round in from..30 {
        let s = one_round(if round < SHADOW_ROUND { &few } else { pixels }, shape, state, parallax, round)?;
        let small = s.size * scale < 0.003;
        solved = Some(s);
        if small && round > 8 {
            break;
        }
        if round == SHADOW_ROUND || state.shadow.is_some() && round % 3 == 0 {
            seek_shadow(pixels, shape, state);
        }
    }
    solved
}

/// Pixels that are enough in the first rounds.
const ON_THE_WAY: usize = 4000;

/// Round from which the line is known well enough to look for the needle's shadow.
const SHADOW_ROUND: usize = 5;

/// Looks for a shadow, or moves the one that is known.
fn seek_shadow(pixels: &[Pixel], shape: &Shape, state: &mut State) {
    let sigma = state.log_blur.exp();
    let frame = state.frame();
    let places: Vec<_> = pixels.iter().filter_map(|p| beside(p, shape, state, &frame, sigma)).collect();
    state.shadow = match state.shadow {
        None => Shadow::seek(shape, &places, state.step),
        Some(s) => Some(s.followed(shape, &places)),
    };
}

fn strip(evidence: &Evidence, model: &PhotometricModel, work: &Work, shape: &Shape, start: &Candidate) -> Vec<Pixel> {
    let reach = window(shape.usual_half_width().min(0.1), 1.3 * shape.blur0).max(0.16);
    let frame = LineFrame::new(start.angle, start.offset);
    let corners = [(-0.65, -reach), (1.12, -reach), (1.12, reach), (-0.65, reach)].map(|(s, t)| {
        let (x, y) = frame.point(s, t);
        Vector2::new(x, y)
    });
    evidence.pixels(model, work, &corners, |x, y| {
        let (s, t) = frame.along_across(x, y);
        t.abs() < reach && shape.half_width(s) > 0.0
    })
}

struct Solved {
    normal: LineMatrix,
    meat: LineMatrix,
    clusters: usize,
    size: f64,
    expected: (f64, f64),
    seen: f64,
    halves: [f64; 2],
}

/// One round of the fit.
fn one_round(pixels: &[Pixel], shape: &Shape, state: &mut State, parallax: &Parallax, round: usize) -> Option<Solved> {
    let arch = pulp::Arch::new();
    let rows = arch.dispatch(Rows { pixels, shape, state });
    let count = rows.iter().map(|r| r.block).max()? + 1;
    let mut levels: Vec<Option<Vector4<f64>>> = vec![None; count];
    for pass in 0..3 {
        let blocks = arch.dispatch(LevelSums { rows: &rows, levels: (pass > 0).then_some(&levels), count, scatter: state.scatter });
        levels = blocks.iter().map(|b| b.solve(state.step, state.shade)).collect();
    }
    let steps = levels.iter().map(|l| l.map(|l| l[1] - 0.5 * (l[0] + l[2]))).collect::<Vec<_>>();
    let usual = high_median(steps.iter().flatten().copied())?;
    state.step = usual.max(0.05);
    state.shade = high_median(levels.iter().flatten().map(|l| l[3])).unwrap_or(0.0);
    let trust: Vec<f64> = levels.iter().map(|l| l.map_or(0.0, |l| trust(&l, state.step))).collect();
    let off = rows.iter().filter_map(|r| levels[r.block].map(|l| (r.value - r.share.dot(&l)).abs()));
    let scatter = 1.4826 * high_median(off)? + 1e-3;
    let blocks = arch.dispatch(LineSums { rows: &rows, levels: &levels, trust: &trust, scatter, state });
    state.scatter = scatter.max(state.step * (0.4 * 0.7f64.powi(round as i32)).max(0.03));
    let seen = seen_shares(&rows, &trust, shape.look.span);
    solve(&blocks, shape, state, parallax, seen)
}

/// What a block's levels let it say of the line: nothing without the step (glare, a hand, the needle's end), little when the two
/// flanks differ by much of it (the edge of a reflection or a shadow runs along the needle).
fn trust(levels: &Vector4<f64>, step: f64) -> f64 {
    let own = levels[1] - 0.5 * (levels[0] + levels[2]);
    let uneven = (levels[0] - levels[2]) / (0.35 * own.abs().max(0.3 * step));
    ((own / step - 0.25) / 0.35).clamp(0.0, 1.0) / (1.0 + uneven * uneven)
}

/// Mean trust of the needle proper's blocks, and of those of its inner and its outer half.
fn seen_shares(rows: &[Row], trust: &[f64], [from, to]: [f64; 2]) -> (f64, [f64; 2]) {
    let middle = 0.5 * (from + to);
    let mut parts = vec![[false; 3]; trust.len()];
    for r in rows.iter().filter(|r| r.s > from) {
        let [whole, inner, outer] = &mut parts[r.block];
        *whole = true;
        *inner |= r.s < middle;
        *outer |= r.s > middle;
    }
    let share = |part: usize| {
        let trusted: Vec<f64> = trust.iter().zip(&parts).filter(|(_, p)| p[part]).map(|(t, _)| *t).collect();
        trusted.iter().sum::<f64>() / (trusted.len() as f64).max(1.0)
    };
    (share(0), [share(1), share(2)])
}

fn solve(blocks: &[Block], shape: &Shape, state: &mut State, parallax: &Parallax, (seen, halves): (f64, [f64; 2])) -> Option<Solved> {
    let (mut n, mut v, mut meat, mut clusters) = (LineMatrix::zeros(), LineVector::zeros(), LineMatrix::zeros(), 0);
    for b in blocks.iter().filter(|b| b.n >= 6) {
        let Some((nb, vb)) = b.reduced() else { continue };
        n += nb;
        v += vb;
        meat += vb * vb.transpose();
        clusters += 1;
    }
    let variance = parallax.axis.1.powi(2) + (parallax.spread * parallax.size()).powi(2) + parallax.view_across(state.angle);
    let expected = (parallax.across(state.angle) + parallax.axis.0, variance.sqrt());
    let priors = [
        (expected.0 - state.d, expected.1),
        (0.0, f64::INFINITY),
        (0.1 * parallax.size() - state.wider, WIDER),
        (shape.blur0.ln() - state.log_blur, 0.35),
        (shape.look.tail_shift - state.tail, TAIL),
        (-state.taper, TAPER),
    ];
    for (i, (pull, width)) in priors.into_iter().enumerate().filter(|(_, p)| p.1.is_finite()) {
        n[(i, i)] += 1.0 / (width * width);
        v[i] += pull / (width * width);
        meat[(i, i)] += 1.0 / (width * width);
    }
    n[(1, 1)] += 1.0; // one radian: only keeps the matrix regular
    let x = n.try_inverse()? * v;
    let limits = LineVector::from([0.03, 0.06, 0.02, 0.3, 0.01, 0.02]);
    let x = x.zip_map(&limits, |x, l| x.clamp(-l, l));
    state.d += x[0];
    state.angle = wrap(state.angle + x[1].to_degrees());
    state.wider = (state.wider + x[2]).clamp(-0.02, 0.08);
    state.log_blur += x[3];
    state.tail += x[4];
    state.taper += x[5];
    Some(Solved { normal: n, meat, clusters, size: x[0].abs().max(x[1].abs()), expected, seen, halves })
}

/// The part of a symmetric matrix with positive eigenvalues.
fn positive_part(m: Matrix2<f64>) -> Matrix2<f64> {
    let e = m.symmetric_eigen();
    e.eigenvectors * Matrix2::from_diagonal(&e.eigenvalues.map(|v| v.max(0.0))) * e.eigenvectors.transpose()
}

/// Covariance of (offset, angle): the model's, and what the cluster-robust one holds beyond it in any direction.
fn result(s: &Solved, state: &State, parallax: &Parallax, shape: &Shape) -> NeedleFit {
    let model = s.normal.try_inverse().unwrap_or_else(LineMatrix::identity);
    let few = s.clusters as f64 / (s.clusters as f64 - 2.0).max(1.0);
    let robust = model * s.meat * model * few;
    let pick = |m: &LineMatrix| Matrix2::new(m[(0, 0)], m[(0, 1)], m[(1, 0)], m[(1, 1)]);
    let (a, b) = (pick(&model), pick(&robust));
    let covariance = a + positive_part(b - a);
    let own = model[(5, 5)].max(robust[(5, 5)]);
    // anywhere between no pull at all and all of it at one edge: rectangular
    let uneven = ((state.taper * state.taper - own).max(0.0) / 3.0).sqrt();
    NeedleFit {
        angle: state.angle,
        offset: state.d,
        covariance,
        expected: s.expected,
        seen: s.seen,
        halves: s.halves,
        step: state.step,
        noise: state.scatter,
        wider: state.wider,
        usual_wider: 0.1 * parallax.size(),
        taper: state.taper,
        tail_shift: state.tail,
        smear: UNEVEN_BLUR * state.log_blur.exp() / (shape.look.span[1] - shape.look.span[0]).max(0.1),
        uneven,
        blur: state.log_blur.exp(),
        span: [shape.look.span[0] + parallax.along(state.angle), shape.look.span[1] + parallax.along(state.angle)],
        parallax: *parallax,
    }
}
