//! Layer 10: the diary of a project: notes with all that their photos gave, and the project's stages made of them.
//!
//! A note keeps its photos' records whole, with every signed term by its source, so that notes of different years still share
//! the errors of their dial and a change between two stages is as well known as one between two folders of photos. The diary
//! only grows; `file` holds its form. What the bands count and do not count is said in `compare` and `settle`. Nothing here
//! corrects for the weather or judges whether two drives were alike.
mod change;
mod error;
mod file;
mod level;
mod model;
mod near;
mod project;
mod scatter;
mod stage;
pub use change::{Change, Standing};
pub use error::{Damage, DiaryError, Wrong};
pub use file::{Diary, FORMAT_VERSION, MAX_FILE_BYTES, correction_line, line, parse};
pub use level::{From, Level};
pub use model::{Ambient, Conditions, Correction, DialStamp, Note, Noted, Sketch, TakenBack, What};
pub use near::near;
pub use project::{Project, project};
pub use stage::{NotCounted, Run, Stage};
