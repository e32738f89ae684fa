//! Remarks on sides that may not be comparable: not settled, other weather, other load.
use super::ambient::explains;
use super::change::Comparison;
use super::given::{Ambient, Conditions};
use super::note::Note;
use super::side::Which;
use crate::maths::rounding::significant;
use crate::maths::units::Unit;

/// Ambient temperatures further apart than this (°C) are named: at its limit a cooler passes all of it on. A choice, no standard.
const AMBIENT_FAR: f64 = 5.0;
/// Loads that differ by more than this share are named. Air drag grows as the cube of the speed in power, so a tenth more speed is a
/// third more of it; a choice, no standard.
const LOAD_FAR: f64 = 0.1;

/// What was seen, what it means, what to do.
pub(super) fn condition_sentence(note: Note) -> String {
    match note {
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
        _ => String::new(),
    }
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
    fn each_has_its_words() {
        let unit = Unit::C;
        let all = [
            Note::NotSettled(Which::Before),
            Note::AmbientFar(-6.0, unit),
            Note::AmbientExplains,
            Note::AmbientAssumed(2.0, unit),
            Note::LoadFar,
            Note::LoadUnlike,
        ];
        all.into_iter().for_each(|n| assert!(condition_sentence(n).ends_with('.') && n.sentence() == condition_sentence(n), "{n:?}"));
    }

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
