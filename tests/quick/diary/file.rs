//! Lines of the diary: kept to the last bit, and damage that costs only its own line.
use super::{PIVOT, RADIUS, banded, note, noted, outside, photo, plane, record, without};
use needleband::diagnostics::{Flag, Refusal};
use needleband::diary::{Conditions, DiaryError, FORMAT_VERSION, Note, Wrong, line, parse};
use needleband::maths::estimate::Estimate;
use needleband::maths::measured::Measured;
use needleband::output::picture::sketch;
use needleband::reading::Outcome;
use proptest::prelude::*;

/// A note with every kind of outcome, every remark and refusal, and numbers that are hard to keep.
pub fn full() -> Note {
    let awkward = [1.0 / 3.0, -0.0, f64::MIN_POSITIVE / 8.0, 1e300, 0.1 + 0.2, -123_456_789.123_456_79];
    let terms: Vec<(String, f64)> = awkward.iter().enumerate().map(|(k, v)| (format!("dial:d/mark/{k}"), *v)).collect();
    let terms: Vec<(&str, f64)> = terms.iter().map(|(k, v)| (k.as_str(), *v)).collect();
    let mut first = record("aa", 92.1 + 1e-14, &terms);
    if let Outcome::Reading(r) = &mut first.outcome {
        banded(r, (1.0 / 7.0, 1e3 / 7.0), Some((75.0, 90.000_000_000_000_01)));
        r.flags = Flag::ALL.to_vec();
    }
    let mut lost = without("cc", Outcome::AboveScale);
    (lost.evidence, lost.taken_at) = (None, None);
    let refused =
        Refusal::ALL.iter().enumerate().map(|(k, r)| without(&format!("d{k}"), Outcome::Refused(*r, "a \"quote\",\n\u{2028}°".into())));
    let mut n = outside(note("größerer \"Kühler\" \u{1F600}", &[], 0.0), -3.7);
    n.photos = [first, without("bb", Outcome::BelowScale), lost].into_iter().chain(refused).map(|r| noted(r, Some(0.1))).collect();
    n.conditions = Conditions { speed: Some("90 km/h".into()), load: Some("<b>two</b>".into()), text: Some("x\ty".into()), ..n.conditions };
    n.sketch = sketch(&photo(36.0), &n.photos[0].record, 0);
    n.warm_up = true;
    n
}

#[test]
fn a_note_comes_back_to_the_last_bit() {
    let before = full();
    assert!(before.sketch.as_ref().is_some_and(|s| s.jpeg.len() > 2000), "the picture is there: {PIVOT:?} {RADIUS} {}", plane());
    let text = line(&before).unwrap();
    assert_eq!(text.matches('\n').count(), 1, "one record a line");
    let read = parse(text.as_bytes()).unwrap();
    assert_eq!((read.notes.as_slice(), read.damaged.len(), read.ends_whole), (&[before.clone()][..], 0, true));
    // equality would take -0 for 0: bit by bit
    let bits = |n: &Note| -> Vec<u64> {
        let Outcome::Reading(r) = &n.photos[0].record.outcome else { panic!() };
        let needle = n.photos[0].record.evidence.as_ref().unwrap();
        r.temperature
            .terms()
            .values()
            .chain([&r.temperature.value(), &r.temperature.band().0, &r.temperature.band().1])
            .chain(needle.homography.matrix().iter())
            .map(|v| v.to_bits())
            .collect()
    };
    assert_eq!(bits(&before), bits(&read.notes[0]));
    // and the same note gives the same bytes
    assert_eq!(line(&read.notes[0]).unwrap(), text);
}

proptest! {
    #[test]
    fn any_finite_number_survives(bits in prop::collection::vec(any::<u64>(), 4)) {
        let v: Vec<f64> = bits.iter().map(|b| f64::from_bits(*b)).map(|v| if v.is_finite() { v } else { 0.5 }).collect();
        let mut n = note("stock", &[90.0], 0.1);
        if let Outcome::Reading(r) = &mut n.photos[0].record.outcome {
            r.temperature = Estimate::known(Measured::new(v[0], [("photo:x/needle", v[1])]), (v[2], v[3]));
        }
        let back = parse(line(&n).unwrap().as_bytes()).unwrap();
        let Outcome::Reading(r) = &back.notes[0].photos[0].record.outcome else { panic!() };
        let seen = [r.temperature.value(), r.temperature.measured().term("photo:x/needle").unwrap(), r.temperature.band().0, r.temperature.band().1];
        prop_assert_eq!(seen.map(f64::to_bits).to_vec(), v.iter().map(|x| x.to_bits()).collect::<Vec<_>>());
    }
}

#[test]
fn a_number_that_is_not_finite_is_not_written() {
    let mut n = note("stock", &[90.0], 0.1);
    if let Outcome::Reading(r) = &mut n.photos[0].record.outcome {
        banded(r, (r.temperature.band().0, f64::NAN), None);
    }
    assert!(matches!(line(&n), Err(DiaryError::NotKept(_))));
}

/// Two whole lines and a third.
fn three() -> (Vec<Note>, String, String) {
    let notes = vec![note("stock", &[90.0, 91.0], 0.1), note("cooler", &[85.0], 0.1), note("thermostat", &[80.0], 0.1)];
    let lines: Vec<String> = notes.iter().map(|n| line(n).unwrap()).collect();
    (notes, lines[..2].concat(), lines[2].clone())
}

#[test]
fn a_cut_off_last_line_is_told_and_nothing_before_it_is_lost() {
    let (notes, whole, last) = three();
    // at any byte: a letter may be cut in two as well
    for cut in (1..last.len() - 1).step_by(1) {
        let bytes = [whole.as_bytes(), &last.as_bytes()[..cut]].concat();
        let d = parse(&bytes).unwrap();
        assert_eq!(d.notes, notes[..2], "cut at {cut}");
        assert_eq!(
            (d.damaged.len(), d.damaged[0].line, d.damaged[0].what.clone(), d.ends_whole),
            (1, 3, Wrong::CutOff, false),
            "cut at {cut}"
        );
        assert!(
            d.damaged[0].sentence().contains("Line 3 of the diary is cut off")
                && d.damaged[0].sentence().contains("every other line is read")
        );
    }
    // whole but for its newline: nothing is lost, and the next note needs a new line
    let d = parse(format!("{whole}{}", last.trim_end()).as_bytes()).unwrap();
    assert_eq!((d.notes.len(), d.damaged.len(), d.ends_whole), (3, 0, false));
    // and what was cut off stays in its place when others follow
    let d = parse(format!("{whole}{}\n{last}", &last[..40]).as_bytes()).unwrap();
    assert_eq!((d.notes, d.damaged.len(), d.damaged[0].line), (notes, 1, 3));
}

#[test]
fn a_line_changed_by_hand_is_not_used() {
    let (_, whole, last) = three();
    let changed = last.replace("\"value\":80.0", "\"value\":70.0");
    assert_ne!(changed, last);
    let d = parse(format!("{whole}{changed}").as_bytes()).unwrap();
    assert_eq!((d.notes.len(), d.damaged[0].what.clone()), (2, Wrong::Changed));
    assert!(d.damaged[0].sentence().contains("changed after it was written"));
    // a line that is JSON and no note, and one that is neither
    for odd in ["{}", "[1,2]", "hello"] {
        let d = parse(format!("{whole}{odd}\n{last}").as_bytes()).unwrap();
        assert_eq!((d.notes.len(), d.damaged.len(), d.damaged[0].line), (3, 1, 3), "{odd}");
        assert!(matches!(d.damaged[0].what, Wrong::Shape(_)), "{odd}");
    }
}

#[test]
fn a_newer_version_is_refused_with_a_sentence() {
    let (_, whole, last) = three();
    let newer = last.replacen("\"format_version\":1", "\"format_version\":3", 1).replacen("\"stage\":", "\"colour\":\"red\",\"stage\":", 1);
    let error = parse(format!("{whole}{newer}").as_bytes()).unwrap_err();
    assert_eq!(error, DiaryError::Version { line: 3, found: 3, known: FORMAT_VERSION });
    assert!(error.to_string().contains("Line 3 of the diary has format version 3") && error.to_string().contains("Use the version"));
}

#[test]
fn other_files_are_no_diaries_and_an_empty_one_is() {
    assert_eq!(parse(b"").unwrap().notes.len(), 0);
    assert_eq!(parse(b"\n\n").unwrap().notes.len(), 0);
    for other in [&b"# Notes\n"[..], b"{\"format\":\"needleband-dial\",\"format_version\":2}\n", b"\xff\xd8\xff\xe0JFIF"] {
        assert_eq!(parse(other), Err(DiaryError::NotADiary));
    }
    // what an editor of another system leaves: a byte-order mark, carriage returns, blank lines
    let (notes, whole, last) = three();
    let edited = format!("\u{feff}{whole}\n\n{last}").replace('\n', "\r\n");
    assert_eq!(parse(edited.as_bytes()).unwrap().notes, notes);
}

/// A table of more notes than anyone takes would take the memory of the whole machine: 50,000 stages took 1.3 GB.
#[test]
fn a_diary_of_more_notes_than_anyone_takes_is_refused() {
    let (_, whole, last) = three();
    let full = last.repeat(10_000);
    assert_eq!(parse(full.as_bytes()).unwrap().notes.len(), 10_000);
    let error = parse(format!("{full}{whole}").as_bytes()).unwrap_err();
    assert_eq!(error, DiaryError::TooMany { limit: 10_000 });
    assert!(error.to_string().contains("10000") || error.to_string().contains("10,000") || error.to_string().contains("10 000"), "{error}");
}
