//! What a reader of the answer should know beside it.
use super::verdict::length;
use crate::maths::rounding::significant;
use crate::maths::units::Unit;

/// A remark. The answer stands; the remark says what to mind.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum Note {
    /// So many readings lie far off the curve and were held down.
    BadReadings(usize),
    /// Neighbouring readings are alike: lag-1 correlation.
    Correlated(f64),
    /// The readings scatter more than their photos explain: one sigma of the rest.
    Wanders(f64, Unit),
    /// Fewer than two time constants are seen for sure: how many.
    TooShort(f64),
    /// The readings went past where they ended, by so much.
    Overshoot(f64, Unit),
    /// A slow misfit of an approach, one sigma.
    Misfit(f64, Unit),
    /// In a steady run a change of up to so much could hide.
    Hidden(f64, Unit),
    /// What is seen has come to rest, but a slower approach cannot be told from rest: so much may follow in all, and within so many seconds.
    Slower {
        /// In all.
        left: f64,
        /// Within `seconds`.
        next: f64,
        /// As long again as was watched.
        seconds: f64,
        /// Unit of both.
        unit: Unit,
    },
    /// A reading stands on the last mark of the scale.
    AtScaleEnd,
    /// So many photos stand below the scale and so many above, none of them in the last half of the run.
    BeyondScale((usize, usize)),
    /// The same with some in the last half of the run, so that no level is named.
    EndsBeyondScale((usize, usize)),
    /// Readings whose bands are wider than their terms explain.
    WideBand,
}

impl Note {
    /// What was seen, what it means, what to do.
    pub fn sentence(self) -> String {
        let number = |v: f64| significant(v, 2);
        match self {
            Note::BadReadings(n) => format!(
                "{n} reading{} more than 5 sigmas off the curve and count{} for less than half. Look at the overlay of {}.",
                if n == 1 { " lies" } else { "s lie" },
                if n == 1 { "s" } else { "" },
                if n == 1 { "that photo" } else { "those photos" }
            ),
            Note::Correlated(r) => format!(
                "Neighbouring readings are alike (correlation {}): they say less than their number, and the band is wider for it.",
                number(r)
            ),
            Note::Wanders(s, u) => format!(
                "The readings scatter by {} {} (one sigma) beyond what their photos explain; the band is wider for it.",
                number(s),
                u.symbol()
            ),
            Note::TooShort(n) => format!(
                "Only {} time constants are seen for sure. Below two an approach cannot be told from a slower one; go on taking photos.",
                number(n)
            ),
            Note::Overshoot(by, u) => {
                format!(
                    "The readings went {} {} past where they ended: an overshoot, which no first-order approach has.",
                    number(by),
                    u.symbol()
                )
            }
            Note::Misfit(s, u) => format!(
                "A first-order approach leaves a slow misfit of {} {} (one sigma): the load changed, something opened or closed, or two \
                 things warm at different rates. Judge the last part on its own: give only its photos.",
                number(s),
                u.symbol()
            ),
            Note::Hidden(by, u) => {
                format!("A slow change of up to {} {} over these photos could hide.", number(by), u.symbol())
            }
            Note::Slower { left, next, seconds, unit } => format!(
                "What is seen has come to rest, but so short a run does not tell it from a second, slower approach, as of a housing that \
                 follows its oil for most of an hour: up to {} {u} may still follow, up to {} {u} of it in the next {}. Go on taking photos.",
                number(left),
                number(next),
                length(seconds),
                u = unit.symbol()
            ),
            Note::AtScaleEnd => "A reading stands on the last mark of the scale: the true temperature may lie outside it.".to_string(),
            Note::BeyondScale(counts) => {
                format!("{}, where no number can be read: the first half of the run is known in part only.", off_scale(counts))
            }
            Note::EndsBeyondScale(counts) => format!(
                "{}, some in the last half of the run, and no number can be read there: the readings that are left would not tell where the \
                 temperature settles, so no level is named. Take the run where the temperature stays on the scale.",
                off_scale(counts)
            ),
            Note::WideBand => "The needle stands where the dial tells temperatures apart poorly; the band is wider for it.".to_string(),
        }
    }
}

/// "2 photos stand below the scale"
fn off_scale((below, above): (usize, usize)) -> String {
    let stand = |n: usize| format!("{n} photo{}", if n == 1 { " stands" } else { "s stand" });
    match (below, above) {
        (n, 0) => format!("{} below the scale", stand(n)),
        (0, n) => format!("{} above the scale", stand(n)),
        (l, h) => format!("{} below the scale and {h} above", stand(l)),
    }
}
