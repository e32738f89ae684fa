//! How much of a long sweep is run: a part of it in the README's test command, all of it in `.ci/run`, which asks for it by
//! `NEEDLEBAND_SWEEPS=whole`. The bounds of a check follow from the number of its cases, so that a part is no looser than its chance.

/// Cases of a sweep: `part` of them, or `all`.
pub fn cases<T>(part: T, all: T) -> T {
    if std::env::var_os("NEEDLEBAND_SWEEPS").is_some_and(|v| v == "whole") { all } else { part }
}

/// Cases of the dial of this number: all of them, or every second, those of the next dial between these.
pub fn in_turn<T>(dial: usize, all: impl IntoIterator<Item = T>) -> impl Iterator<Item = T> {
    let step = cases(2, 1);
    all.into_iter().skip(dial % step).step_by(step)
}
