//! Layer 8: the chain from a photo to an outcome.
mod chain;
mod judge;
mod left_out;
mod lens;
mod own;
mod record;
mod terms;
pub use chain::{Reader, Sight};
pub use left_out::{LeftOut, Why};
pub(crate) use own::{is_own, photo_of, unit_of};
pub use record::*;
pub use terms::needle_at;
