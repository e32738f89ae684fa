//! Records, dials and photos made by hand for the tests of compare, output and the command line: geometry and values are
//! known exactly because they are put in here.
use nalgebra::{Matrix3, Vector3};
use needleband::dial::{Click, Declared, Dial, FORMAT_VERSION, Face, FaceFrame, Mark, MarkKind, NeedleLook, Stand};
use needleband::maths::estimate::Estimate;
use needleband::maths::homography::{PlaneInFace, PlaneInPhoto};
use needleband::maths::measured::Measured;
use needleband::maths::units::Unit;
use needleband::photo::Photo;
use needleband::reading::{Evidence, NeedleEvidence, Outcome, Reading, Record};
use std::collections::BTreeMap;

pub mod drops;

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
    Photo { width: 800, height: 600, rgb: rgb.into(), hash: "ab".repeat(32), taken_at: None, focal_ratio: None }
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
        let terms = BTreeMap::from([(format!("mark/{value}").into(), 0.1)]);
        Mark { value, angle, kind, terms, value_terms: BTreeMap::new(), click: labelled.then_some(click) }
    };
    let drawn = photo(0.0);
    let frame = FaceFrame {
        plane: PlaneInFace::new(plane()),
        scale: RADIUS,
        tilt: 0.0,
        print_radius: 1.3,
        cover_radius: 0.1,
        plane_terms: Vec::new(),
        uncovered: Vec::new(),
        camera: None,
    };
    Dial {
        name: "gearbox oil".to_string(),
        unit: Unit::C,
        id: String::new(),
        marks: [40.0, 50.0, 60.0, 80.0, 100.0, 120.0].map(mark).to_vec(),
        face: Face::from_rgb(&drawn.rgb, drawn.width, drawn.height, frame).unwrap(),
        needle: NeedleLook {
            stand: Stand::default(),
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
        declared: Declared::default(),
        questions: Vec::new(),
        version: FORMAT_VERSION,
        prepared: None,
    }
    .sealed()
}

/// What the chain would have seen in [`photo`].
pub fn evidence(angle: f64) -> Evidence {
    let needle = NeedleEvidence { angle, sigma: 0.12, offset: 0.0, span: [0.1, 0.9], seen: 1.0 };
    Evidence { homography: PlaneInPhoto::new(plane()), tilt: 0.0, radius_px: RADIUS, print_match: 0.98, matches: 80, needle: Some(needle) }
}

/// Gives a reading another band, and the interval of a flat zone.
pub fn banded(r: &mut Reading, band: (f64, f64), flat: Option<(f64, f64)>) {
    r.temperature = Estimate::known(r.temperature.measured().clone(), band).anywhere_in(flat);
}

/// A record with a reading; the terms are (source, contribution), the band is 1.96 sigma.
pub fn record(id: &str, value: f64, terms: &[(&str, f64)]) -> Record {
    let temperature = Measured::new(value, terms.iter().copied());
    let half = 1.959964 * temperature.sigma();
    let reading = Reading { temperature: Estimate::known(temperature, (value - half, value + half)), unit: Unit::C, flags: Vec::new() };
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

/// A photo of a printed dial, 1000 x 800 px: grain, ticks every 2 °C, longer ones every 20 °C with a block of print for each
/// numeral, and a needle at `value` °C. Seen straight on, turned clockwise by `roll` degrees, `radius` px large, the pivot at
/// `pivot`. `light` dims it. The face of [`dial`]: 3 degrees of needle a °C, 80 °C straight up.
pub fn printed(value: f64, pivot: [f64; 2], radius: f64, roll: f64, light: f64) -> Photo {
    let (s, c) = roll.to_radians().sin_cos();
    let angle = 3.0 * (value - 80.0);
    let (dx, dy) = angle.to_radians().sin_cos();
    // Mean of 2 x 2 points a pixel, so that edges are not ragged.
    let sample = |x: f64, y: f64| -> [f64; 3] {
        let (u, v) = ((x - pivot[0]) / radius, (y - pivot[1]) / radius);
        let (px, py) = (u * c + v * s, u * s - v * c);
        if px.hypot(py) > 1.25 {
            return [30.0; 3];
        }
        let (along, across) = (px * dx + py * dy, px * dy - py * dx);
        if (-0.2..0.86).contains(&along) && across.abs() < 0.026 - 0.014 * along.max(0.0) {
            return [235.0, 70.0, 45.0];
        }
        if print_at(px, py) { [225.0; 3] } else { [48.0 + 10.0 * grain(px, py); 3] }
    };
    let mut rgb = Vec::with_capacity(1000 * 800 * 3);
    for y in 0..800 {
        for x in 0..1000 {
            let mut sum = [0.0; 3];
            for [dx, dy] in [[-0.25, -0.25], [0.25, -0.25], [-0.25, 0.25], [0.25, 0.25]] {
                let p = sample(f64::from(x) + dx, f64::from(y) + dy);
                sum = [sum[0] + p[0], sum[1] + p[1], sum[2] + p[2]];
            }
            rgb.extend(sum.map(|v| (light * v / 4.0).round() as u8));
        }
    }
    Photo { width: 1000, height: 800, rgb: rgb.into(), hash: String::new(), taken_at: None, focal_ratio: None }
}

/// Whether a point of the dial plane is printed: a tick, or a block of the made-up numerals.
fn print_at(x: f64, y: f64) -> bool {
    let (r, a) = (x.hypot(y), x.atan2(y).to_degrees());
    if !(-121.5..121.5).contains(&a) || r > 1.0 {
        return false;
    }
    let value = 80.0 + a / 3.0;
    let (two, twenty) = ((value / 2.0).round() * 2.0, (value / 20.0).round() * 20.0);
    let off = |v: f64| ((a - 3.0 * (v - 80.0)).to_radians() * r).abs();
    if r > 0.86 && off(twenty) < 0.014 || r > 0.93 && off(two) < 0.007 {
        return true;
    }
    // A numeral: 3 x 5 cells, filled by a pattern of its value.
    let (sx, sy) = (3.0 * (twenty - 80.0)).to_radians().sin_cos();
    let (cx, cy) = ((x - 0.68 * sx) / 0.045 + 1.5, (y - 0.68 * sy) / 0.045 + 2.5);
    let cell = (0.0..3.0).contains(&cx) && (0.0..5.0).contains(&cy);
    cell && ((twenty as u32 * 2_654_435) >> (cx as u32 + 3 * cy as u32)) & 1 == 1
}

/// Smooth grain of the paper, -1..1.
fn grain(x: f64, y: f64) -> f64 {
    (17.0 * x + 3.0 * (23.0 * y).sin()).sin() * (19.0 * y + 2.0 * (13.0 * x).cos()).sin()
}
