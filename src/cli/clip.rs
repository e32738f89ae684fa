//! A clip given in place of photos: its key frames to records, each with its name and its time.
use super::failure::Failure;
use super::files::told;
use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};

/// The clip among the paths given, when there is one; it must stand alone.
pub fn sole(given: &[PathBuf]) -> Result<Option<&Path>, Failure> {
    let clips: Vec<&PathBuf> = given.iter().filter(|p| is_clip(p)).collect();
    match (clips.first(), given.len()) {
        (None, _) => Ok(None),
        (Some(clip), 1) => Ok(Some(clip)),
        (Some(clip), _) => Err(Failure::trouble(format!(
            "{} is a video clip, and {} more were given beside it. A clip's times count from its own start, so they cannot be set beside \
             others. Give one clip alone, or pictures cut from all of them with --times.",
            told(clip),
            given.len() - 1
        ))),
    }
}

/// By its content; what cannot be opened is told later, as a photo.
fn is_clip(path: &Path) -> bool {
    let mut head = Vec::new();
    let read = path.is_file() && File::open(path).and_then(|f| f.take(4096).read_to_end(&mut head)).is_ok();
    read && crate::photo::is_clip(&head)
}

#[cfg(not(feature = "video"))]
mod without {
    use super::super::files::worded;
    use super::{Failure, Path, told};

    /// What to do with a clip in a build that reads none.
    pub fn refused(path: &Path) -> Failure {
        let (shown, typed) = (told(path), worded(path));
        Failure::trouble(format!(
            "{shown} is a video clip, and this build of needleband was made without the feature that reads clips. Make the folder frames, \
             run `ffmpeg -i {typed} -vf fps=1/10 frames/%04d.jpg` and give frames/ with --every 10s; or build with `--features video`."
        ))
    }
}
#[cfg(not(feature = "video"))]
pub use without::refused;

#[cfg(feature = "video")]
mod with {
    use super::{Failure, Path, told};
    use crate::cli::failure::{ALL_READ, NOT_ALL_READ};
    use crate::cli::files::{named, plain, regular};
    use crate::cli::open::not_opened;
    use crate::cli::parallel::after_first;
    use crate::cli::progress::Progress;
    use crate::photo::{Clip, PhotoError};
    use crate::reading::{Outcome, Reader, Record};
    use std::sync::{Mutex, PoisonError};

    /// What a clip gave, a key frame each.
    pub struct Frames {
        /// File name and time, like `clip.mp4@12.0s`.
        pub names: Vec<String>,
        /// The readings.
        pub records: Vec<Record>,
        /// Seconds from the clip's start.
        pub times: Vec<f64>,
        /// The exit status so far.
        pub status: u8,
    }

    /// Reads a clip's key frames, of those closer than `every` seconds only the first. One is decoded at a time, while those before it
    /// are still being read.
    pub fn read(path: &Path, every: Option<f64>, reader: &Reader) -> Result<Frames, Failure> {
        let file = regular(path).map_err(|e| Failure::trouble(not_opened(path, &plain(&e))))?;
        let clip = Clip::open(file).map_err(|e| Failure::not_read(format!("{}: {e}", told(path))))?;
        let all = clip.times();
        let chosen = spaced(&all, every.unwrap_or(0.0));
        let times: Vec<f64> = chosen.iter().filter_map(|k| all.get(*k).copied()).collect();
        let progress = Progress::new(chosen.len());
        progress.show(0);
        let clip = Mutex::new(clip);
        let work = |n: usize, first: Option<&Record>| {
            let k = *chosen.get(n)?;
            let photo = clip.lock().unwrap_or_else(PoisonError::into_inner).photo(k);
            Some(photo.map_or_else(|e| undecoded(&e), |p| reader.read_after(&p, first)))
        };
        let (mut records, mut status) = (Vec::new(), ALL_READ);
        after_first(chosen.len(), work, Clone::clone, |n, record| {
            if let Some(record) = record {
                status = status.max(if matches!(record.outcome, Outcome::Reading(_)) { ALL_READ } else { NOT_ALL_READ });
                records.push(record);
            }
            progress.show(n + 1);
            Ok::<(), Failure>(())
        })?;
        progress.clear();
        Ok(Frames { names: names(path, &times), records, times, status })
    }

    fn undecoded(error: &PhotoError) -> Record {
        let outcome = Outcome::Refused(error.refusal(), error.seen());
        Record { photo_id: String::new(), taken_at: None, size: (0, 0), outcome, evidence: None }
    }

    /// The first, then each that is `every` seconds or more after the last one taken; a millisecond less is allowed for rounded times.
    fn spaced(times: &[f64], every: f64) -> Vec<usize> {
        let mut chosen: Vec<usize> = Vec::new();
        for (k, time) in times.iter().enumerate() {
            let last = chosen.last().and_then(|l| times.get(*l));
            if last.is_none_or(|l| time - l >= every - 1e-3) {
                chosen.push(k);
            }
        }
        chosen
    }

    /// To a tenth of a second, or to a thousandth where that would name two alike.
    fn names(path: &Path, times: &[f64]) -> Vec<String> {
        let digits = if times.windows(2).all(|w| w[1] - w[0] >= 0.1) { 1 } else { 3 };
        times.iter().map(|t| format!("{}@{t:.digits$}s", named(path))).collect()
    }

    #[cfg(test)]
    mod tests {
        use super::{names, spaced};
        use std::path::Path;

        #[test]
        fn key_frames_are_thinned_and_named() {
            let times = [0.0, 1.0, 2.0, 2.9997, 4.0, 9.5];
            assert_eq!(spaced(&times, 0.0), [0, 1, 2, 3, 4, 5]);
            assert_eq!(spaced(&times, 3.0), [0, 3, 5]);
            assert_eq!(names(Path::new("a/b.mp4"), &times[4..]), ["a/b.mp4@4.0s", "a/b.mp4@9.5s"]);
            assert_eq!(names(Path::new("b.mov"), &[0.0, 0.0333]), ["b.mov@0.000s", "b.mov@0.033s"]);
        }
    }
}
#[cfg(feature = "video")]
pub use with::read;
