//! Why a diary or a line of it is not used.

/// A diary that is not read, or a note that is not written.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum DiaryError {
    /// No line of the file calls itself a note.
    #[error(
        "The file is not a diary: none of its lines is a note (\"format\": \"needleband-diary\"), so it is left as it is. \
         Give the file that `needleband note` wrote, or a name that does not exist yet to begin a new one."
    )]
    NotADiary,
    /// A line of a newer format.
    #[error(
        "Line {line} of the diary has format version {found}, and this program reads versions 1 to {known}, so what it says may be \
         misunderstood. Use the version of the program that wrote it."
    )]
    Version {
        /// The line, from 1.
        line: usize,
        /// What it says.
        found: u64,
        /// The newest that this program reads.
        known: u64,
    },
    /// More damaged lines than one by one could be told.
    #[error(
        "More than {limit} lines of the file cannot be used, so it is no diary or was overwritten, and it is left as it is. \
         Give the file that `needleband note` wrote, or an untouched copy of it."
    )]
    TooDamaged {
        /// The limit.
        limit: usize,
    },
    /// Too large a file.
    #[error(
        "The diary is larger than the limit of {limit} bytes, so it is not read. Begin a new one; the old one stays readable \
         with a program built with a higher limit."
    )]
    TooLarge {
        /// The limit.
        limit: u64,
    },
    /// Too many notes.
    #[error("The diary holds more than {limit} notes, so it is not read. Begin a new one for the next stages.")]
    TooMany {
        /// The limit.
        limit: usize,
    },
    /// The line does not give the note back; the text says what differs.
    #[error(
        "The note could not be written so that it reads back as it is ({0}), so nothing was written. Read these photos with `needleband read` to see which number is not finite."
    )]
    NotKept(String),
}

/// A line that is not used.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Damage {
    /// The line, from 1.
    pub line: usize,
    /// What is wrong with it.
    pub what: Wrong,
}

/// What is wrong with a line.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Wrong {
    /// It ends before its end.
    CutOff,
    /// Its check sum is not that of its content.
    Changed,
    /// It is not built as a note; the text says where.
    Shape(String),
}

impl Damage {
    /// What was seen, what it means, what to do.
    pub fn sentence(&self) -> String {
        let line = self.line;
        match &self.what {
            Wrong::CutOff => {
                format!("Line {line} of the diary is cut off, so its note is lost; every other line is read. Note its photos again.")
            }
            Wrong::Changed => format!(
                "Line {line} of the diary was changed after it was written (its check sum is another one), so its numbers are not used. \
                 Take it from an untouched copy, or note its photos again."
            ),
            Wrong::Shape(what) => format!(
                "Line {line} of the diary is not a note ({what}), so it is passed over. Take it from an untouched copy, or note its photos again."
            ),
        }
    }
}
