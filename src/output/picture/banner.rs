//! The text below a picture: what the photo says, large enough for a phone.
use super::palette::{QUIET, TEXT, WARN};
use super::svg::{Anchor, Svg, Type, rough_width, wrap};
use crate::dial::Dial;
use crate::output::words::{Banded, outcome_sentence, plain};
use crate::reading::{Outcome, Reading, Record};

/// Height of the banner for a picture 1200 px wide.
pub const HEIGHT: u32 = 300;
const MARGIN: f64 = 44.0;

/// Regular text of a size and colour, its left end at the position.
pub fn plain_type(size: f64, colour: &'static str) -> Type {
    Type { size, bold: false, colour, anchor: Anchor::Start, halo: None }
}

/// The same, bold.
pub fn bold_type(size: f64, colour: &'static str) -> Type {
    Type { bold: true, ..plain_type(size, colour) }
}

/// Draws the banner with its top at `top`, `width` wide.
pub fn banner(svg: &mut Svg, dial: &Dial, record: &Record, [top, width]: [f64; 2]) {
    let (low, high) = dial.span();
    let ends = |v: f64| format!("{} {}", plain(v), dial.unit.symbol());
    let sentence = outcome_sentence(dial, &record.outcome);
    match &record.outcome {
        Outcome::Reading(reading) => number(svg, reading, [top, width]),
        Outcome::BelowScale => message(svg, &format!("below {}", ends(low)), &sentence, [top, width]),
        Outcome::AboveScale => message(svg, &format!("above {}", ends(high)), &sentence, [top, width]),
        // What was seen in this photo is for the text and the JSON: here it would push out the advice.
        Outcome::Refused(refusal, _) => {
            message(svg, "not read", &format!("{} {}", refusal.sentence(), refusal.advice()), [top, width]);
        }
    }
    corner(svg, dial, record, [top, width]);
}

/// The number: the dial's own unit large, the other below it, then the band.
fn number(svg: &mut Svg, reading: &Reading, [top, width]: [f64; 2]) {
    let own = Banded::of(&reading.temperature, reading.unit);
    let (value, half) = own.head();
    let full = rough_width(&value, 1.0, true) + rough_width(&half, 0.7, false);
    let size = (0.60 * width / full).min(124.0);
    svg.runs([MARGIN, top + 126.0], bold_type(size, TEXT), &[(&value, bold_type(size, TEXT)), (&half, plain_type(0.7 * size, TEXT))]);
    let second = own.other().map_or(String::new(), |o| o.head().0 + &o.head().1);
    svg.text([MARGIN, top + 197.0], plain_type(56.0, QUIET), &second);
    let band = format!("95 % band {}", own.rough_range());
    svg.text([MARGIN, top + 262.0], plain_type(46.0, TEXT), &band);
    let remarks: Vec<String> = reading.flags.iter().map(|f| f.code().replace('_', " ")).collect();
    if !remarks.is_empty() {
        let right = Type { anchor: Anchor::End, ..plain_type(30.0, WARN) };
        for (k, line) in wrap(&remarks.join(", "), 30.0, 0.42 * width).iter().rev().take(3).enumerate() {
            svg.text([width - MARGIN, top + 262.0 - 38.0 * k as f64], right, line);
        }
    }
}

/// A photo without a number: the outcome large, the reason and the advice below it.
fn message(svg: &mut Svg, head: &str, body: &str, [top, width]: [f64; 2]) {
    svg.text([MARGIN, top + 104.0], bold_type(84.0, WARN), head);
    for (k, line) in wrap(body, 35.0, width - 2.0 * MARGIN).iter().take(3).enumerate() {
        svg.text([MARGIN, top + 168.0 + 47.0 * k as f64], plain_type(35.0, TEXT), line);
    }
}

/// Top right: the dial's name and when the photo was taken.
fn corner(svg: &mut Svg, dial: &Dial, record: &Record, [top, width]: [f64; 2]) {
    let right = |size, colour| Type { anchor: Anchor::End, ..plain_type(size, colour) };
    svg.text([width - MARGIN, top + 58.0], right(30.0, QUIET), &shortened(&dial.name, 24));
    if let Some(time) = &record.taken_at {
        svg.text([width - MARGIN, top + 98.0], right(30.0, QUIET), time);
    }
}

/// A name cut to `most` characters.
pub fn shortened(name: &str, most: usize) -> String {
    if name.chars().count() <= most {
        return name.to_string();
    }
    name.chars().take(most.saturating_sub(1)).chain(['…']).collect()
}
