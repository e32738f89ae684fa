//! A decoder that panics has met a file that it cannot read: that is an error like any other, and not the end of the program.
//!
//! Decoders are other people's code, some of it young, and the files come from anywhere. Nothing of a decoder outlives its failure:
//! it works on the bytes it was lent and on memory of its own, so there is no half-changed state to see. What a panic cannot be made
//! into is a lack of memory; that is what [`super::limits`] are for. What Rust prints at a panic is left as it is, unless a program asks
//! for [`quiet_decoders`]: a library does not change that for others.
use super::error::PhotoError;
use std::cell::Cell;
use std::panic::{AssertUnwindSafe, catch_unwind, set_hook, take_hook};

thread_local! {
    static WATCHED: Cell<bool> = const { Cell::new(false) };
}

/// What `work` answers; a panic in it is a damaged picture.
pub(super) fn guarded<T>(work: impl FnOnce() -> Result<T, PhotoError>) -> Result<T, PhotoError> {
    let before = WATCHED.replace(true);
    let answer = catch_unwind(AssertUnwindSafe(work));
    WATCHED.set(before);
    answer.unwrap_or_else(|_| Err(PhotoError::Damaged("the decoder gave up on it".to_string())))
}

/// From now on a panic within a decoder prints nothing: [`decode`](super::decode) tells it as an error. All others print as before.
/// For programs, to be called once at their start.
pub fn quiet_decoders() {
    let usual = take_hook();
    set_hook(Box::new(move |panic| {
        if !WATCHED.get() {
            usual(panic);
        }
    }));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_panic_becomes_an_error_and_answers_pass() {
        let empty: [u8; 0] = [];
        let broken = guarded(|| Ok(empty[std::hint::black_box(3)]));
        assert!(matches!(broken, Err(PhotoError::Damaged(_))));
        assert_eq!(guarded(|| Ok(7)), Ok(7));
        assert_eq!(guarded::<u8>(|| Err(PhotoError::Empty)), Err(PhotoError::Empty));
    }
}
