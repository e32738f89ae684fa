//! Layer 0: arithmetic, geometry and statistics that know no photo and no dial.
pub mod angle;
pub mod between;
pub mod detection;
pub mod holm;
pub mod margin;
pub mod measured;
pub mod minimise;
pub mod monotone;
pub mod point;
pub(crate) mod pose;
pub mod power;
pub mod robust;
pub mod rounding;
pub mod solve;
pub mod student;
pub mod units;
pub mod variable_projection;
