//! Why a run of readings has no answer.
use crate::reading::{LeftOut, Why};

/// Fewer readings than this at different times show no approach: three parameters, and two readings to see how they scatter.
pub(super) const LEAST: usize = 5;

/// A run that could not be judged.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum SettleError {
    /// Fewer than five readings at different times.
    #[error("{}", too_few(*given, *readings, left_out))]
    TooFew {
        /// How many photos were given.
        given: usize,
        /// How many readings at different times there are.
        readings: usize,
        /// Why the others do not count.
        left_out: Vec<LeftOut>,
    },
    /// The numbers allow no fit.
    #[error("The readings allow no curve through them (their numbers or times are out of any sensible range). Check the times.")]
    NoFit,
}

fn too_few(given: usize, readings: usize, left_out: &[LeftOut]) -> String {
    let no_time = left_out.iter().filter(|l| l.why == Why::NoTime).count();
    let advice = if no_time > 0 {
        "Give the times with --every or --times, or use the camera's own files: a messenger drops the capture time."
    } else {
        "Take a photo every so often until the needle has stood still for a while."
    };
    let untimed = if no_time > 0 { format!(" ({no_time} read, but without a time)") } else { String::new() };
    let seen = match (given, readings) {
        (0, _) => "No photo was given.".to_string(),
        (1, 1) => "A single photo was given.".to_string(),
        (n, m) if n == m => format!("Only {n} photos were given."),
        (1, _) => format!("The only photo gave no reading at a time of its own{untimed}."),
        (_, 0) => format!("None of the {given} photos gave a reading at a time of its own{untimed}."),
        _ => format!("Only {readings} of {given} photos gave a reading at a time of its own{untimed}."),
    };
    format!(
        "{seen} Fewer than {LEAST} photos at different times show \
         neither an approach nor how the readings scatter, so nothing is said. {advice}"
    )
}
