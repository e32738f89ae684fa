//! Records, dials and photos made by hand for the tests of compare, output and the command line: geometry and values are
//! known exactly because they are put in here.
use nalgebra::{Matrix3, Vector3};
use needleband::base::measured::Measured;
use needleband::base::units::Unit;
use needleband::dial::{Click, Dial, Face, FaceFrame, Mark, MarkKind, NeedleLook};
use needleband::photo::Photo;
use needleband::reading::{Evidence, NeedleEvidence, Outcome, Reading, Record};
use std::collections::BTreeMap;

/// Where the drawn dial's pivot is in the drawn photo, and its radius, px.
pub const PIVOT: [f64; 2] = [411.0, 302.5];
pub const RADIUS: f64 = 160.0;
/// How far the drawn dial is turned clockwise in the photo, degrees.
pub const ROLL: f64 = 20.0;

/// Dial plane to photo px of the drawn photo: turned by [`ROLL`], not tilted.
pub fn plane() -> Matrix3<f64> {
    let (s, c) = ROLL.to_radians().sin_cos();
    // Up on the dial points to (sin, -cos) in the photo, right to (cos, sin).
    Matrix3::new(RADIUS * c, RADIUS * s, PIVOT[0], RADIUS * s, -RADIUS * c, PIVOT[1], 0.0, 0.0, 1.0)
}

/// A photo of 800 x 600 px: grey paper, a bright needle at `angle` from 0.1 to 0.9 radii, 5 px wide.
pub fn photo(angle: f64) -> Photo {
    let back = plane().try_inverse().unwrap();
    let (dx, dy) = angle.to_radians().sin_cos();
    let mut rgb = Vec::with_capacity(800 * 600 * 3);
    for y in 0..600 {
        for x in 0..800 {
            let p = back * Vector3::new(f64::from(x), f64::from(y), 1.0);
            let (along, across) = (p.x * dx + p.y * dy, p.x * dy - p.y * dx);
            let needle = (0.1..0.9).contains(&along) && across.abs() * RADIUS < 2.5;
            rgb.extend_from_slice(if needle { &[250, 60, 60] } else { &[90, 90, 90] });
        }
    }
    Photo { width: 800, height: 600, rgb, hash: "ab".repeat(32), taken_at: None, focal_ratio: None }
}

/// A dial of 40 to 120 °C over -120 to 120 degrees: 3 degrees of needle a °C; labels every 20 °C, a counted tick at 50 °C.
pub fn dial() -> Dial {
    let mark = |value: f64| {
        let angle = 3.0 * (value - 80.0);
        let (x, y) = angle.to_radians().sin_cos();
        let p = plane() * Vector3::new(x, y, 1.0);
        let labelled = value % 20.0 == 0.0;
        let click = Click { given: [p.x + 2.0, p.y], snapped: [p.x, p.y], residual: Some(1.5) };
        let kind = if labelled { MarkKind::Labelled } else { MarkKind::Counted };
        let terms = BTreeMap::from([(format!("mark/{value}"), 0.1)]);
        Mark { value, angle, kind, terms, click: labelled.then_some(click) }
    };
    let drawn = photo(0.0);
    let frame = FaceFrame { plane: plane(), scale: RADIUS, tilt: 0.0, print_radius: 1.3, cover_radius: 0.1, plane_terms: Vec::new() };
    Dial {
        name: "gearbox oil".to_string(),
        unit: Unit::C,
        id: String::new(),
        marks: [40.0, 50.0, 60.0, 80.0, 100.0, 120.0].map(mark).to_vec(),
        face: Face::from_rgb(&drawn.rgb, drawn.width, drawn.height, frame).unwrap(),
        needle: NeedleLook {
            angle: 0.0,
            offset: 0.0,
            tail_shift: 0.0,
            half_width: vec![0.016; 9],
            radii: (1..=9).map(|k| f64::from(k) / 10.0).collect(),
            span: [0.1, 0.9],
            contrast: [160.0, -30.0, -30.0],
            axis: [0.006, 0.0, 0.0],
        },
        focal_ratio: None,
        reference: "cd".repeat(32),
    }
    .sealed()
}

/// What the chain would have seen in [`photo`].
pub fn evidence(angle: f64) -> Evidence {
    let needle = NeedleEvidence { angle, sigma: 0.12, offset: 0.0, span: [0.1, 0.9], seen: 1.0 };
    Evidence { homography: plane(), tilt: 0.0, radius_px: RADIUS, print_match: 0.98, matches: 80, needle: Some(needle) }
}

/// A record with a reading; the terms are (source, contribution), the band is 1.96 sigma.
pub fn record(id: &str, value: f64, terms: &[(&str, f64)]) -> Record {
    let terms: BTreeMap<String, f64> = terms.iter().map(|(k, t)| (k.to_string(), *t)).collect();
    let temperature = Measured::new(value, terms);
    let half = 1.959964 * temperature.sigma();
    let reading = Reading { temperature, band: (value - half, value + half), unit: Unit::C, flags: Vec::new() };
    Record {
        photo_id: id.to_string(),
        taken_at: Some("2026-08-14 10:31:07".to_string()),
        size: (800, 600),
        outcome: Outcome::Reading(reading),
        evidence: Some(evidence(3.0 * (value - 80.0))),
    }
}

/// A record without a number.
pub fn without(id: &str, outcome: Outcome) -> Record {
    Record { outcome, ..record(id, 80.0, &[]) }
}
