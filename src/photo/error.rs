//! Why a file is not a photo that can be measured on.
use crate::diagnostics::Refusal;

/// A file that was not decoded. Its message is [`Self::seen`] and [`Self::advice`].
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum PhotoError {
    /// The first bytes are those of no known kind of picture.
    NotAPicture,
    /// Cut short or broken; the text says where.
    Damaged(String),
    /// More pixels than [`MAX_PIXELS`](super::MAX_PIXELS).
    TooLarge {
        /// Width by the file's header, px.
        width: u64,
        /// Height by the file's header, px.
        height: u64,
        /// The limit, px in all.
        limit: u64,
    },
    /// The header says 0 pixels across or down.
    Empty,
    /// A HEIC picture, and a build without the feature that reads it.
    HeicLeftOut,
    /// A clip where a photo was expected.
    Clip,
    /// A picture of a kind that is not read; the text names it.
    Unsupported(String),
}

/// What a decoder or a parser says, in one line: some end in a line break, some quote the file.
pub(crate) fn told(error: &dyn std::fmt::Display) -> String {
    error.to_string().split_whitespace().collect::<Vec<_>>().join(" ")
}

impl std::fmt::Display for PhotoError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} {}", self.seen(), self.advice())
    }
}

impl std::error::Error for PhotoError {}

impl PhotoError {
    /// What was seen, and what it means.
    pub fn seen(&self) -> String {
        let text = match self {
            PhotoError::NotAPicture => {
                "The file does not begin like a JPEG, HEIC, PNG, WebP or TIFF picture, so there is no photo to read."
            }
            PhotoError::Damaged(how) => {
                return format!("The picture is damaged: {how}. Parts of it may be missing or wrong, so nothing is read from it.");
            }
            PhotoError::TooLarge { width, height, limit } => {
                return format!("The picture is {width} x {height} pixels, more than the limit of {limit} pixels, so it is not opened.");
            }
            PhotoError::Empty => "The picture is 0 pixels wide or high by its own header, so it shows nothing.",
            PhotoError::HeicLeftOut => {
                "The file is a HEIC picture, as many phones store photos, and this build of needleband was made without the feature that reads it."
            }
            PhotoError::Clip => {
                "The file is a video clip and no photo, so it is not read here; `ffmpeg -i clip.mp4 -vf fps=1/10 frames/%04d.jpg` cuts \
                 pictures from it into the folder frames."
            }
            PhotoError::Unsupported(kind) => return format!("The file is {kind}, which is not supported."),
        };
        text.to_string()
    }
    /// What to do about it.
    pub fn advice(&self) -> &'static str {
        match self {
            PhotoError::NotAPicture => "Give the photo as the phone saved it, or exported as JPEG.",
            PhotoError::Damaged(_) => "Copy the photo again from the phone.",
            PhotoError::TooLarge { .. } => "Scale the photo down or cut out the dial.",
            PhotoError::Empty => "Take or export the photo again.",
            PhotoError::HeicLeftOut => "Export the photo as JPEG and give that, or build with `--features heic`.",
            PhotoError::Clip => "Give those.",
            PhotoError::Unsupported(_) => "Export the photo as an ordinary JPEG and give that.",
        }
    }
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
