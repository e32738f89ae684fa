//! Short straight bars and dots in a photo: sets of pixels that stay a filled bar, or a disc or a square, over many grey levels.
//!
//! All levels are gone through, once from the bright end and once from the dark one. Neighbouring pixels above the level are joined
//! (union-find), with the moments of each set. A printed tick is such a set from its own level down to nearly that of its ground,
//! whatever the light; noise is one for a few levels only.
use super::bar::{Bar, Dot};
use super::flood::Flood;
use super::noise::Noise;
use crate::photo::Plane;
use nalgebra::Vector2;

/// How clear a bar must be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Clear {
    /// Levels over which a set must stay a bar.
    pub levels: u8,
    /// The same in standard deviations of the noise round about.
    pub sigmas: f64,
    /// Places of a pivot that are told apart along the longer side of the picture.
    pub cells: f64,
}

impl Clear {
    /// In a whole photo: with 3 sigmas a grainy reflection showed a ring of eight "ticks".
    pub const ANYWHERE: Self = Self { levels: 6, sigmas: 6.0, cells: 160.0 };
    /// Where a person says that a dial is: as clear as anywhere, but it fills the picture, and its pivot is not known to a 160th of it from
    /// ticks of a few px. Of 16 dials in real photographs that were drawn round, 160, 60 and 30 cells found 2, 3 and 4.
    pub const TOLD_CLEAR: Self = Self { cells: 30.0, ..Self::ANYWHERE };
    /// The same with two thirds of the contrast, still above the grain.
    pub const TOLD: Self = Self { levels: 4, sigmas: 4.0, ..Self::TOLD_CLEAR };
}

/// Longest bar, as a share of the photo's longer side.
const LONGEST: f64 = 0.15;
/// The photo is blurred by this (px) before: what is left of the noise between neighbours would join and part sets.
const BLUR: f64 = 0.7;

/// Grey levels are gone through in steps of the grain where that is more than one level (of the calmer quarter of the picture): finer ones
/// part nothing but grain, whose sets cost time and memory.
const STEP: f64 = 1.0;

/// A larger picture is gone through in tiles, which bounds the memory.
const WHOLE: usize = 4_500_000;
/// Side of a tile, and what is looked at beyond it on all sides, px. No longer bar is found in a tiled picture: at half the size it is.
const TILE: usize = 1024;
/// See there.
const MARGIN: usize = 160;

/// What may be marks of scales.
#[derive(Clone, Debug, Default)]
pub struct Marks {
    /// Bars.
    pub bars: Vec<Bar>,
    /// Dots.
    pub dots: Vec<Dot>,
}

/// All bars and dots of a picture of this width and height; `part` gives its pixels from (x0, y0) on, so many to the right and down.
pub fn marks((width, height): (usize, usize), part: &dyn Fn([usize; 4]) -> Plane, least: Clear) -> Marks {
    let longest = LONGEST * width.max(height) as f64;
    if width * height <= WHOLE {
        return of_plane(&part([0, 0, width, height]), longest, least);
    }
    let mut all = Marks::default();
    for (x, y) in (0..height).step_by(TILE).flat_map(|y| (0..width).step_by(TILE).map(move |x| (x, y))) {
        let (x0, y0) = (x.saturating_sub(MARGIN), y.saturating_sub(MARGIN));
        let (x1, y1) = ((x + TILE + MARGIN).min(width), (y + TILE + MARGIN).min(height));
        let found = of_plane(&part([x0, y0, x1 - x0, y1 - y0]), longest.min(MARGIN as f64), least);
        let within = |c: f64, from: usize| (from as f64 - 0.5..(from + TILE) as f64 - 0.5).contains(&c);
        let own = |c: Vector2<f64>| within(c.x, x) && within(c.y, y);
        let shift = Vector2::new(x0 as f64, y0 as f64);
        all.bars.extend(found.bars.into_iter().map(|b| Bar { centre: b.centre + shift, ..b }).filter(|b| own(b.centre)));
        all.dots.extend(found.dots.into_iter().map(|d| Dot { centre: d.centre + shift, ..d }).filter(|d| own(d.centre)));
    }
    all
}

fn of_plane(luma: &Plane, longest: f64, least: Clear) -> Marks {
    let soft = luma.gaussian(BLUR);
    let noise = Noise::of(&soft);
    let step = (STEP * noise.calm()).clamp(1.0, 64.0);
    let level = |bright: bool| -> Vec<u8> {
        let of = |v: &f32| (f64::from(if bright { *v } else { 255.0 - v }).clamp(0.0, 255.0) / step).round() as u8;
        soft.data.iter().map(of).collect()
    };
    let clear = |centre: Vector2<f64>, contrast: f64| contrast >= least.sigmas * noise.at(centre.x, centre.y);
    let levels = (f64::from(least.levels) / step).ceil().max(1.0) as u8;
    let mut all = Marks::default();
    for bright in [true, false] {
        let (bars, dots) = Flood::new(&level(bright), luma.width, (longest, levels)).run(bright, step);
        all.bars.extend(bars.into_iter().filter(|b| clear(b.centre, b.contrast)));
        all.dots.extend(dots.into_iter().filter(|d| clear(d.centre, d.contrast)));
    }
    all
}
