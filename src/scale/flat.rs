//! The pieces of a scale between its flat zones.
//!
//! The marks whose values lie in a declared zone LOW..HIGH say over which angles the needle stands still. Below the zone the scale
//! runs up to (LOW, angle of the first of them), above it from (HIGH, angle of the last): LOW and HIGH, not the values printed
//! inside, are where the needle stops and starts to move.
use crate::dial::Mark;

/// A flat zone with the needle angles (on the scale's rising run, degrees) over which it lies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Zone {
    pub low: f64,
    pub high: f64,
    pub first: f64,
    pub last: f64,
}

impl Zone {
    /// Whether angles `from` to `to` meet the zone.
    pub fn meets(&self, from: f64, to: f64) -> bool {
        from <= self.last && to >= self.first
    }
}

/// A point of the scale's run without its flat zones.
#[derive(Clone, Copy, Debug)]
pub(super) struct Joined<'a> {
    /// Degrees.
    pub at: f64,
    /// Dial unit.
    pub value: f64,
    pub mark: &'a Mark,
}

/// Degrees below which two points of the run are one.
const SAME: f64 = 1e-6;

/// The scale cut at its flat zones.
#[derive(Clone, Debug)]
pub(super) struct Pieces {
    /// The moving pieces by rising value, one more than zones; a zone at an end of the scale leaves a piece of one point there.
    pub pieces: Vec<Vec<Mark>>,
    /// The zones between them.
    pub zones: Vec<Zone>,
}

impl Pieces {
    /// Cuts the marks (by rising value; `sign` times the angle rises) at the zones. A zone without a mark is passed over: its place
    /// is not known, and the dial's checks refuse it.
    pub fn new(marks: &[Mark], flats: &[(f64, f64)], sign: f64) -> Self {
        let mut sorted = flats.to_vec();
        sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
        let (mut pieces, mut zones, mut piece) = (Vec::new(), Vec::new(), Vec::new());
        let mut from = f64::NEG_INFINITY;
        for (low, high) in sorted {
            let mut inside = marks.iter().filter(|m| (low..=high).contains(&m.value));
            let Some(first) = inside.next() else { continue };
            let last = inside.next_back().unwrap_or(first);
            piece.extend(marks.iter().filter(|m| m.value > from && m.value < low).cloned());
            piece.push(Mark { value: low, ..first.clone() });
            pieces.push(std::mem::replace(&mut piece, vec![Mark { value: high, ..last.clone() }]));
            zones.push(Zone { low, high, first: sign * first.angle, last: sign * last.angle });
            from = high;
        }
        piece.extend(marks.iter().filter(|m| m.value > from).cloned());
        pieces.push(piece);
        Self { pieces, zones }
    }
    /// Index of the moving piece that an angle stands on, or of the nearest one that is more than a point.
    pub fn near(&self, x: f64) -> usize {
        let k = self.zones.iter().filter(|z| x > 0.5 * (z.first + z.last)).count();
        let moving = self.pieces.iter().enumerate().filter(|(_, p)| p.len() > 1);
        moving.min_by_key(|(j, _)| j.abs_diff(k)).map_or(0, |(j, _)| j)
    }
    /// The points of a piece.
    pub fn points(&self, piece: usize) -> &[Mark] {
        self.pieces.get(piece).map_or(&[], Vec::as_slice)
    }
    /// Degrees of the zones before a piece.
    pub fn passed(&self, piece: usize) -> f64 {
        self.zones.iter().take(piece).map(|z| z.last - z.first).sum()
    }
    /// The points of all moving pieces on one run, as if there were no zones: the scale goes on behind a zone as it came to it.
    pub fn joined(&self, sign: f64) -> Vec<Joined<'_>> {
        let mut out: Vec<Joined> = Vec::new();
        for (k, piece) in self.pieces.iter().enumerate().filter(|(_, p)| p.len() > 1) {
            let before = self.passed(k);
            let under: f64 = self.zones.iter().take(k).map(|z| z.high - z.low).sum();
            for mark in piece {
                let (at, value) = (sign * mark.angle - before, mark.value - under);
                // the two ends of a zone are one point of the run
                if out.last().is_none_or(|l| at > l.at + SAME && value > l.value) {
                    out.push(Joined { at, value, mark });
                }
            }
        }
        out
    }
    /// The zone that holds an angle.
    pub fn zone(&self, x: f64) -> Option<&Zone> {
        self.zones.iter().find(|z| z.meets(x, x))
    }
    /// Beyond a zone that reaches an end of the scale no mark fixes the scale: the zone's end and its angle, to go on straight from.
    pub fn beyond(&self, x: f64) -> Option<(f64, f64)> {
        let lone = |p: Option<&Vec<Mark>>| p.is_some_and(|p| p.len() < 2);
        match (self.zones.first(), self.zones.last()) {
            (Some(z), _) if x < z.first && lone(self.pieces.first()) => Some((z.low, z.first)),
            (_, Some(z)) if x > z.last && lone(self.pieces.last()) => Some((z.high, z.last)),
            _ => None,
        }
    }
}
