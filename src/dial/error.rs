//! Why a dial file is not used, or a dial is not written.

/// A dial file that was not read, or a dial that was not written.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum DialFileError {
    /// No JSON text; the text says what the reader met.
    #[error(
        "The file is not a dial file, or was cut short: it cannot be read as JSON ({0}). \
         Give the file that the calibration wrote, or calibrate the dial again."
    )]
    NotJson(String),
    /// JSON, but of something else.
    #[error(
        "The file is JSON but does not call itself a dial file (\"format\": \"needleband-dial\"), so no dial can be taken from it. \
         Give the file that the calibration wrote."
    )]
    NotADial,
    /// A format version this program does not know.
    #[error(
        "The dial file has format version {found}, and this program reads versions 1 to {known}, so what it says may be misunderstood. \
         Use the version of the program that wrote it, or calibrate the dial again with this one."
    )]
    Version {
        /// What the file says.
        found: u64,
        /// The newest that this program reads.
        known: u64,
    },
    /// A field is missing, unknown, doubled or of the wrong kind; the text names it.
    #[error(
        "The dial file is not built as a dial file should be ({0}), so it was changed after it was written. \
         Take an untouched copy of it, or calibrate the dial again."
    )]
    Shape(String),
    /// A value that no calibration gives; the text names it.
    #[error("The dial file cannot be right: {0}. Take an untouched copy of it, or calibrate the dial again.")]
    Content(String),
    /// The picture of the face cannot be used; the text says why.
    #[error(
        "The picture of the face cannot be used: {0}, so the dial could not be found in photos. \
         Take an untouched copy of the dial file, or calibrate the dial again."
    )]
    Picture(String),
    /// The content does not have the identity that the file states.
    #[error(
        "The dial file was changed by hand: its content has the identity {found}, but it states {stated}. \
         Readings made with both would be compared as if nothing had changed. Calibrate again, or take an untouched copy."
    )]
    ChangedByHand {
        /// Identity stated.
        stated: String,
        /// Identity of what is there.
        found: String,
    },
    /// What is prepared for reading is not what was written with the dial.
    #[error(
        "The dial file was changed by hand: what it keeps prepared for reading is not its own, so another dial might be taken for it. \
         Take an untouched copy of it, or calibrate the dial again."
    )]
    NotItsOwn,
    /// A dial to be written was changed after its identity was worked out.
    #[error(
        "The dial was changed after its identity {stated} was worked out (it is {found} now), so it is not written. \
         This is a fault of the program, not of the dial: please report it."
    )]
    NotSealed {
        /// Identity that the dial carries.
        stated: String,
        /// Identity of what is there.
        found: String,
    },
    /// A larger file than any dial needs.
    #[error("The dial file has {bytes} bytes, more than the limit of {limit}, so it is not opened. Check that it is the right file.")]
    TooLarge {
        /// Size of the file.
        bytes: u64,
        /// The limit.
        limit: u64,
    },
}
