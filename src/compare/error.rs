//! Why two sets of photos could not be compared.
use crate::maths::source::Which;
use crate::maths::units::Unit;
use crate::reading::{LeftOut, Why};

/// A comparison that could not be made.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum CompareError {
    /// One side holds no reading.
    #[error("{}", nothing_read(*which, *given, left_out))]
    NothingRead {
        /// The side.
        which: Which,
        /// How many photos it was given.
        given: usize,
        /// Why each of them was left out.
        left_out: Vec<LeftOut>,
    },
    /// The two sides are in units that do not convert into each other.
    #[error(
        "One side is in {} and the other in {}, so there is no difference between them. Compare photos of one dial.",
        .0.symbol(),
        .1.symbol()
    )]
    Units(Unit, Unit),
    /// The settled level of a side holds a number that is none.
    #[error(
        "The settled level of the side \"{}\" holds a number that is not finite, so nothing can be compared with it. Write it anew with settle --json.",
        .0.word()
    )]
    NotFinite(Which),
}

fn nothing_read(which: Which, given: usize, left_out: &[LeftOut]) -> String {
    let side = which.word();
    match given {
        0 => {
            format!("No photo was given for the side \"{side}\", so there is nothing to compare. Give at least one, better three or more.")
        }
        1 => format!(
            "The only photo of the side \"{side}\" gave no reading ({}), so there is nothing to compare. \
             Read it on its own to see what to do about it, then take new ones, better three or more.",
            reasons(left_out).first().map_or("", |(_, what)| what)
        ),
        n => format!(
            "None of the {n} photos of the side \"{side}\" gave a reading ({}), so there is nothing to compare. \
             Read them on their own to see what to do about each, then take new ones.",
            count_reasons(left_out)
        ),
    }
}

/// "2 not read, 1 below the scale": the photos left out, counted by reason.
fn count_reasons(left_out: &[LeftOut]) -> String {
    let parts: Vec<String> = reasons(left_out).iter().map(|(n, what)| format!("{n} {what}")).collect();
    parts.join(", ")
}

/// How often each reason is there.
fn reasons(left_out: &[LeftOut]) -> Vec<(usize, &'static str)> {
    let count = |f: fn(&Why) -> bool| left_out.iter().filter(|l| f(&l.why)).count();
    let mut kinds = vec![
        (count(|w| matches!(w, Why::Refused(..))), "not read"),
        (count(|w| *w == Why::BelowScale), "below the scale"),
        (count(|w| *w == Why::AboveScale), "above the scale"),
        (count(|w| *w == Why::Repeated), "given twice"),
        (count(|w| *w == Why::NotFinite), "without a finite number"),
    ];
    kinds.retain(|(n, _)| *n > 0);
    kinds
}
