//! Views at the edge of what can be read: each is read within 3.5 sigma or refused, and those of the list must be read.
use crate::support::case::{self, DAY, Known, NIGHT};
use crate::support::light::Light;
use crate::support::sweep::{cases, in_turn};
use crate::support::view::View;
use needleband::reading::Outcome;
use rayon::prelude::*;

/// A view with its name, and whether it must be read.
struct Hard {
    name: String,
    view: View,
    light: Light,
    must: bool,
}

fn hard(name: String, view: View, light: Light, must: bool) -> Hard {
    Hard { name, view, light, must }
}

fn light(seed: u64) -> Light {
    Light { noise: 3.0, blur: 1.0, seed, ..Light::default() }
}

fn rolls() -> Vec<Hard> {
    let at = |i: u64| View::straight(420, 400, 130.0).tilted(10.0, 70.0 * i as f64).rolled(45.0 * i as f64);
    (0..8).map(|i| hard(format!("roll {}", 45 * i), at(i), light(20 + i), true)).collect()
}

fn tilts() -> Vec<Hard> {
    let at = |tilt: f64, a: f64| View::straight(460, 420, 145.0).tilted(tilt, a);
    let mut out: Vec<Hard> =
        (0..4).map(|i| hard(format!("tilt 45 from {}", 90 * i), at(45.0, 90.0 * i as f64), light(40 + i), false)).collect();
    out.extend((0..2).map(|i| hard(format!("tilt 35 from {}", 45 + 180 * i), at(35.0, 45.0 + 180.0 * i as f64), light(50 + i), true)));
    out
}

fn sizes() -> Vec<Hard> {
    let at = |r: f64| View::straight((3.0 * r) as usize, (2.8 * r) as usize, r).tilted(8.0, 130.0).rolled(12.0);
    [(60.0, false), (80.0, true), (400.0, true)].map(|(r, must)| hard(format!("radius {r}"), at(r), light(60), must)).into()
}

/// A saturated reflection over half of the face: its levels reach white on a disc as large as half the face's area.
fn reflections() -> Vec<Hard> {
    let view = View::straight(460, 420, 145.0).tilted(8.0, 200.0);
    (0..3)
        .map(|i| {
            let (s, c) = (120.0 * f64::from(i) + 30.0).to_radians().sin_cos();
            // white within 0.71 radii of a place 0.65 radii from the pivot: 400 exp(-r²/2 sd²) = 235 at r = sd
            let glare = (229.5 + 0.65 * 145.0 * s, 209.5 - 0.65 * 145.0 * c, 0.71 * 145.0, 400.0);
            hard(format!("reflection {i}"), view, Light { glare: Some(glare), ..light(70 + i as u64) }, false)
        })
        .collect()
}

/// A third of the marks' circle's width outside the frame.
fn cuts() -> Vec<Hard> {
    let (r, w, h) = (150.0, 480.0, 440.0);
    let inside = r / 3.0;
    let sides = [(0.5 * w - inside, 0.0), (inside - 0.5 * w, 0.0), (0.0, 0.5 * h - inside), (0.0, inside - 0.5 * h)];
    let view = View::straight(w as usize, h as usize, r).tilted(6.0, 20.0);
    sides.map(|(x, y)| hard(format!("pushed out by {x:.0}, {y:.0}"), view.at(x, y), light(80), false)).into()
}

/// What went wrong, when anything did; whether it was read.
fn judge(known: &Known, h: &Hard) -> (bool, Option<String>) {
    let p = &known.drawn.plan;
    let truth = p.labels[0] + 0.37 * p.span();
    let what = format!("{}, {}", p.name, h.name);
    match known.read_at(truth, &h.view, &h.light) {
        Outcome::Reading(r) => {
            let (error, sigma) = (r.temperature.value() - truth, r.temperature.sigma());
            let z = error / sigma;
            println!("{what}: off by {:.3} % of span, {z:.1} sigma", 100.0 * error / p.span());
            (true, (z.abs() > 3.5).then(|| format!("{what}: off by {error:.3}, {z:.1} sigma")))
        }
        Outcome::Refused(r, text) => {
            println!("{what}: refused, {r:?} {text}");
            (false, h.must.then(|| format!("{what} must be read: {r:?} {text}")))
        }
        other => (true, Some(format!("{what}: {other:?}"))),
    }
}

#[test]
fn hard_views_are_read_right_or_refused() {
    let all: Vec<Hard> = [rolls(), tilts(), sizes(), reflections(), cuts()].into_iter().flatten().collect();
    let of = |(i, known): (usize, &'static Known)| in_turn(i, &all).map(move |h| (known, h));
    let looks: Vec<(&Known, &Hard)> = case::all().into_iter().enumerate().flat_map(of).collect();
    let judged: Vec<(bool, Option<String>)> = looks.par_iter().map(|(k, h)| judge(k, h)).collect();
    let bad: Vec<&String> = judged.iter().filter_map(|j| j.1.as_ref()).collect();
    println!("{} of {} read", judged.iter().filter(|j| j.0).count(), judged.len());
    assert!(bad.is_empty(), "{bad:#?}");
}

#[test]
fn a_dial_that_fills_a_large_photo_is_read() {
    let view = View::straight(2300, 2200, 1000.0).tilted(8.0, 130.0).rolled(12.0);
    let bad: Vec<String> = [&DAY, &NIGHT]
        .into_iter()
        .take(cases(1, 2))
        .filter_map(|known| judge(known, &hard("radius 1000".into(), view, Light { blur: 2.0, ..light(90) }, true)).1)
        .collect();
    assert_eq!(bad, Vec::<String>::new());
}
