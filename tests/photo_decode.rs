//! Decoding: kinds of picture, orientation, capture facts, and every kind of file that must be refused.
//! Outside truth: pictures encoded and decoded by another library (tests/data), the orientation table of Exif 2.32, FIPS 180-4.
use image::codecs::{
    jpeg::JpegEncoder,
    png::{PngDecoder, PngEncoder},
    tiff::TiffEncoder,
    webp::WebPEncoder,
};
use image::{DynamicImage, ExtendedColorType, ImageEncoder, ImageFormat, RgbImage};
use needleband::diagnostics::Refusal;
use needleband::photo::{MAX_PIXELS, Photo, PhotoError, decode, sha256_hex, upright};
use std::io::Cursor;

mod damage;
#[cfg(feature = "heic")]
mod heic;
#[cfg(feature = "heic")]
mod heic_damage;

const W: u32 = 37;
const H: u32 = 23;

/// A drawing in which no two neighbouring pixels are alike and no symmetry hides a wrong turn.
fn drawing() -> RgbImage {
    RgbImage::from_fn(W, H, |x, y| {
        let ring = ((x as f64 - 20.0).hypot(y as f64 - 9.0) - 7.0).abs() < 1.2;
        let level = if ring { 235 } else { (40 + 3 * x + 2 * y) as u8 };
        image::Rgb([level, (200 - 4 * y - x) as u8, (30 + 5 * x) as u8])
    })
}

/// A smooth drawing that JPEG keeps within a level or two.
fn smooth() -> RgbImage {
    RgbImage::from_fn(W, H, |x, y| image::Rgb([(40 + 4 * x) as u8, (220 - 5 * y) as u8, (60 + 2 * (x + y)) as u8]))
}

fn encoded(picture: &DynamicImage, format: ImageFormat) -> Vec<u8> {
    let mut bytes = Vec::new();
    let (pixels, w, h, colour) = (picture.as_bytes(), picture.width(), picture.height(), picture.color().into());
    match format {
        ImageFormat::WebP => WebPEncoder::new_lossless(&mut bytes).encode(pixels, w, h, colour),
        ImageFormat::Tiff => TiffEncoder::new(Cursor::new(&mut bytes)).write_image(pixels, w, h, colour),
        ImageFormat::Png => PngEncoder::new(&mut bytes).write_image(pixels, w, h, colour),
        other => panic!("{other:?} is written nowhere"),
    }
    .unwrap();
    bytes
}

fn jpeg(picture: &RgbImage, exif: Option<Vec<u8>>) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut encoder = JpegEncoder::new_with_quality(&mut bytes, 98);
    if let Some(block) = exif {
        encoder.set_exif_metadata(block).unwrap();
    }
    encoder.write_image(picture, picture.width(), picture.height(), ExtendedColorType::Rgb8).unwrap();
    bytes
}

/// An EXIF block by hand (little endian TIFF, Exif 2.32, 4.6): orientation, and in the Exif IFD time and 35 mm focal length.
fn exif_block(orientation: u16, time: &[u8; 20], focal: u16) -> Vec<u8> {
    let entry = |tag: u16, kind: u16, count: u32, value: u32| {
        let mut e = Vec::new();
        e.extend(tag.to_le_bytes());
        e.extend(kind.to_le_bytes());
        e.extend(count.to_le_bytes());
        e.extend(value.to_le_bytes());
        e
    };
    let mut b = b"II\x2a\0\x08\0\0\0".to_vec();
    b.extend(2u16.to_le_bytes());
    b.extend(entry(0x0112, 3, 1, orientation.into()));
    b.extend(entry(0x8769, 4, 1, 38));
    b.extend([0; 4]);
    b.extend(2u16.to_le_bytes());
    b.extend(entry(0x9003, 2, 20, 68));
    b.extend(entry(0xa405, 3, 1, focal.into()));
    b.extend([0; 4]);
    b.extend(time);
    b
}

const TIME: &[u8; 20] = b"2026:08:14 10:31:07\0";

/// Largest and mean difference in levels.
fn difference(a: &[u8], b: &[u8]) -> (u8, f64) {
    assert_eq!(a.len(), b.len());
    let all = || a.iter().zip(b).map(|(x, y)| x.abs_diff(*y));
    (all().max().unwrap(), all().map(f64::from).sum::<f64>() / a.len() as f64)
}

fn data(name: &str) -> Vec<u8> {
    std::fs::read(format!("{}/tests/data/{name}", env!("CARGO_MANIFEST_DIR"))).unwrap()
}

fn truth(name: &str) -> RgbImage {
    DynamicImage::from_decoder(PngDecoder::new(Cursor::new(data(name))).unwrap()).unwrap().into_rgb8()
}

fn damaged(bytes: &[u8]) -> bool {
    matches!(decode(bytes), Err(PhotoError::Damaged(_)))
}

#[test]
fn lossless_kinds_give_the_exact_pixels() {
    let d = drawing();
    for format in [ImageFormat::Png, ImageFormat::WebP, ImageFormat::Tiff] {
        let photo = decode(&encoded(&DynamicImage::from(d.clone()), format)).unwrap();
        assert_eq!((photo.width, photo.height), (W as usize, H as usize));
        assert_eq!(&photo.rgb, d.as_raw(), "{format:?}");
        assert_eq!((photo.taken_at, photo.focal_ratio), (None, None));
    }
}

#[test]
fn a_jpeg_is_near_its_drawing() {
    let photo = decode(&jpeg(&smooth(), None)).unwrap();
    let (most, mean) = difference(&photo.rgb, smooth().as_raw());
    // Quality 98 quantises most coefficients by 1: a level or two.
    assert!(most <= 4 && mean < 1.0, "{most} {mean}");
}

#[test]
fn other_depths_become_rgb_of_8_bits() {
    let d = DynamicImage::from(drawing());
    let alpha = d.to_rgba8();
    let deep = DynamicImage::from(d.to_rgb16());
    for picture in [DynamicImage::from(alpha), deep] {
        for format in [ImageFormat::Png, ImageFormat::Tiff] {
            assert_eq!(&decode(&encoded(&picture, format)).unwrap().rgb, drawing().as_raw());
        }
    }
    let gray = d.to_luma8();
    let tripled: Vec<u8> = gray.as_raw().iter().flat_map(|&v| [v; 3]).collect();
    for picture in [DynamicImage::from(gray.clone()), DynamicImage::from(d.to_luma16()), DynamicImage::from(d.to_luma_alpha8())] {
        let photo = decode(&encoded(&picture, ImageFormat::Png)).unwrap();
        assert!(difference(&photo.rgb, &tripled).0 <= 1);
    }
}

#[test]
fn files_of_another_encoder_agree_with_its_own_decoder() {
    // Two JPEG decoders differ by rounding in the inverse transform and in the colour conversion (T.81 allows 1 level in the
    // first), and where chroma is halved also by how it is interpolated: 3 levels seen.
    for (name, most) in [("sub420.jpg", 4), ("progressive.jpg", 4), ("restart.jpg", 2), ("gray.jpg", 1), ("cmyk.jpg", 3), ("lossy.webp", 2)]
    {
        let photo = decode(&data(name)).unwrap();
        let t = truth(&name.replace(".jpg", ".truth.png").replace(".webp", ".truth.png"));
        assert_eq!((photo.width as u32, photo.height as u32), t.dimensions());
        let found = difference(&photo.rgb, t.as_raw());
        assert!(found.0 <= most, "{name}: {found:?}");
    }
    assert_eq!(decode(&data("palette.png")).unwrap().rgb, truth("palette.truth.png").into_raw());
    for name in ["animated.webp", "lzw.tif", "deflate.tif"] {
        assert_eq!(decode(&data(name)).unwrap().rgb, truth("source.png").into_raw(), "{name}");
    }
    assert!(matches!(decode(&data("palette.tif")), Err(PhotoError::Unsupported(_))));
}

/// Exif 2.32, table of tag 274: where the 0th row and the 0th column of the stored picture are seen.
const SIDES: [(&str, &str); 8] = [
    ("top", "left"),
    ("top", "right"),
    ("bottom", "right"),
    ("bottom", "left"),
    ("left", "top"),
    ("right", "top"),
    ("right", "bottom"),
    ("left", "bottom"),
];

fn seen_upright(stored: &RgbImage, orientation: usize) -> RgbImage {
    let (w, h) = stored.dimensions();
    let (seen_w, seen_h) = if orientation > 4 { (h, w) } else { (w, h) };
    let mut seen = RgbImage::new(seen_w, seen_h);
    let (row_side, column_side) = SIDES[orientation - 1];
    for (column, row, pixel) in stored.enumerate_pixels() {
        let (mut x, mut y) = (0, 0);
        for (side, i) in [(row_side, row), (column_side, column)] {
            match side {
                "top" => y = i,
                "bottom" => y = seen_h - 1 - i,
                "left" => x = i,
                _ => x = seen_w - 1 - i,
            }
        }
        seen.put_pixel(x, y, *pixel);
    }
    seen
}

fn assert_is(photo: &Photo, expected: &RgbImage) {
    assert_eq!((photo.width as u32, photo.height as u32), expected.dimensions());
    assert!(photo.rgb == *expected.as_raw(), "pixels differ");
}

#[test]
fn all_eight_orientations_are_turned_upright_to_the_pixel() {
    // 70 rows: more than one block of the turning loop, and the last one not full.
    let tall = RgbImage::from_fn(41, 70, |x, y| image::Rgb([x as u8, y as u8, (x * 3 + y) as u8]));
    for orientation in 1..=8 {
        for d in [&drawing(), &tall] {
            let expected = seen_upright(d, orientation);
            let mut bytes = Vec::new();
            let mut encoder = PngEncoder::new(&mut bytes);
            encoder.set_exif_metadata(exif_block(orientation as u16, TIME, 26)).unwrap();
            encoder.write_image(d, d.width(), d.height(), ExtendedColorType::Rgb8).unwrap();
            assert_is(&decode(&bytes).unwrap(), &expected);

            let mut bytes = Vec::new();
            let mut encoder = WebPEncoder::new_lossless(&mut bytes);
            encoder.set_exif_metadata(exif_block(orientation as u16, TIME, 26)).unwrap();
            encoder.write_image(d, d.width(), d.height(), ExtendedColorType::Rgb8).unwrap();
            assert_is(&decode(&bytes).unwrap(), &expected);

            // A JPEG is not exact, but turning it is: the same pixels as without the tag, turned.
            let plain = decode(&jpeg(d, None)).unwrap();
            let plain = RgbImage::from_raw(d.width(), d.height(), plain.rgb.to_vec()).unwrap();
            let turned = decode(&jpeg(d, Some(exif_block(orientation as u16, TIME, 26)))).unwrap();
            assert_is(&turned, &seen_upright(&plain, orientation));
        }
        assert_is(&decode(&tiff_by_hand(orientation as u16)).unwrap(), &seen_upright(&drawing(), orientation));
    }
}

#[test]
fn an_unknown_orientation_or_a_wrong_size_leaves_the_pixels_alone() {
    for (o, len) in [(0, 18), (9, 18), (6, 17)] {
        let pixels: Vec<u8> = (0..len).collect();
        assert_eq!(upright(pixels.clone().into(), 3, 2, o), (pixels.into(), 3, 2));
    }
}

/// An uncompressed TIFF whose directory comes before its pixels, as cameras write it (TIFF 6.0).
fn tiff_by_hand(orientation: u16) -> Vec<u8> {
    let entries: [(u16, u16, u32, u32); 10] = [
        (256, 3, 1, W),
        (257, 3, 1, H),
        (258, 3, 3, 134),
        (259, 3, 1, 1),
        (262, 3, 1, 2),
        (273, 4, 1, 140),
        (274, 3, 1, orientation.into()),
        (277, 3, 1, 3),
        (278, 3, 1, H),
        (279, 4, 1, W * H * 3),
    ];
    let mut b = b"II\x2a\0\x08\0\0\0\x0a\0".to_vec();
    for (tag, kind, count, value) in entries {
        b.extend(tag.to_le_bytes());
        b.extend(kind.to_le_bytes());
        b.extend(count.to_le_bytes());
        b.extend(value.to_le_bytes());
    }
    b.extend([0; 4]);
    b.extend([8, 0, 8, 0, 8, 0]);
    b.extend(drawing().as_raw());
    b
}

#[test]
fn capture_time_and_focal_length_are_read() {
    let photo = decode(&jpeg(&drawing(), Some(exif_block(1, TIME, 26)))).unwrap();
    assert_eq!(photo.taken_at.as_deref(), Some("2026-08-14 10:31:07"));
    assert_eq!(photo.focal_ratio, Some(26.0 / 36.0));
    let leap = decode(&jpeg(&drawing(), Some(exif_block(1, b"2024:02:29 23:59:59\0", 1)))).unwrap();
    assert_eq!(leap.taken_at.as_deref(), Some("2024-02-29 23:59:59"));
}

#[test]
fn nonsense_in_exif_counts_as_absent() {
    let times: [&[u8; 20]; 7] = [
        b"0000:00:00 00:00:00\0",
        b"    :  :     :  :  \0",
        b"2026:13:01 10:00:00\0",
        b"2026:02:29 10:00:00\0",
        b"2026:08:14 24:00:00\0",
        b"2026-08-14 10:31:07\0",
        b"\xff\xfe26:08:14 10:31:07\0",
    ];
    for time in times {
        let photo = decode(&jpeg(&drawing(), Some(exif_block(1, time, 0)))).unwrap();
        assert_eq!((photo.taken_at, photo.focal_ratio), (None, None), "{time:?}");
    }
    let whole = exif_block(6, TIME, 26);
    for cut in 0..whole.len() {
        let photo = decode(&jpeg(&drawing(), Some(whole[..cut].to_vec()))).unwrap();
        assert!(photo.taken_at.is_none());
    }
    let photo = decode(&jpeg(&drawing(), Some(exif_block(77, TIME, 26)))).unwrap();
    assert_eq!((photo.width, photo.height), (W as usize, H as usize));
}

#[test]
fn errors_map_to_the_registry_and_advise() {
    let all = [
        (PhotoError::NotAPicture, Refusal::Undecodable),
        (PhotoError::Damaged("x".into()), Refusal::Undecodable),
        (PhotoError::Unsupported("x".into()), Refusal::Undecodable),
        (PhotoError::HeicLeftOut, Refusal::Undecodable),
        (PhotoError::TooLarge { width: 9000, height: 8000, limit: MAX_PIXELS }, Refusal::TooLarge),
        (PhotoError::Empty, Refusal::NoDetail),
    ];
    for (error, refusal) in all {
        assert_eq!(error.refusal(), refusal);
        assert!(error.to_string().split(". ").count() >= 2, "no advice in: {error}");
    }
}

#[test]
fn the_hash_is_sha_256() {
    // FIPS 180-4 example "abc" (published by NIST with the standard).
    assert_eq!(sha256_hex(b"abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    let bytes = jpeg(&drawing(), None);
    assert_eq!(decode(&bytes).unwrap().hash, sha256_hex(&bytes));
}

#[cfg(not(feature = "heic"))]
#[test]
fn without_the_feature_a_heic_names_the_way_out() {
    let error = decode(&data("eight.heic")).unwrap_err();
    assert_eq!(error, PhotoError::HeicLeftOut);
    let text = error.to_string();
    assert!(text.contains("Export the photo as JPEG") && text.contains("--features heic"), "{text}");
}
