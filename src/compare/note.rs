//! What a reader of a difference should know beside the number.
use super::ambient::explains;
use super::change::Comparison;
use super::given::{Ambient, Conditions};
use super::half::Half;
use super::side::{Origin, Which};
use crate::base::rounding::{band, significant};
use crate::base::units::Unit;

/// The readings of a side count as wandering when they scatter this many times more than their photos explain.
const WANDERS: f64 = 2.0;
/// Ambient temperatures further apart than this (°C) are named: at its limit a cooler passes all of it on. A choice, no standard.
const AMBIENT_FAR: f64 = 5.0;
/// Loads that differ by more than this share are named. Air drag grows as the cube of the speed in power, so a tenth more speed is a
/// third more of it; a choice, no standard.
const LOAD_FAR: f64 = 0.1;

/// A remark on a comparison. The number stands; the remark says what to mind.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Note {
    /// A side has a single photo and the other side's scatter is used for it.
    ScatterLent(Which),
    /// Both sides have a single photo: no scatter is known.
    NoScatter,
    /// The readings of a side scatter more than their photos explain.
    Wanders(Which),
    /// The sides rest on different dial files.
    DifferentDials,
    /// Readings were converted to the unit of the comparison.
    Converted(Unit),
    /// The same photo is on both sides.
    OnBothSides(usize),
    /// A reading of the side stands on the last mark of the scale.
    AtScaleEnd(Which),
    /// Readings of the side have bands wider than their terms (a flat stretch of the scale).
    WideBand(Which),
    /// Readings of the side stand in a flat zone of the dial: from which to which value, and the unit.
    FlatZone(Which, (f64, f64), Unit),
    /// The side had not settled: it was still moving at its end.
    NotSettled(Which),
    /// The ambient temperatures differ by so much.
    AmbientFar(f64, Unit),
    /// A change is seen, and the weather alone may have made it.
    AmbientExplains,
    /// No limits were given for an ambient temperature; so much was taken.
    AmbientAssumed(f64, Unit),
    /// The loads are numbers that lie far apart.
    LoadFar,
    /// The loads are told in different words, or on one side only.
    LoadUnlike,
}

impl Note {
    /// What was seen, what it means, what to do.
    pub fn sentence(self) -> String {
        match self {
            Note::ScatterLent(w) => format!(
                "Only one photo {}: how far the needle wanders between photos is not known from it, so the scatter of the photos {} is \
                 used for both. Take three or more a side.",
                w.word(),
                w.other().word()
            ),
            Note::NoScatter => "One photo a side: how far the needle wanders between photos is not known and not in the band. \
                 Take three or more a side."
                .to_string(),
            Note::Wanders(w) => format!(
                "The photos {} differ by more than each of them explains: the needle moved between them, and the band is wider for it. \
                 Take them when the temperature has settled.",
                w.word()
            ),
            Note::DifferentDials => "The two sides were read with different dial files, so no error of the dial cancels. \
                 Read both with the same file."
                .to_string(),
            Note::Converted(unit) => format!("Readings in the other unit were converted to {}.", unit.symbol()),
            Note::OnBothSides(n) => {
                format!("{n} photo{} on both sides: what they share shows no change.", if n == 1 { " is" } else { "s are" })
            }
            Note::AtScaleEnd(w) => format!(
                "A reading {} stands on the last mark of the scale: the true temperature may lie outside it. Treat the change as a limit.",
                w.word()
            ),
            Note::FlatZone(w, (low, high), unit) => format!(
                "The needle {} stands in a flat zone of the dial, so the temperature is anything from {} {}; the band of the change counts \
                 all of it. Compare at a temperature outside the zone.",
                w.word(),
                band(low, high).replace('-', "−"),
                unit.symbol()
            ),
            Note::NotSettled(w) => format!(
                "The temperature {} was still moving when the last photo was taken, so the side is not a settled one and the change holds \
                 what was left to go. Wait longer; needleband settle tells when it is there.",
                w.word()
            ),
            Note::AmbientFar(by, unit) => format!(
                "The ambient temperatures differ by {} {}: anything from none to all of that may be in the change. Compare on days alike.",
                significant(by.abs(), 2),
                unit.symbol()
            ),
            Note::AmbientExplains => "The change is seen, but with the weather taken out it is not: the weather alone may have made it. \
                 Take the photos of one side again on a day like the other's."
                .to_string(),
            Note::AmbientAssumed(half, unit) => format!(
                "An ambient temperature was given without its ±: ±{} {} is taken, as a vehicle's outside thermometer is commonly right to \
                 a degree or two. Write it like 24C±1 when you know better.",
                significant(half, 2),
                unit.symbol()
            ),
            Note::LoadFar => "The loads of the two sides differ by more than a tenth, and what the load does is in the change. \
                 Compare at the same load."
                .to_string(),
            Note::LoadUnlike => "The loads of the two sides are not told alike, so it is not known whether they can be compared. \
                 Give both like \"80 km/h\", and drive both alike."
                .to_string(),
            Note::WideBand(w) => format!(
                "The needle {} stands where the dial tells temperatures apart poorly; the band of the change is wider for it.",
                w.word()
            ),
        }
    }
}

/// The remarks on two sides, in the order before, after.
pub(super) fn notes(b: &Half, a: &Half, unit: Unit) -> Vec<Note> {
    let sides = [(Which::Before, b), (Which::After, a)];
    let mut all = match (b.own, a.own) {
        (None, None) => vec![Note::NoScatter],
        (None, Some(_)) => vec![Note::ScatterLent(Which::Before)],
        (Some(_), None) => vec![Note::ScatterLent(Which::After)],
        _ => Vec::new(),
    };
    for (w, s) in sides {
        // in a flat zone the numbers differ by nothing that the temperature did
        if s.scatter.is_some_and(|x| x.sd > WANDERS * x.expected) && s.flat.is_none() {
            all.push(Note::Wanders(w));
        }
    }
    all.extend(sides.iter().filter(|(_, s)| s.at_end).map(|(w, _)| Note::AtScaleEnd(*w)));
    for (w, s) in sides {
        match s.flat {
            Some(zone) => all.push(Note::FlatZone(w, zone, unit)),
            // the band of a settled level has its own shape, which is no matter of the dial
            None if s.over.0 + s.over.1 > 0.0 && s.origin == Origin::Photos => all.push(Note::WideBand(w)),
            None => {}
        }
    }
    if b.dials != a.dials {
        all.push(Note::DifferentDials);
    }
    if b.converted || a.converted {
        all.push(Note::Converted(unit));
    }
    let both = b.ids.intersection(&a.ids).count();
    if both > 0 {
        all.push(Note::OnBothSides(both));
    }
    all
}

/// The remarks on the conditions of the two sides.
pub(super) fn condition_notes(c: &Comparison, given: [&Conditions; 2]) -> Vec<Note> {
    let [b, a] = given;
    let moving = [(Which::Before, b), (Which::After, a)].into_iter().filter(|(_, g)| g.moving);
    let mut all: Vec<Note> = moving.map(|(w, _)| Note::NotSettled(w)).collect();
    let far = c.unit.convert_difference(c.adjusted.as_ref().map_or(0.0, |x| x.ambient.value()), Unit::C);
    if far.abs() > AMBIENT_FAR {
        all.push(Note::AmbientFar(Unit::C.convert_difference(far, c.unit), c.unit));
    }
    all.extend(explains(c));
    let assumed = |g: &Conditions| g.ambient.filter(|x| x.assumed).map(|x: Ambient| x.to(c.unit).half);
    all.extend(assumed(b).or_else(|| assumed(a)).map(|half| Note::AmbientAssumed(half, c.unit)));
    all.extend(load_note(b.load.as_deref(), a.load.as_deref()));
    all
}

fn load_note(before: Option<&str>, after: Option<&str>) -> Option<Note> {
    let (b, a) = match (before, after) {
        (None, None) => return None,
        (Some(b), Some(a)) => (b.trim(), a.trim()),
        _ => return Some(Note::LoadUnlike),
    };
    match (amount(b), amount(a)) {
        (Some((x, u)), Some((y, v))) if u == v => ((x - y).abs() > LOAD_FAR * x.abs().max(y.abs())).then_some(Note::LoadFar),
        _ => (b.to_lowercase() != a.to_lowercase()).then_some(Note::LoadUnlike),
    }
}

/// "80 km/h" as a number and its unit.
fn amount(load: &str) -> Option<(f64, String)> {
    let end = load.find(|c: char| !(c.is_ascii_digit() || c == '.' || c == '-')).unwrap_or(load.len());
    let number = load.get(..end)?.parse::<f64>().ok()?;
    Some((number, load.get(end..)?.split_whitespace().collect::<String>().to_lowercase()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn loads() {
        let say = |b: &str, a: &str| load_note(Some(b), Some(a));
        assert_eq!((say("80 km/h", "84km/h"), say("Hill, third gear", "hill, third gear"), load_note(None, None)), (None, None, None));
        assert_eq!(say("80 km/h", "100 km/h"), Some(Note::LoadFar));
        assert_eq!(say("80 km/h", "80 mph"), Some(Note::LoadUnlike));
        assert_eq!(say("80 km/h, 2.1 t", "80 km/h, 3 t"), Some(Note::LoadUnlike));
        assert_eq!(load_note(Some("80 km/h"), None), Some(Note::LoadUnlike));
    }
}
