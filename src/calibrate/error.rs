//! Why a calibration could not be made: what was seen, what it means, what to do.
use crate::dial::DialFileError;

/// Why a calibration could not be made.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum CalibrateError {
    /// Fewer than two marks.
    #[error("{} given; a scale needs at least two known values. Add --mark VALUE@X,Y.", counted(*.0, "mark", "marks"))]
    TooFewMarks(usize),
    /// Two marks with one value, or at one place.
    #[error("The marks {0} and {1} have the same value or stand at the same place. Check the two positions.")]
    SameMark(f64, f64),
    /// Marks do not follow each other round the dial.
    #[error(
        "The marks do not follow each other round the dial: the mark {0} stands out of order. Check its position; a click on the wrong tick is the usual cause. Marks that lie on no circle need the pivot too (--pivot X,Y)."
    )]
    OutOfOrder(f64),
    /// The marks fit once x and y are exchanged.
    #[error(
        "The marks do not lie on a dial as they were given; with x and y exchanged they lie on printed ticks. Give each place as X,Y: x to the right, y down."
    )]
    Exchanged,
    /// No needle was found, and the entries are questioned: they come first, each with a line of its own.
    #[error("{0}Nor was a needle found between the marks as they were given.")]
    Questioned(String),
    /// The marks lie on a circle, but not about the pivot that was given.
    #[error(
        "The pivot that was given lies {0:.0} % of the dial's radius from the middle of its marks. Is it the axis of another needle? Check --pivot, or leave \
         it out."
    )]
    PivotElsewhere(f64),
    /// Two values stand at each other's marks.
    #[error(
        "The values {0} and {1} stand in the wrong order round the dial; exchanged they would follow the others. Check what is printed at the two marks."
    )]
    WrongWayRound(f64, f64),
    /// No pivot and too few marks to find it.
    #[error("With two marks the pivot cannot be found from the marks alone. Add --pivot X,Y, the needle's axis.")]
    NeedsPivot,
    /// No pivot, and marks whose circle leaves it open: its standard uncertainty, % of the radius. What is asked about the entries comes first, each with
    /// a line of its own.
    #[error(
        "{asked}The marks do not tell where the needle's axis is: the middle of their circle is known to {off:.0} % of its radius only. Give the axis too \
         (--pivot X,Y); marks up to both ends of the scale or further photos (--also) tell it better."
    )]
    PivotUntold {
        /// The uncertainty.
        off: f64,
        /// The questions.
        asked: String,
    },
    /// Angles without the two places that fix the dial.
    #[error(
        "Known needle angles and temperatures also need two places in the photo: --pivot X,Y (the needle's axis) and --rim X,Y (the outer end of any tick)."
    )]
    NeedsRim,
    /// Fewer than two photos at known temperatures.
    #[error("{} at a known temperature given; a scale needs at least two. Add --known VALUE±LIMIT=PHOTO.", counted(*.0, "photo", "photos"))]
    TooFewKnown(usize),
    /// Two photos at one temperature.
    #[error("Two photos are said to be at {0}. Give one of them, or the two as they were measured, if they differ.")]
    SameKnown(f64),
    /// A photo at a known temperature that is not read.
    #[error("{0} does not show where its needle stands: {1} Take the photo again, the whole dial sharp and free of glare.")]
    KnownNotRead(String, String),
    /// Two photos that do not tell the way round.
    #[error(
        "Between the two photos the needle turns by {0:.0}° one way or the rest of the turn the other; which way round the scale runs is not \
         known from that. Add a photo at a temperature between the two."
    )]
    KnownWayRound(f64),
    /// The needle does not follow the temperatures.
    #[error(
        "From {0} to {1} the needle does not move on as over the rest of the scale. Check which photo was taken at which temperature; \
         a gauge that had not come to rest is the usual cause."
    )]
    KnownOutOfOrder(f64, f64),
    /// The geometry did not come out.
    #[error("The marks do not lie on a circle round the pivot ({0}). Check the positions.")]
    NoPlane(String),
    /// No needle in the reference photo.
    #[error(
        "No needle was found in the reference photo between the marks. Use a sharp photo taken straight on, with the whole needle visible and free of glare."
    )]
    NoNeedle,
    /// No needle was found, and nobody said where its axis is.
    #[error(
        "No needle was found in the reference photo between the marks, about the middle of their circle: no pivot was given. Give the needle's axis too \
         (--pivot X,Y), for the marks may lie on no circle about it; or use a sharp photo taken straight on, with the whole needle visible and free of glare."
    )]
    NoNeedleNorPivot,
    /// The face's picture could not be stored.
    #[error("The face could not be stored: {0}")]
    Face(#[from] DialFileError),
}

impl CalibrateError {
    /// Whether a pivot that was given, where the circle of the marks has none, might make it good.
    pub(super) fn may_be_of_the_pivot(&self) -> bool {
        self.is_of_places()
            || matches!(self, CalibrateError::NoNeedleNorPivot | CalibrateError::PivotUntold { .. } | CalibrateError::Questioned(_))
    }
    /// Whether places of marks that are wrong altogether may be the cause.
    pub(super) fn is_of_places(&self) -> bool {
        matches!(self, CalibrateError::OutOfOrder(_) | CalibrateError::WrongWayRound(..) | CalibrateError::NoPlane(_))
    }
}

fn counted(n: usize, one: &str, many: &str) -> String {
    match n {
        0 => format!("No {one}"),
        1 => format!("Only 1 {one}"),
        n => format!("{n} {many}"),
    }
}
