//! Before and after.
