//! Why two sets of photos could not be compared.
use super::readings::count_reasons;
use super::side::Which;
use crate::reading::LeftOut;

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
    /// Some photos of a side show the needle beyond an end of the scale: the mean of the others would be that of a selection.
    #[error("{}", beyond_scale(*which, *beyond, *read))]
    BeyondScale {
        /// The side.
        which: Which,
        /// How many stand beyond an end of the scale.
        beyond: usize,
        /// How many gave a reading.
        read: usize,
        /// Why each of those left out was.
        left_out: Vec<LeftOut>,
    },
    /// The settled level of a side holds a number that is none.
    #[error(
        "The settled level of the side \"{}\" holds a number that is not finite, so nothing can be compared with it. Write it anew with settle --json.",
        .0.word()
    )]
    NotFinite(Which),
}

fn beyond_scale(which: Which, beyond: usize, read: usize) -> String {
    format!(
        "In {beyond} of the {} photos of the side \"{}\" the needle stands beyond the end of the scale. A mean of the others alone would lie \
         too near the middle of the scale, so nothing is compared. Leave out the photos that were not taken at the settled temperature; if \
         they were, the temperature of this side is beyond what the dial can show.",
        beyond + read,
        which.word()
    )
}

fn nothing_read(which: Which, given: usize, left_out: &[LeftOut]) -> String {
    let side = which.word();
    match given {
        0 => {
            format!("No photo was given for the side \"{side}\", so there is nothing to compare. Give at least one, better three or more.")
        }
        n => format!(
            "None of the {n} photo{} of the side \"{side}\" gave a reading ({}), so there is nothing to compare. \
             Read them on their own to see what to do about each, then take new ones.",
            if n == 1 { "" } else { "s" },
            count_reasons(left_out)
        ),
    }
}
