//! A phone's 0.5x lens: remarked where the dial lies far from the middle, and nowhere else.
use needleband::diagnostics::Flag;
use needleband::dial::from_bytes;
use needleband::photo::{Photo, decode};
use needleband::reading::{Outcome, Reader};

/// The sample with `margin` columns of grey added at its right, so that the dial lies to the left of the middle.
fn widened(photo: &Photo, margin: usize) -> Photo {
    let rows = photo.rgb.chunks_exact(photo.width * 3).map(|row| [row, &vec![90; margin * 3]].concat());
    Photo { width: photo.width + margin, rgb: rows.flatten().collect(), ..photo.clone() }
}

#[test]
fn a_dial_far_from_the_middle_of_a_very_wide_photo_is_remarked() {
    let file = |path: &str| std::fs::read(format!("{}/{path}", env!("CARGO_MANIFEST_DIR"))).unwrap();
    let reader = Reader::new(from_bytes(&file("calibration/gearbox-oil.json")).unwrap());
    let photo = decode(&file("samples/gearbox-oil/before/4.jpg")).unwrap();
    // 35 mm equivalents: 13 mm is a 0.5x lens, 26 mm a 1x lens, 18 mm the limit (common practice).
    for (focal, margin, remarked) in [(Some(13.0), 2400, true), (Some(18.0), 2400, true), (Some(26.0), 2400, false), (None, 2400, false)] {
        let photo = Photo { focal_ratio: focal.map(|f: f64| f / 36.0), ..widened(&photo, margin) };
        match reader.read(&photo).outcome {
            Outcome::Reading(r) => assert_eq!(r.flags.contains(&Flag::WideLens), remarked, "{focal:?} {margin}: {:?}", r.flags),
            other => panic!("{focal:?} {margin}: {other:?}"),
        }
    }
}
