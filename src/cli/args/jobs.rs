//! How many photos are read at once.
use crate::cli::failure::Failure;
use clap::Args;
use std::num::NonZeroUsize;

/// The option of the commands that read many photos.
#[derive(Args, Clone, Copy, Debug, Default)]
pub struct JobsArgs {
    /// Photos read at the same time, at most four for each core [default: one for each core]
    #[arg(long, value_name = "N")]
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
        assert_eq!((at_most(n(4000), n(2)), at_most(n(3), n(2)), at_most(n(8), n(2))), (n(8), n(3), n(8)));
    }
}
