//! Layer 9: what it takes to show a drop: how many photos a side, how large the dial in them, and how long to wait.
//!
//! Frame and units: the dial's unit, px across the marks' circle, time constants. What the plan counts: what of the dial's errors does not
//! cancel between the two places of the scale, gauge accuracy and stiction as declared, how well a photo of a given size is read, and the
//! needle's wander between photos. What it does not count: anything that is not alike on the two days.
mod error;
mod photos;
mod place;
mod wait;
pub use error::PlanError;
pub use photos::{Plan, Request, Size, plan};
pub use place::{Place, place};
pub use wait::Wait;
