//! HEIC against libheif 1.23.6 (pixels) and Little CMS 2 by Pillow 13 (Display P3 to sRGB); a sample photo as HEIC against itself as JPEG.
use super::*;
use needleband::dial::from_bytes;
use needleband::reading::{Outcome, Reader, Reading};

/// Mean difference in luma (BT.601), and largest and mean difference over all channels.
fn apart(photo: &Photo, truth: &RgbImage) -> (f64, u8, f64) {
    assert_eq!((photo.width as u32, photo.height as u32), truth.dimensions());
    let luma = |p: &[u8]| 0.299 * f64::from(p[0]) + 0.587 * f64::from(p[1]) + 0.114 * f64::from(p[2]);
    let pairs = photo.rgb.chunks_exact(3).zip(truth.as_raw().chunks_exact(3));
    let luma_apart = pairs.map(|(a, b)| (luma(a) - luma(b)).abs()).sum::<f64>() / (truth.as_raw().len() / 3) as f64;
    let (most, mean) = difference(&photo.rgb, truth.as_raw());
    (luma_apart, most, mean)
}

#[test]
fn pixels_are_those_of_the_reference_decoder() {
    // Where chroma is halved the two decoders interpolate it differently, by some levels at edges of colour; the luma, which carries the
    // needle, is the same but for rounding. In profile_p3 chroma is whole.
    for name in ["eight", "limited", "grid", "turned", "ten_p3", "profile_p3"] {
        let found = apart(&decode(&data(&format!("{name}.heic"))).unwrap(), &truth(&format!("{name}.truth.png")));
        println!("{name} {found:?}");
        assert!(found.0 < 0.5 && found.2 < 1.6, "{name}: {found:?}");
    }
}

#[test]
fn display_p3_becomes_srgb() {
    // The same coded picture taken as sRGB is far off, so the test above can tell.
    let photo = decode(&data("profile_p3.heic")).unwrap();
    let as_written = RgbImage::from_raw(64, 48, heifer::decode(&data("profile_p3.heic")).unwrap().to_rgb8()).unwrap();
    let found = apart(&photo, &as_written);
    assert!(found.1 > 60 && found.2 > 3.0, "{found:?}");
}

#[test]
fn orientation_is_applied_once_and_only_by_the_boxes() {
    let upright = truth("eight.truth.png");
    // irot, and EXIF orientation 6 beside it, as phones write both.
    let turned = decode(&data("turned.heic")).unwrap();
    let once = image::imageops::rotate180(&upright);
    assert!(apart(&turned, &once).2 < 2.5 && apart(&turned, &upright).2 > 10.0);
    // imir, and EXIF orientation 2 beside it; the coded picture is mirrored.
    assert!(apart(&decode(&data("mirrored.heic")).unwrap(), &upright).2 < 2.5);
    // EXIF orientation 6 without irot: for information only (ISO/IEC 23008-12); libheif shows it as stored, too.
    let stored = decode(&data("exif_only.heic")).unwrap();
    assert_eq!(stored.rgb, decode(&data("eight.heic")).unwrap().rgb);
}

#[test]
fn capture_facts_are_those_of_the_primary_picture() {
    for name in ["eight.heic", "turned.heic", "exif_only.heic"] {
        let photo = decode(&data(name)).unwrap();
        assert_eq!(photo.taken_at.as_deref(), Some("2026-08-14 10:31:07"), "{name}");
        assert_eq!(photo.focal_ratio, Some(26.0 / 36.0));
        assert_eq!(photo.hash, sha256_hex(&data(name)));
    }
    assert_eq!(decode(&data("grid.heic")).unwrap().taken_at.as_deref(), Some("2026-05-09 09:00:00"));
}

#[test]
fn of_several_pictures_the_primary_is_read() {
    // Another picture, upside down, is stored before it.
    let photo = decode(&data("second.heic")).unwrap();
    let upright = truth("eight.truth.png");
    assert!(apart(&photo, &upright).2 < 2.5, "{:?}", apart(&photo, &upright));
}

#[test]
fn what_phones_do_not_write_is_refused_by_name() {
    for (name, word) in [("pq.heic", "PQ"), ("alpha.heic", "transparency")] {
        match decode(&data(name)) {
            Err(PhotoError::Unsupported(what)) => assert!(what.contains(word), "{name}: {what}"),
            other => panic!("{name}: {:?}", other.map(|p| p.width)),
        }
    }
}

fn read(reader: &Reader, photo: &Photo) -> Reading {
    match reader.read(photo).outcome {
        Outcome::Reading(r) => r,
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_sample_as_heic_reads_within_the_band_of_its_jpeg() {
    let file = |path: &str| std::fs::read(format!("{}/{path}", env!("CARGO_MANIFEST_DIR"))).unwrap();
    let reader = Reader::new(from_bytes(&file("calibration/transfer-box.json")).unwrap());
    let jpeg = read(&reader, &decode(&file("samples/transfer-box/tilted-glare.jpg")).unwrap());
    let heic = read(&reader, &decode(&data("tilted-glare.heic")).unwrap());
    let value = heic.temperature.value();
    println!("{} {} {:?}", jpeg.temperature.value(), value, jpeg.temperature.band());
    // coded to 96 kB from 133 kB: half a sigma at most
    assert!(jpeg.temperature.band().0 < value && value < jpeg.temperature.band().1, "{value} outside {:?}", jpeg.temperature.band());
    assert!((value - jpeg.temperature.value()).abs() < 0.5 * jpeg.temperature.sigma());
    assert!(heic.temperature.band().0 < 95.77 && 95.77 < heic.temperature.band().1, "the truth of samples/truth.csv");
}
