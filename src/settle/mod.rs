//! Layer 9: readings over time to one answer: has the temperature settled, and at what?
//!
//! Frame and units: temperatures in the unit of the first reading, times in seconds from the first reading that counts.
//! A first-order approach y(t) = level + amplitude exp(-t/tau) is fitted, or a steady level where nothing approaches.
//! What the band of the level counts: the photos' own terms, the wander of the needle between photos, the correlation of
//! neighbouring readings, that tau is not known beforehand, that a second, slower approach may follow the first, and the dial's terms as
//! they act on the level. What it does not count: that the temperature may follow another law (told apart where the readings show it),
//! and a change of load or weather after the last photo.
mod answer;
mod band;
mod checks;
mod course;
mod curve;
mod error;
mod fitted;
mod level;
mod note;
mod scatter;
mod series;
mod slower;
mod verdict;
mod when;
pub use crate::reading::{LeftOut, Why};
pub use answer::{Ahead, Answer, Range, settle};
pub use checks::Drift;
pub use error::SettleError;
pub use fitted::Approach;
pub use level::Level;
pub use note::Note;
pub use series::Point;
pub use verdict::Verdict;
pub use when::seconds_of;
