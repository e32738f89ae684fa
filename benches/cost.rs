//! Time and memory of `read` against the size of a photo and the number of photos, as the tables of docs/measurements/time-and-memory.md:
//! `cargo bench --bench cost`. Memory is the largest that Linux saw the process hold; elsewhere it is left out.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
use image::imageops::FilterType;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

const DIAL: &str = "calibration/gearbox-oil.json";

/// Seconds and MB of one run; 0 MB where it is not known.
fn run(photos: &[PathBuf], jobs: usize) -> (f64, f64) {
    let start = Instant::now();
    let mut child = Command::new(env!("CARGO_BIN_EXE_needleband"))
        .args(["read", "--json", "--dial", DIAL, "--jobs", &jobs.to_string()])
        .args(photos)
        .stdout(Stdio::null())
        .spawn()
        .unwrap();
    let status = format!("/proc/{}/status", child.id());
    let mut most = 0.0f64;
    let done = loop {
        let told = fs::read_to_string(&status).unwrap_or_default();
        let peak = told.lines().find_map(|l| l.strip_prefix("VmHWM:")?.trim().strip_suffix(" kB")?.trim().parse::<f64>().ok());
        most = most.max(peak.unwrap_or(0.0) / 1000.0);
        if let Some(done) = child.try_wait().unwrap() {
            break done;
        }
        std::thread::sleep(Duration::from_millis(2));
    };
    assert_eq!(done.code(), Some(0), "not every photo was read");
    (start.elapsed().as_secs_f64(), most)
}

/// The best of three: what else the machine does only adds.
fn best(photos: &[PathBuf], jobs: usize) -> (f64, f64) {
    (0..3).map(|_| run(photos, jobs)).min_by(|a, b| a.0.total_cmp(&b.0)).unwrap()
}

fn scaled(dir: &Path, megapixels: f64) -> (PathBuf, u32, u32) {
    let source = image::open("samples/gearbox-oil/twelve-megapixels.jpg").unwrap();
    let shrink = (megapixels * 1e6 / f64::from(source.width() * source.height())).sqrt();
    let side = |v: u32| (f64::from(v) * shrink).round() as u32;
    let photo = source.resize_exact(side(source.width()), side(source.height()), FilterType::CatmullRom);
    let path = dir.join(format!("{megapixels}.jpg"));
    photo.to_rgb8().save(&path).unwrap();
    (path, photo.width(), photo.height())
}

fn main() {
    let dir = tempfile::tempdir().unwrap();
    println!("| one photo | px | s | MB |\n|---|---|---|---|");
    for megapixels in [1.0, 3.0, 12.0, 50.0] {
        let (path, w, h) = scaled(dir.path(), megapixels);
        let (time, memory) = best(&[path], 1);
        println!("| {megapixels} megapixels | {w} × {h} | {time:.2} | {memory:.0} |");
    }
    println!("\n| photos of 1600 × 1200 | one thread, s | MB | two threads, s | MB | faster by |\n|---|---|---|---|---|---|");
    for count in [1usize, 10, 100, 1000] {
        let photos: Vec<PathBuf> = (0..count).map(|k| PathBuf::from(format!("samples/gearbox-oil/before/{}.jpg", k % 5 + 1))).collect();
        let ((one, less), (two, more)) =
            if count > 100 { (run(&photos, 1), run(&photos, 2)) } else { (best(&photos, 1), best(&photos, 2)) };
        println!("| {count} | {one:.2} | {less:.0} | {two:.2} | {more:.0} | {:.2} |", one / two);
    }
}
