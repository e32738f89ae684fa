//! What holds whatever the bytes. The bounded tests beside this file and the fuzz targets in `fuzz/` run the same bodies, so they use
//! nothing but the library's public face.
use needleband::assess::{Given, assess};
use needleband::calibrate::{Request, calibrate};
use needleband::cli::understood;
use needleband::dial::{Dial, DialFileError, from_bytes, to_bytes};
use needleband::diary::{line, parse, project};
use needleband::maths::point::PhotoPoint;
use needleband::maths::units::Unit;
use needleband::output::{json, page, text};
use needleband::photo::{MAX_PIXELS, Photo, decode, sha256_hex};
use needleband::scale::Scale;
use needleband::settle::seconds_of;
use std::fmt::Display;

/// A message as people and terminals get it: one line of whole sentences.
fn speaks(error: &impl Display) {
    let said = error.to_string();
    assert!(said.ends_with('.') && !said.contains('\n'), "{said:?}");
}

/// A photo file of any kind.
pub fn photo(bytes: &[u8]) {
    match decode(bytes) {
        Ok(photo) => possible(&photo),
        Err(e) => speaks(&e),
    }
}

fn possible(photo: &Photo) {
    let pixels = photo.width * photo.height;
    assert!(pixels > 0 && pixels as u64 <= MAX_PIXELS && photo.rgb.len() == 3 * pixels);
    assert!(photo.hash.len() == 64);
    assert!(photo.taken_at.as_ref().is_none_or(|t| seconds_of(t).is_some()), "{:?}", photo.taken_at);
    assert!(photo.focal_ratio.is_none_or(|f| f.is_finite() && f > 0.0), "{:?}", photo.focal_ratio);
}

/// An EXIF block: a whole JPEG keeps its pixels, whatever stands in it.
pub fn exif(block: &[u8]) {
    let jpeg: &[u8] = include_bytes!("../data/gray.jpg");
    let block = &block[..block.len().min(65_000)];
    let mut bytes = vec![0xff, 0xd8, 0xff, 0xe1];
    bytes.extend((block.len() as u16 + 8).to_be_bytes());
    bytes.extend(b"Exif\0\0");
    bytes.extend(block);
    bytes.extend(&jpeg[2..]);
    let (plain, with) = (decode(jpeg).unwrap(), decode(&bytes).unwrap());
    possible(&with);
    let turned = (with.height, with.width);
    assert!([(with.width, with.height), turned].contains(&(plain.width, plain.height)));
    let sum = |p: &Photo| p.rgb.iter().map(|b| u64::from(*b)).sum::<u64>();
    assert_eq!(sum(&plain), sum(&with));
}

/// A dial file. One whose content does not have the identity it states is looked at once more with the right one, so that what lies
/// behind the seal is reached too.
pub fn dial_file(bytes: &[u8]) {
    match from_bytes(bytes) {
        Ok(dial) => usable(&dial),
        Err(DialFileError::ChangedByHand { stated, found }) => {
            let sealed = String::from_utf8_lossy(bytes).replacen(&stated, &found, 1);
            if let Ok(dial) = from_bytes(sealed.as_bytes()) {
                usable(&dial);
            }
        }
        Err(e) => speaks(&e),
    }
}

/// A dial that was read can be written, and every command that needs no photo can work with it.
fn usable(dial: &Dial) {
    let written = to_bytes(dial).unwrap();
    let back = from_bytes(&written).unwrap();
    assert_eq!(&back, dial);
    let scale = Scale::new(dial);
    for angle in [-1e9, -360.0, -90.0, 0.0, 17.3, 180.0, 1e9] {
        let _ = scale.place(angle, 0.5);
    }
    let answer = assess(dial, Given { repeated: &[], blur: None });
    let said = text::check(dial, &answer, 0);
    assert!(!said.contains("NaN"), "{said}");
    match json::check(dial, &answer) {
        Ok(told) => assert!(!told.contains("NaN")),
        Err(e) => speaks(&e),
    }
}

/// A diary. Lines are looked at as they are, and once more with check sums that match.
pub fn diary(bytes: &[u8]) {
    notes(bytes);
    if let Ok(told) = std::str::from_utf8(bytes) {
        notes(told.lines().map(sealed).collect::<Vec<_>>().join("\n").as_bytes());
    }
}

/// A line with the check sum of its content: `"check"` is the last field, over the first digits of SHA-256 of the rest.
fn sealed(line: &str) -> String {
    match line.rsplit_once(",\"check\":\"") {
        Some((content, _)) => {
            let sum: String = sha256_hex(format!("{content}}}").as_bytes()).chars().take(12).collect();
            format!("{content},\"check\":\"{sum}\"}}")
        }
        None => line.to_string(),
    }
}

fn notes(bytes: &[u8]) {
    let diary = match parse(bytes) {
        Ok(diary) => diary,
        Err(e) => return speaks(&e),
    };
    diary.damaged.iter().for_each(|d| speaks(&d.sentence()));
    for note in &diary.notes {
        let again = parse(line(note).unwrap().as_bytes()).unwrap();
        assert_eq!(&again.notes, std::slice::from_ref(note));
    }
    let Some(project) = project(&diary) else { return };
    let said = text::stages(&project, &diary, true);
    assert!(!said.chars().any(|c| c.is_control() && c != '\n'), "{said:?}");
    let _ = json::stages(&project, &diary).map_err(|e| speaks(&e));
    let _ = page(&project, &diary).map_err(|e| speaks(&format!("{e}.")));
}

/// A file of a settled level.
pub fn level(bytes: &[u8]) {
    match json::settled_level(bytes) {
        Ok(given) => assert!(given.level.value().is_finite() && given.level.sigma().is_finite()),
        Err(e) => speaks(&e),
    }
}

/// Options whose values have a form of their own, and the words that must stand with them.
const FORMS: [(&str, &[&str]); 14] = [
    ("--mark", &["calibrate", "p.jpg", "--unit", "C", "--out", "o.json"]),
    ("--tick", &["calibrate", "p.jpg", "--unit", "C", "--out", "o.json"]),
    ("--angle", &["calibrate", "p.jpg", "--unit", "C", "--out", "o.json"]),
    ("--known", &["calibrate", "p.jpg", "--unit", "C", "--out", "o.json"]),
    ("--pivot", &["calibrate", "p.jpg", "--unit", "C", "--out", "o.json", "--mark", "1@2,3"]),
    ("--gauge-accuracy", &["refine", "--dial", "o.json", "--out", "p.json"]),
    ("--stiction", &["refine", "--dial", "o.json", "--out", "p.json"]),
    ("--flat", &["refine", "--dial", "o.json", "--out", "p.json"]),
    ("--limit", &["read", "--dial", "o.json", "p.jpg"]),
    ("--every", &["settle", "--dial", "o.json", "p.jpg"]),
    ("--drop", &["plan", "--dial", "o.json"]),
    ("--scatter", &["plan", "--dial", "o.json", "--drop", "5C"]),
    ("--ambient-after", &["compare", "--dial", "o.json", "--before", "a", "--after", "b", "--ambient-before", "20C"]),
    ("--stage", &["note", "--diary", "d.jsonl", "--dial", "o.json", "p.jpg"]),
];

/// What may be typed for an option: taken or refused with words, and always the same.
pub fn argument(typed: &str) {
    for (option, with) in FORMS {
        let value = format!("{option}={typed}");
        let words: Vec<&str> = ["needleband"].into_iter().chain(with.iter().copied()).chain([value.as_str()]).collect();
        if let Err(said) = understood(&words) {
            assert!(said.len() > 20, "{said:?}");
        }
    }
}

/// Marks, angles and pivot at any places with any values: a dial that can be written, or a sentence.
pub fn marks(bytes: &[u8]) {
    let Some((&kind, rest)) = bytes.split_first() else { return };
    let mut numbers = rest.chunks_exact(3).map(|b| number(b, kind & 1 == 0)).collect::<Vec<_>>().into_iter();
    let mut next = || numbers.next().unwrap_or(0.0);
    let mut place = |on: bool| on.then(|| PhotoPoint::new(next(), next()));
    let (pivot, rim) = (place(kind & 2 == 0), place(kind & 4 == 0));
    let left: Vec<f64> = numbers.collect();
    let all = || left.chunks_exact(3).take(8);
    let on_ring = kind & 8 == 0;
    let marks = all().filter(|_| on_ring).map(|n| (n[0], PhotoPoint::new(n[1], n[2]))).collect();
    let angles = all().filter(|_| !on_ring).map(|n| (n[0], n[1])).collect();
    let request = Request { unit: Unit::C, name: "any".to_string(), marks, angles, pivot, rim, tick_step: None };
    match calibrate(&small(), &request) {
        Ok(done) => usable(&done.dial),
        Err(e) => assert!(!e.to_string().is_empty()),
    }
}

/// A number from three bytes: within the picture, or of any size and sign.
fn number(b: &[u8], small: bool) -> f64 {
    let whole = f64::from(u16::from_be_bytes([b[0], b[1]]));
    let fine = f64::from(b[2]) / 256.0;
    if small { whole % 200.0 + fine } else { (fine - 0.5) * 10f64.powf(whole / 65_535.0 * 600.0 - 300.0) }
}

/// A drawn dial of 160 x 120 px: pivot at 80,60; ticks every 30 degrees from -120 to 120 at 40 to 50 px; the needle at 20 degrees.
fn small() -> Photo {
    let (w, h) = (160, 120);
    let mut rgb = Vec::with_capacity(3 * w * h);
    for (x, y) in (0..h).flat_map(|y| (0..w).map(move |x| (x as f64 - 80.0, 60.0 - y as f64))) {
        let (r, a) = (x.hypot(y), x.atan2(y).to_degrees());
        let tick = (40.0..50.0).contains(&r) && a.abs() < 123.0 && ((a / 30.0).round() * 30.0 - a).abs().to_radians() * r < 1.2;
        let needle = (-8.0..36.0).contains(&(r * (a - 20.0).to_radians().cos())) && (r * (a - 20.0).to_radians().sin()).abs() < 1.5;
        let paper = if tick { 225 } else { 50 };
        rgb.extend(if needle { [230, 60, 40] } else { [paper; 3] });
    }
    Photo { width: w, height: h, rgb: rgb.into(), hash: "ab".repeat(32), taken_at: None, focal_ratio: None }
}
