//! What fuzzing found, each by its name.
