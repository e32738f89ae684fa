//! How much of a long sweep is run: a part of it in the README's test command, all of it in `.ci/run`, which asks for it by
//! `NEEDLEBAND_SWEEPS=whole`. The bounds of a check follow from the number of its cases, so that a part is no looser than its chance.

/// Cases of a sweep: `part` of them, or `all`.
pub fn cases<T>(part: T, all: T) -> T {
    if std::env::var_os("NEEDLEBAND_SWEEPS").is_some_and(|v| v == "whole") { all } else { part }
}
