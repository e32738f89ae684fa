//! Sets of joined pixels, level by level, that stay a bar or a dot over many levels.
use super::bar::{Bar, Dot};
use super::by_level::by_level;
use super::joined::Joined;
use super::moments::Moments;

/// Pixels of the smallest bar, and of the smallest dot.
const LEAST_AREA: f64 = 10.0;
const LEAST_DOT: f64 = 8.0;

/// A set of joined pixels.
#[derive(Clone, Debug)]
struct Set {
    moments: Moments,
    /// Highest level in it.
    top: u8,
    /// (level, moments) as long as it is a bar, and as long as it is a dot.
    as_bar: Vec<(u8, Moments)>,
    as_dot: Vec<(u8, Moments)>,
    /// Level at which it was looked at last; above the highest at first.
    looked: u16,
}

pub(super) struct Flood<'a> {
    levels: &'a [u8],
    width: usize,
    longest: f64,
    least: u8,
    joined: Joined,
    sets: Vec<Set>,
    bars: Vec<Standing>,
    dots: Vec<Standing>,
}

/// Highest and lowest level of a bar or a dot, and its moments half way between.
type Standing = (u8, u8, Moments);

impl<'a> Flood<'a> {
    /// Of a picture of levels: bars no longer than `longest` that stand over `least` levels.
    pub fn new(levels: &'a [u8], width: usize, (longest, least): (f64, u8)) -> Self {
        Self { levels, width, longest, least, joined: Joined::new(levels.len()), sets: Vec::new(), bars: Vec::new(), dots: Vec::new() }
    }
    /// What there is; `bright`: whether its levels count from the dark end; `step`: levels of the photo to one of its own.
    pub fn run(mut self, bright: bool, step: f64) -> (Vec<Bar>, Vec<Dot>) {
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
        let contrast = |top: &u8, bottom: &u8| step * f64::from(top - bottom);
        let bars = self.bars.iter().filter_map(|(top, bottom, m)| m.bar(contrast(top, bottom), bright)).collect();
        (bars, self.dots.iter().map(|(top, bottom, m)| m.dot(contrast(top, bottom), bright)).collect())
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
            self.sets.push(Set { moments: own, top: level, as_bar: Vec::new(), as_dot: Vec::new(), looked: u16::MAX });
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
    /// Whether a set is a bar or a dot at this level.
    fn look(&mut self, i: usize, level: u8) {
        let m = self.sets[i].moments;
        let variances = m.variances();
        if m.area >= LEAST_AREA && m.is_bar(variances, self.longest) {
            self.sets[i].as_bar.push((level, m));
        } else {
            self.close_bar(i);
        }
        if m.area >= LEAST_DOT && m.is_dot(variances, self.longest) {
            self.sets[i].as_dot.push((level, m));
        } else {
            self.close_dot(i);
        }
    }
    fn close(&mut self, i: usize) {
        self.close_bar(i);
        self.close_dot(i);
    }
    fn close_bar(&mut self, i: usize) {
        let set = &mut self.sets[i];
        let seen = std::mem::take(&mut set.as_bar);
        self.bars.extend(half_way_up(set.top, &seen, self.least));
    }
    fn close_dot(&mut self, i: usize) {
        let set = &mut self.sets[i];
        let seen = std::mem::take(&mut set.as_dot);
        self.dots.extend(half_way_up(set.top, &seen, self.least));
    }
}

/// What ends here: kept if it stood over enough levels, as it was half way up.
fn half_way_up(top: u8, seen: &[(u8, Moments)], least: u8) -> Option<Standing> {
    let (first, last) = (seen.first()?.0, seen.last()?.0);
    if first - last < least {
        return None;
    }
    let middle = last + (top - last) / 2;
    let (_, m) = seen.iter().min_by_key(|(level, _)| level.abs_diff(middle))?;
    Some((top, last, *m))
}
