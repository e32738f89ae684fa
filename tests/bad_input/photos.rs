//! Photos that are none, or of a kind that phones do not write.
use super::*;
use flate2::{Compression, Crc, write::ZlibEncoder};
use std::io::Write;

pub fn chunk(kind: &[u8; 4], body: &[u8]) -> Vec<u8> {
    let content = [kind.as_slice(), body].concat();
    let mut crc = Crc::new();
    crc.update(&content);
    [&(body.len() as u32).to_be_bytes()[..], &content, &crc.sum().to_be_bytes()].concat()
}

/// `n` zero bytes, compressed.
pub fn zeros(n: usize) -> Vec<u8> {
    let mut out = ZlibEncoder::new(Vec::new(), Compression::fast());
    let block = [0u8; 1 << 16];
    (0..n / block.len()).for_each(|_| out.write_all(&block).unwrap());
    out.write_all(&block[..n % block.len()]).unwrap();
    out.finish().unwrap()
}

/// A black PNG: bits a channel and kind of colour by the PNG specification, 11.2.2; further chunks before its pixels.
pub fn png(width: u32, height: u32, bits: u8, colour: u8, more: &[u8]) -> Vec<u8> {
    let channels = match colour {
        0 => 1,
        2 => 3,
        _ => 4,
    };
    let row = 1 + (width as usize * channels * usize::from(bits)).div_ceil(8);
    let header = [&width.to_be_bytes()[..], &height.to_be_bytes(), &[bits, colour, 0, 0, 0]].concat();
    let parts = [b"\x89PNG\r\n\x1a\n".to_vec(), chunk(b"IHDR", &header), more.to_vec(), chunk(b"IDAT", &zeros(row * height as usize))];
    [parts.concat(), chunk(b"IEND", b"")].concat()
}

/// The header of a WebP (RFC 9649, 2.7) with a canvas of this size, and nothing in it.
fn webp(width: u32, height: u32) -> Vec<u8> {
    let size = |n: u32| (n.wrapping_sub(1)).to_le_bytes()[..3].to_vec();
    let body = [b"WEBPVP8X\x0a\0\0\0\0\0\0\0".to_vec(), size(width), size(height)].concat();
    [b"RIFF".to_vec(), (body.len() as u32).to_le_bytes().to_vec(), body].concat()
}

/// A gray TIFF of this size (TIFF 6.0, section 3) whose one strip has four bytes.
fn tiff(width: u32, height: u32) -> Vec<u8> {
    let entries =
        [(256u16, width), (257, height), (258, 8), (259, 1), (262, 1), (273, 8 + 2 + 9 * 12 + 4), (277, 1), (278, height), (279, 4)];
    let mut bytes = b"II*\0\x08\0\0\0\x09\0".to_vec();
    for (tag, value) in entries {
        bytes.extend([&tag.to_le_bytes()[..], &4u16.to_le_bytes(), &1u32.to_le_bytes(), &value.to_le_bytes()].concat());
    }
    [bytes, vec![0; 8]].concat()
}

/// A JPEG of the test data whose frame header (T.81, B.2.2) is changed: bits a channel, height, width.
fn jpeg(name: &str, bits: u8, size: Option<u16>) -> Vec<u8> {
    let mut bytes = data(name);
    let frame = bytes.windows(2).position(|w| w[0] == 0xff && (0xc0..=0xc2).contains(&w[1])).unwrap();
    bytes[frame + 4] = bits;
    if let Some(size) = size {
        bytes[frame + 5..frame + 9].copy_from_slice(&[size.to_be_bytes(), size.to_be_bytes()].concat());
    }
    bytes
}

/// A PNG with two frames (PNG specification, third edition, 11.3.6): the first is its picture.
fn animated_png() -> Vec<u8> {
    let control = |sequence: u32| {
        let numbers = [sequence, 64, 48, 0, 0].map(u32::to_be_bytes).concat();
        chunk(b"fcTL", &[numbers, vec![0, 1, 0, 10, 0, 0]].concat())
    };
    let second = [vec![0, 0, 0, 2], zeros((1 + 3 * 64) * 48)].concat();
    let mut bytes = png(64, 48, 8, 2, &[chunk(b"acTL", &[0, 0, 0, 2, 0, 0, 0, 0]), control(0)].concat());
    let end = bytes.len() - 12;
    bytes.splice(end..end, [control(1), chunk(b"fdAT", &second)].concat());
    bytes
}

fn data(name: &str) -> Vec<u8> {
    fs::read(format!("tests/data/{name}")).unwrap()
}

/// What is read of a photo that is no dial: the refusals that come after decoding.
const DECODED: &[&str] = &["no_detail", "dial_not_found", "too_small", "blurred"];

#[test]
fn each_kind_has_its_reason_one_sentence_and_status_1() {
    let cut = |name: &str| data(name)[..data(name).len() * 2 / 3].to_vec();
    let cases: Vec<(&str, Vec<u8>, &[&str], &str)> = vec![
        ("empty.jpg", vec![], &["undecodable"], "0 bytes"),
        ("page.jpg", b"<html>not found</html>".to_vec(), &["undecodable"], "does not begin like"),
        ("gif.jpg", b"GIF89a\x01\0\x01\0".to_vec(), &["undecodable"], "a GIF picture"),
        ("zero.png", png(0, 0, 8, 2, &[]), &["no_detail"], "0 pixels wide or high"),
        ("zero.jpg", jpeg("sub420.jpg", 8, Some(0)), &["no_detail"], "0 pixels wide or high"),
        ("zero.tif", tiff(0, 0), &["undecodable", "no_detail"], "0"),
        ("large.png", png(60_000, 60_000, 1, 0, &[])[..60].to_vec(), &["too_large"], "60000 x 60000"),
        ("large.jpg", jpeg("sub420.jpg", 8, Some(60_000)), &["too_large"], "60000 x 60000"),
        ("large.tif", tiff(60_000, 60_000), &["too_large"], "60000 x 60000"),
        ("large.webp", webp(60_000, 60_000), &["too_large", "undecodable"], ""),
        ("twelve-bits.jpg", jpeg("sub420.jpg", 12, None), &["undecodable"], "a JPEG of 12 bits a channel"),
        ("cut.jpg", cut("sub420.jpg"), &["undecodable"], "cut short"),
        ("cut-progressive.jpg", cut("progressive.jpg"), &["undecodable"], "cut short"),
        ("cut.png", cut("source.png"), &["undecodable"], "cut short"),
        ("cut.webp", cut("lossy.webp"), &["undecodable"], "cut short"),
        ("cut.tif", cut("lzw.tif"), &["undecodable"], "could not be decoded to its end"),
        // what is decoded, and shows no dial
        ("cmyk.jpg", data("cmyk.jpg"), DECODED, ""),
        ("progressive.jpg", data("progressive.jpg"), DECODED, ""),
        ("sixteen-bits.png", png(300, 200, 16, 6, &[]), DECODED, ""),
        ("animated.webp", data("animated.webp"), DECODED, ""),
        ("animated.png", animated_png(), DECODED, ""),
    ];
    let desk = Desk::new();
    let mut words = vec!["read", "--dial", "oil.json", "--json"];
    for (name, bytes, _, _) in &cases {
        fs::write(desk.path(name), bytes).unwrap();
        words.push(name);
    }
    let lines = desk.lines(&words, 1);
    assert_eq!(lines.len(), cases.len());
    for ((name, _, reasons, said), line) in cases.iter().zip(&lines) {
        let reason = line.reason.as_deref().unwrap();
        assert!(reasons.contains(&reason), "{name}: {reason}: {}", line.sentence);
        assert!(line.sentence.contains(said) && line.sentence.ends_with('.') && !line.sentence.contains('\n'), "{name}: {}", line.sentence);
        assert!(line.value.is_none() && line.advice.is_some(), "{name}");
    }
    desk.run(&words).stderr("");
}

#[test]
fn a_jpeg_of_very_many_scans_is_refused_at_once() {
    // each scan costs a walk over the whole picture and a few bytes of the file: without a limit such a file decodes for hours
    let whole = data("progressive.jpg");
    let last = whole.windows(2).rposition(|w| w == [0xff, 0xda]).unwrap();
    let scan = whole[last..whole.len() - 2].to_vec();
    let mut bytes = whole[..last].to_vec();
    (0..2000).for_each(|_| bytes.extend(&scan));
    bytes.extend([0xff, 0xd9]);
    let desk = Desk::new();
    fs::write(desk.path("scans.jpg"), bytes).unwrap();
    let lines = desk.lines(&["read", "--dial", "oil.json", "--json", "scans.jpg"], 1);
    assert!(lines[0].sentence.contains("more than 100 scans"), "{}", lines[0].sentence);
}

#[test]
fn a_folder_without_photos_is_said_by_every_command_that_takes_one() {
    let desk = Desk::new();
    fs::create_dir(desk.path("bare")).unwrap();
    fs::write(desk.path("bare/notes.txt"), "x").unwrap();
    let said = || contains("The folder bare holds no picture file").and(contains("Give the folder with the photos."));
    desk.run(&["read", "--dial", "oil.json", "bare"]).code(2).stdout("").stderr(said());
    desk.run(&["settle", "--dial", "oil.json", "bare"]).code(2).stdout("").stderr(said());
    desk.run(&["compare", "--dial", "oil.json", "--before", "bare", "--after", "photos"]).code(2).stdout("").stderr(said());
    desk.run(&["check", "--dial", "oil.json", "bare"]).code(2).stdout("").stderr(said());
    desk.run(&["note", "--diary", "d.jsonl", "--stage", "s", "--dial", "oil.json", "bare"]).code(2).stdout("").stderr(said());
    assert!(!desk.path("d.jsonl").exists());
}
