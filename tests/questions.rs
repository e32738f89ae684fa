//! Entries that cannot be right are questioned before a dial file is written; right ones are not.
use crate::support::case::{self, BACK, Clicks, DAY, FEW, Known, NIGHT};
use crate::support::light::Light;
use crate::support::view::View;
use needleband::calibrate::{Request, calibrate};
use needleband::maths::point::PhotoPoint;
use rayon::prelude::*;

/// What is said of a request: the error that ends it, or the questions; nothing where a file would be written unasked.
fn said(known: &Known, request: &Request) -> String {
    match calibrate(&known.reference.photo, request) {
        Err(e) => e.to_string(),
        Ok(done) => done.questions.iter().map(|q| q.text.clone()).collect::<Vec<_>>().join("\n"),
    }
}

/// The right entries, as a careful hand gives them.
fn right(known: &Known) -> Request {
    Clicks { noise: 0.7, pivot: true, seed: 11 }.request(&known.drawn.plan, &known.reference)
}

/// With one value typed as another.
fn typed(known: &Known, value: f64, as_typed: f64) -> Request {
    let mut r = right(known);
    r.marks.iter_mut().filter(|m| m.0 == value).for_each(|m| m.0 = as_typed);
    r
}

/// With every place changed.
fn placed(known: &Known, change: impl Fn(PhotoPoint) -> PhotoPoint) -> Request {
    let r = right(known);
    Request { marks: r.marks.iter().map(|m| (m.0, change(m.1))).collect(), pivot: r.pivot.map(&change), ..r }
}

/// The places of ticks that are `by` degrees along the scale from those of the values.
fn along(known: &Known, by: f64, of: &[f64]) -> Request {
    let plan = &known.drawn.plan;
    let mut r = right(known);
    for m in r.marks.iter_mut().filter(|m| of.is_empty() || of.contains(&m.0)) {
        m.1 = known.reference.place(plan.angle(m.0) + by, 1.0);
    }
    r
}

fn angles(of: &[(f64, f64)]) -> Request {
    let r = right(&NIGHT);
    let rim = Some(r.marks[0].1);
    Request { marks: Vec::new(), angles: of.to_vec(), rim, ..r }
}

/// Values on the ticks at these angles of the first dial.
fn at(marks: &[(f64, f64)]) -> Request {
    let places = marks.iter().map(|(v, a)| (*v, NIGHT.reference.place(*a, 1.0))).collect();
    Request { marks: places, ..right(&NIGHT) }
}

fn swapped(known: &Known, a: f64, b: f64) -> Request {
    let mut r = right(known);
    r.marks.iter_mut().for_each(|m| {
        m.0 = if m.0 == a {
            b
        } else if m.0 == b {
            a
        } else {
            m.0
        }
    });
    r
}

type Dials = (&'static Known, &'static Known, &'static Known, &'static Known);

fn dials() -> Dials {
    (&NIGHT, &DAY, &FEW, &BACK)
}

/// The first dial: 40 to 160 °C, a number each 20, a tick each 5, ten degrees of needle from tick to tick.
fn wrong_values() -> Vec<(&'static str, &'static Known, Request, &'static str)> {
    let (night, day, few, back) = dials();
    vec![
        ("a step too high in the middle", night, typed(&NIGHT, 100.0, 110.0), "110 is odd, and 100 would fit"),
        ("the same low", night, typed(&NIGHT, 80.0, 70.0), "70 is odd, and 80 would fit"),
        ("the last", night, typed(&NIGHT, 160.0, 170.0), "170 is odd, and 160 would fit"),
        ("the first", night, typed(&NIGHT, 40.0, 30.0), "30 is odd, and 40 would fit"),
        ("one off by a quarter step", night, typed(&NIGHT, 120.0, 125.0), "125 is odd, and 120 would fit"),
        ("one off by one", night, typed(&NIGHT, 80.0, 81.0), "80 would fit"),
        ("the last off by one", night, typed(&NIGHT, 160.0, 161.0), "160 would fit"),
        ("a digit too much at the end", night, typed(&NIGHT, 160.0, 1600.0), "hotter than any gauge"),
        ("an endless number", night, typed(&NIGHT, 160.0, 1e8), "100000000"),
        ("a digit too much in the middle", night, typed(&NIGHT, 100.0, 1000.0), "the mark 1000 stands out of order"),
        ("a digit too few", night, typed(&NIGHT, 120.0, 12.0), "the mark 12 stands out of order"),
        ("a minus too much", night, typed(&NIGHT, 60.0, -60.0), "-60"),
        ("colder than anything", night, typed(&NIGHT, 40.0, -400.0), "colder than anything"),
        ("two exchanged", night, swapped(&NIGHT, 80.0, 100.0), "The values 80 and 100 stand in the wrong order"),
        ("one twice", night, typed(&NIGHT, 120.0, 100.0), "100 and 100 have the same value"),
        ("a bent scale", day, typed(&DAY, 110.0, 100.0), "100 is odd, and 110 would fit"),
        ("a bent scale, high", day, typed(&DAY, 90.0, 100.0), "100 is odd, and 90 would fit"),
        ("an anticlockwise scale", back, typed(&BACK, 80.0, 90.0), "90 is odd, and 80 would fit"),
        ("three labels, the last", few, typed(&FEW, 300.0, 330.0), "330 is odd, and 300 would fit"),
        ("three labels, the middle", few, typed(&FEW, 200.0, 230.0), "230 is odd, and 200 would fit"),
        ("three labels, a digit too much", few, typed(&FEW, 300.0, 3000.0), "hotter than any gauge"),
    ]
}

fn wrong_places() -> Vec<(&'static str, &'static Known, Request, &'static str)> {
    let shifted = |x: f64, y: f64| move |p: PhotoPoint| PhotoPoint::new(p.x + x, p.y + y);
    let times = |k: f64| move |p: PhotoPoint| PhotoPoint::new(k * p.x, k * p.y);
    let mut twice = right(&NIGHT);
    twice.marks[3].1 = twice.marks[2].1;
    let mut one_exchanged = right(&NIGHT);
    one_exchanged.marks[3].1 = PhotoPoint::new(one_exchanged.marks[3].1.y, one_exchanged.marks[3].1.x);
    let mut other_hub = right(&NIGHT);
    other_hub.pivot = other_hub.pivot.map(|p| PhotoPoint::new(p.x + 210.0, p.y - 30.0));
    let mut numeral = right(&NIGHT);
    numeral.marks[2].1 = NIGHT.reference.place(NIGHT.drawn.plan.angle(80.0), 0.69);
    let (night, _, _, back) = dials();
    vec![
        ("x and y exchanged", night, placed(&NIGHT, |p| PhotoPoint::new(p.y, p.x)), "with x and y exchanged"),
        ("the same on another dial", back, placed(&BACK, |p| PhotoPoint::new(p.y, p.x)), "with x and y exchanged"),
        ("exchanged in one place", night, one_exchanged, "100"),
        ("all places beside the print", night, placed(&NIGHT, shifted(26.0, 15.0)), "No mark lies on a printed tick"),
        ("places of a smaller copy", night, placed(&NIGHT, times(0.5)), "No mark lies on a printed tick"),
        ("places of a larger copy", night, placed(&NIGHT, times(2.0)), "outside the picture"),
        ("two marks at one place", night, twice, "stand at the same place"),
        ("the axis of another needle", night, other_hub, "the axis of another needle"),
        ("a numeral in place of its tick", night, numeral, "The mark 80"),
        ("all one tick on", night, along(&NIGHT, 10.0, &[]), "All marks lie on short ticks"),
        ("all one tick back", night, along(&NIGHT, -10.0, &[60.0, 80.0, 100.0, 120.0, 140.0, 160.0]), "odd"),
        ("one of them one tick on", night, along(&NIGHT, 10.0, &[80.0]), "The mark 80 lies on a short tick beside a long one"),
        ("a corner of the scale", night, at(&[(95.0, -10.0), (100.0, 0.0), (105.0, 10.0)]), "span 20° of the dial"),
        ("one mark", night, at(&[(100.0, 0.0)]), "needs at least two"),
        ("angles over a corner", night, angles(&[(80.0, -12.0), (90.0, 0.0), (100.0, 12.0)]), "span 24° of the dial"),
        (
            "angles with a wrong value",
            night,
            angles(&[(40.0, -120.0), (80.0, -40.0), (100.0, 0.0), (130.0, 40.0), (140.0, 80.0), (160.0, 120.0)]),
            "odd",
        ),
    ]
}

#[test]
fn wrong_entries_are_questioned() {
    let all: Vec<_> = wrong_values().into_iter().chain(wrong_places()).collect();
    assert!(all.len() >= 30);
    let missed: Vec<String> = all
        .par_iter()
        .filter_map(|(what, known, request, words)| {
            let said = said(known, request);
            (said.is_empty() || !said.contains(words)).then(|| format!("{what}: \"{said}\" has no \"{words}\""))
        })
        .collect();
    assert!(missed.is_empty(), "{}", missed.join("\n"));
}

/// Other dials, other views, other lights, other hands; with and without the pivot, all labels or some.
#[test]
fn right_entries_are_not_questioned() {
    let views = [case::reference_view(), View::straight(640, 480, 120.0).tilted(14.0, 200.0), View::straight(640, 480, 175.0).rolled(-8.0)];
    let lights =
        [Light::default(), Light { noise: 5.0, gain: 0.7, seed: 3, ..Light::default() }, Light { offset: 20.0, ..Light::default() }];
    let asked: Vec<String> = case::all()
        .par_iter()
        .flat_map_iter(|known| views.iter().zip(&lights).enumerate().map(move |(i, (view, light))| (*known, i, view, light)))
        .filter_map(|(known, i, view, light)| {
            let plan = &known.drawn.plan;
            let picture = known.drawn.at(plan.labels[0] + (0.23 + 0.2 * i as f64) * plan.span(), view, light);
            let hand = Clicks { noise: 0.4 + 0.5 * i as f64, pivot: i != 1, seed: 40 + i as u64 };
            let mut request = hand.request(plan, &picture);
            if i == 2 && request.marks.len() > 3 {
                // labels left out
                request.marks.remove(2);
            }
            let done = calibrate(&picture.photo, &request).unwrap_or_else(|e| panic!("{} {i}: {e}", plan.name));
            (!done.questions.is_empty()).then(|| format!("{} {i}: {:?}", plan.name, done.questions))
        })
        .collect();
    assert!(asked.is_empty(), "{}", asked.join("\n"));
}

/// The ends of a scale alone: the ticks say which way it goes, also where that is the longer way or against the clock.
#[test]
fn two_ends_go_the_way_of_the_ticks() {
    for known in [&NIGHT, &BACK, &FEW] {
        let plan = &known.drawn.plan;
        let mut request = right(known);
        let last = request.marks.len() - 1;
        request.marks = vec![request.marks[0], request.marks[last]];
        let done = calibrate(&known.reference.photo, &request).unwrap_or_else(|e| panic!("{}: {e}", plan.name));
        let marks = &done.dial.marks;
        let swept = marks[marks.len() - 1].angle - marks[0].angle;
        let truth = plan.angle(request.marks[1].0) - plan.angle(request.marks[0].0);
        assert!((swept - truth).abs() < 1.5, "{}: {swept} for {truth}", plan.name);
        assert!(done.questions.is_empty(), "{}: {:?}", plan.name, done.questions);
    }
}
