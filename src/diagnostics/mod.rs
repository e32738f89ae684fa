//! Layer 1: the registry of flags and refusals. Each has a code, a sentence and advice; stages raise them, output words them.
mod flag;
mod refusal;
mod remarks;
pub use flag::Flag;
pub use refusal::Refusal;
pub use remarks::RemarkCriteria;
