//! Layer 0: arithmetic, geometry and statistics that know no photo and no dial.
pub mod angle;
pub mod conic;
pub mod homography;
pub mod homography_fit;
pub mod line;
pub mod measured;
pub mod minimise;
pub mod monotone;
pub mod point;
pub mod pose;
pub mod robust;
pub mod rounding;
pub mod separable;
pub mod solve;
pub mod straight;
pub mod student;
pub mod units;
