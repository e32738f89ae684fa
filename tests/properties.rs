//! Whatever the bytes: an answer or a sentence, never a panic, and what was read can be written and read again. Each body of
//! `properties/holds.rs` is given true files with changed bytes, cut, mixed with each other, and with numbers that break things.
use crate::support::sweep;
use proptest::prelude::*;
use proptest::sample::Index;
use std::path::PathBuf;
use std::sync::LazyLock;

mod found;
mod holds;

/// Texts that stand for numbers and braces where a file has others.
const WORDS: [&str; 16] = [
    "NaN",
    "Infinity",
    "-1e999",
    "1e308",
    "-0.0",
    "5e-324",
    "null",
    "\"",
    "{}",
    "[",
    "\u{feff}",
    "18446744073709551616",
    "\\u0000",
    "0",
    "-",
    "true",
];

/// A change of a file: put a byte, put a word in place of as many bytes, cut out a stretch, put another file's stretch in.
#[derive(Clone, Debug)]
enum Edit {
    Byte(Index, u8),
    Word(Index, usize),
    Number(Index, usize),
    Out(Index, usize),
    In(Index, Index, Index, usize),
}

fn edit() -> impl Strategy<Value = Edit> {
    let at = any::<Index>;
    prop_oneof![
        4 => (at(), any::<u8>()).prop_map(|(a, b)| Edit::Byte(a, b)),
        2 => (at(), 0..WORDS.len()).prop_map(|(a, w)| Edit::Word(a, w)),
        3 => (at(), 0..WORDS.len()).prop_map(|(a, w)| Edit::Number(a, w)),
        1 => (at(), 1usize..200).prop_map(|(a, n)| Edit::Out(a, n)),
        1 => (at(), at(), at(), 1usize..200).prop_map(|(a, f, b, n)| Edit::In(a, f, b, n)),
    ]
}

/// One of the files, changed.
fn changed(files: &[Vec<u8>], which: Index, edits: &[Edit]) -> Vec<u8> {
    let mut bytes = which.get(files).clone();
    for edit in edits.iter().filter(|_| !files.is_empty()) {
        let n = bytes.len().max(1);
        let put = |bytes: &mut Vec<u8>, at: usize, gone: usize, new: &[u8]| {
            let end = (at + gone).min(bytes.len());
            drop(bytes.splice(at.min(end)..end, new.iter().copied()));
        };
        match edit {
            Edit::Byte(at, b) => put(&mut bytes, at.index(n), 1, &[*b]),
            Edit::Word(at, w) => put(&mut bytes, at.index(n), WORDS[*w].len(), WORDS[*w].as_bytes()),
            Edit::Number(at, w) => {
                let from = at.index(n);
                let numeral = |b: &u8| b.is_ascii_digit() || b"+-.e".contains(b);
                if let Some(start) = bytes[from.min(bytes.len())..].iter().position(numeral).map(|k| from + k) {
                    let length = bytes[start..].iter().take_while(|b| numeral(b)).count();
                    put(&mut bytes, start, length, WORDS[*w].as_bytes());
                }
            }
            Edit::Out(at, length) => put(&mut bytes, at.index(n), *length, &[]),
            Edit::In(at, file, from, length) => {
                let other = file.get(files);
                let from = from.index(other.len().max(1));
                put(&mut bytes, at.index(n), 0, &other[from.min(other.len())..(from + length).min(other.len())]);
            }
        }
    }
    bytes
}

/// The files of `tests/data` with one of these endings, by name; not the large one.
fn data(endings: &[&str]) -> Vec<Vec<u8>> {
    let mut paths: Vec<PathBuf> = std::fs::read_dir("tests/data").unwrap().map(|e| e.unwrap().path()).collect();
    paths.sort();
    let of_kind = |p: &PathBuf| p.extension().is_some_and(|e| endings.iter().any(|k| e == *k));
    let files: Vec<Vec<u8>> = paths.into_iter().filter(of_kind).map(|p| std::fs::read(p).unwrap()).collect();
    let files: Vec<Vec<u8>> = files.into_iter().filter(|f| f.len() < 20_000).collect();
    assert!(files.len() > 1, "{endings:?}");
    files
}

fn config(n: u32) -> ProptestConfig {
    let seed = proptest::test_runner::RngSeed::Fixed(20260821);
    ProptestConfig { cases: n, failure_persistence: None, rng_seed: seed, max_shrink_iters: 200, ..ProptestConfig::default() }
}

macro_rules! files {
    ($name:ident, $cases:expr, $files:expr, $body:expr) => {
        proptest! {
            #![proptest_config(config($cases))]
            #[test]
            fn $name(which in any::<Index>(), edits in prop::collection::vec(edit(), 0..6)) {
                static FILES: LazyLock<Vec<Vec<u8>>> = LazyLock::new(|| $files);
                $body(&changed(&FILES, which, &edits));
            }
        }
    };
}

files!(any_jpeg, 1500, data(&["jpg"]), holds::photo);
files!(any_png, 1500, data(&["png"]), holds::photo);
files!(any_webp, 1500, data(&["webp"]), holds::photo);
files!(any_tiff, 1500, data(&["tif"]), holds::photo);
#[cfg(feature = "heic")]
files!(any_heic, 1000, data(&["heic"]), holds::photo);
files!(any_dial_file, sweep::cases(150, 500), data(&["json"]), holds::dial_file);
files!(any_diary, 300, diaries(), holds::diary);
files!(any_level, 1000, levels(), holds::level);
files!(any_exif_of_a_file, 1500, data(&["tif"]), holds::exif);

proptest! {
    #![proptest_config(config(1500))]
    #[test]
    fn any_exif(entries in prop::collection::vec((prop::sample::select(vec![0x0112u16, 0x8769, 0x9003, 0xa405, 0x0100]), 0u16..14, any::<u32>(), any::<u32>()), 0..6), big in any::<bool>()) {
        let word = |v: u32, n: usize| if big { v.to_be_bytes()[4 - n..].to_vec() } else { v.to_le_bytes()[..n].to_vec() };
        let mut block = if big { b"MM\0*".to_vec() } else { b"II*\0".to_vec() };
        block.extend(word(8, 4));
        block.extend(word(entries.len() as u32, 2));
        for (tag, kind, count, value) in &entries {
            // small numbers are those that mean something: a few values, an offset within the block
            let small = |v: u32| if v & 1 == 0 { (v >> 1) % 64 } else { v };
            block.extend([word(u32::from(*tag), 2), word(u32::from(*kind), 2), word(small(*count), 4), word(small(*value), 4)].concat());
        }
        block.extend([0; 4]);
        holds::exif(&block);
    }
}

proptest! {
    #![proptest_config(config(sweep::cases(400, 1500)))]
    #[test]
    fn any_argument(typed in "[-+]?[0-9.eE@,=±%CF]{0,12}(nan|inf|deg|span|s|min|\\.\\.|=a\\.jpg|@1,2|\\PC){0,3}") {
        holds::argument(&typed);
    }
}

proptest! {
    #![proptest_config(config(60))]
    #[test]
    fn any_marks(bytes in prop::collection::vec(any::<u8>(), 0..90)) {
        holds::marks(&bytes);
    }
}

/// Two diaries: three stages with a run, and one line with every outcome.
fn diaries() -> Vec<Vec<u8>> {
    use super::diary::kept;
    kept().into_iter().map(|notes| notes.iter().map(|n| needleband::diary::line(n).unwrap()).collect::<String>().into_bytes()).collect()
}

/// A run that settled, as `settle --json` writes it, in two lengths.
fn levels() -> Vec<Vec<u8>> {
    use super::handmade::{dial, record};
    let run = |n: usize| {
        let value = |k: usize| 90.0 - 20.0 * (-(k as f64) * 60.0 / 300.0).exp();
        let records: Vec<_> =
            (0..n).map(|k| record(&format!("p{k}"), value(k), &[("dial:d/mark/1", 0.3), (&format!("photo:p{k}/needle"), 0.2)])).collect();
        let times: Vec<_> = (0..n).map(|k| Some(60.0 * k as f64)).collect();
        let paths: Vec<_> = (0..n).map(|k| format!("{k}.jpg")).collect();
        let answer = needleband::settle::settle(&records, &times).unwrap();
        needleband::output::json::settling(&answer, &dial(), &paths).unwrap().into_bytes()
    };
    vec![run(30), run(12)]
}
