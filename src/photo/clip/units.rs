//! NAL units behind their lengths, as MP4 stores them (ISO/IEC 14496-15).
use super::damaged;
use crate::photo::error::PhotoError;

/// Splits `count` units (all there are when `None`) with lengths of `width` bytes from the front; the rest is the second answer.
pub(super) fn take(bytes: &[u8], width: usize, count: Option<usize>) -> Result<(Vec<&[u8]>, &[u8]), PhotoError> {
    let cut = || damaged("a frame in it is cut short");
    let (mut units, mut rest) = (Vec::new(), bytes);
    while count.map_or(!rest.is_empty(), |n| units.len() < n) {
        let (length, after) = rest.split_at_checked(width).ok_or_else(cut)?;
        let length = length.iter().fold(0usize, |n, b| (n << 8) | usize::from(*b));
        let (unit, after) = after.split_at_checked(length).ok_or_else(cut)?;
        units.push(unit);
        rest = after;
    }
    Ok((units, rest))
}
