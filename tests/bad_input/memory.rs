//! Small files that unfold to much: their answer comes within the memory that docs/decisions/decoding.md states for a photo.
use super::photos::{chunk, png, zeros};
use super::*;

/// Address space for a run that reads photos one at a time: the stated 1 GiB for a photo, and half of that for the program itself, its
/// threads' stacks and the allocator's arenas (which are reserved and not used).
const KIBIBYTES: u64 = (1024 + 512) * 1024;

/// Runs the command with one thread and no more address space than stated.
fn bounded(desk: &Desk, words: &[&str]) -> assert_cmd::assert::Assert {
    let script = format!("ulimit -v {KIBIBYTES}; exec \"$0\" \"$@\"");
    assert_cmd::Command::new("bash")
        .current_dir(desk.dir.path())
        .env("RAYON_NUM_THREADS", "1")
        .args(["-c", &script])
        .arg(assert_cmd::cargo::cargo_bin("needleband"))
        .args(words)
        .assert()
}

#[test]
fn files_whose_parts_cost_more_than_their_bytes_are_refused_within_it_too() {
    let desk = Desk::new();
    // each element would cost 32 bytes and more, were it kept
    let many = "0,".repeat(25_000_000);
    for format in ["needleband-dial", "needleband-diary"] {
        fs::write(desk.path("bomb.json"), format!("{{\"format\":\"{format}\",\"format_version\":[{many}0]}}")).unwrap();
        match format {
            "needleband-dial" => bounded(&desk, &["read", "--dial", "bomb.json", "photos"]).stderr(contains("is not a whole number")),
            _ => bounded(&desk, &["stages", "--diary", "bomb.json"]).stderr(contains("is not a whole number")),
        }
        .code(2)
        .stdout("");
    }
    // and so would what is said of each line
    fs::write(desk.path("lines.jsonl"), "x\n".repeat(20_000_000)).unwrap();
    bounded(&desk, &["stages", "--diary", "lines.jsonl"])
        .code(2)
        .stdout("")
        .stderr(contains("More than 10000 lines of the file cannot be used"));
}

/// A TIFF (TIFF 6.0, sections 3, 14 and 18) of one compressed strip of four 16-bit channels: the most memory that a picture of the allowed
/// size takes.
fn deep_tiff(side: u32) -> Vec<u8> {
    let strip = zeros(side as usize * side as usize * 8);
    let entries =
        [(256u16, side), (257, side), (258, 0), (259, 8), (262, 2), (273, 0), (277, 4), (278, side), (279, strip.len() as u32), (338, 2)];
    let bits = 8 + 2 + 12 * entries.len() as u32 + 4;
    let mut bytes = [&b"II*\0\x08\0\0\0"[..], &(entries.len() as u16).to_le_bytes()].concat();
    for (tag, value) in entries {
        let (kind, count, value) = match tag {
            258 => (3u16, 4u32, bits),
            273 => (4, 1, bits + 8),
            338 => (3, 1, value),
            _ => (4, 1, value),
        };
        bytes.extend([&tag.to_le_bytes()[..], &kind.to_le_bytes(), &count.to_le_bytes(), &value.to_le_bytes()].concat());
    }
    [bytes, vec![0; 4], [16u16.to_le_bytes(); 4].concat(), strip].concat()
}

#[test]
fn a_small_file_that_unfolds_to_much_stays_within_the_stated_memory() {
    let desk = Desk::new();
    let gigabyte = zeros(1 << 30);
    let text = |kind, head: &[u8]| chunk(kind, &[head, &gigabyte].concat());
    // the data of 64 x 64 pixels, and a gigabyte behind them
    let header = [64u32.to_be_bytes(), 64u32.to_be_bytes()].concat();
    let long = [
        b"\x89PNG\r\n\x1a\n".to_vec(),
        chunk(b"IHDR", &[&header[..], &[8, 2, 0, 0, 0]].concat()),
        chunk(b"IDAT", &gigabyte),
        chunk(b"IEND", b""),
    ];
    // the largest picture that is opened, in the fewest and in the most bits a pixel
    let side = 7071;
    for (name, bytes) in [
        ("profile.png", png(64, 64, 8, 2, &text(b"iCCP", b"x\0\0"))),
        ("text.png", png(64, 64, 8, 2, &text(b"zTXt", b"x\0\0"))),
        ("words.png", png(64, 64, 8, 2, &text(b"iTXt", b"x\0\x01\0\0\0"))),
        ("long.png", long.concat()),
        ("gray.png", png(side, side, 1, 0, &[])),
        ("deep.png", png(side, side, 16, 6, &[])),
        ("deep.tif", deep_tiff(side)),
    ] {
        fs::write(desk.path(name), &bytes).unwrap();
        let done = bounded(&desk, &["read", "--dial", "oil.json", "--json", name]);
        let output = done.code(1).stderr("").get_output().stdout.clone();
        let line: serde_json::Value = serde_json::from_slice(&output).unwrap();
        assert_eq!(line["outcome"], "refused", "{name}");
        // the largest are decoded to their end: it is their black picture that is refused
        assert!(!name.starts_with("deep") || line["reason"] == "no_detail", "{line}");
    }
}
