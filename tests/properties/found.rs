//! What fuzzing found, each by its name.
use super::holds;

/// A TIFF (TIFF 6.0, sections 3 and 22) whose one strip is a JPEG, and empty: the decoder's words end in a line break.
#[test]
fn a_decoder_that_speaks_in_two_lines_is_told_in_one() {
    let entries = [(256u16, 8u32), (257, 8), (258, 8), (259, 7), (262, 1), (273, 0), (277, 1), (278, 8), (279, 0)];
    let mut bytes = b"II*\0\x08\0\0\0\x09\0".to_vec();
    for (tag, value) in entries {
        bytes.extend([&tag.to_le_bytes()[..], &4u16.to_le_bytes(), &1u32.to_le_bytes(), &value.to_le_bytes()].concat());
    }
    bytes.extend([0; 4]);
    holds::photo(&bytes);
}
