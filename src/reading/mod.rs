//! Layer 8: the chain from a photo to an outcome.
mod chain;
mod criteria;
mod decide;
mod left_out;
mod lens;
pub mod metrics;
mod own;
mod pivot;
mod record;
mod terms;
pub use chain::{Reader, Sight};
pub use criteria::Criteria;
pub use decide::{Decision, Stage, decide};
pub use left_out::{LeftOut, Why};
pub use metrics::Metrics;
pub(crate) use own::unit_of;
pub use record::*;
pub use terms::needle_at;
