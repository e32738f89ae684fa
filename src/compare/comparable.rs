//! Remarks on sides that may not be comparable: not settled, other weather, other load.
use super::comparison::Comparison;
use super::given::{Ambient, Conditions};
use super::note::Note;
use crate::maths::source::Which;
use crate::maths::units::Unit;

/// Ambient temperatures further apart than this (°C) are named: at its limit a cooler passes all of it on. A choice, no standard.
const AMBIENT_FAR: f64 = 5.0;
/// Loads that differ by more than this share are named. Air drag grows as the cube of the speed in power, so a tenth more speed is a
/// third more of it; a choice, no standard.
const LOAD_FAR: f64 = 0.1;

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

/// Whether the change that the photos show could be the weather's alone: it is seen, and no longer with the weather taken out.
fn explains(c: &Comparison) -> Option<Note> {
    let adjusted = c.adjusted.as_ref()?;
    (c.verdict.is_real() && !adjusted.verdict.is_real()).then_some(Note::AmbientExplains)
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
