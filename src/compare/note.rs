//! What a reader of a difference should know beside the number.
use crate::maths::rounding::{band, significant};
use crate::maths::source::Which;
use crate::maths::units::Unit;

/// A remark on a comparison. The number stands; the remark says what to mind.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum Note {
    /// A side has a single photo and the other side's scatter is used for it.
    ScatterLent(Which),
    /// A side has a single photo and the scatter is from elsewhere: the standard deviation between photos.
    ScatterFromElsewhere(f64, Unit),
    /// Neither side lends a scatter to a single photo: none is known.
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
    /// Photos of the side stand beyond an end of the scale: how many below, how many above.
    BeyondScale(Which, (usize, usize)),
    /// Readings of the side have bands wider than their terms (a flat stretch of the scale).
    WideBand(Which),
    /// Readings of the side stand in a flat zone of the dial: from which to which value, and the unit.
    FlatZone(Which, (f64, f64), Unit),
    /// Every photo after is older than every photo before.
    WrongWayRound,
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
            Note::ScatterFromElsewhere(sd, unit) => format!(
                "A single photo shows no scatter: {} {} between photos (one standard deviation) is taken, from elsewhere, and is in the \
                 band. Take three or more a side.",
                significant(sd, 2),
                unit.symbol()
            ),
            Note::NoScatter => {
                "A single photo shows no scatter: how far the needle wanders between photos is not known and not in the band, so a \
                 difference may be scatter. Take three or more a side, or give the scatter with --scatter (plan tells what it assumes)."
                    .to_string()
            }
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
            Note::BeyondScale(w, counts) => beyond(w, counts),
            Note::FlatZone(w, (low, high), unit) => format!(
                "The needle {} stands in a flat zone of the dial, so the temperature is anything from {} {}; the band of the change counts \
                 all of it. Compare at a temperature outside the zone.",
                w.word(),
                band(low, high).to_string().replace('-', "−"),
                unit.symbol()
            ),
            Note::WideBand(w) => format!(
                "The needle {} stands where the dial tells temperatures apart poorly; the band of the change is wider for it.",
                w.word()
            ),
            Note::WrongWayRound => {
                "By their capture times all photos after are older than those before: the sides may be the wrong way round, \
                 and a drop would be a rise. Look at the dates, or exchange the two."
                    .to_string()
            }
            Note::NotSettled(_)
            | Note::AmbientFar(..)
            | Note::AmbientExplains
            | Note::AmbientAssumed(..)
            | Note::LoadFar
            | Note::LoadUnlike => condition_sentence(self),
        }
    }
}

/// Which way the side and the change are limits.
fn beyond(which: Which, (below, above): (usize, usize)) -> String {
    let stand = |n: usize, place: &str| {
        format!("{n} photo{} {} {} {place}", if n == 1 { "" } else { "s" }, which.word(), if n == 1 { "stands" } else { "stand" })
    };
    let (seen, meaning) = match (below, above) {
        (n, 0) => (stand(n, "below the scale"), "the true mean is lower than that of the others"),
        (0, n) => (stand(n, "above the scale"), "the true mean is higher than that of the others"),
        (l, h) => (format!("{} and {}", stand(l, "below the scale"), stand(h, "above it")), "nothing is known of the true mean"),
    };
    format!(
        "{seen}, where no number can be read: {meaning}, and the change is known as a limit at best. Compare at temperatures that are on the \
         scale on both sides."
    )
}

/// What was seen, what it means, what to do.
fn condition_sentence(note: Note) -> String {
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
}
