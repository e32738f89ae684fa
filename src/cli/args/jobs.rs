//! How many photos are read at once.
use crate::cli::failure::Failure;
use clap::Args;
use std::num::NonZeroUsize;

/// The option of the commands that read many photos.
#[derive(Args, Clone, Copy, Debug, Default)]
pub struct JobsArgs {
    /// Photos read at the same time, at most four for each core [default: one for each core]
    #[arg(long, value_name = "N", value_parser = number)]
    jobs: Option<NonZeroUsize>,
}

impl JobsArgs {
    /// Sets the number for this run. The answers do not depend on it.
    ///
    /// # Errors
    /// The system gives no threads.
    pub fn set(self) -> Result<(), Failure> {
        let Some(n) = self.jobs.map(|n| at_most(n, std::thread::available_parallelism().unwrap_or(NonZeroUsize::MIN))) else {
            return Ok(());
        };
        rayon::ThreadPoolBuilder::new().num_threads(n.get()).build_global().map_err(|e| {
            Failure::trouble(format!("{n} photos cannot be read at the same time ({e}), so none was read. Give a smaller --jobs."))
        })
    }
}

fn number(text: &str) -> Result<NonZeroUsize, String> {
    let digits = !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    // more than can be counted is capped as any other number is
    let n = if digits { text.parse().unwrap_or(usize::MAX) } else { 0 };
    NonZeroUsize::new(n).ok_or_else(|| "it is no whole number from 1 on; write it like 4".to_string())
}

/// More than this at once for each core only costs memory: nothing waits for anything but the processor.
const EACH: usize = 4;

fn at_most(asked: NonZeroUsize, cores: NonZeroUsize) -> NonZeroUsize {
    asked.min(cores.saturating_mul(NonZeroUsize::MIN.saturating_add(EACH - 1)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_more_threads_than_make_sense() {
        let n = |v: usize| NonZeroUsize::new(v).unwrap();
        assert_eq!((number("4"), number("99999999999999999999999")), (Ok(n(4)), Ok(n(usize::MAX))));
        assert!(["", "0", "-3", "+3", "x", "1.5"].iter().all(|t| number(t).is_err()));
        assert_eq!((at_most(n(4000), n(2)), at_most(n(3), n(2)), at_most(n(8), n(2))), (n(8), n(3), n(8)));
    }
}
