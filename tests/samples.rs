//! The shipped samples with the shipped dial files against exact truth (samples/truth.csv, from the renderer).
use needleband::compare::compare;
use needleband::diagnostics::Refusal;
use needleband::dial::{Dial, from_bytes};
use needleband::photo::decode;
use needleband::reading::{Outcome, Reader, Record};
use needleband::register::prepared;
use std::path::Path;
use std::sync::LazyLock;

/// One line of truth.csv and what the program made of the photo.
pub struct Sample {
    /// Path below samples/.
    pub photo: String,
    /// reference, reading, absent or below.
    pub kind: String,
    /// easy, typical, hard or reference.
    pub condition: String,
    /// True value, when the photo shows one.
    pub value: Option<f64>,
    /// Length of the scale.
    pub span: f64,
    /// The record.
    pub record: Record,
}

/// Every sample, read once for all tests.
pub static SAMPLES: LazyLock<Vec<Sample>> = LazyLock::new(read_all);

fn folder(photo: &str) -> &str {
    photo.split('/').next().unwrap()
}

fn dial(name: &str) -> Dial {
    from_bytes(&std::fs::read(format!("calibration/{name}.json")).unwrap()).unwrap()
}

fn read_one(reader: &Reader, photo: &str) -> Record {
    reader.read(&decode(&std::fs::read(Path::new("samples").join(photo)).unwrap()).unwrap())
}

fn read_all() -> Vec<Sample> {
    let text = std::fs::read_to_string("samples/truth.csv").unwrap();
    let mut reader: Option<(String, Reader)> = None;
    text.lines()
        .skip(1)
        .map(|line| {
            let f: Vec<&str> = line.split(',').collect();
            let name = folder(f[0]).to_string();
            if reader.as_ref().is_none_or(|r| r.0 != name) {
                reader = Some((name.clone(), Reader::new(dial(&name))));
            }
            let record = read_one(&reader.as_ref().unwrap().1, f[0]);
            let span = f[6].parse::<f64>().unwrap() - f[5].parse::<f64>().unwrap();
            Sample { photo: f[0].into(), kind: f[1].into(), condition: f[2].into(), value: f[3].parse().ok(), span, record }
        })
        .collect()
}

/// Error in % of the span, sigma in % of the span, whether the band holds the truth.
pub fn error(s: &Sample) -> Option<(f64, f64, bool)> {
    let (Outcome::Reading(r), Some(v)) = (&s.record.outcome, s.value) else { return None };
    let part = 100.0 / s.span;
    Some(((r.temperature.value() - v) * part, r.temperature.sigma() * part, r.temperature.band().0 <= v && v <= r.temperature.band().1))
}

#[test]
fn every_reading_is_near_the_truth_and_its_band_is_honest() {
    let readings: Vec<&Sample> = SAMPLES.iter().filter(|s| s.kind == "reading").collect();
    let mut held = 0;
    for s in &readings {
        let (e, sigma, holds) = error(s).unwrap_or_else(|| panic!("{} was not read: {:?}", s.photo, s.record.outcome));
        // a published machine reading is off by 0.34 % of span on average (Sensors 2022, 22(17):6681, abstract); half of it is the
        // bar for easy and typical photos, the hard ones may be off by three times as much
        let bar = if s.condition == "hard" { 0.5 } else { 0.17 };
        assert!(e.abs() < bar, "{}: error {e:.3} % of span", s.photo);
        assert!(e.abs() < 4.0 * sigma, "{}: error {e:.3} %, sigma {sigma:.3} %", s.photo);
        held += usize::from(holds);
    }
    // 21 readings at 95 %: fewer than 18 held would happen once in 53 (binomial), and the bands share their dial's errors
    assert!(readings.len() == 21 && held >= 18, "{held} of {} bands hold the truth", readings.len());
}

#[test]
fn no_band_is_so_wide_that_it_says_nothing() {
    for s in SAMPLES.iter().filter(|s| s.kind == "reading") {
        let Outcome::Reading(r) = &s.record.outcome else { panic!("{} was not read", s.photo) };
        let half = 50.0 * (r.temperature.band().1 - r.temperature.band().0) / s.span;
        // RMS error of a person with a pixel ruler on such renderings, % of span, by condition: half a 95 % band must be less than
        // one sigma of that, else the person might as well read the photo
        let ruler = match s.condition.as_str() {
            "easy" => 0.9,
            "typical" => 1.1,
            _ => 2.3,
        };
        assert!(half < ruler, "{}: half band {half:.2} % of span", s.photo);
    }
}

#[test]
fn no_needle_and_below_the_scale_are_named_and_never_a_number() {
    for s in SAMPLES.iter().filter(|s| s.kind == "absent") {
        assert!(matches!(s.record.outcome, Outcome::Refused(Refusal::NeedleNotFound, _)), "{}: {:?}", s.photo, s.record.outcome);
    }
    for s in SAMPLES.iter().filter(|s| s.kind == "below") {
        assert_eq!(s.record.outcome, Outcome::BelowScale, "{}", s.photo);
    }
    assert_eq!(SAMPLES.iter().filter(|s| s.kind == "absent" || s.kind == "below").count(), 2);
}

#[test]
fn a_photo_of_another_dial_is_refused() {
    let names = ["gearbox-oil", "cluster-coolant", "night-oil", "transfer-box"];
    for name in names {
        let reader = Reader::new(dial(name));
        for other in names.iter().filter(|o| **o != name) {
            let record = read_one(&reader, &format!("{other}/reference.jpg"));
            assert!(matches!(record.outcome, Outcome::Refused(..)), "{other} read with {name}: {:?}", record.outcome);
        }
    }
}

#[test]
fn the_change_of_the_story_is_seen_and_its_band_holds_the_truth() {
    let side = |which: &str| -> (Vec<Record>, f64) {
        let all: Vec<&Sample> = SAMPLES.iter().filter(|s| s.photo.starts_with(&format!("gearbox-oil/{which}/"))).collect();
        let truth = all.iter().filter_map(|s| s.value).sum::<f64>() / all.len() as f64;
        (all.iter().map(|s| s.record.clone()).collect(), truth)
    };
    let ((before, was), (after, is)) = (side("before"), side("after"));
    let c = compare(&before, &after).unwrap();
    let truth = is - was;
    assert!((truth + 5.6).abs() < 1e-9);
    assert!(c.delta.band().0 <= truth && truth <= c.delta.band().1, "{:?} for {truth}", c.delta.band());
    assert!(c.delta.band().1 < 0.0 && c.delta.band().1 - c.delta.band().0 < 0.2, "{:?}", c.delta.band());
}

/// What a dial file keeps prepared is what this program would prepare (another maths library may round a little otherwise), and reading is
/// the same without it.
#[test]
fn what_the_dial_files_keep_prepared_is_up_to_date() {
    for name in ["gearbox-oil", "cluster-coolant", "night-oil", "transfer-box"] {
        let dial = dial(name);
        let (kept, new) = (dial.prepared.clone().unwrap(), prepared(dial.clone()).prepared.unwrap());
        let same = kept.iter().zip(&new).filter(|(a, b)| a == b).count();
        assert!(kept.len().abs_diff(new.len()) * 20 < kept.len(), "{name}: {} and {} bytes", kept.len(), new.len());
        assert!(kept.len() != new.len() || 20 * same > 19 * kept.len(), "{name}: {same} of {} bytes", kept.len());
        let photo = format!("{name}/reference.jpg");
        let without = Reader::new(Dial { prepared: None, ..dial.clone() });
        let read = |reader: &Reader| match read_one(reader, &photo).outcome {
            Outcome::Reading(r) => (r.temperature.value(), r.temperature.sigma()),
            other => panic!("{photo}: {other:?}"),
        };
        let ((a, sigma), (b, _)) = (read(&Reader::new(dial)), read(&without));
        assert!((a - b).abs() < 0.01 * sigma, "{photo}: {a} and {b}");
    }
}
