//! How one dial looks: scale, print, needle. The truth of every test comes from here.
use super::glyphs;
use super::shapes::{Colour, Shape, Sheet};
use chacha20::ChaCha8Rng;
use needleband::maths::units::Unit;
use rand::{RngExt, SeedableRng};

/// The needle: a tapered bar with a tail, `height` above the face.
#[derive(Clone, Debug)]
pub struct Needle {
    pub tip: f64,
    pub tail: f64,
    /// Half width at the tail's end and at the tip.
    pub half: [f64; 2],
    pub height: f64,
    pub colour: Colour,
    /// Cap over the pivot, at the needle's height.
    pub hub: f64,
    pub hub_colour: Colour,
}

impl Needle {
    /// How far a point (s along, t across) is inside the needle's sides; negative outside.
    pub fn depth(&self, s: f64, t: f64) -> f64 {
        let f = (s + self.tail) / (self.tip + self.tail);
        let half = self.half[0] + (self.half[1] - self.half[0]) * f;
        (half - t.abs()).min(s + self.tail).min(self.tip - s)
    }
}

/// The needle's shadow on the face.
#[derive(Clone, Copy, Debug)]
pub struct Shadow {
    /// Shift on the face, dial units.
    pub shift: (f64, f64),
    /// Share of light taken.
    pub depth: f64,
    /// Width of its edge, dial units.
    pub soft: f64,
}

/// A dial as its maker drew it.
#[derive(Clone, Debug)]
pub struct Plan {
    pub name: &'static str,
    pub unit: Unit,
    /// Values of the numbered marks, rising.
    pub labels: Vec<f64>,
    /// Numerals printed instead of the values, for another dial of the same layout.
    pub printed: Vec<f64>,
    /// Intervals between two numbered marks.
    pub parts: usize,
    /// Angles of the first and the last mark, degrees clockwise from up, unwrapped.
    pub ends: [f64; 2],
    /// 0: an even scale; above: wider at its start.
    pub bend: f64,
    /// 0: an even scale; above: closer at both ends.
    pub squeeze: f64,
    pub paper: Colour,
    pub print: Colour,
    pub dash: Colour,
    /// Radius of the numerals and their size.
    pub numerals: (f64, f64),
    /// Text: characters, middle, size.
    pub text: Vec<(&'static str, f64, f64, f64)>,
    /// A coloured arc: first and last value, inner and outer radius, colour.
    pub zone: Option<([f64; 2], [f64; 2], Colour)>,
    pub needle: Needle,
    pub shadow: Option<Shadow>,
    /// Radius of the face.
    pub rim: f64,
    /// Width, height and colour of a ring round the face.
    pub bezel: Option<(f64, f64, Colour)>,
    /// Whether unnumbered ticks are printed.
    pub minor: bool,
    /// Dots instead of bars.
    pub dots: bool,
    /// A mark whose tick is not printed.
    pub bare: Option<f64>,
    /// Height over the pivot at which the face is cut straight, so that ticks end there.
    pub cut: Option<f64>,
}

impl Plan {
    fn share(&self, value: f64) -> f64 {
        let (a, b) = (self.labels[0], self.labels[self.labels.len() - 1]);
        (value - a) / (b - a)
    }
    /// Last value minus first.
    pub fn span(&self) -> f64 {
        self.labels[self.labels.len() - 1] - self.labels[0]
    }
    /// Angle of a value, degrees clockwise from up, unwrapped; straight on beyond the ends.
    pub fn angle(&self, value: f64) -> f64 {
        let u = self.share(value);
        let inside = u.clamp(0.0, 1.0);
        let turn = std::f64::consts::TAU * inside;
        let slope = 1.0 + self.bend * (1.0 - 2.0 * inside) - self.squeeze * turn.cos();
        let squeezed = inside - self.squeeze * turn.sin() / std::f64::consts::TAU;
        let f = squeezed + self.bend * inside * (1.0 - inside) + slope * (u - inside);
        self.ends[0] + (self.ends[1] - self.ends[0]) * f
    }
    /// Radius at which the tick of a value ends.
    pub fn reach(&self, value: f64) -> f64 {
        let up = self.angle(value).to_radians().cos();
        self.cut.filter(|cut| up > *cut).map_or(1.0, |cut| cut / up)
    }
    /// Every printed tick: value, and whether it is numbered.
    pub fn ticks(&self) -> Vec<(f64, bool)> {
        let mut out = vec![(self.labels[0], true)];
        for w in self.labels.windows(2) {
            for k in 1..=self.parts {
                let numbered = k == self.parts;
                if numbered || self.minor {
                    out.push((w[0] + (w[1] - w[0]) * k as f64 / self.parts as f64, numbered));
                }
            }
        }
        out
    }
    /// The printed face.
    pub fn face(&self) -> Sheet {
        let mut shapes = Vec::new();
        if let Some(([from, to], [inner, outer], colour)) = self.zone {
            let (a, b) = (self.angle(from), self.angle(to));
            shapes.push((Shape::Arc { from: a.min(b), to: a.max(b), inner, outer }, colour));
        }
        for (value, numbered) in self.ticks().into_iter().filter(|t| Some(t.0) != self.bare) {
            let end = self.reach(value);
            let (s, c) = self.angle(value).to_radians().sin_cos();
            let (s, c) = (end * s, end * c);
            let shape = if self.dots {
                let half = if numbered { 0.045 } else { 0.03 };
                let middle = ((1.0 - half) * s, (1.0 - half) * c);
                Shape::Pen { a: middle, b: (middle.0 + 1e-6, middle.1), half }
            } else {
                let (inner, half) = if numbered { (0.86, 0.013) } else { (0.92, 0.009) };
                Shape::Bar { a: (inner * s, inner * c), b: (s, c), half }
            };
            shapes.push((shape, self.print));
        }
        let (radius, size) = self.numerals;
        for (value, numeral) in self.labels.iter().zip(&self.printed) {
            let (s, c) = self.angle(*value).to_radians().sin_cos();
            self.write(&format!("{numeral}"), (radius * s, radius * c), size, &mut shapes);
        }
        for &(text, x, y, size) in &self.text {
            self.write(text, (x, y), size, &mut shapes);
        }
        Sheet::new(self.paper, self.rim, shapes)
    }
    /// Upright text about a middle; `size` is the height of a character.
    fn write(&self, text: &str, middle: (f64, f64), size: f64, shapes: &mut Vec<(Shape, Colour)>) {
        let grid = size / 6.0;
        let advance = 5.6 * grid;
        let width = advance * (text.chars().count() as f64 - 1.0) + 4.0 * grid;
        for (i, c) in text.chars().enumerate() {
            let left = middle.0 - 0.5 * width + advance * i as f64;
            let at = |p: &(f64, f64)| (left + p.0 * grid, middle.1 - 0.5 * size + p.1 * grid);
            for stroke in glyphs::strokes(c) {
                shapes.extend(stroke.windows(2).map(|w| (Shape::Pen { a: at(&w[0]), b: at(&w[1]), half: 0.09 * size }, self.print)));
            }
        }
    }
    /// What lies round the dial: a dash with seams and vents, in its own plane.
    pub fn surroundings(&self) -> Sheet {
        let mut rng = ChaCha8Rng::seed_from_u64(self.name.bytes().map(u64::from).sum());
        let mut shapes = Vec::new();
        for _ in 0..90 {
            let (x, y) = (rng.random_range(-4.0..4.0), rng.random_range(-3.5..3.5));
            let (angle, length) = (rng.random_range(0.0..std::f64::consts::TAU), rng.random_range(0.1..0.9));
            let (dx, dy) = (0.5 * length * f64::cos(angle), 0.5 * length * f64::sin(angle));
            let level: f64 = rng.random_range(-30.0..45.0);
            let colour = self.dash.map(|v| (v + level).clamp(0.0, 255.0));
            let half = rng.random_range(0.02..0.08);
            shapes.push((Shape::Bar { a: (x - dx, y - dy), b: (x + dx, y + dy), half }, colour));
        }
        Sheet::new(self.dash, 5.0, shapes)
    }
}
