//! Why a file is not a photo that can be measured on.
use crate::diagnostics::Refusal;

/// A file that was not decoded.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum PhotoError {
    /// The first bytes are those of no known kind of picture.
    #[error(
        "The file does not begin like a JPEG, HEIC, PNG, WebP or TIFF picture, so there is no photo to read. \
         Give the photo as the phone saved it, or exported as JPEG."
    )]
    NotAPicture,
    /// Cut short or broken; the text says where.
    #[error(
        "The picture is damaged: {0}. Parts of it may be missing or wrong, so nothing is read from it. \
         Copy the photo again from the phone."
    )]
    Damaged(String),
    /// More pixels than [`MAX_PIXELS`](super::MAX_PIXELS).
    #[error(
        "The picture is {width} x {height} pixels, more than the limit of {limit} pixels, so it is not opened. \
         Scale the photo down or cut out the dial."
    )]
    TooLarge {
        /// Width by the file's header, px.
        width: u64,
        /// Height by the file's header, px.
        height: u64,
        /// The limit, px in all.
        limit: u64,
    },
    /// The header says 0 pixels across or down.
    #[error("The picture is 0 pixels wide or high by its own header, so it shows nothing. Take or export the photo again.")]
    Empty,
    /// A HEIC picture, and a build without the feature that reads it.
    #[error(
        "The file is a HEIC picture, as many phones store photos, and this build of needleband was made without the feature that reads it. \
         Export the photo as JPEG and give that, or build with `--features heic`."
    )]
    HeicLeftOut,
    /// A clip where a photo was expected.
    #[error(
        "The file is a video clip and no photo, so it is not read here; `ffmpeg -i clip.mp4 -vf fps=1/10 frames/%04d.jpg` cuts pictures \
         from it into the folder frames. Give those."
    )]
    Clip,
    /// A picture of a kind that is not read; the text names it.
    #[error("The file is {0}, which is not supported. Export the photo as an ordinary JPEG and give that.")]
    Unsupported(String),
}

/// What a decoder or a parser says, in one line: some end in a line break, some quote the file.
pub(crate) fn told(error: &dyn std::fmt::Display) -> String {
    error.to_string().split_whitespace().collect::<Vec<_>>().join(" ")
}

impl PhotoError {
    /// The refusal of the registry that this is a case of.
    pub fn refusal(&self) -> Refusal {
        match self {
            PhotoError::TooLarge { .. } => Refusal::TooLarge,
            PhotoError::Empty => Refusal::NoDetail,
            PhotoError::NotAPicture | PhotoError::Damaged(_) | PhotoError::Unsupported(_) | PhotoError::HeicLeftOut | PhotoError::Clip => {
                Refusal::Undecodable
            }
        }
    }
}
