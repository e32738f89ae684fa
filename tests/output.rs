//! Pictures, JSON and text made from records built by hand: text is really drawn, lines lie where the geometry says, no
//! number that is not finite gets out, and what was not read is named.
use super::handmade::{PIVOT, RADIUS, ROLL, banded, dial, evidence, photo, record, without};
use crate::support::pictures;
use image::RgbImage;
use needleband::calibrate::{Calibration, Warning};
use needleband::compare::compare;
use needleband::diagnostics::{Flag, Refusal};
use needleband::maths::homography::{FacePoint, Homography, PlaneInPhoto};
use needleband::maths::units::Unit;
use needleband::output::picture::svg::{Anchor, Svg, Type, in_font};
use needleband::output::picture::{Picture, Shown, check_picture, overlay, overlay_against, overlay_png, side_by_side};
use needleband::output::{json, text};
use needleband::reading::{Outcome, Record};

fn reading() -> Record {
    record("p1", 92.0, &[("dial:0123456789ab/mark/80", 0.2), ("photo:p1/needle", 0.15)])
}

/// Pixels of a picture that are not the ground colour of its first pixel.
fn ink(words: &str, bold: bool) -> usize {
    let mut svg = Svg::new();
    svg.text([20.0, 70.0], Type { size: 60.0, bold, colour: "#ffffff", anchor: Anchor::Start, halo: None }, words);
    let drawn = svg.over(RgbImage::new(400, 100)).unwrap();
    drawn.pixels().filter(|p| p.0 != [0, 0, 0]).count()
}

#[test]
fn letters_are_really_drawn_and_bold_ones_have_more_ink() {
    let (regular, bold) = (ink("92.8 °C", false), ink("92.8 °C", true));
    assert!(regular > 2000 && bold > regular * 11 / 10, "{regular} {bold}");
}

/// A letter that is missing from the fonts leaves no ink, so every letter that is let through must leave some.
#[test]
fn every_letter_that_is_let_through_is_in_both_fonts() {
    let letters: Vec<char> = (' '..='\u{2fff}').filter(|c| in_font(*c)).collect();
    assert!(letters.len() > 200);
    for c in letters.into_iter().filter(|c| !matches!(c, ' ' | '\u{a0}' | '\u{ad}')) {
        for bold in [false, true] {
            assert!(ink(&c.to_string(), bold) > 0, "{c:?} bold {bold}");
        }
    }
    assert_eq!(ink("\u{6e29}", false), ink("?", false), "any other letter shows as a question mark");
    assert!(ink("<&>\u{0}\u{1b}", false) > 0, "markup and control characters are drawn as text");
}

fn at(picture: &Picture, x: f64, y: f64) -> [u8; 3] {
    let k = 3 * (y as usize * picture.size().0 as usize + x as usize);
    [picture.rgb()[k], picture.rgb()[k + 1], picture.rgb()[k + 2]]
}

/// Where the overlay shows a point of the dial plane: the crop is 3.4 radii wide (544 px), 1200 px on the canvas.
fn on_overlay(radius: f64, angle: f64) -> (f64, f64) {
    let scale = 1200.0 / (3.4 * RADIUS).round();
    let (s, c) = (angle + ROLL).to_radians().sin_cos();
    let origin = PIVOT.map(|p| (p + 0.5 - 1.7 * RADIUS).round());
    ((PIVOT[0] + radius * RADIUS * s + 0.5 - origin[0]) * scale, (PIVOT[1] - radius * RADIUS * c + 0.5 - origin[1]) * scale)
}

#[test]
fn the_overlay_draws_needle_marks_and_band_where_they_are() {
    let angle = 36.0;
    let (photo, dial) = (photo(angle), dial());
    let drawn = overlay(&photo, &dial, &reading()).unwrap();
    assert_eq!(drawn.size(), (1200, 1500));
    // The needle is yellow (Okabe-Ito #f0e442) on its axis; near its root, where the band is thin, the photo's red needle shows beside the line.
    let (x, y) = on_overlay(0.5, angle);
    assert_eq!(at(&drawn, x, y), [0xf0, 0xe4, 0x42]);
    let quarter = (angle + ROLL + 90.0).to_radians();
    let (x, y) = on_overlay(0.2, angle);
    let beside = at(&drawn, x + 4.5 * quarter.sin(), y - 4.5 * quarter.cos());
    assert!(beside[0] > 200 && beside[1] < 100, "{beside:?}");
    // The circle of the marks is sky blue (#56b4e9); halfway between two marks, away from the needle.
    let (x, y) = on_overlay(1.0, -45.0);
    assert_eq!(at(&drawn, x, y), [0x56, 0xb4, 0xe9]);
    // The band's block outside the marks: 92 °C is at 36 degrees; half the band is 0.49 °C, 1.47 degrees.
    let (x, y) = on_overlay(1.06, angle);
    let block = at(&drawn, x, y);
    assert!(block[1] > block[0] + 60 && block[1] > block[2] + 20, "{block:?}");
    let (x, y) = on_overlay(1.06, angle + 4.0);
    assert_eq!(at(&drawn, x, y), [90, 90, 90]);
    // The number below is large: a tenth of the banner's upper left is white.
    let white = (0..600).flat_map(|x| (1210..1340).map(move |y| (x, y))).filter(|(x, y)| at(&drawn, f64::from(*x), f64::from(*y))[0] > 200);
    assert!(white.count() > 7800);
}

/// 100 °C stands at 60 degrees: the limit is an orange stroke (Okabe-Ito #e69f00) across the circle of the marks; beyond the scale
/// there is none, and without a limit neither.
#[test]
fn a_limit_is_drawn_where_it_stands() {
    let (photo, dial) = (photo(36.0), dial());
    let (x, y) = on_overlay(0.92, 60.0);
    let colour = |limit: Option<f64>| at(&overlay_against(&photo, &dial, &reading(), limit).unwrap(), x, y);
    assert_eq!(colour(Some(100.0)), [0xe6, 0x9f, 0x00]);
    for other in [None, Some(130.0), Some(30.0), Some(80.0)] {
        assert_eq!(colour(other), [90, 90, 90], "{other:?}");
    }
    // the number of the mark 100 stands at 1.19 radii: nothing round it changes with the limit (34 px letters, 353 px a radius)
    let (x, y) = on_overlay(1.19, 60.0);
    let [with, without] = [Some(100.0), None].map(|l| overlay_against(&photo, &dial, &reading(), l).unwrap());
    for (dx, dy) in (-32..=32).flat_map(|dx| (-14..=14).map(move |dy| (f64::from(dx), f64::from(dy)))) {
        assert_eq!(at(&with, x + dx, y + dy), at(&without, x + dx, y + dy), "{dx} {dy}");
    }
    let orange = |p: &Picture| p.rgb().chunks_exact(3).filter(|c| *c == [0xe6, 0x9f, 0x00]).count();
    let c = compare(&[reading()], &[record("p2", 85.0, &[("photo:p2/needle", 0.15)])]).unwrap();
    let (before, after) = (reading(), record("p2", 85.0, &[]));
    let picture = |c: &needleband::compare::Comparison| {
        let show = |record| Shown { photo: &photo, record };
        orange(&side_by_side(&dial, c, show(&before), show(&after)).unwrap())
    };
    assert!(picture(&c) == 0 && picture(&c.against(100.0)) > 1000);
}

#[test]
fn an_overlay_is_made_for_every_outcome() {
    let (photo, dial) = (photo(0.0), dial());
    let mut lost = without("p", Outcome::Refused(Refusal::DialNotFound, String::new()));
    lost.evidence = None;
    for record in [reading(), without("p", Outcome::BelowScale), without("p", Outcome::AboveScale), lost] {
        let png = overlay_png(&photo, &dial, &record).unwrap();
        let picture = pictures::of_bytes(&png);
        assert_eq!(picture.width(), 1200);
        let banner = (picture.height() - 300..picture.height()).flat_map(|y| (0..1200).map(move |x| (x, y)));
        assert!(banner.filter(|(x, y)| picture.get_pixel(*x, *y).0[0] > 150).count() > 3000, "{:?}", record.outcome);
    }
}

#[test]
fn odd_evidence_never_breaks_the_drawing() {
    let (photo, dial) = (photo(0.0), dial());
    for bad in [f64::NAN, f64::INFINITY, 0.0, -1.0, 1e12] {
        let mut r = reading();
        let e = r.evidence.as_mut().unwrap();
        e.radius_px = bad;
        let mut matrix = *e.homography.matrix();
        matrix[(2, 2)] = bad;
        e.homography = PlaneInPhoto::new(matrix);
        e.needle.as_mut().unwrap().angle = bad;
        assert!(overlay_png(&photo, &dial, &r).is_ok(), "{bad}");
    }
    let mut empty = photo;
    empty.rgb = Default::default();
    assert!(overlay_png(&empty, &dial, &reading()).unwrap_err().to_string().contains("no pixels"));
}

#[test]
fn before_and_after_are_straightened_to_the_same_upright_dial() {
    let (cold, hot) = (record("a", 84.0, &[("photo:a/needle", 0.2)]), record("b", 92.0, &[("photo:b/needle", 0.2)]));
    let c = compare(std::slice::from_ref(&hot), std::slice::from_ref(&cold)).unwrap();
    let (before, after) = (photo(36.0), photo(12.0));
    let shown = side_by_side(&dial(), &c, Shown { photo: &before, record: &hot }, Shown { photo: &after, record: &cold }).unwrap();
    assert_eq!(shown.size(), (1600, 1000));
    // Panels of 778 x 600 px at (16, 16) and (806, 16), 218 px a radius, the pivot in the middle: the red needle of each photo
    // stands at its own angle from straight up, the photo's roll of 20 degrees is gone.
    for (left, angle) in [(16.0, 36.0_f64), (806.0, 12.0)] {
        let (s, c) = angle.to_radians().sin_cos();
        let (x, y) = (left + 389.0 + 0.7 * 218.0 * s, 16.0 + 300.0 - 0.7 * 218.0 * c);
        let p = at(&shown, x, y);
        assert!(p[0] > 200 && p[1] < 120, "{angle}: {p:?}");
        let p = at(&shown, x + 12.0, y);
        assert!(p[0] < 120, "{angle}: {p:?}");
    }
    assert!(!shown.jpeg().unwrap().is_empty());
}

#[test]
fn the_check_picture_finds_the_face_and_draws_the_clicks() {
    let (photo, mut dial) = (photo(0.0), dial());
    // The face as calibration cuts it: a part of the photo.
    let (x0, y0, w, h) = (200, 90, 420, 430);
    let row = |y: usize| photo.rgb[3 * (y * 800 + x0)..3 * (y * 800 + x0 + w)].to_vec();
    dial.face.rgb = (y0..y0 + h).flat_map(row).collect();
    (dial.face.width, dial.face.height) = (w, h);
    dial.face.plane = Homography::<FacePoint, FacePoint>::shifted(-(x0 as f64), -(y0 as f64)) * dial.face.plane;
    let drawn = check_picture(&photo, &dial).unwrap();
    assert_eq!(drawn.size().0, 1400);
    // The click on the mark 100 °C was 2 px right of the tick: an orange ring (#e69f00) of 9 px round it.
    let scale = 1400.0 / (3.1 * RADIUS).round();
    let origin = PIVOT.map(|p| (p + 0.5 - 1.55 * RADIUS).round());
    let click = dial.marks[4].click.unwrap().given;
    let (x, y) = ((click[0] + 0.5 - origin[0]) * scale + 9.0, (click[1] + 0.5 - origin[1]) * scale);
    let ring = at(&drawn, x, y);
    assert!(ring[0] > 180 && ring[1] > 120 && ring[2] < 60, "{ring:?}");
    let mut other = photo.clone();
    other.rgb.iter_mut().for_each(|v| *v = v.wrapping_add(3));
    assert!(check_picture(&other, &dial).is_ok(), "on a photo that is not the reference the face is shown");
}

#[test]
fn json_holds_no_number_that_is_not_finite() {
    let mut r = record("p", f64::NAN, &[("photo:p/needle", f64::INFINITY)]);
    if let Outcome::Reading(x) = &mut r.outcome {
        banded(x, (f64::NEG_INFINITY, f64::NAN), None);
    }
    r.evidence.as_mut().unwrap().tilt = f64::NAN;
    let line = json::photo_line("p.jpg", &dial(), &r, true).unwrap();
    assert!(!line.contains("NaN") && !line.contains("inf") && !line.contains('\n'), "{line}");
    let v: serde_json::Value = serde_json::from_str(&line).unwrap();
    for field in ["value", "sigma", "low", "high", "value_c", "value_f", "tilt_deg"] {
        assert!(v[field].is_null(), "{field}");
    }
    assert!(v["budget"][0]["contribution"].is_null());
}

#[test]
fn the_table_names_every_outcome_and_ends_with_the_caution() {
    let dial = dial();
    let mut flagged = reading();
    if let Outcome::Reading(r) = &mut flagged.outcome {
        r.flags = vec![Flag::SteepView];
    }
    let paths: Vec<String> = ["a.jpg", "b.jpg", "c.jpg", "d.jpg"].map(String::from).to_vec();
    let mut table = text::ReadTable::new(&paths);
    let mut out = table.head(&dial);
    let refused = without("d", Outcome::Refused(Refusal::NeedleNotFound, "contrast 0.1".to_string()));
    for (p, r) in paths.iter().zip([flagged, without("b", Outcome::BelowScale), without("c", Outcome::AboveScale), refused]) {
        out.push_str(&table.row(p, &dial, &r));
    }
    out.push_str(&table.foot());
    // 92 °C is 197.6 °F; the band of ±0.49 °C is ±0.88 °F (NIST SP 811: a difference converts by 1.8 alone).
    let parts = [
        "197.6",
        "steep view",
        "below 40 °C",
        "below 104 °F",
        "above 120 °C",
        "not read: The dial was found, but no needle",
        "contrast 0.1",
        "Check that the needle is visible",
        "1 read, 1 below the scale, 1 above the scale, 1 not read.",
    ];
    for part in parts {
        assert!(out.contains(part), "{part} is missing in\n{out}");
    }
    assert_eq!(out.matches("A passenger or a mount takes the photo.").count(), 1);
    assert!(out.trim_end().ends_with("no safety instrument."));
}

#[test]
fn the_budget_adds_up_to_all() {
    let Outcome::Reading(r) = reading().outcome else { panic!("a reading") };
    let out = text::budget(&r);
    // By hand: 0.2² and 0.15² of 0.25²: 64 % and 36 %.
    assert!(out.contains("64 %") && out.contains("36 %") && out.contains("100 %"), "{out}");
    assert!(out.contains("dial   mark/80") && out.contains("photo  needle") && out.contains("0.250"), "{out}");
}

/// The ± of a lopsided band is its longer side, and what stands below the numbers says so.
#[test]
fn what_is_said_of_plus_minus_is_true_of_a_lopsided_band() {
    let mut one = reading();
    let Outcome::Reading(r) = &mut one.outcome else { panic!() };
    banded(r, (76.0, 94.0), None);
    let mut table = text::ReadTable::new(&["p.jpg".to_string()]).explained(true);
    let row = table.row("p.jpg", &dial(), &one);
    assert!(row.contains("92 ± 16 °C") && row.contains("95 % band 76"), "{row}");
    let compared = compare(&[one.clone()], &[one]).unwrap();
    for said in [table.head(&dial()), text::comparison(&compared, &[], &[], false)] {
        assert!(said.contains("± reaches the farther end of the 95 % band") && !said.contains("half"), "{said}");
    }
}

#[test]
fn calibration_and_comparison_in_words() {
    let done = Calibration {
        dial: dial(),
        rival_steps: None,
        needle_reads: Some(80.0),
        warnings: vec![Warning::ClickBeside(60.0, 5.5)],
        questions: Vec::new(),
    };
    let out = text::calibration(&done);
    for part in ["−120.00", "1.5", "given", "tick, counted", "reads 80.0 °C (176.0 °F)", "Mind: The click on 60 is 5.5 px beside"] {
        assert!(out.contains(part), "{part} is missing in\n{out}");
    }
    let before = [reading(), without("x", Outcome::Refused(Refusal::NeedleNotFound, String::new()))];
    let c = compare(&before, &[record("p2", 85.0, &[("dial:0123456789ab/mark/80", 0.2), ("photo:p2/needle", 0.15)])]).unwrap();
    let out = text::comparison(&c, &["one.jpg".to_string(), "low.jpg".to_string()], &["two.jpg".to_string()], true);
    for part in [
        "A difference of 7.0 °C (lower)",
        "Left out before: low.jpg",
        "1 of 2 photos read",
        "share",
        "A single photo shows no scatter",
        "95 % band",
    ] {
        assert!(out.contains(part), "{part} is missing in\n{out}");
    }
    assert_eq!(c.unit, Unit::C);
    assert!(evidence(36.0).needle.is_some());
}
