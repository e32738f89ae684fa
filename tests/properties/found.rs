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

/// A dial file whose unknown word has a line break in it: the parser quotes it.
#[test]
fn a_word_of_a_dial_file_is_quoted_in_one_line() {
    let kept = std::fs::read_to_string("tests/data/dial_v2.json").unwrap();
    let changed = kept.replacen("percent_of_span", "percent_of_sp\\n", 1);
    assert_ne!(kept, changed);
    holds::dial_file(changed.as_bytes());
}

/// The like in a file of a settled level, whose sentence is told where it names no level; found by looking for others of the kind.
#[test]
fn a_sentence_of_a_settled_run_is_quoted_in_one_line() {
    let run = r#"{"format_version":1,"verdict":"drifting","sentence":"It\ndrifts","unit":"C","dial":{"id":"x"},"readings":[]}"#;
    holds::level(run.as_bytes());
    let said = needleband::output::json::settled_level(run.as_bytes()).unwrap_err().to_string();
    assert!(said.contains("It drifts"), "{said}");
}

/// Known angles of 32, 40 and 80 at 0, 37 and 0 degrees once made a scale of a full turn, which no dial file takes.
#[test]
fn one_angle_for_both_ends_of_the_scale_is_out_of_order() {
    let bytes = [
        [0x48, 0x44, 0x52].as_slice(),
        &[0x00, 0x00, 0x00, 0x1d, 0x08, 0x25, 0x02, 0xf7, 0x25, 0xd7, 0xf7, 0xf7, 0xf7, 0x00, 0x00, 0x00, 0x3f, 0x02, 0x72, 0x60, 0x40],
        &[0x00, 0x00, 0x25, 0x0d, 0x08, 0x02, 0xf7, 0xf7, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x28],
    ];
    holds::marks(&bytes.concat());
}
