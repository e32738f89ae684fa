//! Axes of a plot: time below, temperature in both units, round ticks.
use super::banner::plain_type;
use super::look::Look;
use super::svg::{Anchor, Stroke, Svg, Type};
use crate::maths::range::range;
use crate::maths::units::Unit;
use crate::output::words::plain;
use crate::settle::Answer;

/// Where times and temperatures lie on the canvas.
#[derive(Clone, Copy, Debug)]
pub(super) struct Axes {
    /// Left, top, width, height, px.
    frame: [f64; 4],
    /// Seconds shown.
    span: f64,
    /// Lowest and highest temperature shown, in `unit`.
    range: (f64, f64),
    unit: Unit,
    look: Look,
}

impl Axes {
    /// Axes that hold all readings, the level and the limit, with some room.
    pub fn over(a: &Answer, frame: [f64; 4], look: Look) -> Self {
        let readings = a.points.iter().flat_map(|p| [p.value.value() - 2.0 * p.own, p.value.value() + 2.0 * p.own]);
        let level = a.level.iter().flat_map(|l| [l.temperature.band().0, l.temperature.band().1]);
        let all: Vec<f64> = readings.chain(level).chain(a.limit).filter(|v| v.is_finite()).collect();
        let (low, high) = range(all.iter().copied());
        let room = (0.06 * (high - low)).max(0.5);
        Self { frame, span: a.span.max(1e-9), range: (low - room, high + room), unit: a.unit, look }
    }
    /// px of a time.
    pub fn x(&self, seconds: f64) -> f64 {
        let [left, _, width, _] = self.frame;
        left + width * (0.02 + 0.96 * seconds / self.span)
    }
    /// px of a temperature; what lies outside is put on the edge.
    pub fn y(&self, value: f64) -> f64 {
        let [_, top, _, height] = self.frame;
        top + height * (1.0 - ((value - self.range.0) / (self.range.1 - self.range.0)).clamp(0.0, 1.0))
    }
    /// px of the left and the right edge.
    pub fn ends(&self) -> [f64; 2] {
        [self.frame[0], self.frame[0] + self.frame[2]]
    }
    /// Frame, ticks, numbers and units.
    pub fn draw(&self, svg: &mut Svg) {
        let [left, top, width, height] = self.frame;
        let (right, bottom) = (left + width, top + height);
        let other = self.unit.other();
        let Look { ink: text, quiet, size, .. } = self.look;
        let k = size / 24.0;
        let hair = Stroke::solid(quiet, (1.6 * k).max(1.0));
        for v in ticks(self.range.0, self.range.1) {
            let y = self.y(v);
            svg.line(&[[left, y], [right, y]], Stroke::solid(quiet, 1.0).faded(0.22));
            svg.text([left - 12.0 * k, y + 8.0 * k], Type { anchor: Anchor::End, ..plain_type(size, text) }, &plain(v));
        }
        if let Some(other) = other {
            let to = |v: f64| self.unit.convert(v, other);
            for v in ticks(to(self.range.0), to(self.range.1)) {
                let y = self.y(other.convert(v, self.unit));
                svg.line(&[[right - 8.0 * k, y], [right, y]], hair);
                svg.text([right + 12.0 * k, y + 8.0 * k], plain_type(size, quiet), &plain(v));
            }
            svg.text([right + 12.0 * k, top - 14.0 * k], plain_type(size, quiet), other.symbol());
        }
        let (scale, name) = match self.span {
            s if s >= 3.0 * 3600.0 => (3600.0, "h"),
            s if s >= 180.0 => (60.0, "min"),
            _ => (1.0, "s"),
        };
        for t in ticks(0.0, self.span / scale) {
            let x = self.x(t * scale);
            svg.line(&[[x, bottom - 8.0 * k], [x, bottom]], hair);
            svg.text([x, bottom + 34.0 * k], Type { anchor: Anchor::Middle, ..plain_type(size, text) }, &plain(t));
        }
        svg.line(&[[left, top], [right, top], [right, bottom], [left, bottom], [left, top]], hair);
        svg.text([left - 12.0 * k, top - 14.0 * k], Type { anchor: Anchor::End, ..plain_type(size, text) }, self.unit.symbol());
        let below = format!("time since the first photo, {name}");
        svg.text([left + width / 2.0, bottom + 74.0 * k], Type { anchor: Anchor::Middle, ..plain_type(size, text) }, &below);
    }
}

/// Some five to ten round numbers between two: steps of 1, 2 or 5 times a power of ten.
pub(super) fn ticks(low: f64, high: f64) -> Vec<f64> {
    let width = high - low;
    if !(width > 0.0 && width.is_finite()) {
        return Vec::new();
    }
    let power = 10f64.powf((width / 5.0).log10().floor());
    let step = [5.0, 2.0, 1.0].into_iter().map(|m| m * power).find(|s| width / s >= 5.0).unwrap_or(power);
    let first = (low / step).ceil();
    (0..40).map(|k| (first + f64::from(k)) * step).take_while(|v| *v <= high + 1e-9 * width).collect()
}

#[cfg(test)]
mod tests {
    use super::ticks;

    #[test]
    fn ticks_are_round_and_few() {
        assert_eq!(ticks(0.0, 25.0), [0.0, 5.0, 10.0, 15.0, 20.0, 25.0]);
        assert_eq!(ticks(41.2, 96.3), [50.0, 60.0, 70.0, 80.0, 90.0]);
        assert!(ticks(1.0, 1.0).is_empty() && ticks(0.0, f64::INFINITY).is_empty());
        for width in [0.013, 1.0, 7.7, 99.0, 12345.0] {
            assert!((5..=11).contains(&ticks(3.0, 3.0 + width).len()), "{width}");
        }
    }
}
