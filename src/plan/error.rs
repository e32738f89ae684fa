//! Why nothing can be planned.
use crate::maths::rounding::significant;
use crate::maths::units::Unit;

/// A plan that could not be made. Numbers in the dial's unit.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum PlanError {
    /// The drop is as long as the scale.
    #[error(
        "A drop of {} {} does not fit on the scale, which is {} {} long, so no photo of this dial can show it. Give a smaller one.",
        significant(*drop, 3), unit.symbol(), significant(*span, 3), unit.symbol()
    )]
    TooLarge {
        /// The drop.
        drop: f64,
        /// Length of the scale.
        span: f64,
        /// Unit of both.
        unit: Unit,
    },
    /// The temperature before, or that after the drop, is not on the scale.
    #[error(
        "{} {} and a drop of {} {} from there are not both on the scale ({} to {} {}), so the needle would not show them. \
         Give a temperature --at which the drop fits.",
        significant(*at, 3), unit.symbol(), significant(*drop, 3), unit.symbol(), significant(ends.0, 3), significant(ends.1, 3), unit.symbol()
    )]
    OffScale {
        /// The temperature before.
        at: f64,
        /// The drop.
        drop: f64,
        /// Ends of the scale.
        ends: (f64, f64),
        /// Unit of all.
        unit: Unit,
    },
    /// The needle stands in a flat zone before or after.
    #[error(
        "Before or after such a drop the needle stands in a flat zone of the dial, where it does not move, so no number of photos shows the drop. \
         Compare at a temperature outside the zone (--at)."
    )]
    FlatZone,
}
