//! Layer 0: arithmetic, geometry and statistics that know no photo and no dial.
pub mod angle;
pub mod measured;
pub mod monotone;
pub mod point;
pub mod rounding;
pub mod student;
pub mod units;
