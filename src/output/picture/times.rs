//! Readings of many photos with their bands, by capture time or in the order given, as an element of a page.
use super::axes::ticks;
use super::banner::plain_type;
use super::look::PAGE;
use super::svg::{Anchor, Stroke, Svg, Type};
use crate::maths::range::range;
use crate::maths::units::Unit;
use crate::output::words::plain;
use crate::reading::{Outcome, Record};
use crate::settle::seconds_of;
use jiff::Span;
use jiff::civil::{Date, date as civil_date};

/// Width and height, in units that a phone shows at their own size.
const SIZE: [f64; 2] = [360.0, 260.0];
/// Left, top, width, height of the frame.
const FRAME: [f64; 4] = [36.0, 26.0, 284.0, 184.0];
const DAY: f64 = 86_400.0;

/// A photo in the plot.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Point {
    /// Seconds, or its place in the order given, from 0.
    at: f64,
    /// Value and band; `None` where there is no number.
    value: Option<(f64, (f64, f64))>,
}

/// What is to be plotted.
#[derive(Clone, Debug, PartialEq)]
pub struct TimePlot {
    unit: Unit,
    points: Vec<Point>,
    /// First and last capture time of the axis; `None` where the axis is the order given.
    days: Option<Days>,
    limit: Option<f64>,
}

/// Capture times of the first and the last photo, seconds.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Days {
    first: f64,
    last: f64,
}

impl TimePlot {
    /// Of photos in the order given; `None` entries could not be opened. By time where each that was opened says when it was taken and not
    /// all say the same. `None` without a reading.
    pub fn of<'a>(unit: Unit, records: impl Iterator<Item = Option<&'a Record>>, limit: Option<f64>) -> Option<Self> {
        let all: Vec<(usize, &Record)> = records.enumerate().filter_map(|(k, r)| Some((k, r?))).collect();
        let times: Option<Vec<f64>> = all.iter().map(|(_, r)| seconds_of(r.taken_at.as_deref()?)).collect();
        let ends = times.as_ref().map(|t| range(t.iter().copied()));
        let days = ends.filter(|(a, b)| b > a).map(|(first, last)| Days { first, last });
        let at = |i: usize, k: usize| days.and_then(|d| Some(times.as_ref()?.get(i)? - d.first)).unwrap_or(k as f64);
        let value = |r: &Record| match &r.outcome {
            Outcome::Reading(r) => Some((r.temperature.value(), r.temperature.band())),
            _ => None,
        };
        let points: Vec<Point> = all.iter().enumerate().map(|(i, (k, r))| Point { at: at(i, *k), value: value(r) }).collect();
        points.iter().any(|p| p.value.is_some()).then_some(Self { unit, points, days, limit })
    }
    /// Whether the axis is time.
    pub fn by_time(&self) -> bool {
        self.days.is_some()
    }
    /// Photos without a number.
    pub fn without(&self) -> usize {
        self.points.iter().filter(|p| p.value.is_none()).count()
    }
    fn span(&self) -> f64 {
        self.points.iter().map(|p| p.at).fold(0.0, f64::max).max(1e-9)
    }
    fn range(&self) -> (f64, f64) {
        let bands = self.points.iter().filter_map(|p| p.value).flat_map(|(_, b)| [b.0, b.1]).chain(self.limit);
        let (low, high) = range(bands.filter(|v| v.is_finite()));
        let room = (0.08 * (high - low)).max(0.5);
        (low - room, high + room)
    }
}

/// The plot; `said` is what it shows in words.
pub fn times_inline(plot: &TimePlot, said: &str) -> String {
    let mut svg = Svg::new();
    let [left, top, width, height] = FRAME;
    let (right, bottom) = (left + width, top + height);
    let (low, high) = plot.range();
    let y = |v: f64| top + height * (1.0 - ((v - low) / (high - low)).clamp(0.0, 1.0));
    let x = |at: f64| left + width * (0.03 + 0.94 * at / plot.span());
    values(&mut svg, plot, (low, high), &y);
    let below = times(&mut svg, plot, &x);
    let hair = Stroke::solid(PAGE.quiet, 1.0);
    svg.line(&[[left, top], [right, top], [right, bottom], [left, bottom], [left, top]], hair);
    svg.text([left + width / 2.0, bottom + 38.0], Type { anchor: Anchor::Middle, ..plain_type(PAGE.size, PAGE.ink) }, &below);
    if let Some(limit) = plot.limit {
        svg.line(&[[left, y(limit)], [right, y(limit)]], Stroke::solid(PAGE.warn, 1.6).dashed(6.0));
    }
    for p in &plot.points {
        let x = x(p.at);
        if let Some((value, band)) = p.value {
            let (a, b) = (y(band.0), y(band.1));
            // at least three px, so that a narrow band is seen beside its ring
            let (a, b) = (a.max(y(value) + 5.0), b.min(y(value) - 5.0));
            svg.line(&[[x, a], [x, b]], Stroke::solid(PAGE.mark, PAGE.strokes.bar));
            svg.ring([x, y(value)], PAGE.strokes.ring.0, Stroke::solid(PAGE.mark, PAGE.strokes.ring.1));
        } else {
            let (y, r) = (bottom - 7.0, 3.5);
            svg.line(&[[x - r, y - r], [x + r, y + r]], Stroke::solid(PAGE.warn, 1.4));
            svg.line(&[[x - r, y + r], [x + r, y - r]], Stroke::solid(PAGE.warn, 1.4));
        }
    }
    svg.inline(SIZE, &format!("Plot of the readings, each with its 95 % band. {said}."))
}

/// Grid and numbers of the values, in both units.
fn values(svg: &mut Svg, plot: &TimePlot, (low, high): (f64, f64), y: &dyn Fn(f64) -> f64) {
    let [left, top, width, _] = FRAME;
    let (right, unit) = (left + width, plot.unit);
    for v in ticks(low, high) {
        svg.line(&[[left, y(v)], [right, y(v)]], Stroke::solid(PAGE.quiet, 1.0).faded(0.22));
        svg.text([left - 6.0, y(v) + 4.0], Type { anchor: Anchor::End, ..plain_type(PAGE.size, PAGE.ink) }, &plain(v));
    }
    svg.text([left - 6.0, top - 8.0], Type { anchor: Anchor::End, ..plain_type(PAGE.size, PAGE.ink) }, unit.symbol());
    let Some(other) = unit.other() else { return };
    for v in ticks(unit.convert(low, other), unit.convert(high, other)) {
        let y = y(other.convert(v, unit));
        svg.line(&[[right - 4.0, y], [right, y]], Stroke::solid(PAGE.quiet, 1.0));
        svg.text([right + 6.0, y + 4.0], plain_type(PAGE.size, PAGE.quiet), &plain(v));
    }
    svg.text([right + 6.0, top - 8.0], plain_type(PAGE.size, PAGE.quiet), other.symbol());
}

/// Ticks of the times; what stands below them.
fn times(svg: &mut Svg, plot: &TimePlot, x: &dyn Fn(f64) -> f64) -> String {
    let bottom = FRAME[1] + FRAME[3];
    let mut tick = |at: f64, words: &str| {
        svg.line(&[[x(at), bottom - 4.0], [x(at), bottom]], Stroke::solid(PAGE.quiet, 1.0));
        svg.text([x(at), bottom + 16.0], Type { anchor: Anchor::Middle, ..plain_type(PAGE.size, PAGE.ink) }, words);
    };
    let Some(days) = plot.days else {
        // photo numbers are whole
        let all = ticks(0.0, plot.span() + 1.0).into_iter().map(|v| v.round()).filter(|v| (1.0..=plot.span() + 1.0).contains(v));
        let mut last = 0.0;
        for v in all {
            if v > last {
                tick(v - 1.0, &plain(v));
                last = v;
            }
        }
        return "photo".to_string();
    };
    let span = days.last - days.first;
    if span > 2.0 * DAY {
        let midnight = (days.first / DAY).ceil() * DAY;
        let whole = (span / DAY).floor().max(1.0);
        let step = [1.0, 2.0, 7.0, 14.0, 28.0, 91.0, 182.0, 364.0].into_iter().find(|s| whole / s <= 5.0).unwrap_or(728.0) * DAY;
        for k in 0..8 {
            let at = midnight + f64::from(k) * step;
            if at <= days.last {
                tick(at - days.first, &day(at));
            }
        }
        return format!("{} to {}", date(days.first), date(days.last));
    }
    let step = [300.0, 600.0, 1800.0, 3600.0, 7200.0, 14_400.0, 28_800.0].into_iter().find(|s| span / s <= 5.0).unwrap_or(43_200.0);
    let step = if span < 600.0 { [10.0, 30.0, 60.0, 120.0].into_iter().find(|s| span / s <= 5.0).unwrap_or(120.0) } else { step };
    let first = (days.first / step).ceil() * step;
    for k in 0..8 {
        let at = first + f64::from(k) * step;
        if at <= days.last {
            let s = at.rem_euclid(DAY);
            let (h, m, rest) = ((s / 3600.0).floor(), (s / 60.0).floor() % 60.0, s % 60.0);
            let words = if step < 60.0 { format!("{h:02.0}:{m:02.0}:{rest:02.0}") } else { format!("{h:02.0}:{m:02.0}") };
            tick(at - days.first, &words);
        }
    }
    match date(days.first) == date(days.last) {
        true => date(days.first),
        false => format!("{} to {}", date(days.first), date(days.last)),
    }
}

/// The date of seconds as `seconds_of` counts them: days from 1 March of the year 0.
fn civil(seconds: f64) -> Date {
    civil_date(0, 3, 1).saturating_add(Span::new().days((seconds / DAY).floor() as i64))
}

/// "12 Aug"
fn day(seconds: f64) -> String {
    civil(seconds).strftime("%-d %b").to_string()
}

/// "2026-08-12"
fn date(seconds: f64) -> String {
    civil(seconds).to_string()
}

#[cfg(test)]
mod tests {
    use super::{date, day, seconds_of};

    #[test]
    fn days_have_the_names_of_the_calendar() {
        for text in ["1970-01-01", "2000-02-29", "2024-03-01", "2026-08-12", "2026-12-31", "2100-02-28"] {
            assert_eq!(date(seconds_of(&format!("{text} 10:31:07")).unwrap()), text);
        }
        assert_eq!(day(seconds_of("2026-08-12 00:00:00").unwrap()), "12 Aug");
    }
}
