//! Pictures that have no right answer, drawn in number: how many are answered with a temperature all the same.
use crate::support::case::{self, Known};
use crate::support::draw::Drawn;
use crate::support::light::{Light, renoised};
use crate::support::plan::Plan;
use crate::support::shapes::{Shape, Sheet};
use crate::support::stats::most_likely_chance;
use crate::support::sweep::cases;
use crate::support::view::View;
use chacha20::ChaCha8Rng;
use needleband::photo::Photo;
use needleband::reading::{Outcome, Record};
use rand::{RngExt, SeedableRng};
use rayon::prelude::*;

/// A picture without an answer, for one dial.
struct Trap {
    name: String,
    photo: Photo,
    known: &'static Known,
}

const SIZE: (usize, usize) = (440, 400);

fn view(i: usize) -> View {
    View::straight(SIZE.0, SIZE.1, 125.0 + 8.0 * (i % 3) as f64).tilted(4.0 * (i % 4) as f64, 70.0 * i as f64).rolled(31.0 * i as f64)
}

fn still() -> Light {
    Light { noise: 0.0, ..Light::default() }
}

fn value(plan: &Plan, u: f64) -> f64 {
    plan.labels[0] + u * plan.span()
}

fn hidden_needles() -> Vec<Trap> {
    let one = |known: &'static Known, i: usize| Trap {
        name: format!("{} without its needle, {i}", known.drawn.plan.name),
        photo: known.drawn.photo(None, &view(i), &Light { noise: 3.0, seed: i as u64, ..Light::default() }),
        known,
    };
    case::all().into_iter().flat_map(|k| (0..3).map(move |i| one(k, i))).collect()
}

fn mirrored() -> Vec<Trap> {
    let one = |known: &'static Known, i: usize| {
        let plan = &known.drawn.plan;
        let mut photo = known.drawn.at(value(plan, 0.2 + 0.25 * i as f64), &view(i), &Light::default()).photo;
        for row in photo.rgb.chunks_exact_mut(3 * SIZE.0) {
            let turned: Vec<u8> = row.chunks_exact(3).rev().flatten().copied().collect();
            row.copy_from_slice(&turned);
        }
        Trap { name: format!("{} mirrored, {i}", plan.name), photo, known }
    };
    case::all().into_iter().flat_map(|k| (0..3).map(move |i| one(k, i))).collect()
}

/// Two needles of the same look: the second is what a picture of it has beyond the bare face.
fn two_needles() -> Vec<Trap> {
    let one = |known: &'static Known, i: usize| {
        let plan = &known.drawn.plan;
        let at = |u: f64| known.drawn.at(value(plan, u), &view(i), &still()).photo.rgb;
        let pairs = [(0.15, 0.6), (0.8, 0.35), (0.45, 0.95)];
        let (first, second) = (at(pairs[i].0), at(pairs[i].1));
        let bare = known.drawn.photo(None, &view(i), &still());
        let both = first.iter().zip(&second).zip(&bare.rgb).map(|((a, b), c)| if a.abs_diff(*c) > b.abs_diff(*c) { *a } else { *b });
        let photo = renoised(&Photo { rgb: both.collect(), ..bare.clone() }, 2.0, i as u64);
        Trap { name: format!("{} with two needles, {i}", plan.name), photo, known }
    };
    case::all().into_iter().flat_map(|k| (0..3).map(move |i| one(k, i))).collect()
}

/// Noise, stripes, scenes of bars and arcs: no dial at all.
fn something_else() -> Vec<Trap> {
    let paint = |f: &dyn Fn(f64, f64) -> [f64; 3], seed: u64| {
        let at = |i: usize| f((i % SIZE.0) as f64, (i / SIZE.0) as f64);
        let rgb = (0..SIZE.0 * SIZE.1).flat_map(|i| at(i).map(|v| v.round().clamp(0.0, 255.0) as u8)).collect();
        let like = Photo { width: SIZE.0, height: SIZE.1, rgb, hash: String::new(), taken_at: None, focal_ratio: None };
        renoised(&like, 3.0, seed)
    };
    let mut pictures = vec![("noise".to_string(), renoised(&paint(&|_, _| [128.0; 3], 1), 50.0, 2))];
    for (i, width) in [6.0, 21.0].into_iter().enumerate() {
        pictures.push((
            format!("stripes of {width} px"),
            paint(&|x, y| [if ((x + 0.4 * y) / width) as i64 % 2 == 0 { 220.0 } else { 30.0 }; 3], i as u64),
        ));
    }
    for seed in 0..3 {
        let sheet = scene(seed);
        pictures.push((format!("scene {seed}"), paint(&|x, y| sheet.colour((x - 220.0) / 130.0, (200.0 - y) / 130.0), seed)));
    }
    let for_all = |(name, photo): &(String, Photo)| {
        case::all().map(|known| Trap { name: format!("{name} for {}", known.drawn.plan.name), photo: photo.clone(), known })
    };
    pictures.iter().flat_map(for_all).collect()
}

fn scene(seed: u64) -> Sheet {
    let mut rng = ChaCha8Rng::seed_from_u64(500 + seed);
    let mut shapes = Vec::new();
    for i in 0..60 {
        let a = (rng.random_range(-1.7..1.7), rng.random_range(-1.5..1.5));
        let b = (a.0 + rng.random_range(-0.6..0.6), a.1 + rng.random_range(-0.6..0.6));
        let half = rng.random_range(0.01..0.07);
        let from = rng.random_range(-180.0..90.0);
        let inner = rng.random_range(0.2..1.2);
        let shape = match i % 3 {
            0 => Shape::Bar { a, b, half },
            1 => Shape::Pen { a, b, half },
            _ => Shape::Arc { from, to: from + rng.random_range(20.0..200.0), inner, outer: inner + half },
        };
        shapes.push((shape, std::array::from_fn(|_| rng.random_range(10.0..245.0))));
    }
    Sheet::new([90.0, 92.0, 95.0], 2.0, shapes)
}

/// The same dial with other numerals at the same places: of a higher scale, of twice the scale, in reverse, and others; the needle at
/// two places each where all cases are asked for.
fn other_numerals() -> Vec<Trap> {
    let names = ["one step higher", "doubled", "reversed", "half a step higher", "two steps higher"];
    let one = |known: &'static Known, i: usize, u: f64| {
        let plan = known.drawn.plan.clone();
        let step = plan.labels[1] - plan.labels[0];
        let ends = plan.labels[0] + plan.labels[plan.labels.len() - 1];
        let change = |v: &f64| [v + step, 2.0 * v, ends - v, v + 0.5 * step, v + 2.0 * step][i];
        let printed = plan.labels.iter().map(change).collect();
        let drawn = Drawn::new(Plan { printed, ..plan });
        let photo = drawn.at(value(&drawn.plan, u), &view(i + (10.0 * u) as usize), &Light::default()).photo;
        Trap { name: format!("{} with numerals {}, needle at {u}", drawn.plan.name, names[i]), photo, known }
    };
    case::all().into_iter().flat_map(|k| (0..cases(5, 10)).map(move |i| one(k, i % 5, [0.4, 0.8][i / 5]))).collect()
}

/// A dial without its needle and with a reflection that is blown out, small or broad, anywhere on the face: its edge runs straight for a
/// while.
fn blown_out() -> Vec<Trap> {
    let one = |known: &'static Known, i: usize| {
        let mut rng = ChaCha8Rng::seed_from_u64(900 + i as u64);
        let mut at = |size: usize| size as f64 * rng.random_range(0.3..0.7);
        let (x, y) = (at(SIZE.0), at(SIZE.1));
        let glare = Some((x, y, rng.random_range(10.0..60.0), rng.random_range(120.0..700.0)));
        let light = Light { noise: 3.0, glare, seed: i as u64, ..Light::default() };
        let photo = known.drawn.photo(None, &view(i), &light);
        Trap { name: format!("{} without its needle, blown out, {i}", known.drawn.plan.name), photo, known }
    };
    case::all().into_iter().flat_map(|k| (0..cases(8, 30)).map(move |i| one(k, i))).collect()
}

/// Cases and the names of those answered with a temperature or an end of the scale.
fn answered(traps: &[Trap]) -> Vec<String> {
    let one = |t: &Trap| {
        let record: Record = t.known.reader.read(&t.photo);
        let text = format!("{}: {:?}", t.name, record.outcome).chars().take(150).collect::<String>();
        println!("{text}");
        (!matches!(record.outcome, Outcome::Refused(..))).then_some(text)
    };
    traps.par_iter().filter_map(one).collect()
}

/// None of these `count` is answered: at 95 % confidence fewer than one in `seldom` of such pictures is.
fn none_is_answered(traps: &[Trap], count: u64, seldom: f64) {
    let wrong = answered(traps);
    let (k, n) = (wrong.len() as u64, traps.len() as u64);
    assert!(wrong.is_empty(), "{k} of {n} answered: {wrong:#?}");
    assert!(n == count && most_likely_chance(k, n, 0.95) < 1.0 / seldom, "{k} of {n}");
}

#[test]
fn no_picture_without_an_answer_is_answered() {
    let traps = [hidden_needles(), mirrored(), two_needles(), something_else()].into_iter().flatten();
    none_is_answered(&traps.step_by(cases(2, 1)).collect::<Vec<Trap>>(), cases(30, 60), cases(10.0, 20.0));
}

#[test]
fn the_edge_of_a_reflection_is_no_needle() {
    none_is_answered(&blown_out(), cases(32, 120), cases(10.0, 40.0));
}

/// One numeral may stand below the needle or in a reflection; a dial of the same family differs in two at least.
#[test]
fn no_dial_with_other_numerals_at_the_same_places_is_answered() {
    none_is_answered(&other_numerals(), cases(20, 40), cases(6.5, 13.0));
}

/// The other side: the same dials with their own numerals, in the same views and in worse light, are read.
#[test]
fn none_of_forty_dials_with_their_own_numerals_is_refused() {
    let one = |(known, i): (&'static Known, usize)| {
        let plan = &known.drawn.plan;
        let light =
            Light { noise: 2.0 + (i % 4) as f64, blur: 0.6 + 0.2 * (i % 5) as f64, slope: (0.4, -0.3), seed: i as u64, ..Light::default() };
        let photo = known.drawn.at(value(plan, 0.06 + 0.09 * i as f64), &view(i), &light).photo;
        let outcome = known.reader.read(&photo).outcome;
        matches!(outcome, Outcome::Refused(..)).then(|| format!("{}, {i}: {outcome:?}", plan.name))
    };
    let all: Vec<(&'static Known, usize)> = case::all().into_iter().flat_map(|k| (0..10).map(move |i| (k, i))).collect();
    let refused: Vec<String> = all.into_par_iter().filter_map(one).collect();
    assert!(refused.is_empty(), "{refused:#?}");
}
