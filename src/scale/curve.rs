//! The scale: monotone through the marks' angles.
//!
//! With eight marks and more the curve is monotone cubic (Fritsch & Carlson 1980); with fewer it is the mean of the rising curves that fit
//! the marks (see `shape`). How the maker may have drawn the scale between the marks is carried as terms of the dial
//! (`scale/shape/k`): hardly anything between many marks, much between few.
use super::flat::{Pieces, Zone};
use super::shape::Shape;
use crate::dial::{Declared, Dial, Mark};
use crate::maths::angle::wrap;
use crate::maths::measured::Measured;
use crate::maths::monotone::{Monotone, PiecewiseLinear};
use crate::maths::source::{Cause, Source};
use nalgebra::DMatrix;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::OnceLock;

/// Share of a sigma by which a source is moved for its derivative.
const SMALL: f64 = 1e-3;
/// Share of all the shape's terms below which one is not worth a name.
const LEAST: f64 = 1e-3;
/// Most that the middle of a parted scale with two known values lies off the straight line, as a share of its span: one end of it
/// twice as wide as the other (slopes 1 + c and 1 - c with c = 1/3, off by c/4; common practice).
const BOW: f64 = 1.0 / 12.0;
/// Fewer marks than this show no curve.
const DENSE: usize = 8;

/// Where an angle stands on the scale.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Place {
    /// On the scale.
    On,
    /// Before the first mark.
    Below,
    /// After the last mark.
    Above,
}

/// A dial's scale.
#[derive(Clone, Debug)]
pub struct Scale {
    pub(super) id: String,
    pub(super) declared: Declared,
    marks: Vec<Mark>,
    pieces: Pieces,
    middle: f64,
    sign: f64,
    shape: OnceLock<Option<Shape>>,
}

impl Scale {
    /// The scale of a dial. A dial that passed its file's checks has at least two marks with monotone angles.
    pub fn new(dial: &Dial) -> Self {
        let marks = dial.marks.clone();
        let (a, b) = (marks.first().map_or(0.0, |m| m.angle), marks.last().map_or(0.0, |m| m.angle));
        let sign = if b >= a { 1.0 } else { -1.0 };
        let pieces = Pieces::new(&marks, &dial.declared.flats, sign);
        Self { id: dial.id.clone(), declared: dial.declared.clone(), marks, pieces, middle: 0.5 * (a + b), sign, shape: OnceLock::new() }
    }
    /// The points between which the scale runs: the marks, with the ends of flat zones in place of the marks inside them.
    pub fn points(&self) -> Vec<Mark> {
        self.pieces.pieces.concat()
    }
    /// Angle on the scale's own run (rising with the value), degrees.
    pub(super) fn unroll(&self, angle: f64) -> f64 {
        self.sign * (self.middle + wrap(angle - self.middle))
    }
    /// Angles (degrees) and values of all marks along the run.
    pub(super) fn run(&self) -> (Vec<f64>, Vec<f64>) {
        self.knots(&self.marks)
    }
    fn knots(&self, points: &[Mark]) -> (Vec<f64>, Vec<f64>) {
        points.iter().map(|m| (self.sign * m.angle, m.value)).unzip()
    }
    /// The distribution over the curves between the marks, worked out when it is first asked for.
    pub(super) fn shape(&self) -> Option<&Shape> {
        let make = || {
            let points = self.pieces.joined(self.sign);
            let (xs, ys): (Vec<f64>, Vec<f64>) = points.iter().map(|p| (p.at, p.value)).unzip();
            let per_value = (xs.last()? - xs.first()?) / (ys.last()? - ys.first()?);
            let marks: Vec<&Mark> = points.iter().map(|p| p.mark).collect();
            Shape::new(&xs, &ys, &self.scatter(&marks, per_value))
        };
        self.shape.get_or_init(make).as_ref()
    }
    /// Covariance of the places of marks along the run, degrees squared; what is not known of a value counts at `per_value` degrees.
    fn scatter(&self, marks: &[&Mark], per_value: f64) -> DMatrix<f64> {
        let sources: BTreeSet<&Cause> = marks.iter().flat_map(|m| m.terms.keys().chain(m.value_terms.keys())).collect();
        let of = |terms: &BTreeMap<Cause, f64>, s: &Cause| terms.get(s).copied().unwrap_or(0.0);
        let sources: Vec<&Cause> = sources.into_iter().collect();
        let by = DMatrix::from_fn(marks.len(), sources.len(), |i, k| {
            self.sign * of(&marks[i].terms, sources[k]) - per_value * of(&marks[i].value_terms, sources[k])
        });
        &by * by.transpose()
    }
    /// The value that a piece's curve has at an angle of the run; beyond the piece straight on.
    fn value_on(&self, piece: usize, x: f64) -> f64 {
        let points = self.pieces.points(piece);
        let (xs, ys) = self.knots(points);
        match self.shape().filter(|_| points.len() < DENSE && self.pieces.zones.is_empty()) {
            Some(shape) => shape.value(x),
            None => Self::through(&xs, &ys, x),
        }
    }
    fn through(xs: &[f64], ys: &[f64], x: f64) -> f64 {
        let smooth = xs.len() >= DENSE;
        let line = PiecewiseLinear::new(xs, ys).map(|c| c.value(x)).unwrap_or(f64::NAN);
        if smooth { Monotone::new(xs, ys).map_or(line, |c| c.value(x)) } else { line }
    }
    /// The pieces of the scale on which the needle moves, by rising value: the marks outside the declared flat zones, each zone's ends as
    /// marks of their own. A zone at an end of the scale leaves a piece of one point there.
    pub fn moving_pieces(&self) -> &[Vec<Mark>] {
        &self.pieces.pieces
    }
    /// Value at an angle (degrees clockwise from up), extended straight beyond the ends. In a flat zone: what the marks in and
    /// about it would say if the needle moved there, kept within the zone. One value of many, but a steady one.
    pub fn value(&self, angle: f64) -> f64 {
        let x = self.unroll(angle);
        match self.pieces.zone(x) {
            Some(z) => self.within(x, z.low, z.high),
            None => self.moving(x),
        }
    }
    /// What the marks alone would say, kept between two values.
    pub(super) fn within(&self, x: f64, low: f64, high: f64) -> f64 {
        let (xs, ys) = self.run();
        Self::through(&xs, &ys, x).max(low).min(high)
    }
    /// Value outside the zones.
    fn moving(&self, x: f64) -> f64 {
        match self.pieces.beyond(x) {
            Some((value, at)) => value + self.rise(x) * (x - at),
            None => self.value_on(self.pieces.near(x), x),
        }
    }
    /// The lowest value that fits an angle on the scale's run.
    pub(super) fn lowest(&self, x: f64) -> f64 {
        self.pieces.zone(x).map_or_else(|| self.moving(x), |z| z.low)
    }
    /// The highest.
    pub(super) fn highest(&self, x: f64) -> f64 {
        self.pieces.zone(x).map_or_else(|| self.moving(x), |z| z.high)
    }
    /// The flat zones that angles `from` to `to` meet: lowest and highest value of them.
    pub(super) fn flat(&self, from: f64, to: f64) -> Option<(f64, f64)> {
        let met: Vec<&Zone> = self.pieces.zones.iter().filter(|z| z.meets(from, to)).collect();
        Some((met.first()?.low, met.last()?.high))
    }
    /// Change of value per degree of needle on the scale's run; in a flat zone that of the nearest moving piece.
    fn rise(&self, x: f64) -> f64 {
        let piece = self.pieces.near(x);
        (self.value_on(piece, x + 0.05) - self.value_on(piece, x - 0.05)) / 0.1
    }
    /// Change of value per degree of needle, clockwise; in a flat zone that of the nearest piece on which the needle moves.
    pub fn slope(&self, angle: f64) -> f64 {
        self.sign * self.rise(self.unroll(angle))
    }
    /// Last mark's value minus the first's.
    pub(super) fn span(&self) -> f64 {
        match (self.marks.first(), self.marks.last()) {
            (Some(a), Some(b)) => b.value - a.value,
            _ => f64::NAN,
        }
    }
    /// Place of an angle on the scale as a fraction of its sweep: 0 at the first mark, 1 at the last.
    pub(super) fn fraction(&self, x: f64) -> f64 {
        match (self.marks.first(), self.marks.last()) {
            (Some(a), Some(b)) => ((x - self.sign * a.angle) / (self.sign * (b.angle - a.angle))).clamp(0.0, 1.0),
            _ => f64::NAN,
        }
    }
    /// Where the angle stands, with `margin` degrees beyond the ends still counted as on the scale.
    pub fn place(&self, angle: f64, margin: f64) -> Place {
        let x = self.unroll(angle);
        let (xs, _) = self.knots(&self.marks);
        match (xs.first(), xs.last()) {
            (Some(a), _) if x < a - margin => Place::Below,
            (_, Some(b)) if x > b + margin => Place::Above,
            _ => Place::On,
        }
    }
    /// Degrees by which the angle stands before the first mark, and after the last one; negative on the scale.
    pub fn beyond_ends(&self, angle: f64) -> (f64, f64) {
        let x = self.unroll(angle);
        let (xs, _) = self.knots(&self.marks);
        match (xs.first(), xs.last()) {
            (Some(a), Some(b)) => (a - x, x - b),
            _ => (f64::NAN, f64::NAN),
        }
    }
    /// The temperature of a measured angle as far as it is read. Terms of the angle pass through the slope; for each source of
    /// the marks the derivative of the value is taken, so that sources which the angle shares with the marks partly cancel.
    /// Counts: needle, registration, marks, the dial's plane, its pivot's fault, the shape between the marks. Does not count: the gauge itself, see
    /// [`Scale::temperature`].
    pub fn read(&self, angle: &Measured) -> Measured {
        let x = self.unroll(angle.value());
        let slope = self.slope(angle.value());
        let piece = self.pieces.near(x);
        let points = self.pieces.points(piece);
        let dial = |part| Source::Dial(self.id.clone(), part);
        let mut out = Measured::exact(self.value(angle.value()));
        for (id, t) in angle.terms() {
            out = out.with_term(id.clone(), slope * t);
        }
        for (source, change) in self.of_marks(points, x) {
            out = out.with_term(dial(source), change);
        }
        // in a flat zone no shape between marks is in question
        let Some(shape) = self.shape().filter(|_| self.pieces.zone(x).is_none()) else { return out };
        let terms: Vec<f64> = shape.factors(x - self.pieces.passed(piece)).collect();
        let all = terms.iter().map(|t| t * t).sum::<f64>().sqrt();
        if !self.pieces.zones.is_empty() {
            let parted = self.parted_shape(points, x);
            let widest = if parted.abs() > all { parted } else { all };
            return if widest == 0.0 { out } else { out.with_term(dial(Cause::Shape), widest) };
        }
        for (k, t) in terms.into_iter().enumerate().filter(|(_, t)| t.abs() > LEAST * all) {
            out = out.with_term(dial(Cause::ShapeOf(k)), t);
        }
        out
    }
    /// Doubt of the shape between the sparse marks of a scale that flat zones part, one sigma, where marks are joined by straight
    /// lines: the truth is taken to lie between line and cubic or as far beyond, rectangular about the line. A piece between zones knows
    /// no more of its shape than the whole scale.
    fn parted_shape(&self, points: &[Mark], x: f64) -> f64 {
        if points.len() >= DENSE {
            return 0.0;
        }
        let apart = |marks: &[Mark]| {
            let (xs, ys) = self.knots(marks);
            match (PiecewiseLinear::new(&xs, &ys), Monotone::new(&xs, &ys)) {
                (Ok(line), Ok(cubic)) => cubic.value(x) - line.value(x),
                _ => 0.0,
            }
        };
        let half_width = match self.marks.len() {
            2 => {
                let u = self.fraction(x);
                BOW * 4.0 * u * (1.0 - u) * self.span()
            }
            _ => {
                let (own, whole) = (apart(points), apart(&self.marks));
                if own.abs() > whole.abs() { own } else { whole }
            }
        };
        half_width / 3f64.sqrt()
    }
    /// What each source of the marks does to the value, one sigma. A derivative: a source that would carry a mark past its neighbour
    /// counts in full all the same.
    fn of_marks(&self, points: &[Mark], x: f64) -> Vec<(Cause, f64)> {
        let sources: BTreeSet<&Cause> = points.iter().flat_map(|m| m.terms.keys().chain(m.value_terms.keys())).collect();
        let change = |s: &Cause| {
            let moved = |sign: f64| {
                let of = |terms: &BTreeMap<Cause, f64>| sign * SMALL * terms.get(s).copied().unwrap_or(0.0);
                let (xs, ys): (Vec<f64>, Vec<f64>) =
                    points.iter().map(|m| (self.sign * (m.angle + of(&m.terms)), m.value + of(&m.value_terms))).unzip();
                Self::through(&xs, &ys, x)
            };
            (moved(1.0) - moved(-1.0)) / (2.0 * SMALL)
        };
        // what is not a number stays one, so that no reading comes of it
        sources.into_iter().map(|s| (s.clone(), change(s))).filter(|(_, c)| *c != 0.0).collect()
    }
}
