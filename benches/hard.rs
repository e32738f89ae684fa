//! What hard photos and refusals cost, as ratios to decoding them and to reading a clean photo of the same size in the same run: `cargo bench
//! --bench hard`. A refusal is meant to cost twice a read at most. All on one thread.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
use chacha20::ChaCha8Rng;
use image::codecs::jpeg::JpegEncoder;
use needleband::dial::from_bytes;
use needleband::photo::decode;
use needleband::reading::{Outcome, Reader};
use rand::{RngExt, SeedableRng};
use std::hint::black_box;
use std::time::Instant;

/// Median of so many runs after one to warm up, milliseconds.
const RUNS: usize = 7;

fn median<T>(mut work: impl FnMut() -> T) -> f64 {
    black_box(work());
    let mut all: Vec<f64> = (0..RUNS)
        .map(|_| {
            let start = Instant::now();
            black_box(work());
            start.elapsed().as_secs_f64() * 1e3
        })
        .collect();
    all.sort_by(f64::total_cmp);
    all[RUNS / 2]
}

fn reader(dial: &str) -> Reader {
    Reader::new(from_bytes(&std::fs::read(format!("calibration/{dial}.json")).unwrap()).unwrap())
}

fn sample(name: &str) -> Vec<u8> {
    std::fs::read(format!("samples/{name}.jpg")).unwrap()
}

/// The same picture at another size: `width` and `height` of a picture that is wider than high, the other way round of one that is not.
fn resized(bytes: &[u8], width: u32, height: u32) -> Vec<u8> {
    let picture = image::load_from_memory(bytes).unwrap();
    let (width, height) = if picture.width() < picture.height() { (height, width) } else { (width, height) };
    let picture = picture.resize_exact(width, height, image::imageops::FilterType::CatmullRom).into_rgb8();
    let mut out = Vec::new();
    JpegEncoder::new_with_quality(&mut out, 90).encode_image(&picture).unwrap();
    out
}

/// Noise about a middle grey: a place for features everywhere and for a dial nowhere.
fn noise(width: u32, height: u32) -> Vec<u8> {
    let mut rng = ChaCha8Rng::seed_from_u64(5);
    let picture = image::RgbImage::from_fn(width, height, |_, _| image::Rgb([0; 3].map(|_: u8| rng.random_range(40..=215))));
    let mut out = Vec::new();
    JpegEncoder::new_with_quality(&mut out, 90).encode_image(&picture).unwrap();
    out
}

fn main() {
    let one = rayon::ThreadPoolBuilder::new().num_threads(1).build().unwrap();
    one.install(|| {
        for (width, height) in [(1600, 1200), (4032, 3024)] {
            table(width, height);
        }
    });
}

fn table(width: u32, height: u32) {
    let sized = |name: &str| resized(&sample(name), width, height);
    println!("\n{width} x {height}: milliseconds, times the decode of the same file, times the read of a clean photo");
    let own = sized("gearbox-oil/before/1");
    let gearbox = reader("gearbox-oil");
    let clean = std::cell::OnceCell::new();
    let row = |what: &str, reader: &Reader, bytes: &[u8]| {
        let ends = match reader.read(&decode(bytes).unwrap()).outcome {
            Outcome::Reading(_) => "read",
            Outcome::BelowScale | Outcome::AboveScale => "off the scale",
            Outcome::Refused(..) => "refused",
        };
        let decoded = median(|| image::load_from_memory(bytes).unwrap().into_rgb8());
        let ms = median(|| reader.read(&decode(bytes).unwrap()));
        println!("  {what:<44} {ends:<14} {ms:>7.1} {:>6.1} {:>6.2}", ms / decoded, ms / clean.get_or_init(|| ms));
    };
    row("a clean photo", &gearbox, &own);
    for (what, dial, name) in [
        ("at a slant, with glare", "transfer-box", "transfer-box/tilted-glare"),
        ("at a slant, blurred", "transfer-box", "transfer-box/tilted-blurred"),
        ("at night, small and blurred", "night-oil", "night-oil/small-blurred"),
        ("a cluster's dial with glare", "cluster-coolant", "cluster-coolant/glare"),
    ] {
        row(what, &reader(dial), &sized(name));
    }
    for (what, name) in [
        ("no needle", "gearbox-oil/no-needle"),
        ("another dial: at night", "night-oil/typical"),
        ("another dial: at a slant", "transfer-box/tilted-glare"),
        ("another dial: a cluster", "cluster-coolant/easy"),
    ] {
        row(what, &gearbox, &sized(name));
    }
    row("noise", &gearbox, &noise(width, height));
}
