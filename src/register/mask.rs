//! Masks of pictures: what stands out, and what is near it.
use crate::maths::robust::per_mille;

/// Places that vote where a picture of strengths (gradients, heights of strokes) stands well above the grain.
pub(super) fn strong(strength: &[f32], votes: &[bool]) -> Vec<bool> {
    let mut voting: Vec<f32> = strength.iter().zip(votes).filter(|(_, v)| **v).map(|(s, _)| *s).collect();
    let ranks = (per_mille(&mut voting, 998), per_mille(&mut voting, 500));
    let (Some(most), Some(middle)) = ranks else { return vec![false; strength.len()] };
    // most of a face is bare: the median is the reference's own grain, which no photo shares
    let threshold = (0.12 * most).max(4.0 * middle);
    strength.iter().zip(votes).map(|(s, v)| *s > threshold && *v).collect()
}

/// Leaves of a mask what lies in another.
pub(super) fn keep(mask: &mut [bool], within: &[bool]) {
    mask.iter_mut().zip(within).for_each(|(m, w)| *m &= *w);
}

/// A mask grown by so many px to all sides; rows of `n`.
pub(super) fn grown(mask: &[bool], n: usize, by: usize) -> Vec<bool> {
    let mut wide = vec![false; mask.len()];
    for (row, out) in mask.chunks_exact(n).zip(wide.chunks_exact_mut(n)) {
        for x in (0..n).filter(|&x| row[x]) {
            out[x.saturating_sub(by)..(x + by + 1).min(n)].fill(true);
        }
    }
    let mut out = wide.clone();
    for y in 0..n {
        let below = (y + by).min(n - 1);
        for other in y.saturating_sub(by)..=below {
            let (to, from) = (&mut out[y * n..(y + 1) * n], &wide[other * n..(other + 1) * n]);
            to.iter_mut().zip(from).for_each(|(t, f)| *t |= f);
        }
    }
    out
}
