//! The remarks on two sides as they are.
use super::half::Half;
use super::lender::Lender;
use super::note::Note;
use super::side::Origin;
use crate::maths::source::Which;
use crate::maths::units::Unit;

/// The readings of a side count as wandering when they scatter this many times more than their photos explain.
const WANDERS: f64 = 2.0;

/// The remarks on two sides, in the order before, after.
pub(super) fn notes(b: &Half, a: &Half, lent: Option<Lender>, unit: Unit) -> Vec<Note> {
    let sides = [(Which::Before, b), (Which::After, a)];
    let mut all = match (b.own, a.own, lent) {
        (Some(_), Some(_), _) => Vec::new(),
        (None, Some(_), Some(_)) if a.lends.is_some() => vec![Note::ScatterLent(Which::Before)],
        (Some(_), None, Some(_)) if b.lends.is_some() => vec![Note::ScatterLent(Which::After)],
        (_, _, Some(lent)) => vec![Note::ScatterFromElsewhere(lent.sd(), unit)],
        _ => vec![Note::NoScatter],
    };
    for (w, s) in sides {
        // in a flat zone the numbers differ by nothing that the temperature did
        if s.scatter.is_some_and(|x| x.sd > WANDERS * x.expected) && s.flat.is_none() {
            all.push(Note::Wanders(w));
        }
    }
    all.extend(sides.iter().filter(|(_, s)| s.at_end).map(|(w, _)| Note::AtScaleEnd(*w)));
    all.extend(sides.iter().filter(|(_, s)| s.beyond != (0, 0)).map(|(w, s)| Note::BeyondScale(*w, s.beyond)));
    for (w, s) in sides {
        match s.flat {
            Some(zone) => all.push(Note::FlatZone(w, zone, unit)),
            // the band of a settled level has its own shape, which is no matter of the dial
            None if s.beyond == (0, 0) && s.surplus.0 + s.surplus.1 > 0.0 && s.origin == Origin::Photos => all.push(Note::WideBand(w)),
            None => {}
        }
    }
    if b.taken.as_ref().zip(a.taken.as_ref()).is_some_and(|(b, a)| a.1 < b.0) {
        all.push(Note::WrongWayRound);
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
