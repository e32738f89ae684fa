//! Where the numbers of ticks stand, outside the ring or inside, so that they hide little of the print and nothing of other dials.
use super::face::Pen;
use crate::calibrate::{FoundDial, NumberedTick};
use image::RgbImage;

/// The numbers of one dial's ticks on one side of its ring.
#[derive(Clone, Debug)]
pub struct Numbers {
    /// Whether they stand inside the ring.
    inside: bool,
    /// Height of a line of letters, canvas px.
    pub size: f64,
    /// Radius of each tick's number, as a share of the dial's.
    pub radii: Vec<f64>,
    /// A number farther out than this, as the outer of two rings of numbers lies, has a line that leads to it.
    pub lead: f64,
    /// A line of letters, as a share of the radius.
    pub step: f64,
    /// What they cover; `None` behind the camera.
    places: Vec<Option<Covers>>,
    /// Spread of the photo's levels below them.
    print: f64,
}

/// What letters cover: their middle and half their width and height, canvas px.
#[derive(Clone, Copy, Debug)]
struct Covers {
    at: [f64; 2],
    half: [f64; 2],
}

/// Width and height of a letter, as shares of its size, with the rim about it.
const LETTER: [f64; 2] = [0.6, 0.9];

impl Covers {
    fn of(at: [f64; 2], size: f64, letters: usize) -> Self {
        Self { at, half: [0.5 * size * LETTER[0] * letters as f64, 0.5 * size * LETTER[1]] }
    }
    fn meets(&self, other: &Self) -> bool {
        (0..2).all(|k| (self.at[k] - other.at[k]).abs() < self.half[k] + other.half[k])
    }
    fn holds(&self, at: [f64; 2]) -> bool {
        self.meets(&Self { at, half: [0.0; 2] })
    }
}

/// A tick's number as it is written.
pub fn label(tick: &NumberedTick) -> String {
    if tick.doubt.is_some() { format!("{}?", tick.number) } else { tick.number.to_string() }
}

/// What a number over another dial's number or tick counts, as a spread of levels: as much as clear print.
const OVER: f64 = 1_500.0;
/// Print inside counts for more: outside there is mostly none, and the eye looks there first.
const INSIDE: f64 = 1.0 / 0.6;

impl Numbers {
    fn of(pen: &Pen, dial: &FoundDial, inside: bool, under: &RgbImage) -> Self {
        let px = dial.radius * pen.view.scale;
        let gap = dial.ticks.windows(2).map(|w| w[1].angle - w[0].angle).fold(360.0, f64::min);
        let longest = dial.ticks.iter().map(|t| t.length).fold(0.0, f64::max);
        // letters as large as the narrowest gap allows, on two rings where they would be too small, and no larger than becomes a small dial
        let room = gap.to_radians() * px * if inside { (1.0 - longest).max(0.3) } else { 1.0 };
        let rings = if room < 62.0 { 2.0 } else { 1.0 };
        let size = (0.62 * room * rings).clamp(26.0, (0.17 * px).clamp(26.0, 54.0));
        let step = 1.15 * size / px;
        let radius = |t: &NumberedTick| {
            let outside = 1.0 + step * if rings > 1.0 && t.number.is_multiple_of(2) { 1.9 } else { 0.9 };
            if inside { 2.0 - longest - outside } else { outside }
        };
        let radii: Vec<f64> = dial.ticks.iter().map(radius).collect();
        let covers = |(t, r): (&NumberedTick, &f64)| pen.polar(*r, t.angle).map(|at| Covers::of(at, size, label(t).len()));
        let places: Vec<_> = dial.ticks.iter().zip(&radii).map(covers).collect();
        let print = places.iter().flatten().map(|p| contrast(under, p.at, 0.6 * size)).sum();
        Self { inside, size, radii, lead: 1.0 + 1.5 * step, step, places, print }
    }
    /// How many of them meet these letters.
    fn met(&self, letters: &Covers) -> usize {
        self.places.iter().flatten().filter(|p| p.meets(letters)).count()
    }
    fn over(&self, other: &Self) -> usize {
        self.places.iter().flatten().map(|p| other.met(p)).sum()
    }
    /// How many of them cover another one of them.
    fn crowded(&self) -> usize {
        let over = |p: &Covers| self.met(p).saturating_sub(1);
        self.places.iter().flatten().map(over).sum::<usize>() / 2
    }
    /// What they hide by themselves: print, each other, and the ticks of other dials.
    fn hidden(&self, ticks: &[[f64; 2]]) -> f64 {
        let over = |p: &Covers| ticks.iter().filter(|t| p.holds(**t)).count();
        let strokes: usize = self.places.iter().flatten().map(over).sum();
        self.print * if self.inside { INSIDE } else { 1.0 } + OVER * (strokes + self.crowded()) as f64
    }
}

/// The numbers of all dials, each on the side where all together hide least: side by side is changed as long as that gains.
pub fn numbers(dials: &[(&Pen, &FoundDial)], under: &RgbImage) -> Vec<Numbers> {
    let strokes = |k: usize| -> Vec<[f64; 2]> {
        let others = dials.iter().enumerate().filter(|(i, _)| *i != k);
        others.flat_map(|(_, (pen, d))| d.ticks.iter().map(|t| pen.view.place(t.outer.x, t.outer.y))).collect()
    };
    let sides: Vec<[(Numbers, f64); 2]> = dials
        .iter()
        .enumerate()
        .map(|(k, (pen, dial))| {
            let ticks = strokes(k);
            [false, true].map(|inside| Numbers::of(pen, dial, inside, under)).map(|n| (n.clone(), n.hidden(&ticks)))
        })
        .collect();
    let mut chosen = vec![0; dials.len()];
    let cost = |chosen: &[usize]| -> f64 {
        let own: f64 = chosen.iter().zip(&sides).map(|(c, s)| s[*c].1).sum();
        let pairs = (0..chosen.len()).flat_map(|i| (0..i).map(move |j| (i, j)));
        let over: usize = pairs.map(|(i, j)| sides[i][chosen[i]].0.over(&sides[j][chosen[j]].0)).sum();
        own + OVER * over as f64
    };
    let mut least = cost(&chosen);
    // each change lowers the cost, so it ends
    loop {
        let before = least;
        for k in 0..dials.len() {
            chosen[k] = 1 - chosen[k];
            let other = cost(&chosen);
            if other < least {
                least = other;
            } else {
                chosen[k] = 1 - chosen[k];
            }
        }
        if least >= before {
            break;
        }
    }
    chosen.iter().zip(sides).map(|(c, [outside, inside])| if *c == 0 { outside.0 } else { inside.0 }).collect()
}

/// Of some places for a letter the one where it hides least print, numbers and letters of the same size, of which some are drawn already.
pub fn least_hiding(places: [[f64; 2]; 4], size: f64, (all, drawn): (&[Numbers], &[[f64; 2]]), under: &RgbImage) -> [f64; 2] {
    let hidden = |at: [f64; 2]| {
        let letter = Covers::of(at, size, 1);
        let letters = drawn.iter().filter(|p| Covers::of(**p, size, 1).meets(&letter)).count();
        contrast(under, at, 0.6 * size) + OVER * (letters + all.iter().map(|n| n.met(&letter)).sum::<usize>()) as f64
    };
    let all = places.map(|at| (hidden(at), at));
    all.into_iter().min_by(|a, b| a.0.total_cmp(&b.0)).map_or(places[0], |best| best.1)
}

/// Spread of the levels round a place of the canvas: large where something is printed.
fn contrast(picture: &RgbImage, [x, y]: [f64; 2], half: f64) -> f64 {
    let reach = half as i64;
    let level = |dx: i64, dy: i64| {
        let (u, v) = (u32::try_from(x as i64 + dx).ok()?, u32::try_from(y as i64 + dy).ok()?);
        picture.get_pixel_checked(u, v).map(|p| f64::from(p.0[1]))
    };
    let levels: Vec<f64> = (-reach..=reach)
        .step_by(3)
        .flat_map(|dy| (-reach..=reach).step_by(3).map(move |dx| (dx, dy)))
        .filter_map(|(dx, dy)| level(dx, dy))
        .collect();
    let n = levels.len().max(1) as f64;
    let mean = levels.iter().sum::<f64>() / n;
    levels.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / n
}
