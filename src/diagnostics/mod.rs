//! Layer 1: the registry of flags and refusals. Each has a code, a sentence and advice; stages raise them, output words them.
mod flag;
mod refusal;
pub use flag::Flag;
pub use refusal::Refusal;
