//! Several questions asked of one set of data: probabilities adjusted so that the whole family keeps its level.

/// Holm's step-down adjustment: sorted from the smallest, the k-th of m probabilities times m - k + 1, never below the one
/// before it, at most 1; in the order given. Rejecting what is below a level keeps the chance of *any* false rejection below
/// it, however the questions depend on each other.
///
/// Source: S. Holm, A simple sequentially rejective multiple test procedure, Scand. J. Statist. 6 (1979) 65–70. A NaN stays
/// NaN and counts as a question that was asked.
pub fn holm(p: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..p.len()).collect();
    order.sort_by(|a, b| p[*a].total_cmp(&p[*b]));
    let mut out = vec![f64::NAN; p.len()];
    let mut least = 0.0_f64;
    for (k, place) in order.into_iter().enumerate().filter(|(_, i)| !p[*i].is_nan()) {
        least = least.max((p.len() - k) as f64 * p[place]).min(1.0);
        out[place] = least;
    }
    out
}
