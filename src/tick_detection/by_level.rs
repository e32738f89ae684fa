//! Pixels in the order of their levels.

/// Pixels sorted by level, the lowest first, and where each level begins (257 entries).
pub(super) fn by_level(levels: &[u8]) -> (Vec<u32>, Vec<usize>) {
    let mut starts = vec![0usize; 257];
    levels.iter().for_each(|v| starts[usize::from(*v) + 1] += 1);
    (0..256).for_each(|i| starts[i + 1] += starts[i]);
    let mut next = starts.clone();
    let mut order = vec![0u32; levels.len()];
    for (i, v) in levels.iter().enumerate() {
        let to = &mut next[usize::from(*v)];
        order[*to] = i as u32;
        *to += 1;
    }
    (order, starts)
}
