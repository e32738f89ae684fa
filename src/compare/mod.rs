//! Layer 9: readings before and after a change to one honest difference.
//!
//! Frame and units: numbers are in the unit of the first reading before; `delta` is after minus before. The difference is
//! taken term by term, so what both sides share (the dial file's marks, pivot and gauge accuracy) cancels as far as it is
//! the same. What the band counts: the terms that are left, and the wander of the needle between photos of one side. What
//! it does not count: a change that came from elsewhere than the work done (weather, load, speed), and a drift of the
//! gauge between the two days.
mod ambient;
mod change;
mod comparable;
mod comparison;
mod coverage;
mod error;
mod given;
mod half;
mod lender;
mod note;
mod readings;
mod remarks;
mod scatter;
mod side;
mod verdict;
pub use crate::maths::source::Which;
pub use crate::reading::{LeftOut, Why};
pub use change::{compare, compare_given, compare_knowing, one_side};
pub use comparison::{Adjusted, Comparison, Shared};
pub use coverage::Coverage;
pub use error::CompareError;
pub use given::{Ambient, Conditions, Given, SettledLevel, Slope};
pub use lender::{Elsewhere, Lender};
pub use note::Note;
pub use scatter::Scatter;
pub use side::{Origin, Side};
pub use verdict::Verdict;
