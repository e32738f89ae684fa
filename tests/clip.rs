//! Clips against FFmpeg's own decoders (pixels, times), the track's matrix and edit list, damage, and the whole way: the settled answer
//! of a clip is that of its frames as stills, and holds the truth of the sample they were made from.
//!
//! The clips are made from a rendering (tests/data/README.md). FFmpeg 8.1 as in PyAV 18.1.0: libavcodec 62.28 decodes, libswscale 9.5
//! converts to RGB.
use crate::support::pictures;
use image::RgbImage;
use needleband::photo::{Clip, ClipError, PhotoError, upright};
use proptest::prelude::*;
use std::io::Cursor;

mod whole_way;

type Open = Clip<Cursor<Vec<u8>>>;

const ALL: [&str; 4] = ["avc.mp4", "hevc.mov", "tiny-avc.mp4", "tiny-hevc.mp4"];

fn data(name: &str) -> Vec<u8> {
    std::fs::read(format!("tests/data/clips/{name}")).unwrap()
}

fn open(bytes: Vec<u8>) -> Result<Open, ClipError> {
    Clip::open(Cursor::new(bytes))
}

/// A part of one frame as FFmpeg shows it: clip, number of the key frame, its left and upper edge.
const TRUTH: [(&str, usize, (u32, u32)); 4] =
    [("avc.mp4", 3, (120, 110)), ("hevc.mov", 3, (120, 110)), ("tiny-avc.mp4", 1, (0, 0)), ("tiny-hevc.mp4", 1, (0, 0))];

/// Mean difference in luma (BT.601) and over all channels.
fn apart(found: &RgbImage, truth: &RgbImage) -> (f64, f64) {
    let luma = |p: &image::Rgb<u8>| 0.299 * f64::from(p[0]) + 0.587 * f64::from(p[1]) + 0.114 * f64::from(p[2]);
    let n = f64::from(truth.width() * truth.height());
    let lumas = found.pixels().zip(truth.pixels()).map(|(a, b)| (luma(a) - luma(b)).abs()).sum::<f64>() / n;
    let levels = found.as_raw().iter().zip(truth.as_raw()).map(|(a, b)| f64::from(a.abs_diff(*b))).sum::<f64>() / (3.0 * n);
    (lumas, levels)
}

/// Range, matrix, depth and turn differ from clip to clip; any of them taken wrong is off by several levels. Where chroma is halved the
/// two converters interpolate it differently at edges of colour; the luma, which carries the needle, is the same but for rounding.
#[test]
fn pixels_are_those_of_the_reference_decoder() {
    for (name, number, (x, y)) in TRUTH {
        let truth = pictures::opened(format!("tests/data/clips/{}.truth.png", name.split('.').next().unwrap()));
        let frame = pictures::of(&open(data(name)).unwrap().photo(number).unwrap());
        let part = image::imageops::crop_imm(&frame, x, y, truth.width(), truth.height()).to_image();
        let found = apart(&part, &truth);
        println!("{name} {found:?}");
        assert!(found.0 < 0.2 && found.1 < 0.8, "{name}: {found:?}");
        let other = pictures::of(&open(data(name)).unwrap().photo(0).unwrap());
        let other = image::imageops::crop_imm(&other, x, y, truth.width(), truth.height()).to_image();
        assert!(apart(&other, &truth).0 > 3.0, "{name}: the frames are not told apart");
    }
}

/// As `frame.time` of PyAV gives them for the frames that FFmpeg marks as key frames.
#[test]
fn times_are_those_of_the_key_frames() {
    for (name, times) in ALL.iter().zip([&[0.0, 2.0, 4.0, 6.0, 8.0][..], &[0.0, 2.0, 4.0, 6.0, 8.0], &[0.0, 1.0], &[0.0, 1.0]]) {
        assert_eq!(open(data(name)).unwrap().times(), times, "{name}");
    }
}

/// Where a box's kind stands.
fn place(bytes: &[u8], kind: &[u8; 4]) -> usize {
    bytes.windows(4).position(|w| w == kind).unwrap()
}

/// A list that begins two seconds later: FFmpeg shows the key frames 0, 2, 4 and 6 s of what is left.
#[test]
fn what_the_list_of_edits_leaves_out_is_not_shown() {
    let mut bytes = data("avc.mp4");
    let (list, scale) = (place(&bytes, b"elst"), place(&bytes, b"mdhd") + 16);
    let scale = u32::from_be_bytes(bytes[scale..scale + 4].try_into().unwrap());
    let from = u32::from_be_bytes(bytes[list + 16..list + 20].try_into().unwrap());
    bytes[list + 16..list + 20].copy_from_slice(&(from + 2 * scale).to_be_bytes());
    assert_eq!(open(bytes.clone()).unwrap().times(), [0.0, 2.0, 4.0, 6.0]);
    // shown at half the speed
    bytes[list + 20..list + 24].copy_from_slice(&(1u32 << 15).to_be_bytes());
    assert!(matches!(open(bytes).unwrap_err(), ClipError::Unsupported(what) if what.contains("slowed down")));
}

/// All eight matrices against turning the same frame by EXIF orientation.
#[test]
fn the_matrix_turns_as_exif_does() {
    let mut bytes = data("tiny-hevc.mp4");
    let at = place(&bytes, b"tkhd") + 44;
    let plain = open(bytes.clone()).unwrap().photo(0).unwrap();
    let matrices = [[1, 0, 0, 1], [-1, 0, 0, 1], [-1, 0, 0, -1], [1, 0, 0, -1], [0, 1, 1, 0], [0, 1, -1, 0], [0, -1, -1, 0], [0, -1, 1, 0]];
    for (orientation, [a, b, c, d]) in (1..).zip(matrices) {
        for (k, value) in [a, b, 0, c, d].into_iter().enumerate() {
            bytes[at + 4 * k..at + 4 * k + 4].copy_from_slice(&(value * 65536i32).to_be_bytes());
        }
        let photo = open(bytes.clone()).unwrap().photo(0).unwrap();
        assert_eq!(
            (photo.rgb, photo.width, photo.height),
            upright(plain.rgb.clone(), plain.width, plain.height, orientation),
            "{orientation}"
        );
    }
    bytes[at + 2] = 0x12;
    assert!(matches!(open(bytes), Err(ClipError::Unsupported(_))));
}

#[test]
fn a_clip_cut_anywhere_is_damaged() {
    // for the web the index stands first: then frames are missing, and otherwise the index
    for name in ["tiny-avc.mp4", "tiny-hevc.mp4"] {
        let whole = data(name);
        for cut in 0..whole.len() {
            assert!(matches!(open(whole[..cut].to_vec()), Err(ClipError::Damaged(_))), "{name} cut at {cut} of {}", whole.len());
        }
    }
}

/// Lengths and places of the units behind `mdat`.
fn units(bytes: &[u8]) -> Vec<(usize, usize)> {
    let (mut at, mut all) = (place(bytes, b"mdat") + 4, Vec::new());
    while let Some(length) = bytes.get(at..at + 4) {
        let length = u32::from_be_bytes(length.try_into().unwrap()) as usize;
        all.push((at + 4, length));
        at += 4 + length;
    }
    all
}

/// Decoders fill in what a lost slice leaves open and call it a success: it must not be taken for a picture.
#[test]
fn a_frame_without_one_of_its_slices_is_damaged() {
    // types by H.264, table 7-1 (5 slice of a key frame, 12 filler), and H.265, table 7-1 (16 to 21 the same, 38 filler)
    for (name, is_slice, filler) in
        [("tiny-avc.mp4", (|b| b & 31 == 5) as fn(u8) -> bool, 12), ("tiny-hevc.mp4", |b| (16..=21).contains(&(b >> 1)), 38 << 1)]
    {
        let whole = data(name);
        let slices: Vec<usize> = units(&whole).iter().filter(|u| is_slice(whole[u.0])).map(|u| u.0).take(2).collect();
        for (k, at) in slices.iter().enumerate() {
            let mut bytes = whole.clone();
            bytes[*at] = filler;
            let mut clip = open(bytes).unwrap();
            assert!(
                matches!(clip.photo(0), Err(PhotoError::Damaged(_))),
                "{name}: slice {k} lost, but {:?}",
                clip.photo(0).map(|p| p.width)
            );
            assert!(clip.photo(1).is_ok() && clip.photo(2).is_err());
        }
        assert_eq!(slices.len(), 2);
    }
}

#[test]
fn what_is_no_readable_clip_is_refused_by_name() {
    let mut other = data("tiny-avc.mp4");
    let at = place(&other, b"stsd") + 16;
    other[at..at + 4].copy_from_slice(b"av01");
    assert!(matches!(open(other).unwrap_err(), ClipError::Unsupported(what) if what.contains("av01")));
    let mut fragments = data("tiny-avc.mp4");
    let at = place(&fragments, b"udta");
    fragments[at..at + 4].copy_from_slice(b"mvex");
    assert!(matches!(open(fragments).unwrap_err(), ClipError::Unsupported(what) if what.contains("fragments")));
    // an index that claims more than four thousand million frames
    let mut endless = data("tiny-avc.mp4");
    let at = place(&endless, b"stsz") + 8;
    endless[at..at + 8].fill(0xff);
    assert!(matches!(open(endless), Err(ClipError::Damaged(_))));
    assert!(matches!(open(b"\0\0\0\x10ftypisom\0\0\0\0".to_vec()), Err(ClipError::Damaged(what)) if what.contains("index")));
}

/// What is said to be larger is not decoded (the size is judged by the stream's own head; the track's is not looked at).
#[test]
fn the_head_of_the_track_does_not_change_the_size() {
    let mut bytes = data("tiny-avc.mp4");
    let at = place(&bytes, b"tkhd") + 80;
    bytes[at..at + 8].copy_from_slice(&[0xff, 0xff, 0, 0, 0xff, 0xff, 0, 0]);
    let photo = open(bytes).unwrap().photo(0).unwrap();
    assert_eq!((photo.width, photo.height), (64, 48));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 3000, failure_persistence: None, rng_seed: proptest::test_runner::RngSeed::Fixed(20261101), ..ProptestConfig::default() })]
    /// Whatever the bytes, an answer and no panic.
    #[test]
    fn any_damage_gives_an_answer(
        hevc in any::<bool>(),
        changes in proptest::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..6),
        head in any::<bool>(),
    ) {
        let mut bytes = data(if hevc { "tiny-hevc.mp4" } else { "tiny-avc.mp4" });
        // the index is what most can go wrong in
        let n = if head { place(&bytes, b"mdat") } else { bytes.len() };
        for (at, byte) in changes {
            bytes[at.index(n)] = byte;
        }
        if let Ok(mut clip) = open(bytes) {
            let times = clip.times();
            prop_assert!(times.iter().all(|t| t.is_finite() && *t >= 0.0) && times.is_sorted());
            for number in 0..times.len() {
                if let Ok(photo) = clip.photo(number) {
                    prop_assert_eq!(photo.rgb.len(), photo.width * photo.height * 3);
                }
            }
        }
    }
}
