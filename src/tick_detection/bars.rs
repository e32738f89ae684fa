//! Short straight bars in a photo: sets of pixels that stay a filled bar over many grey levels.
//!
//! All levels are gone through, once from the bright end and once from the dark one. Neighbouring pixels above the level are joined
//! (union-find), with the moments of each set. A printed tick is such a set from its own level down to nearly that of its ground,
//! whatever the light; noise is one for a few levels only.
use super::bar::Bar;
use super::by_level::by_level;
use super::joined::Joined;
use super::moments::Moments;
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

/// Pixels of the smallest bar.
const LEAST_AREA: f64 = 10.0;
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

/// All bars of a picture of this width and height; `part` gives its pixels from (x0, y0) on, so many to the right and down.
pub fn bars((width, height): (usize, usize), part: &dyn Fn([usize; 4]) -> Plane, least: Clear) -> Vec<Bar> {
    let longest = LONGEST * width.max(height) as f64;
    if width * height <= WHOLE {
        return of_plane(&part([0, 0, width, height]), longest, least);
    }
    let places = (0..height).step_by(TILE).flat_map(|y| (0..width).step_by(TILE).map(move |x| (x, y)));
    places
        .flat_map(|(x, y)| {
            let (x0, y0) = (x.saturating_sub(MARGIN), y.saturating_sub(MARGIN));
            let (x1, y1) = ((x + TILE + MARGIN).min(width), (y + TILE + MARGIN).min(height));
            let found = of_plane(&part([x0, y0, x1 - x0, y1 - y0]), longest.min(MARGIN as f64), least);
            let own = move |c: f64, from: usize| (from as f64 - 0.5..(from + TILE) as f64 - 0.5).contains(&c);
            let shift = Vector2::new(x0 as f64, y0 as f64);
            found.into_iter().map(move |b| Bar { centre: b.centre + shift, ..b }).filter(move |b| own(b.centre.x, x) && own(b.centre.y, y))
        })
        .collect()
}

fn of_plane(luma: &Plane, longest: f64, least: Clear) -> Vec<Bar> {
    let soft = luma.gaussian(BLUR);
    let noise = Noise::of(&soft);
    let step = (STEP * noise.calm()).clamp(1.0, 64.0);
    let level = |bright: bool| -> Vec<u8> {
        let of = |v: &f32| (f64::from(if bright { *v } else { 255.0 - v }).clamp(0.0, 255.0) / step).round() as u8;
        soft.data.iter().map(of).collect()
    };
    let clear = |b: &Bar| b.contrast >= least.sigmas * noise.at(b.centre.x, b.centre.y);
    let levels = (f64::from(least.levels) / step).ceil().max(1.0) as u8;
    [true, false]
        .iter()
        .flat_map(|&bright| Flood::new(&level(bright), luma.width, (longest, levels)).run(bright, step))
        .filter(clear)
        .collect()
}

/// A set of joined pixels.
#[derive(Clone, Debug)]
struct Set {
    moments: Moments,
    /// Highest level in it.
    top: u8,
    /// (level, moments) as long as it is a bar.
    as_bar: Vec<(u8, Moments)>,
    /// Level at which it was looked at last; above the highest at first.
    looked: u16,
}

struct Flood<'a> {
    levels: &'a [u8],
    width: usize,
    longest: f64,
    least: u8,
    joined: Joined,
    sets: Vec<Set>,
    found: Vec<(u8, u8, Moments)>,
}

impl<'a> Flood<'a> {
    fn new(levels: &'a [u8], width: usize, (longest, least): (f64, u8)) -> Self {
        Self { levels, width, longest, least, joined: Joined::new(levels.len()), sets: Vec::new(), found: Vec::new() }
    }
    fn run(mut self, bright: bool, step: f64) -> Vec<Bar> {
        let (order, starts) = by_level(self.levels);
        for level in (0..=255u8).rev() {
            let pixels = &order[starts[usize::from(level)]..starts[usize::from(level) + 1]];
            for &p in pixels {
                self.add(p as usize, level);
            }
            for &p in pixels {
                let set = self.joined.set(p as usize);
                if self.sets[set].looked != u16::from(level) {
                    self.sets[set].looked = u16::from(level);
                    self.look(set, level);
                }
            }
        }
        for i in 0..self.sets.len() {
            self.close(i);
        }
        self.found.iter().filter_map(|(top, bottom, m)| m.bar(step * f64::from(top - bottom), bright)).collect()
    }
    /// A pixel comes up and joins its neighbours; without any it begins a set.
    fn add(&mut self, i: usize, level: u8) {
        let w = self.width;
        let (x, y) = (i % w, i / w);
        let neighbours = [(x > 0, i.wrapping_sub(1)), (x + 1 < w, i + 1), (y > 0, i.wrapping_sub(w)), (i + w < self.levels.len(), i + w)];
        let own = Moments::of(x, y);
        for (_, n) in neighbours.into_iter().filter(|(inside, _)| *inside) {
            if !self.joined.is_up(n) {
                continue;
            }
            if self.joined.is_up(i) {
                self.join(i, n);
            } else {
                let set = self.joined.enter(i, n);
                self.sets[set].moments.add(&own);
            }
        }
        if !self.joined.is_up(i) {
            self.joined.begin(i, self.sets.len());
            self.sets.push(Set { moments: own, top: level, as_bar: Vec::new(), looked: u16::MAX });
        }
    }
    /// The larger set goes on, the smaller one ends.
    fn join(&mut self, a: usize, b: usize) {
        if let Some((i, j)) = self.joined.join(a, b, |set| self.sets[set].moments.area) {
            self.close(j);
            let (moments, top) = (self.sets[j].moments, self.sets[j].top);
            self.sets[i].moments.add(&moments);
            self.sets[i].top = self.sets[i].top.max(top);
        }
    }
    /// Whether a set is a bar at this level.
    fn look(&mut self, i: usize, level: u8) {
        let m = self.sets[i].moments;
        if m.area >= LEAST_AREA && m.is_bar(self.longest) {
            self.sets[i].as_bar.push((level, m));
        } else {
            self.close(i);
        }
    }
    /// A bar that ends here: kept if it stood over enough levels, as it was half way up.
    fn close(&mut self, i: usize) {
        let set = &mut self.sets[i];
        let seen = std::mem::take(&mut set.as_bar);
        let (Some(first), Some(last)) = (seen.first(), seen.last()) else { return };
        if first.0 - last.0 < self.least {
            return;
        }
        let middle = last.0 + (set.top - last.0) / 2;
        if let Some((_, m)) = seen.iter().min_by_key(|(level, _)| level.abs_diff(middle)) {
            self.found.push((set.top, last.0, *m));
        }
    }
}
