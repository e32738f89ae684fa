//! What a photo costs, as ratios to decoding it in the same run (shared machines are noisy). Run by `cargo bench`.
//!
//! All on one thread: every work runs in a pool of one.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
use needleband::calibrate::{Request, calibrate, find_dials};
use needleband::dial::{Dial, from_bytes};
use needleband::maths::point::PhotoPoint;
use needleband::maths::units::Unit;
use needleband::photo::{Photo, decode};
use needleband::reading::{Outcome, Reader};
use needleband::rectify::{Evidence, InpaintedReference, Work};
use needleband::register::face::FaceModel;
use needleband::register::{Glyphs, Pyramid, Registrar};
use std::hint::black_box;
use std::time::{Duration, Instant};

/// Median of so many runs after one to warm up.
const RUNS: usize = 9;

fn median<T>(mut work: impl FnMut() -> T) -> f64 {
    black_box(work());
    let mut all: Vec<Duration> = (0..RUNS)
        .map(|_| {
            let start = Instant::now();
            black_box(work());
            start.elapsed()
        })
        .collect();
    all.sort();
    all[RUNS / 2].as_secs_f64() * 1e3
}

/// Decoding to RGB by the general library, in milliseconds: the yardstick.
fn yardstick(bytes: &[u8]) -> f64 {
    median(|| image::load_from_memory(bytes).unwrap().into_rgb8())
}

fn whole(name: &str, bytes: &[u8], file: &[u8], dial: &Dial) {
    let unit = yardstick(bytes);
    let reader = Reader::new(dial.clone());
    let photo = decode(bytes).unwrap();
    let first = reader.read(&photo);
    assert!(matches!(first.outcome, Outcome::Reading(_)));
    println!("\n{name} ({} x {}), decoded by the general library in {unit:.1} ms = 1", photo.width, photo.height);
    let row = |what: &str, ms: f64| println!("  {what:<52} {ms:>7.1} ms {:>6.2}", ms / unit);
    row(
        "dial file and photo read once (as the command does)",
        median(|| Reader::new(from_bytes(file).unwrap()).read(&decode(bytes).unwrap())),
    );
    row("photo decoded and read, the dial ready", median(|| reader.read(&decode(bytes).unwrap())));
    row("the same as a frame after another of the scene", median(|| reader.read_after(&decode(bytes).unwrap(), Some(&first))));
    row("decoded", median(|| decode(bytes).unwrap()));
    stages(&photo, dial, row);
}

fn stages(photo: &Photo, dial: &Dial, row: impl Fn(&str, f64)) {
    row("prepared: dial for finding", median(|| Registrar::new(FaceModel::new(dial.clone()))));
    row("prepared: face without its needle", median(|| InpaintedReference::new(&FaceModel::new(dial.clone()))));
    row("prepared: numerals and words", median(|| Glyphs::new(&FaceModel::new(dial.clone()))));
    let face = FaceModel::new(dial.clone());
    let (bare, glyphs, registrar) = (InpaintedReference::new(&face), Glyphs::new(&face), Registrar::new(face));
    row("stage: pyramid", median(|| Pyramid::of(photo)));
    let pyramid = Pyramid::of(photo);
    row("stage: dial found", median(|| registrar.find(&pyramid, None)));
    let found = registrar.find(&pyramid, None).unwrap();
    row("stage: last alignment", median(|| registrar.again(&pyramid, &found, |_, _| false)));
    let again = registrar.again(&pyramid, &found, |_, _| false).unwrap();
    row(
        "stage: cut, light, evidence",
        median(|| {
            let work = Work::cut(photo, &again.dial_to_photo, again.scale, 1.12).unwrap();
            Evidence::new(&bare, &work, &again).map(&work)
        }),
    );
    row("stage: numerals compared", median(|| glyphs.compare(&pyramid, &again, |_, _| false)));
}

/// Calibration with the values as they are printed, and with one that counting must not follow.
fn calibrating() {
    let photo = decode(&std::fs::read("samples/gearbox-oil/reference.jpg").unwrap()).unwrap();
    let places = [(595.5, 731.5), (597.5, 450.5), (846.5, 308.5), (1084.5, 454.5), (1076.5, 733.5)];
    let with = |last: f64| Request {
        unit: Unit::C,
        name: "bench".to_string(),
        marks: [40.0, 60.0, 80.0, 100.0, last].into_iter().zip(places).map(|(v, (x, y))| (v, PhotoPoint::new(x, y))).collect(),
        angles: Vec::new(),
        pivot: Some(PhotoPoint::new(840.2, 594.2)),
        rim: None,
        tick_step: None,
    };
    println!();
    for (what, last) in [("calibrated", 120.0), ("the same with 1e8 typed for 120", 1e8)] {
        let ms = median(|| calibrate(&photo, &with(last)));
        println!("  {what:<52} {ms:>7.1} ms");
    }
}

/// The search for dials nobody has clicked in: a photo with one, pictures that hold none, and one's own photos from the folder that
/// `NEEDLEBAND_BENCH_PHOTOS` names. Twelve megapixels each but for one's own.
fn searching() {
    let (width, height) = (4000u32, 3000u32);
    let mut state = 1u64;
    let mut noise = move || {
        // Marsaglia's xorshift64: any noise does, the same in every run
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        (state >> 32) as u8
    };
    let jpeg = |picture: image::RgbImage| {
        let mut bytes = std::io::Cursor::new(Vec::new());
        picture.write_to(&mut bytes, image::ImageFormat::Jpeg).unwrap();
        bytes.into_inner()
    };
    let grey: Vec<u8> = (0..width * height).map(|_| noise() / 2 + 60).collect();
    let coarse = |x: u32, y: u32| grey[(y / 6 * width + x / 6) as usize];
    let mut all: Vec<(String, Vec<u8>)> = vec![
        ("a dial".into(), std::fs::read("samples/gearbox-oil/twelve-megapixels.jpg").unwrap()),
        ("grey noise".into(), jpeg(image::RgbImage::from_fn(width, height, |x, y| image::Rgb([grey[(y * width + x) as usize]; 3])))),
        ("coarse noise".into(), jpeg(image::RgbImage::from_fn(width, height, |x, y| image::Rgb([coarse(x, y); 3])))),
        ("coloured noise".into(), jpeg(image::RgbImage::from_fn(width, height, |_, _| image::Rgb([noise(), noise(), noise()])))),
    ];
    if let Some(folder) = std::env::var_os("NEEDLEBAND_BENCH_PHOTOS") {
        let mut paths: Vec<_> = std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()).collect();
        paths.retain(|p| p.extension().is_some_and(|e| e == "jpg" || e == "png"));
        paths.sort();
        all.extend(paths.iter().map(|p| (p.file_name().unwrap().to_string_lossy().into_owned(), std::fs::read(p).unwrap())));
    }
    println!("\ndials sought, the photo decoded already; the last figure against decoding it by the general library");
    for (what, bytes) in all {
        let (unit, photo) = (yardstick(&bytes), decode(&bytes).unwrap());
        let ms = median(|| find_dials(&photo));
        println!("  {what:<52} {ms:>7.1} ms {:>6.2}", ms / unit);
    }
}

fn main() {
    let file = std::fs::read("calibration/gearbox-oil.json").unwrap();
    let dial = from_bytes(&file).unwrap();
    let one = rayon::ThreadPoolBuilder::new().num_threads(1).build().unwrap();
    one.install(|| {
        for name in ["before/1.jpg", "twelve-megapixels.jpg"] {
            let bytes = std::fs::read(format!("samples/gearbox-oil/{name}")).unwrap();
            whole(name, &bytes, &file, &dial);
        }
        calibrating();
        searching();
    });
}
