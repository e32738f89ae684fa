//! What a photo costs, as ratios to decoding it in the same run (shared machines are noisy). Run by `cargo bench`.
//!
//! One thread: start it with `RAYON_NUM_THREADS=1 cargo bench` to keep the feature matching on one core too.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
use needleband::dial::from_bytes;
use needleband::photo::decode;
use needleband::reading::{Outcome, Reader};
use std::time::{Duration, Instant};

/// Median of nine runs after one to warm up.
fn median(mut work: impl FnMut()) -> Duration {
    work();
    let mut all: Vec<Duration> = (0..9)
        .map(|_| {
            let start = Instant::now();
            work();
            start.elapsed()
        })
        .collect();
    all.sort();
    all[4]
}

fn main() {
    let dial = from_bytes(&std::fs::read("calibration/gearbox-oil.json").unwrap()).unwrap();
    let prepare = median(|| drop(Reader::new(dial.clone())));
    let reader = Reader::new(dial);
    println!("prepare a dial for reading: {:.0} ms", prepare.as_secs_f64() * 1e3);
    for name in ["before/1.jpg", "twelve-megapixels.jpg"] {
        let bytes = std::fs::read(format!("samples/gearbox-oil/{name}")).unwrap();
        let photo = decode(&bytes).unwrap();
        assert!(matches!(reader.read(&photo).outcome, Outcome::Reading(_)));
        let decoding = median(|| drop(decode(&bytes).unwrap()));
        let whole = median(|| drop(reader.read(&decode(&bytes).unwrap())));
        let (d, w) = (decoding.as_secs_f64() * 1e3, whole.as_secs_f64() * 1e3);
        println!("{name} ({} x {}): decode {d:.0} ms, decode and read {w:.0} ms, ratio {:.1}", photo.width, photo.height, w / d);
    }
}
