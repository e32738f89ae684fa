//! Short straight bars in a photo: sets of pixels that stay a filled bar over many grey levels.
//!
//! All levels are gone through, once from the bright end and once from the dark one. Neighbouring pixels above the level are joined
//! (union-find), with the moments of each set. A printed tick is such a set from its own level down to nearly that of its ground,
//! whatever the light; noise is one for a few levels only.
use super::bar::Bar;
use super::moments::Moments;
use super::noise::Noise;
use crate::photo::Plane;

/// Levels over which a set must stay a bar.
const LEAST_CONTRAST: usize = 6;
/// The same in standard deviations of the noise round about: with 3 a grainy reflection showed a ring of eight "ticks".
const OVER_NOISE: f64 = 6.0;
/// Pixels of the smallest bar.
const LEAST_AREA: f64 = 10.0;
/// Longest bar, as a share of the photo's longer side.
const LONGEST: f64 = 0.15;
/// The photo is blurred by this (px) before: what is left of the noise between neighbours would join and part sets.
const BLUR: f64 = 0.7;

/// All bars of a plane, bright ones first.
pub fn bars(luma: &Plane) -> Vec<Bar> {
    let soft = luma.gaussian(BLUR);
    let level = |bright: bool| -> Vec<u8> {
        soft.data.iter().map(|v| v.round().clamp(0.0, 255.0) as u8).map(|v| if bright { v } else { 255 - v }).collect()
    };
    let noise = Noise::of(&soft);
    let clear = |b: &Bar| b.contrast >= OVER_NOISE * noise.at(b.centre.x, b.centre.y);
    [true, false].iter().flat_map(|&bright| Flood::new(&level(bright), luma.width).run(bright)).filter(clear).collect()
}

/// A set of joined pixels.
#[derive(Clone, Debug)]
struct Set {
    moments: Moments,
    /// Highest level in it.
    top: u8,
    /// (level, moments) as long as it is a bar.
    as_bar: Vec<(u8, Moments)>,
}

struct Flood<'a> {
    levels: &'a [u8],
    width: usize,
    longest: f64,
    /// Parent of each pixel in its set; `NONE` above the present level.
    parent: Vec<u32>,
    /// Index of the set of each root pixel.
    set_of: Vec<u32>,
    sets: Vec<Set>,
    found: Vec<(u8, u8, Moments)>,
}

const NONE: u32 = u32::MAX;

impl<'a> Flood<'a> {
    fn new(levels: &'a [u8], width: usize) -> Self {
        let n = levels.len();
        let longest = LONGEST * width.max(n / width.max(1)) as f64;
        Self { levels, width, longest, parent: vec![NONE; n], set_of: vec![NONE; n], sets: Vec::new(), found: Vec::new() }
    }
    fn run(mut self, bright: bool) -> Vec<Bar> {
        let mut at_level: Vec<Vec<u32>> = vec![Vec::new(); 256];
        for (i, v) in self.levels.iter().enumerate() {
            at_level[usize::from(*v)].push(i as u32);
        }
        for (level, pixels) in at_level.iter().enumerate().rev() {
            for &p in pixels {
                self.add(p, level as u8);
            }
            let mut touched: Vec<u32> = pixels.iter().map(|&p| self.root(p)).collect();
            touched.sort_unstable();
            touched.dedup();
            for root in touched {
                self.look(self.set_of[root as usize] as usize, level as u8);
            }
        }
        for i in 0..self.sets.len() {
            self.close(i);
        }
        self.found.iter().filter_map(|(top, bottom, m)| m.bar(f64::from(top - bottom), bright)).collect()
    }
    fn root(&mut self, mut p: u32) -> u32 {
        while self.parent[p as usize] != p {
            let up = self.parent[self.parent[p as usize] as usize];
            self.parent[p as usize] = up;
            p = up;
        }
        p
    }
    /// A pixel comes up and joins its neighbours; without any it begins a set.
    fn add(&mut self, p: u32, level: u8) {
        let (i, w) = (p as usize, self.width);
        let (x, y) = (i % w, i / w);
        let neighbours = [(x > 0, i.wrapping_sub(1)), (x + 1 < w, i + 1), (y > 0, i.wrapping_sub(w)), (i + w < self.levels.len(), i + w)];
        let own = Moments::of(x, y);
        for (_, n) in neighbours.into_iter().filter(|(inside, _)| *inside) {
            if self.parent[n] == NONE {
                continue;
            }
            if self.parent[i] == NONE {
                let root = self.root(n as u32);
                self.parent[i] = root;
                self.sets[self.set_of[root as usize] as usize].moments.add(&own);
            } else {
                self.join(p, n as u32);
            }
        }
        if self.parent[i] == NONE {
            self.parent[i] = p;
            self.set_of[i] = self.sets.len() as u32;
            self.sets.push(Set { moments: own, top: level, as_bar: Vec::new() });
        }
    }
    /// The larger set goes on, the smaller one ends.
    fn join(&mut self, a: u32, b: u32) {
        let (a, b) = (self.root(a), self.root(b));
        if a == b {
            return;
        }
        let area = |s: &Self, r: u32| s.sets[s.set_of[r as usize] as usize].moments.area;
        let (big, small) = if area(self, a) >= area(self, b) { (a, b) } else { (b, a) };
        self.parent[small as usize] = big;
        let (i, j) = (self.set_of[big as usize] as usize, self.set_of[small as usize] as usize);
        self.close(j);
        let (moments, top) = (self.sets[j].moments, self.sets[j].top);
        self.sets[i].moments.add(&moments);
        self.sets[i].top = self.sets[i].top.max(top);
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
        if usize::from(first.0 - last.0) < LEAST_CONTRAST {
            return;
        }
        let middle = last.0 + (set.top - last.0) / 2;
        if let Some((_, m)) = seen.iter().min_by_key(|(level, _)| level.abs_diff(middle)) {
            self.found.push((set.top, last.0, *m));
        }
    }
}
