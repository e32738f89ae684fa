//! Refusals: why a photo gave no number, and what to do about it.

/// A photo that was honestly not read.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[non_exhaustive]
pub enum Refusal {
    /// The file could not be opened. A diary never holds it: such photos are not noted.
    NotOpened,
    /// The file is not a picture that can be decoded, or is damaged.
    Undecodable,
    /// The picture has more pixels than the stated limit.
    TooLarge,
    /// The picture is too small or empty of detail.
    NoDetail,
    /// The dial was not found.
    DialNotFound,
    /// Something like the dial was found, but it does not match well enough to be trusted.
    DialDoubtful,
    /// The dial was found, but no needle.
    NeedleNotFound,
    /// Two needles are equally likely.
    NeedleAmbiguous,
    /// A needle was found, but its line is not good enough to be trusted.
    NeedleDoubtful,
    /// The photo was left out by hand, with a reason.
    LeftOut,
}

impl Refusal {
    /// Every refusal, in the order of the registry.
    pub const ALL: [Refusal; 10] = [
        Refusal::NotOpened,
        Refusal::Undecodable,
        Refusal::TooLarge,
        Refusal::NoDetail,
        Refusal::DialNotFound,
        Refusal::DialDoubtful,
        Refusal::NeedleNotFound,
        Refusal::NeedleAmbiguous,
        Refusal::NeedleDoubtful,
        Refusal::LeftOut,
    ];
    /// Short stable code, as in JSON.
    pub fn code(self) -> &'static str {
        match self {
            Refusal::NotOpened => "not_opened",
            Refusal::Undecodable => "undecodable",
            Refusal::TooLarge => "too_large",
            Refusal::NoDetail => "no_detail",
            Refusal::DialNotFound => "dial_not_found",
            Refusal::DialDoubtful => "dial_doubtful",
            Refusal::NeedleNotFound => "needle_not_found",
            Refusal::NeedleAmbiguous => "needle_ambiguous",
            Refusal::NeedleDoubtful => "needle_doubtful",
            Refusal::LeftOut => "left_out",
        }
    }
    /// What was seen and what it means.
    pub fn sentence(self) -> &'static str {
        match self {
            Refusal::NotOpened => "The file could not be opened.",
            Refusal::Undecodable => {
                "The file could not be decoded as a picture: it is damaged, cut short, or of a kind that is not supported."
            }
            Refusal::TooLarge => "The picture has more pixels than the limit of 52 megapixels.",
            Refusal::NoDetail => "The picture is black, empty or too small to show a dial.",
            Refusal::DialNotFound => "The calibrated dial was not found in the photo.",
            Refusal::DialDoubtful => "Something like the dial was found, but its print does not match the calibrated face well enough.",
            Refusal::NeedleNotFound => "The dial was found, but no needle could be told from the print.",
            Refusal::NeedleAmbiguous => "More than one line could be the needle.",
            Refusal::NeedleDoubtful => "A needle was found, but its line is too uncertain to be read.",
            Refusal::LeftOut => "The photo was left out by hand.",
        }
    }
    /// What to do about it.
    pub fn advice(self) -> &'static str {
        match self {
            Refusal::NotOpened => "Check the path and that the file may be read.",
            Refusal::Undecodable => "Copy the photo again from the phone, as JPEG, HEIC, PNG, WebP or TIFF.",
            Refusal::TooLarge => "Scale the photo down or cut out the dial.",
            Refusal::NoDetail => "Take the photo again with light on the dial.",
            Refusal::DialNotFound => "Check that it is the dial of this dial file; go nearer, hold still, avoid glare.",
            Refusal::DialDoubtful => "Check that it is the same dial; take the photo from nearer and without glare.",
            Refusal::NeedleNotFound => "Check that the needle is visible and free of glare.",
            Refusal::NeedleAmbiguous => "Move reflections and shadows off the dial.",
            Refusal::NeedleDoubtful => "Take the photo again from nearer, hold still, keep reflections off the needle.",
            Refusal::LeftOut => "needleband leave-out PHOTO --take-back counts it again when the reason is gone.",
        }
    }
}
