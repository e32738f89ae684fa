//! The dial file: bit-exact round trip, and every kind of damage or hand-made change refused with advice.
//! Outside truth: the identity of a kept file worked out by Python's standard library, T.81 for the JPEG's frame header.
use nalgebra::Matrix3;
use needleband::dial::*;
use needleband::maths::homography::PlaneInFace;
use needleband::maths::units::Unit;
use proptest::prelude::*;
use serde_json::{Value, json};
use std::collections::BTreeMap;

const W: usize = 37;
const H: usize = 29;

fn face_pixels() -> Vec<u8> {
    let level = |x: usize, y: usize| [(40 + 4 * x) as u8, (220 - 5 * y) as u8, if (x / 4 + y / 4).is_multiple_of(2) { 30 } else { 200 }];
    (0..H).flat_map(|y| (0..W).flat_map(move |x| level(x, y))).collect()
}

fn frame() -> FaceFrame {
    let plane = PlaneInFace::from_rows([[11.5, 0.2, 18.3], [0.1, -11.4, 14.2], [0.003, -0.002, 1.0]]);
    FaceFrame {
        plane,
        scale: 11.45,
        tilt: 6.25,
        print_radius: 1.15,
        cover_radius: 0.1,
        plane_terms: Vec::new(),
        uncovered: vec![[-0.15, 0.1], [0.25, 0.8]],
        camera: Some([0.7, -0.4, 9.0]),
    }
}

fn with_plane(d: &mut Dial, change: impl FnOnce(&mut Matrix3<f64>)) {
    let mut matrix = *d.face.plane.matrix();
    change(&mut matrix);
    d.face.plane = PlaneInFace::new(matrix);
}

fn mark(value: f64, angle: f64, kind: MarkKind, click: Option<Click>) -> Mark {
    let terms = BTreeMap::from([("mark/0".into(), 0.1 + 0.2), ("pivot/0".into(), -1.0 / 3.0)]);
    Mark { value, angle, kind, terms, value_terms: BTreeMap::new(), click }
}

fn dial() -> Dial {
    let click = Click { given: [10.1, 20.7], snapped: [10.3, 20.9], residual: Some(0.28) };
    let blind = Click { residual: None, ..click };
    Dial {
        name: "Getriebeöl „links“ \\ \n".to_string(),
        unit: Unit::C,
        id: String::new(),
        marks: vec![
            mark(50.0, -120.0, MarkKind::Labelled, Some(click)),
            mark(70.1, -60.0 / 7.0, MarkKind::Counted, None),
            mark(150.0, 119.999_999_999_999_99, MarkKind::Labelled, Some(blind)),
            mark(170.0, 190.0, MarkKind::Angle, None),
        ],
        face: Face::from_rgb(&face_pixels(), W, H, frame()).unwrap(),
        needle: NeedleLook {
            stand: Stand::default(),
            angle: -33.3,
            offset: 0.01,
            tail_shift: 0.0,
            half_width: vec![0.0, 0.02, 0.03],
            radii: vec![-0.2, 0.3, 0.8],
            span: [0.2, 0.85],
            contrast: [120.0, -3.5, 1e-7],
            axis: [0.3, 0.6, 0.1],
        },
        focal_ratio: Some(26.0 / 36.0),
        reference: "ab".repeat(32),
        declared: Declared::default(),
        questions: Vec::new(),
        version: FORMAT_VERSION,
        prepared: None,
    }
    .sealed()
}

fn written() -> String {
    String::from_utf8(to_bytes(&dial()).unwrap()).unwrap()
}

/// The written file with one place changed by `edit`.
fn edited(edit: impl FnOnce(&mut Value)) -> Vec<u8> {
    let mut json: Value = serde_json::from_str(&written()).unwrap();
    edit(&mut json);
    serde_json::to_vec(&json).unwrap()
}

type Change = fn(&mut Value);

fn refused(bytes: &[u8]) -> DialFileError {
    let error = from_bytes(bytes).unwrap_err();
    assert!(error.to_string().split(". ").count() >= 2, "no advice in: {error}");
    error
}

#[test]
fn what_is_written_is_read_back_to_the_bit() {
    let d = dial();
    let bytes = to_bytes(&d).unwrap();
    let back = from_bytes(&bytes).unwrap();
    assert_eq!(back, d);
    assert_eq!(to_bytes(&back).unwrap(), bytes);
    assert_eq!(content_id(&back), d.id);
    assert_eq!(d.id.len(), 12);
    let fahrenheit = Dial { unit: Unit::F, focal_ratio: None, ..d.clone() }.sealed();
    assert_ne!(fahrenheit.id, d.id);
    assert_eq!(from_bytes(&to_bytes(&fahrenheit).unwrap()).unwrap(), fahrenheit);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, rng_seed: proptest::test_runner::RngSeed::Fixed(20260814), ..ProptestConfig::default() })]
    /// Any finite number survives, zero's sign and subnormals too: a difference of two readings of one dial cancels exactly.
    #[test]
    fn every_bit_of_every_number_survives(bits in proptest::collection::vec(any::<u64>(), 30), unit in proptest::collection::vec(-1.0f64..1.0, 8)) {
        let mut d = dial();
        let wild = bits.iter().map(|b| f64::from_bits(*b)).filter(|v| v.is_finite());
        d.marks[1].terms = wild.chain([-0.0, f64::MAX, f64::MIN_POSITIVE, 5e-324]).enumerate().map(|(i, v)| (format!("t/{i}").into(), v)).collect();
        d.marks[0].angle += unit[0];
        d.needle.contrast = [unit[1] * 100.0, unit[2], unit[3] / 3.0];
        with_plane(&mut d, |m| m[(0, 1)] = unit[4]);
        d.face.scale += unit[5];
        let d = d.sealed();
        let back = from_bytes(&to_bytes(&d).unwrap()).unwrap();
        let all = |d: &Dial| -> Vec<u64> {
            let m = d.marks.iter().flat_map(|m| m.terms.values().chain([&m.value, &m.angle]));
            m.chain(&d.needle.contrast).chain(d.face.plane.matrix().iter()).chain([&d.face.scale]).map(|v| v.to_bits()).collect()
        };
        prop_assert_eq!(all(&back), all(&d));
        prop_assert_eq!(back.id, d.id);
    }

    /// Whatever the bytes, an answer and no panic.
    #[test]
    fn any_bytes_give_an_answer(at in 0usize..6000, byte in any::<u8>(), cut in 0usize..6000) {
        let mut bytes = written().into_bytes();
        let n = bytes.len();
        bytes[at % n] = byte;
        let _ = from_bytes(&bytes);
        bytes.truncate(cut % n);
        prop_assert!(from_bytes(&bytes).is_err());
    }
}

#[test]
fn a_kept_file_of_version_1_loads_and_has_the_identity_that_another_program_finds() {
    // The identity by python3: hashlib.sha256(json.dumps(content, separators=(",", ":"), ensure_ascii=False).encode()), where
    // content is the parsed file without "id".
    let bytes = std::fs::read(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/dial_v1.json")).unwrap();
    let d = from_bytes(&bytes).unwrap();
    assert_eq!(d.id, "e410e2664fd4");
    assert_eq!((d.name.as_str(), d.unit, d.span()), ("gearbox oil", Unit::C, (50.0, 170.0)));
    assert_eq!((d.face.width, d.face.height), (W, H));
    assert_eq!(d.version, 1);
    assert_eq!(to_bytes(&d).unwrap(), bytes);
    // Declaring something makes a dial of the present version with another identity; the kept one stays what it was.
    let declared = Declared { stiction: Some(Amount::Degrees(2.0)), ..Declared::default() };
    let new = d.clone().declare(declared).unwrap();
    assert_eq!(new.version, FORMAT_VERSION);
    assert_ne!(new.id, d.id);
    assert_eq!(from_bytes(&to_bytes(&new).unwrap()).unwrap(), new);
    assert_eq!((&new.marks, &new.face, &new.reference), (&d.marks, &d.face, &d.reference));
}

#[test]
fn a_kept_file_of_version_2_loads_and_has_the_identity_that_another_program_finds() {
    // The identity by the same line of Python as above.
    let bytes = std::fs::read(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/dial_v2.json")).unwrap();
    let d = from_bytes(&bytes).unwrap();
    assert_eq!((d.id.as_str(), d.version), ("293b16253213", 2));
    let d = d.declared;
    assert_eq!((d.gauge_accuracy, d.stiction, d.flats), (Some(Amount::PercentOfSpan(2.0)), Some(Amount::Value(1.5)), vec![(60.0, 90.0)]));
}

/// Everything declared: 50 to 170 °C over 310 degrees; the mark at 70.1 is in the zone.
fn declared() -> Declared {
    Declared {
        gauge_accuracy: Some(Amount::PercentOfSpan(2.0)),
        stiction: Some(Amount::Value(0.1 + 0.2)),
        flats: vec![(70.1, 90.0), (50.0, 60.0)],
    }
}

#[test]
fn what_is_declared_comes_back_and_is_part_of_the_identity() {
    let mut ids = vec![dial().id];
    let forms = [Amount::PercentOfSpan(2.0), Amount::Degrees(3.0), Amount::Value(1.5)];
    let one = |a: Amount| Declared { gauge_accuracy: Some(a), ..Declared::default() };
    let two = |a: Amount| Declared { stiction: Some(a), ..Declared::default() };
    for d in forms.map(one).into_iter().chain(forms.map(two)).chain([declared()]) {
        let made = dial().declare(d.clone()).unwrap();
        let bytes = to_bytes(&made).unwrap();
        let back = from_bytes(&bytes).unwrap();
        assert_eq!((&back.declared, &back), (&d, &made));
        assert_eq!(to_bytes(&back).unwrap(), bytes);
        assert!(!ids.contains(&made.id), "{d:?}");
        ids.push(made.id);
    }
    // Nothing declared leaves no field behind, and a hand that writes one in is noticed.
    assert!(!["gauge_accuracy", "stiction", "flats"].iter().any(|f| written().contains(f)));
    assert!(matches!(refused(&edited(|j| j["stiction"] = json!({"degrees": 2.0}))), DialFileError::ChangedByHand { .. }));
    assert!(matches!(refused(&edited(|j| j["gauge_accuracy"] = json!({"per_mille": 2.0}))), DialFileError::Shape(_)));
    let early = refused(&edited(|j| {
        j["format_version"] = json!(1);
        j["flats"] = json!([[70.0, 90.0]]);
    }));
    assert!(early.to_string().contains("which a file of version 1 does not do"), "{early}");
}

#[test]
fn declarations_that_cannot_be_right_are_refused_with_advice() {
    let flats = |f: &[(f64, f64)]| Declared { flats: f.to_vec(), ..Declared::default() };
    let gauge = |a: Amount| Declared { gauge_accuracy: Some(a), ..Declared::default() };
    let cases = [
        (gauge(Amount::Value(0.0)), "The gauge accuracy of 0 is not a number above 0"),
        (gauge(Amount::Degrees(-1.0)), "not a number above 0"),
        (gauge(Amount::PercentOfSpan(f64::NAN)), "not a number above 0"),
        (gauge(Amount::PercentOfSpan(101.0)), "more than the whole scale (100 % of the span)"),
        (gauge(Amount::Value(121.0)), "more than the whole scale (120 in the dial's unit)"),
        (Declared { stiction: Some(Amount::Degrees(311.0)), ..Declared::default() }, "The stiction of 311° of needle is more than"),
        (flats(&[(90.0, 70.0)]), "The flat zone 90..70 does not rise"),
        (flats(&[(70.0, f64::INFINITY)]), "does not rise"),
        (flats(&[(40.0, 60.0)]), "leaves the scale, whose marks run from 50 to 170"),
        (flats(&[(150.0, 171.0)]), "leaves the scale"),
        (flats(&[(50.0, 170.0)]), "is the whole scale"),
        (flats(&[(71.0, 149.0)]), "No mark lies in the flat zone 71..149"),
        (flats(&[(100.0, 150.0), (60.0, 100.0)]), "60..100 and 100..150 touch or overlap"),
    ];
    for (declared, words) in cases {
        let error = dial().declare(declared.clone()).unwrap_err().to_string();
        assert!(error.contains(words) && error.split(". ").count() == 2 && error.ends_with('.'), "{error}");
        // by hand into a file: the same reason, with the advice that fits a file
        let file = to_bytes(&Dial { declared, ..dial() }.sealed()).unwrap_err();
        assert!(matches!(file, DialFileError::Content(_)) && file.to_string().contains(&words[4..]), "{file}");
    }
}

#[test]
fn the_stored_picture_is_what_calibration_learned_from() {
    let given = face_pixels();
    let stored = through_storage(&given, W, H).unwrap();
    let face = Face::from_rgb(&given, W, H, frame()).unwrap();
    assert_eq!((&face.rgb, &face.jpeg), (&stored.rgb, &stored.jpeg));
    assert_eq!(Face::from_jpeg(stored.jpeg.clone(), frame()).unwrap(), face);
    let back = from_bytes(&to_bytes(&dial()).unwrap()).unwrap();
    assert_eq!(back.face.rgb, stored.rgb);
    // A hard colour checkerboard at this quality: the loss stays small because chroma is not thinned out.
    let worst = given.iter().zip(&stored.rgb).map(|(a, b)| a.abs_diff(*b)).max().unwrap();
    assert!(worst <= 8, "{worst}");
}

#[test]
fn the_stored_picture_samples_colour_fully() {
    // T.81, B.2.2: after SOF0, length, precision, height, width and the number of components: id, sampling (H << 4 | V), table.
    let jpeg = through_storage(&face_pixels(), W, H).unwrap().jpeg;
    let sof = jpeg.windows(2).position(|w| w == [0xff, 0xc0]).unwrap();
    assert_eq!(jpeg[sof + 9], 3);
    let sampling: Vec<u8> = (0..3).map(|i| jpeg[sof + 11 + 3 * i]).collect();
    assert_eq!(sampling, [0x11, 0x11, 0x11]);
}

#[test]
fn pixels_that_do_not_fit_are_not_stored() {
    for (len, w, h) in [(0, 0, 0), (5, 1, 2), (9, usize::MAX, 2), (3 * 70_000, 70_000, 1)] {
        assert!(matches!(through_storage(&vec![9; len], w, h), Err(DialFileError::Picture(_))), "{len} {w} {h}");
    }
}

#[test]
fn a_number_changed_by_hand_is_noticed() {
    let edits: [Change; 6] = [
        |j| j["marks"][1]["value"] = json!(70.2),
        |j| j["marks"][0]["angle"] = json!(-120.00000000000001),
        |j| j["marks"][2]["terms"]["pivot/0"] = json!(-0.3),
        |j| j["name"] = json!("another"),
        |j| j["unit"] = json!("F"),
        |j| j["marks"][0]["click"] = Value::Null,
    ];
    for edit in edits {
        let bytes = edited(edit);
        let error = refused(&bytes);
        assert!(matches!(error, DialFileError::ChangedByHand { .. }), "{error}");
        assert!(error.to_string().contains("changed by hand"));
    }
    // Only spelled differently: spaces, a byte-order mark.
    let mut bytes = b"\xef\xbb\xbf".to_vec();
    bytes.extend(edited(|_| ()));
    assert_eq!(from_bytes(&bytes).unwrap(), dial());
}

/// What is prepared for reading is kept beside the dial: it is no part of its identity, and it is tied to it.
#[test]
fn what_is_prepared_belongs_to_one_dial() {
    let d = dial();
    let kept = Dial { prepared: Some(vec![1, 2, 3, 250]), ..d.clone() };
    let bytes = to_bytes(&kept).unwrap();
    assert_eq!(from_bytes(&bytes).unwrap(), kept);
    assert_eq!((content_id(&kept), kept.clone().sealed()), (d.id.clone(), d.clone()));
    let changed = |edit: &dyn Fn(&mut Value)| {
        let mut json: Value = serde_json::from_slice(&bytes).unwrap();
        edit(&mut json);
        refused(&serde_json::to_vec(&json).unwrap())
    };
    let error = changed(&|j| j["prepared"]["base64"] = json!("AQID+w=="));
    assert_eq!(error, DialFileError::NotItsOwn);
    assert!(error.to_string().contains("changed by hand"), "{error}");
    // that of another dial is not taken over
    let other = Dial { name: "another".into(), ..d }.sealed();
    let other = to_bytes(&Dial { prepared: kept.prepared.clone(), ..other }).unwrap();
    let other: Value = serde_json::from_slice(&other).unwrap();
    assert_eq!(changed(&|j| j["prepared"] = other["prepared"].clone()), DialFileError::NotItsOwn);
    assert!(matches!(changed(&|j| j["prepared"]["base64"] = json!("AQI*")), DialFileError::Content(_)));
    assert!(matches!(changed(&|j| j["prepared"]["more"] = json!(1)), DialFileError::Shape(_)));
    let early = changed(&|j| j["format_version"] = json!(2));
    assert!(early.to_string().contains("which a file of version 1 or 2 does not do"), "{early}");
}

#[test]
fn another_version_is_named() {
    let error = refused(&edited(|j| j["format_version"] = json!(4)));
    assert_eq!(error, DialFileError::Version { found: 4, known: 3 });
    assert!(error.to_string().contains("reads versions 1 to 3"), "{error}");
    // A newer file may hold anything: the version is still what is reported.
    assert_eq!(
        refused(br#"{"format": "needleband-dial", "format_version": 7, "dials": []}"#),
        DialFileError::Version { found: 7, known: 3 }
    );
}

#[test]
fn files_of_another_kind_are_told_apart() {
    for text in ["", "{", "not json", "\u{0}\u{1}", &written()[..200], "{\"format\": \"needleband-dial\""] {
        assert!(matches!(refused(text.as_bytes()), DialFileError::NotJson(_)), "{text}");
    }
    for text in ["{}", "[]", "3", "null", "{\"format\": 3}", "{\"format\": \"something\", \"format_version\": 1}"] {
        assert_eq!(refused(text.as_bytes()), DialFileError::NotADial, "{text}");
    }
    for version in [json!(-1), json!(1.5), json!("1"), Value::Null] {
        assert!(matches!(refused(&edited(|j| j["format_version"] = version)), DialFileError::Shape(_)));
    }
    let huge = vec![b' '; MAX_FILE_BYTES as usize + 1];
    assert!(matches!(from_bytes(&huge), Err(DialFileError::TooLarge { .. })));
}

#[test]
fn a_wrong_shape_names_the_field() {
    let edits: [(&str, Change); 8] = [
        ("colour", |j| j["colour"] = json!(1)),
        ("weight", |j| j["marks"][0]["weight"] = json!(1)),
        ("tail", |j| j["needle"]["tail"] = json!(1)),
        ("gamma", |j| j["face"]["gamma"] = json!(1)),
        ("needle", |j| drop(j.as_object_mut().unwrap().remove("needle"))),
        ("guessed", |j| j["marks"][0]["kind"] = json!("guessed")),
        ("°C", |j| j["unit"] = json!("°C")),
        ("null", |j| j["marks"][0]["value"] = Value::Null),
    ];
    for (name, edit) in edits {
        match refused(&edited(edit)) {
            DialFileError::Shape(what) => assert!(what.contains(name), "{what}"),
            other => panic!("{name}: {other}"),
        }
    }
    let doubled = written().replacen("\"unit\": \"C\",", "\"unit\": \"C\", \"unit\": \"C\",", 1);
    assert!(matches!(refused(doubled.as_bytes()), DialFileError::Shape(_)));
}

#[test]
fn a_damaged_picture_is_noticed() {
    let picture = |text: String| refused(&edited(|j| j["face"]["jpeg_base64"] = json!(text)));
    let whole: Value = serde_json::from_str(&written()).unwrap();
    let whole = whole["face"]["jpeg_base64"].as_str().unwrap().to_string();
    for text in ["".into(), "AAAA".into(), whole[..whole.len() / 2 / 4 * 4].to_string(), format!("{whole}!"), "iVBORw0KGgo=".into()] {
        assert!(matches!(picture(text), DialFileError::Picture(_)));
    }
    assert!(matches!(refused(&edited(|j| j["face"]["width"] = json!(38))), DialFileError::Picture(_)));
}

#[test]
fn impossible_content_is_refused_in_both_directions() {
    type Edit = fn(&mut Dial);
    let cases: [(&str, Edit); 26] = [
        ("two marks", |d| d.marks.truncate(1)),
        ("same value 50", |d| d.marks[2].value = 50.0),
        ("do not rise", |d| d.marks.swap(0, 1)),
        ("one way round", |d| d.marks[1].angle = 125.0),
        ("one way round", |d| d.marks[1].angle = -120.0),
        ("full turn", |d| d.marks[3].angle = 241.0),
        ("mark 1", |d| d.marks[0].value = f64::NEG_INFINITY),
        ("mark 2", |d| d.marks[1].angle = f64::NAN),
        ("term of mark 2", |d| *d.marks[1].terms.get_mut(&"pivot/0".into()).unwrap() = f64::NAN),
        ("no name", |d| d.marks[1].terms = BTreeMap::from([("".into(), 0.1)])),
        ("click of mark 1", |d| d.marks[0].click.as_mut().unwrap().given[1] = f64::INFINITY),
        ("maps the dial onto a line", |d| with_plane(d, |m| m.set_column(1, &(m.column(0) * 2.0)))),
        ("maps the dial onto a line", |d| with_plane(d, |m| m.fill(0.0))),
        ("not a number", |d| with_plane(d, |m| m[(2, 2)] = f64::NAN)),
        ("scale", |d| d.face.scale = 0.0),
        ("tilt", |d| d.face.tilt = 90.0),
        ("print", |d| d.face.print_radius = -1.0),
        ("cover", |d| d.face.cover_radius = 2.0),
        ("3 widths for 2 radii", |d| d.needle.radii.truncate(2)),
        ("below 0", |d| d.needle.half_width[1] = -0.1),
        ("radii along the needle do not rise", |d| d.needle.radii.swap(0, 1)),
        ("span", |d| d.needle.span = [0.8, 0.8]),
        ("focal", |d| d.focal_ratio = Some(0.0)),
        ("reference", |d| d.reference = "xyz".into()),
        ("name", |d| d.name = "n".repeat(201)),
        ("contrast", |d| d.needle.contrast[0] = f64::NAN),
    ];
    for (words, edit) in cases {
        let mut d = dial();
        edit(&mut d);
        let error = to_bytes(&d.sealed()).unwrap_err();
        assert!(matches!(error, DialFileError::Content(_)) && error.to_string().contains(words), "{words}: {error}");
    }
    let reading: [(&str, Change); 4] = [
        ("two marks", |j| j["marks"] = json!([])),
        ("same value", |j| j["marks"][1] = j["marks"][0].clone()),
        ("widths", |j| j["needle"]["half_width"] = json!([0.1])),
        ("identity", |j| j["id"] = json!("12")),
    ];
    for (words, edit) in reading {
        let error = refused(&edited(edit));
        assert!(matches!(error, DialFileError::Content(_)) && error.to_string().contains(words), "{words}: {error}");
    }
}

#[test]
fn a_dial_that_is_not_sealed_or_not_stored_is_not_written() {
    let mut d = dial();
    d.name = "renamed".into();
    assert!(matches!(to_bytes(&d), Err(DialFileError::NotSealed { .. })));
    let mut d = dial();
    d.face.rgb[7] ^= 1;
    assert!(matches!(to_bytes(&d), Err(DialFileError::Picture(_))));
}

#[test]
fn questions_are_kept_as_plain_text_of_a_bounded_length() {
    let asked = dial().with_questions(vec!["Is 90 right?".to_string(), "b\u{1b}[31m\n".to_string(), "x".repeat(9000)]);
    assert_eq!(from_bytes(&to_bytes(&asked).unwrap()).unwrap(), asked);
    assert_eq!((asked.questions.len(), asked.questions[1].as_str(), asked.questions[2].len()), (3, "b [31m ", 500));
    assert_ne!(asked.id, dial().id);
    assert_eq!(dial().with_questions(vec!["?".to_string(); 99]).questions.len(), 20);
    for wrong in [vec![String::new()], vec!["b\u{7}".to_string()], vec!["x".repeat(501)], vec!["?".to_string(); 21]] {
        assert!(matches!(to_bytes(&Dial { questions: wrong, ..dial() }.sealed()), Err(DialFileError::Content(_))));
    }
    let early = Dial { questions: vec!["?".to_string()], version: 2, ..dial() }.sealed();
    assert!(matches!(to_bytes(&early), Err(DialFileError::Content(_))));
}
