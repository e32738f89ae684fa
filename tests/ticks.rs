//! Dials found without a click: on the reference samples against their exact truth, on drawn dials, and on pictures without a dial.
use super::support::draw::Drawn;
use super::support::light::{Light, normal};
use super::support::looks;
use super::support::plan::Plan;
use super::support::view::View;
use crate::support::sweep::cases;
use chacha20::ChaCha8Rng;
use needleband::calibrate::{FoundDial, Region, find_dials, find_dials_in, named, named_by};
use needleband::dial::{Dial, MarkKind, from_bytes};
use needleband::maths::angle::wrap;
use needleband::maths::point::PhotoPoint;
use needleband::photo::{Photo, decode};
use rand::{RngExt, SeedableRng};

fn reference(name: &str) -> (Photo, Dial) {
    let photo = decode(&std::fs::read(format!("samples/{name}/reference.jpg")).unwrap()).unwrap();
    (photo, from_bytes(&std::fs::read(format!("calibration/{name}.json")).unwrap()).unwrap())
}

/// Ticks of a dial without a doubt.
fn sound(dial: &FoundDial) -> Vec<f64> {
    dial.ticks.iter().filter(|t| t.doubt.is_none()).map(|t| t.angle).collect()
}

/// The dial whose pivot is nearest to where the calibrated dial has its own.
fn same<'a>(dials: &'a [FoundDial], dial: &Dial) -> &'a FoundDial {
    let first = dial.marks.iter().find_map(|m| m.click).unwrap().snapped;
    let off = |d: &FoundDial| ((d.pivot.x - first[0]).hypot(d.pivot.y - first[1]) / d.radius - 1.0).abs();
    dials.iter().min_by(|a, b| off(a).total_cmp(&off(b))).unwrap()
}

#[test]
fn every_labelled_tick_of_the_reference_samples_is_found_where_a_person_clicked() {
    // the clicks were made by an imagined person with 1 to 2 px of error, so 4 px is the reach; printed ticks are 10 px apart or more
    for (name, printed) in [("gearbox-oil", 41), ("cluster-coolant", 5), ("night-oil", 25), ("transfer-box", 25)] {
        let (photo, known) = reference(name);
        let dials = find_dials(&photo);
        assert_eq!(dials.len(), if name == "cluster-coolant" { 2 } else { 1 }, "{name}: the cluster shows a second dial, cut by the frame");
        let dial = same(&dials, &known);
        for m in known.marks.iter().filter(|m| m.kind == MarkKind::Labelled) {
            let [x, y] = m.click.unwrap().given;
            let near = dial.ticks.iter().filter(|t| t.doubt.is_none() && (t.outer.x - x).hypot(t.outer.y - y) < 4.0).count();
            assert_eq!(near, 1, "{name}: {near} ticks at the mark {}", m.value);
        }
        // as many as are printed: 41; 5; 22 and a pair of marks beside three of them; 25
        assert_eq!((dial.ticks.len(), sound(dial).len()), (printed, printed), "{name}");
        assert!(dial.ticks.iter().enumerate().all(|(i, t)| t.number == i + 1), "{name}");
        assert!(dial.ticks.windows(2).all(|w| w[1].angle > w[0].angle), "{name}");
    }
}

/// Angles of the printed ticks, turned with the picture, of a drawn dial found in a view.
fn found_in(plan: &Plan, view: &View) -> (Vec<f64>, FoundDial) {
    let drawn = Drawn::new(plan.clone());
    let picture = drawn.at(0.4 * plan.labels[0] + 0.6 * plan.labels[plan.labels.len() - 1], view, &Light::default());
    let dials = find_dials(&picture.photo);
    assert_eq!(dials.len(), 1, "{} seen from {}°", plan.name, view.tilt);
    let off = dials[0].pivot.distance(picture.pivot);
    // the tolerance is that of a click on the pivot
    assert!(off < 2.0, "{} seen from {}°: pivot {off:.1} px off", plan.name, view.tilt);
    (plan.ticks().iter().map(|t| wrap(plan.angle(t.0) + view.roll)).collect(), dials[0].clone())
}

#[test]
fn drawn_dials_are_found_straight_on_and_from_the_side() {
    for plan in [looks::night(), looks::day(), looks::few(), looks::back()] {
        for view in [View::straight(960, 720, 240.0), View::straight(960, 720, 240.0).tilted(20.0, 130.0).rolled(12.0).at(60.0, -25.0)] {
            let (printed, dial) = found_in(&plan, &view);
            let what = format!("{} seen from {}°", plan.name, view.tilt);
            // the whole dial may be turned in the picture by what the tilt makes of "up": some degrees
            let shift = |a: f64| printed.iter().map(|p| wrap(a - p)).min_by(|p, q| p.abs().total_cmp(&q.abs())).unwrap();
            let mut turns: Vec<f64> = sound(&dial).into_iter().map(shift).collect();
            turns.sort_by(f64::total_cmp);
            let turn = turns[turns.len() / 2];
            assert!(turns.iter().all(|t| (t - turn).abs() < 0.4), "{what}: no tick is printed at some of {turns:?}");
            assert!(turns.len() as f64 >= 0.9 * printed.len() as f64, "{what}: {} of {} ticks", turns.len(), printed.len());
        }
    }
}

#[test]
fn a_circle_drawn_round_a_dial_shows_strokes_too_faint_for_a_whole_photo() {
    let mut rng = ChaCha8Rng::seed_from_u64(5);
    // radial strokes five levels over their ground: a whole photo is searched for six, a circle for four
    let (width, height, pivot, ring) = (900, 700, PhotoPoint::new(420.3, 360.7), 180.0);
    let ink = |x: f64, y: f64| {
        let (dx, dy) = (x - pivot.x, y - pivot.y);
        let r = dx.hypot(dy);
        let across = wrap(dx.atan2(-dy).to_degrees() - (dx.atan2(-dy).to_degrees() / 22.5).round() * 22.5).to_radians() * r;
        let swept = dx.atan2(-dy).to_degrees().abs() < 130.0;
        if swept && (ring - 26.0..ring).contains(&r) && across.abs() < 2.5 { 1.0 } else { 0.0 }
    };
    let photo = |contrast: f64, rng: &mut ChaCha8Rng| {
        let level = |i: usize, rng: &mut ChaCha8Rng| {
            (90.0 + contrast * ink((i % width) as f64, (i / width) as f64) + 0.15 * normal(rng)).round() as u8
        };
        let rgb: Vec<u8> = (0..width * height).map(|i| level(i, rng)).flat_map(|v| [v; 3]).collect();
        Photo { width, height, rgb: rgb.into(), hash: String::new(), taken_at: None, focal_ratio: None }
    };
    let circle = |x: f64| Region { centre: PhotoPoint::new(x, 350.0), radius: 230.0 };
    let faint = photo(5.0, &mut rng);
    assert!(find_dials(&faint).is_empty(), "the whole photo is searched for strokes of six levels and more");
    let dials = find_dials_in(&faint, circle(430.0));
    assert_eq!(dials.len(), 1);
    assert!(dials[0].pivot.distance(pivot) < 2.0 && sound(&dials[0]).len() >= 9, "{:?}", dials[0]);
    assert!(find_dials_in(&faint, circle(1300.0)).is_empty(), "outside the photo");
    let clear = photo(60.0, &mut rng);
    assert_eq!(find_dials(&clear).len(), 1);
    let elsewhere = Region { centre: PhotoPoint::new(800.0, 120.0), radius: 90.0 };
    assert!(find_dials_in(&clear, elsewhere).is_empty(), "the dial is not in this circle");
}

/// A picture with ink (0 to 1) by radius and direction (degrees clockwise from up) about a pivot, with some grain.
fn inked(pivot: PhotoPoint, ink: impl Fn(f64, f64) -> f64) -> Photo {
    let mut rng = ChaCha8Rng::seed_from_u64(8);
    let (width, height) = (900usize, 700usize);
    let mut level = |i: usize| {
        let (dx, dy) = ((i % width) as f64 - pivot.x, (i / width) as f64 - pivot.y);
        (60.0 + 120.0 * ink(dx.hypot(dy), dx.atan2(-dy).to_degrees()).clamp(0.0, 1.0) + normal(&mut rng)).round() as u8
    };
    let rgb: Vec<u8> = (0..width * height).map(&mut level).flat_map(|v| [v; 3]).collect();
    Photo { width, height, rgb: rgb.into(), hash: String::new(), taken_at: None, focal_ratio: None }
}

/// Ink of ticks over 260 degrees: every so many degrees, from one radius to another, so many px wide.
fn ticks(r: f64, a: f64, every: f64, [inner, outer]: [f64; 2], wide: f64) -> f64 {
    let across = (a - (a / every).round() * every).to_radians() * r;
    let on = a.abs() < 130.0 + 0.3 * every && (a / every).round().abs() * every <= 130.0;
    if on && (inner..outer).contains(&r) { 0.5 * wide + 0.5 - across.abs() } else { 0.0 }
}

#[test]
fn ticks_that_run_into_a_drawn_arc_are_found() {
    let pivot = PhotoPoint::new(430.4, 340.3);
    let arc = |r: f64, a: f64| if a.abs() < 130.0 { 2.0 - (r - 200.0).abs() } else { 0.0 };
    let photo = inked(pivot, |r, a| arc(r, a).max(ticks(r, a, 20.0, [172.0, 200.0], 6.0)).max(ticks(r, a, 10.0, [184.0, 200.0], 4.0)));
    let dials = find_dials(&photo);
    assert_eq!(dials.len(), 1);
    assert!(dials[0].pivot.distance(pivot) < 2.0, "{:?}", dials[0].pivot);
    let turn = |a: f64| (a / 10.0 - (a / 10.0).round()).abs() * 10.0;
    let found = sound(&dials[0]);
    assert!(found.iter().all(|a| turn(*a) < 0.5), "{found:?}");
    // 27 are drawn; the two at the ends run into the ends of the arc
    assert!(found.len() >= 24, "{} of 27", found.len());
}

/// On a ring that stands up from the face the ticks point beside its middle once the camera stands aside.
#[test]
fn ticks_that_meet_beside_the_middle_of_their_arc_are_found_about_that_middle() {
    let (pivot, meet) = (PhotoPoint::new(430.4, 340.3), [60.0, -40.0]);
    let ends: Vec<[f64; 4]> = (-13..=13)
        .map(|k| (f64::from(k) * 10.0).to_radians().sin_cos())
        .map(|(s, c)| {
            let (x, y) = (200.0 * s, -200.0 * c);
            let far = (meet[0] - x).hypot(meet[1] - y);
            [x, y, (meet[0] - x) / far, (meet[1] - y) / far]
        })
        .collect();
    let photo = inked(pivot, |r, a| {
        let (x, y) = (r * a.to_radians().sin(), -r * a.to_radians().cos());
        let stroke = |[ex, ey, u, v]: &[f64; 4]| {
            let (along, across) = ((x - ex) * u + (y - ey) * v, (x - ex) * v - (y - ey) * u);
            if (0.0..26.0).contains(&along) { 3.0 - across.abs() } else { 0.0 }
        };
        let arc = if a.abs() < 132.0 { 2.0 - (r - 200.0).abs() } else { 0.0 };
        ends.iter().map(stroke).fold(arc, f64::max)
    });
    let dials = find_dials(&photo);
    assert_eq!(dials.len(), 1);
    assert!(dials[0].pivot.distance(pivot) < 0.05 * 200.0, "{:?} for {pivot:?}, the ticks meet 72 px beside it", dials[0].pivot);
    assert!((dials[0].radius - 200.0).abs() < 8.0, "{}", dials[0].radius);
    assert!(sound(&dials[0]).len() >= 23, "{} of 27", sound(&dials[0]).len());
}

#[test]
fn two_scales_about_one_pivot_are_two_dials() {
    let pivot = PhotoPoint::new(430.4, 340.3);
    let photo = inked(pivot, |r, a| ticks(r, a, 20.0, [212.0, 240.0], 6.0).max(ticks(r, a, 13.0, [130.0, 150.0], 5.0)));
    let dials = find_dials(&photo);
    let found: Vec<(f64, usize)> = dials.iter().map(|d| (d.radius.round(), sound(d).len())).collect();
    assert_eq!(dials.len(), 2, "{found:?}");
    assert!((dials[0].radius - 240.0).abs() < 3.0 && (dials[1].radius - 150.0).abs() < 3.0, "the outer one first: {found:?}");
    assert_eq!((sound(&dials[0]).len(), sound(&dials[1]).len()), (13, 21));
    // the pivot names the outer one, a tick of the inner one that
    let names = named_by(&dials);
    for (name, dial) in names.iter().zip(&dials) {
        assert_eq!(named(dials.clone(), *name).as_ref(), Some(dial));
    }
}

/// A sub-dial with marks at -60, 0 and 60 degrees (bars of 22 px or dots) and small dots between them, below the pivot of a scale of many
/// ticks; and its pivot.
fn with_sub_dial(bars: bool, [large, small]: [f64; 2]) -> (Photo, PhotoPoint) {
    let (pivot, below) = (PhotoPoint::new(430.4, 300.3), [3.0, 190.0]);
    let dot = |r: f64, a: f64, at: f64, half: f64| -> f64 {
        let (x, y) = (r * a.to_radians().sin() - 75.0 * at.to_radians().sin(), r * a.to_radians().cos() - 75.0 * at.to_radians().cos());
        half + 0.5 - x.hypot(y)
    };
    let photo = inked(pivot, |r, a| {
        let (x, y) = (r * a.to_radians().sin() - below[0], -r * a.to_radians().cos() - below[1]);
        let (r2, a2) = (x.hypot(y), x.atan2(-y).to_degrees());
        let bar = if a2.abs() < 70.0 { ticks(r2, a2, 60.0, [64.0, 86.0], 6.0) } else { 0.0 };
        let marks = if bars { bar } else { [-60.0, 0.0, 60.0].map(|at| dot(r2, a2, at, large)).into_iter().fold(0.0, f64::max) };
        let between = [-30.0, 30.0].map(|at| dot(r2, a2, at, small)).into_iter().fold(0.0, f64::max);
        ticks(r, a, 10.0, [212.0, 240.0], 5.0).max(marks).max(between)
    });
    (photo, PhotoPoint::new(pivot.x + below[0], pivot.y + below[1]))
}

#[test]
fn a_sub_dial_of_three_marks_and_two_dots_is_a_dial() {
    // dots all alike suppose the same dial three times over
    for (bars, halves) in [(true, [6.0, 4.0]), (false, [6.0, 4.0]), (false, [5.0, 5.0])] {
        let (photo, below) = with_sub_dial(bars, halves);
        let dials = find_dials(&photo);
        assert_eq!(dials.len(), 2, "bars {bars}");
        let dial = dials.iter().min_by(|a, b| a.radius.total_cmp(&b.radius)).unwrap();
        assert!(dial.pivot.distance(below) < 3.0, "bars {bars}: {:?} for {below:?}", dial.pivot);
        assert_eq!(dial.ticks.len(), 5);
        // a dot has no direction of its own, and a numeral may look like one: where nothing but dots is seen each says so
        assert_eq!(sound(dial).len(), if bars { 5 } else { 0 });
        for (t, drawn) in dial.ticks.iter().zip([-60.0, -30.0, 0.0, 30.0, 60.0]) {
            assert!((t.angle - drawn).abs() < 1.0, "bars {bars}: {} for {drawn}", t.angle);
        }
    }
}

/// Four even bars suppose the scale; the others of its ring, at no even place, are its ticks too. What ends off the ring or points elsewhere is none.
#[test]
fn a_scale_of_few_and_uneven_marks_keeps_all_of_them() {
    let pivot = PhotoPoint::new(430.4, 400.3);
    let even = [-36.0, -12.0, 12.0, 36.0];
    let photo = inked(pivot, |r, a| {
        let bar = |at: f64, [inner, outer]: [f64; 2], half: f64, askew: f64| {
            let (along, across) = (r * (a - at).to_radians().cos(), r * (a - at).to_radians().sin());
            if (inner..outer).contains(&along) { half + 0.5 - (across - askew * (along - inner)).abs() } else { 0.0 }
        };
        let own = even.map(|at| bar(at, [170.0, 200.0], 4.0, 0.0));
        let thin = bar(-28.0, [170.0, 200.0], 1.7, 0.0);
        own.into_iter().chain([thin, bar(22.0, [205.0, 235.0], 4.0, 0.0), bar(2.0, [170.0, 200.0], 4.0, 0.5)]).fold(0.0, f64::max)
    });
    let dials = find_dials(&photo);
    assert_eq!(dials.len(), 1);
    assert!(dials[0].pivot.distance(pivot) < 5.0, "{:?}", dials[0].pivot);
    let angles = sound(&dials[0]);
    let drawn = [-36.0, -28.0, -12.0, 12.0, 36.0];
    assert_eq!(angles.len(), drawn.len(), "{angles:?}");
    assert!(angles.iter().zip(drawn).all(|(a, d)| (a - d).abs() < 1.0), "{angles:?}");
}

/// Where the middle of a face seen from 45 degrees aside, its needle's pivot below that and a place on it are, px from the former; and back.
const ASIDE: [f64; 2] = [35.0, 45.0];

fn aside([x, y]: [f64; 2], flatter: f64) -> [f64; 2] {
    let (s, c) = ASIDE[0].to_radians().sin_cos();
    let (u, v) = ((x * c + y * s) * flatter, y * c - x * s);
    [u * c - v * s, u * s + v * c]
}

/// Seen from 45 degrees aside even places are not even: the rim round them tells how they are seen.
#[test]
fn a_few_marks_inside_a_rim_are_found_from_aside() {
    let middle = PhotoPoint::new(430.4, 340.3);
    let flat = ASIDE[1].to_radians().cos();
    let seen = |rim: bool| {
        let photo = inked(middle, |r, a| {
            let [x, y] = aside([r * a.to_radians().sin(), -r * a.to_radians().cos()], 1.0 / flat);
            let ring = if rim { 3.0 - (x.hypot(y) - 190.0).abs() } else { 0.0 };
            // the pivot lies below the middle of the rim
            let (r, a) = (x.hypot(y - 60.0), x.atan2(60.0 - y).to_degrees());
            let bar = if a.abs() < 70.0 { ticks(r, a, 30.0, [120.0, 150.0], 7.0) } else { 0.0 };
            ring.max(bar)
        });
        find_dials(&photo)
    };
    let dials = seen(true);
    assert_eq!(dials.len(), 1);
    let near = |p: PhotoPoint, [x, y]: [f64; 2], within: f64| {
        let [u, v] = aside([x, y], flat);
        assert!((p.x - middle.x - u).hypot(p.y - middle.y - v) < within, "{p:?} for {u} {v}");
    };
    near(dials[0].pivot, [0.0, 60.0], 15.0);
    assert_eq!(dials[0].ticks.len(), 5);
    for (tick, angle) in dials[0].ticks.iter().zip([-60.0f64, -30.0, 0.0, 30.0, 60.0]) {
        let (s, c) = angle.to_radians().sin_cos();
        near(tick.outer, [150.0 * s, 60.0 - 150.0 * c], 4.0);
        near(tick.inner, [120.0 * s, 60.0 - 120.0 * c], 4.0);
    }
    assert!(seen(false).is_empty());
}

/// A thumb's tip reaches in from the side: the ellipse that its outline is has its middle far beside the photo.
#[test]
fn an_outline_whose_middle_is_far_beside_the_photo_is_no_trouble() {
    for (ratio, far) in [(3.0, 1.65), (4.0, 1.8), (4.5, 1.7), (4.5, 2.0)] {
        let (long, short) = (150.0 * f64::sqrt(ratio), 150.0 / f64::sqrt(ratio));
        let photo = inked(PhotoPoint::new(-far * 150.0, 350.0), |r, a| {
            let (x, y) = (r * a.to_radians().sin() / long, r * a.to_radians().cos() / short);
            20.0 * (1.0 - x.hypot(y))
        });
        assert!(find_dials(&photo).is_empty(), "{ratio} {far}");
        assert!(find_dials_in(&photo, Region { centre: PhotoPoint::new(60.0, 350.0), radius: 200.0 }).is_empty());
    }
}

#[test]
fn strokes_and_dots_that_lie_anyhow_are_no_dial() {
    let mut rng = ChaCha8Rng::seed_from_u64(17);
    let mut shows = 0;
    for _ in 0..cases(3, 6) {
        let mut any = |span: f64| rng.random_range(0.0..span);
        // 90 strokes of one look and 30 dots of two sizes
        let strokes: Vec<[f64; 3]> = (0..90).map(|_| [any(900.0), any(700.0), any(std::f64::consts::PI)]).collect();
        let dots: Vec<[f64; 3]> = (0..30).map(|_| [any(900.0), any(700.0), if any(1.0) < 0.5 { 4.0 } else { 6.0 }]).collect();
        let photo = inked(PhotoPoint::new(0.0, 0.0), |r, a| {
            let (x, y) = (r * a.to_radians().sin(), -r * a.to_radians().cos());
            let stroke = |[cx, cy, turn]: &[f64; 3]| {
                let (u, v) = ((x - cx) * turn.cos() + (y - cy) * turn.sin(), (y - cy) * turn.cos() - (x - cx) * turn.sin());
                (9.5 - u.abs()).min(3.0 - v.abs())
            };
            let dot = |[cx, cy, half]: &[f64; 3]| half + 0.5 - (x - cx).hypot(y - cy);
            strokes.iter().map(stroke).chain(dots.iter().map(dot)).fold(0.0, f64::max)
        });
        shows += find_dials(&photo).len();
    }
    // the least log odds are 5: of some 150 pictures that suggest one at all, one
    assert_eq!(shows, 0);
}

#[test]
fn the_same_photo_gives_the_same_numbers() {
    let (photo, _) = reference("night-oil");
    assert_eq!(find_dials(&photo), find_dials(&photo));
}

#[test]
fn pictures_without_a_dial_have_none() {
    let mut rng = ChaCha8Rng::seed_from_u64(3);
    let grey = |noise: f64, rng: &mut ChaCha8Rng| -> Vec<u8> { (0..3 * 800 * 600).map(|_| (90.0 + noise * normal(rng)) as u8).collect() };
    let texts = Drawn::new(Plan { labels: vec![0.0, 100.0], printed: vec![], minor: false, ..looks::back() });
    let lettered = texts.photo(None, &View::straight(800, 600, 220.0), &Light::default());
    for (what, rgb) in [
        ("flat", grey(0.0, &mut rng)),
        ("fine noise", grey(4.0, &mut rng)),
        ("coarse noise", grey(25.0, &mut rng)),
        ("words", lettered.rgb.to_vec()),
    ] {
        let photo = Photo { width: 800, height: 600, rgb: rgb.into(), hash: String::new(), taken_at: None, focal_ratio: None };
        assert_eq!(find_dials(&photo).len(), 0, "{what}");
    }
}
