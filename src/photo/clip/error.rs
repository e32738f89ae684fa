//! Why no frame of a clip can be used.
use crate::photo::error::PhotoError;

/// A clip that was not opened.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum ClipError {
    /// Cut short or broken; the text says where.
    #[error("The clip is damaged: {0}. No frame of it is used. Copy it again from the phone.")]
    Damaged(String),
    /// A kind that is not read; the text names it.
    #[error(
        "The clip is {0}, which is not read. \
         Make the folder frames and cut pictures from it: `ffmpeg -i clip.mp4 -vf fps=1/10 frames/%04d.jpg`."
    )]
    Unsupported(String),
    /// Frames of more pixels than the limit.
    #[error(
        "The frames of the clip have {0} pixels, which is more than is opened. \
         Make the folder frames and cut smaller pictures from it: `ffmpeg -i clip.mp4 -vf fps=1/10,scale=1920:-2 frames/%04d.jpg`."
    )]
    Size(String),
}

impl From<PhotoError> for ClipError {
    fn from(error: PhotoError) -> Self {
        match error {
            PhotoError::Damaged(what) => ClipError::Damaged(what),
            PhotoError::Unsupported(what) => ClipError::Unsupported(what),
            PhotoError::TooLarge { width, height, .. } => ClipError::Size(format!("{width} x {height}")),
            other => ClipError::Damaged(other.to_string()),
        }
    }
}
