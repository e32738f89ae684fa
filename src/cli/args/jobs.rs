//! How many photos are read at once.
use crate::cli::failure::Failure;
use clap::Args;
use std::num::NonZeroUsize;

/// The option of the commands that read many photos.
#[derive(Args, Clone, Copy, Debug, Default)]
pub struct JobsArgs {
    /// Photos read at the same time [default: one for each core]
    #[arg(long, value_name = "N")]
    jobs: Option<NonZeroUsize>,
}

impl JobsArgs {
    /// Sets the number for this run. The answers do not depend on it.
    ///
    /// # Errors
    /// The system gives no threads.
    pub fn set(self) -> Result<(), Failure> {
        let Some(n) = self.jobs else { return Ok(()) };
        rayon::ThreadPoolBuilder::new().num_threads(n.get()).build_global().map_err(|e| {
            Failure::trouble(format!("{n} photos cannot be read at the same time ({e}), so none was read. Give a smaller --jobs."))
        })
    }
}
