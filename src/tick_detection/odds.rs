//! How much more likely marks are as those of an even scale about a pivot than as marks that lie anyhow, natural logarithm.
//!
//! Supposed are a pivot and two bars of the scale with n steps between them. At each place of the ladder that this makes there is a mark with
//! [`PRESENT`], off its even direction by `ALONG` of a step and off the ring of the others by `RING` of the radius; a bar points at the pivot
//! to `POINTING`. Against it stands what marks of the kind (bar or dot, alike or unlike the two) there are round about: so many per unit of
//! direction and of log radius, bars in any direction. No threshold of distance decides, and texture raises its own bar: where marks lie
//! everywhere, one at the right place says little.
use nalgebra::{Matrix3, Vector3};
use std::f64::consts::{PI, TAU};

/// A mark as seen from a supposed pivot.
#[derive(Clone, Copy, Debug)]
pub(super) struct Seen {
    /// Its number among all marks.
    pub index: usize,
    /// Bar or dot.
    pub bar: bool,
    /// Its direction clockwise from the first bar's, radians in ± pi.
    pub turn: f64,
    /// Log of its outer end's distance over the radius; of a dot as if it lay in the middle of a bar.
    pub log_radius: f64,
    /// Angle between its line and the direction to the pivot, radians.
    pub off: f64,
    /// Whether it looks like the two bars.
    pub alike: bool,
}

/// Share of the places of a scale that show their mark: the needle, a lamp or a reflection hides others.
const PRESENT: f64 = 0.85;
/// Share of bars among a sparse scale's marks, and of marks that look like the two bars.
const BARS: f64 = 0.6;
const ALIKE: f64 = 0.75;
/// Standard deviations: along the scale in steps, of the log radius, of a bar's direction in radians.
const ALONG: f64 = 0.05;
const RING: f64 = 0.03;
const POINTING: f64 = 0.044;
/// Widest that is looked: along the scale in steps, of the log radius and of a bar's direction.
const REACH: [f64; 3] = [0.2, 0.25, 0.16];
/// Standard deviation of the log radius as long as the ring is taken for a circle, and what a dot counts like that has no direction to be off.
const UNBENT: f64 = 2.5 * RING;
const DOT: f64 = 2.0;
/// Widths of the priors on the ring's slope per radian and its bend per radian squared: a camera aside makes the one, a scale along a wider
/// curve than a circle about its pivot the other. A bent ring has to earn [`BENT`].
const SLOPE: f64 = 0.10;
const BEND: f64 = 0.15;
const BENT: f64 = 1.6;
/// What the slope, fitted, costs.
const SLOPED: f64 = 1.2;
/// What the two bars' own radii, alike by choice, must not earn: log radii in this width were looked at.
const CHOSEN: f64 = 0.4;
/// A mark further off the fitted ring than so many standard deviations is none of it.
const OUTSIDE: f64 = 4.0;
/// Fewest marks, and the widest reach of a scale from the middle of the two bars, radians.
const LEAST: usize = 4;
const FARTHEST: f64 = 2.6;
/// Narrowest scale, radians. Of 277 renderings and photographs four showed a narrower one; none of them was a scale.
const NARROWEST: f64 = 0.9;
/// The annulus that counts as round about, log of its outer over its inner radius.
pub(super) const ANNULUS: f64 = 1.1;

/// The most likely run of places.
#[derive(Clone, Debug)]
pub(super) struct Run {
    /// Log odds without what the number of suppositions costs.
    pub odds: f64,
    /// Its marks (numbers), along the scale.
    pub marks: Vec<usize>,
    /// Places from its first mark to its last.
    pub places: usize,
}

/// A ladder of even places: the two bars (numbers among `seen`), the steps between them and their angle, radians.
pub(super) struct Ladder<'a> {
    pub seen: &'a [Seen],
    pub others: &'a Others,
    pub pair: [usize; 2],
    pub steps: i32,
    pub sweep: f64,
    /// Whether the pivot is the middle of the circle through the two and the mark half way between them, whose radii then say nothing.
    pub circle: bool,
}

/// How dense the marks round a pivot are, of each kind (bar or dot, alike or not), besides the pair that supposed it.
pub(super) struct Others {
    /// How many there are.
    count: [[usize; 2]; 2],
    /// Where they may be: direction (radians) times log radius.
    room: f64,
}

impl Others {
    /// Of the marks seen about a pivot; `pair`: numbers among them, `inside`: the share of the annulus round about that lies in the picture.
    pub fn of(seen: &[Seen], pair: [usize; 2], inside: f64) -> Self {
        let mut count = [[0; 2]; 2];
        for (_, s) in seen.iter().enumerate().filter(|(i, _)| !pair.contains(i)) {
            count[usize::from(s.bar)][usize::from(s.alike)] += 1;
        }
        Self { count, room: TAU * ANNULUS * inside }
    }
    /// The density of a mark's kind besides itself; where there is no other, of half a mark.
    fn than(&self, s: &Seen) -> f64 {
        (self.count[usize::from(s.bar)][usize::from(s.alike)] as f64 - 1.0).max(0.5) / self.room
    }
}

/// A mark at a place of the ladder.
type Rung = (i32, Seen);

impl Ladder<'_> {
    fn step(&self) -> f64 {
        self.sweep / f64::from(self.steps)
    }
    /// Places over the middle of the two bars, radians.
    fn place(&self, k: i32) -> f64 {
        (f64::from(k) - 0.5 * f64::from(self.steps)) * self.step()
    }
    fn is_seed(&self, k: i32) -> bool {
        k == 0 || k == self.steps
    }
    /// How far a mark lies along the scale from a place, steps.
    fn along(&self, s: &Seen, k: i32) -> f64 {
        turned(s.turn - f64::from(k) * self.step()) / self.step()
    }
    /// The likeliest mark of each place that has one.
    fn rungs(&self) -> Vec<Rung> {
        let [a, b] = self.pair.map(|i| self.seen[i]);
        let reach = (FARTHEST / self.step()) as i32 + self.steps;
        let near = |k: i32| self.place(k).abs() < FARTHEST;
        (-reach..=reach)
            .filter(|k| near(*k))
            .filter_map(|k| match k {
                0 => Some((k, a)),
                k if k == self.steps => Some((k, b)),
                k => {
                    let share = (f64::from(k) / f64::from(self.steps)).clamp(0.0, 1.0);
                    let ring = a.log_radius * (1.0 - share) + b.log_radius * share;
                    let cost = |s: &Seen| -> Option<f64> {
                        let (along, out) = (self.along(s, k), s.log_radius - ring);
                        let inside = along.abs() < REACH[0] && out.abs() < REACH[1] && (!s.bar || s.off.abs() < REACH[2]);
                        let direction = if s.bar { (s.off / POINTING).powi(2) } else { DOT };
                        inside.then_some((along / ALONG).powi(2) + (out / UNBENT).powi(2) + direction)
                    };
                    let best = self.seen.iter().filter_map(|s| Some((cost(s)?, s))).min_by(|p, q| p.0.total_cmp(&q.0))?;
                    Some((k, *best.1))
                }
            })
            .collect()
    }
    /// The likeliest run; `None` with fewer than four marks.
    pub fn best(&self) -> Option<Run> {
        let all = self.rungs();
        if all.len() < LEAST {
            return None;
        }
        [false, true].into_iter().filter_map(|bent| self.run(&all, bent)).max_by(|a, b| a.odds.total_cmp(&b.odds))
    }
    /// The likeliest run on a sloped ring, or on one that is bent too.
    fn run(&self, all: &[Rung], bent: bool) -> Option<Run> {
        let mut on = all.to_vec();
        for _ in 0..2 {
            let ring = self.ring(&on, bent)?;
            on.retain(|(k, s)| self.is_seed(*k) || self.out(&ring, *k, s).abs() < OUTSIDE * RING);
        }
        let ring = self.ring(&on, bent)?;
        let cost = if bent { 0.5 * (ring.z / BEND).powi(2) + BENT } else { 0.0 } + 0.5 * (ring.y / SLOPE).powi(2) + SLOPED;
        let gains: Vec<(i32, f64, usize)> = on.iter().map(|(k, s)| (*k, self.gain(*k, s, self.out(&ring, *k, s)), s.index)).collect();
        let mut best: Option<Run> = None;
        let first = gains.iter().position(|g| g.0 == 0)?;
        let last = gains.iter().position(|g| g.0 == self.steps)?;
        for from in 0..=first {
            for to in last..gains.len() {
                let part = &gains[from..=to];
                let places = (gains[to].0 - gains[from].0 + 1) as usize;
                let odds = part.iter().map(|g| g.1).sum::<f64>() + (places - part.len()) as f64 * (1.0 - PRESENT).ln() - cost;
                let wide = (places - 1) as f64 * self.step() > NARROWEST;
                if part.len() >= LEAST && wide && best.as_ref().is_none_or(|b| odds > b.odds) {
                    best = Some(Run { odds, marks: part.iter().map(|g| g.2).collect(), places });
                }
            }
        }
        best
    }
    /// Log radius, slope and bend of the ring through rungs.
    fn ring(&self, on: &[Rung], bent: bool) -> Option<Vector3<f64>> {
        let bend = if bent { BEND } else { 1e-6 };
        let (mut n, mut v) = (Matrix3::from_diagonal(&Vector3::new(0.0, SLOPE.powi(-2), bend.powi(-2))), Vector3::zeros());
        for (k, s) in on {
            let row = row(self.place(*k));
            n += row * row.transpose() / (RING * RING);
            v += row * (s.log_radius / (RING * RING));
        }
        Some(n.try_inverse()? * v)
    }
    /// How far a rung lies off the ring, log radius.
    fn out(&self, ring: &Vector3<f64>, k: i32, s: &Seen) -> f64 {
        s.log_radius - row(self.place(k)).dot(ring)
    }
    /// What a rung adds to the log odds.
    fn gain(&self, k: i32, s: &Seen, out: f64) -> f64 {
        if self.circle && (self.is_seed(k) || 2 * k == self.steps) {
            return PRESENT.ln();
        }
        let on_ring = PRESENT.ln() + log_normal(out, RING);
        if self.is_seed(k) {
            return on_ring + CHOSEN.ln();
        }
        let chance = self.others.than(s);
        let along = log_normal(self.along(s, k) * self.step(), ALONG * self.step());
        let look = if s.alike { ALIKE } else { 1.0 - ALIKE }.ln();
        let direction = if s.bar { BARS.ln() + log_normal(s.off, POINTING) + PI.ln() } else { (1.0 - BARS).ln() };
        on_ring + along + look + direction - chance.ln()
    }
}

/// An angle in ± pi.
pub(super) fn turned(angle: f64) -> f64 {
    (angle + PI).rem_euclid(TAU) - PI
}

fn row(turn: f64) -> Vector3<f64> {
    Vector3::new(1.0, turn, turn * turn)
}

fn log_normal(x: f64, sigma: f64) -> f64 {
    -0.5 * (x / sigma).powi(2) - (sigma * TAU.sqrt()).ln()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Five marks 0.4 rad apart on a ring: bars, and dots between them.
    fn even() -> Vec<Seen> {
        let mark = |i: usize| Seen { index: i, bar: i.is_multiple_of(2), turn: 0.4 * i as f64, log_radius: 0.0, off: 0.0, alike: true };
        (0..5).map(mark).collect()
    }
    /// The run on a ladder from the first bar to the last, with as many others round about as are given besides.
    fn run(seen: &[Seen], inside: f64) -> Run {
        let pair = [0, 4];
        let others = Others::of(seen, pair, inside);
        Ladder { seen, others: &others, pair, steps: 4, sweep: 1.6, circle: false }.best().unwrap()
    }

    #[test]
    fn what_lies_off_its_place_speaks_less_for_a_scale() {
        let most = run(&even(), 1.0);
        assert_eq!((most.marks.clone(), most.places), (vec![0, 1, 2, 3, 4], 5));
        let with = |change: &dyn Fn(&mut Seen)| {
            let mut seen = even();
            change(&mut seen[2]);
            run(&seen, 1.0).odds
        };
        // one and two standard deviations: a half and two of the log odds, and what the ring gives way
        let along = [0.05, 0.1].map(|steps| most.odds - with(&|m| m.turn += steps * 0.4));
        assert!((along[0] - 0.5).abs() < 1e-9 && (along[1] - 2.0).abs() < 1e-9, "{along:?}");
        let pointing = most.odds - with(&|m| m.off = 2.0 * POINTING);
        assert!((pointing - 2.0).abs() < 1e-9, "{pointing}");
        let ring = most.odds - with(&|m| m.log_radius = 2.0 * RING);
        assert!(ring > 1.0 && ring < 2.0, "{ring}");
        let unlike = most.odds - with(&|m| m.alike = false);
        assert!((0.5..3.0).contains(&unlike), "{unlike}");
        // a place without its mark
        let mut four = even();
        four.remove(1);
        four.iter_mut().enumerate().for_each(|(i, m)| m.index = i);
        let missing = Others::of(&four, [0, 3], 1.0);
        let missing = Ladder { seen: &four, others: &missing, pair: [0, 3], steps: 4, sweep: 1.6, circle: false }.best().unwrap();
        assert!((missing.marks.len(), missing.places) == (4, 5) && missing.odds < most.odds - 3.0, "{missing:?}");
    }

    /// Five strokes over less than the narrowest scale are none, however even.
    #[test]
    fn a_scale_has_a_sweep() {
        let found = |step: f64| {
            let seen: Vec<Seen> = even().into_iter().map(|m| Seen { turn: step * m.index as f64, ..m }).collect();
            let others = Others::of(&seen, [0, 4], 1.0);
            Ladder { seen: &seen, others: &others, pair: [0, 4], steps: 4, sweep: 4.0 * step, circle: false }.best().is_some()
        };
        assert!(found(0.24) && !found(0.21));
    }

    /// Ten times as many marks round about make each place's mark ten times as likely by chance, and so does a tenth of the room.
    #[test]
    fn where_marks_lie_everywhere_one_at_its_place_says_little() {
        let alone = run(&even(), 1.0).odds;
        // three places besides the pair's: one bar and two dots
        let less = alone - run(&even(), 0.1).odds;
        assert!((less - 3.0 * 10f64.ln()).abs() < 1e-9, "{less}");
        let mut seen = even();
        let far = |i: usize| Seen { index: 5 + i, turn: 2.9, log_radius: 0.5, ..even()[i % 2] };
        seen.extend((0..40).map(far));
        let busy = run(&seen, 1.0);
        assert_eq!(busy.marks, [0, 1, 2, 3, 4]);
        // of 21 bars 20 besides itself for half a mark, of 22 dots 21 for one
        assert!((alone - busy.odds - 40f64.ln() - 2.0 * 21f64.ln()).abs() < 1e-9, "{}", alone - busy.odds);
    }
}
