//! What the user should know of a calibration that was made all the same.
use crate::diagnostics::Refusal;
use std::fmt::{Display, Formatter, Result as Written};

/// A remark on a calibration; as text a sentence with advice. Values in the dial's unit.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Warning {
    /// Two marks.
    TwoValues,
    /// Fewer than three ticks.
    FewTicks,
    /// Marks on no circle round the pivot.
    DirectionsOnly,
    /// No pivot was given, and the marks' circle has none.
    PivotOfTicks,
    /// Ticks that do not point to the pivot.
    Askew,
    /// The same, where the pivot is the middle of the marks' circle and nobody clicked it.
    AskewNorPivot,
    /// Many edges that are no strokes, as where the cover mirrors what is before it.
    Mirrored,
    /// A reference photo from so many degrees off straight on.
    Steep(f64),
    /// A step between ticks that was told and does not fit.
    StepAmiss(f64),
    /// Two steps that fit about equally well.
    RivalSteps([f64; 2]),
    /// So many intervals with ticks that could not be counted.
    NotCounted(usize),
    /// A click on a value so many px beside its tick.
    ClickBeside(f64, f64),
    /// A click on a value where no tick is, good to so many px.
    ClickBare(f64, f64),
    /// Ticks that go on beyond a mark.
    GoesOn {
        /// How many.
        ticks: usize,
        /// Value of the mark.
        beyond: f64,
        /// Value of the last tick, if they count on.
        value: f64,
        /// Where it is, px of the reference photo from its corner.
        place: [f64; 2],
    },
    /// Angles that are those of the photo, held straight to so many degrees.
    AsHeld(f64),
    /// A photo that is not used, by name, and why.
    PhotoNotUsed(String, String),
    /// Told by who reads the reference photo with the finished dial (the command and its page): it is refused, and why.
    OwnNotRead(Refusal),
    /// So many temperatures of another thermometer, from one value to another, with their unit.
    ByThermometer(usize, [f64; 2], &'static str),
}

impl Display for Warning {
    fn fmt(&self, f: &mut Formatter) -> Written {
        match self {
            Warning::TwoValues => f.write_str("Only two values are known: the scale is taken as even between them."),
            Warning::FewTicks => f.write_str(
                "Fewer than three printed ticks were found: the tilt of the reference photo is uncertain, and the band is wider for it.",
            ),
            Warning::DirectionsOnly => f.write_str(
                "The marks lie on no circle round the pivot, so only their directions from it are used, and the band is wider for the tilt that is \
                 not known. Check them; a photo taken straight on makes it surer.",
            ),
            Warning::PivotOfTicks => f.write_str(
                "The marks lie on no circle about a needle's axis, and no pivot was given: it was taken where the lines of the ticks meet, only the \
                 marks' directions from there are used, and the band is wider for it. Check the cross; a click on the axis (--pivot X,Y) is surer.",
            ),
            Warning::Askew => f.write_str("The printed ticks do not point at the pivot; only their places are used."),
            Warning::AskewNorPivot => f.write_str(
                "The printed ticks do not point at the middle of the marks' circle, which was taken for the pivot since none was given. A click on the \
                 needle's axis (--pivot X,Y) tells which of the two it is.",
            ),
            Warning::Mirrored => f.write_str(
                "Many of the clear edges on this face are no print that stands out, as where a cover mirrors the cabin. \
                 If it does mirror, a photo taken in the shade, or with something dark held behind the phone, makes later photos surer to be read.",
            ),
            Warning::Steep(tilt) => write!(
                f,
                "The reference photo was taken {tilt:.0}° off straight on. From there the cap over the pivot and the needle are seen beside where they \
                 stand on the face, and later readings may be off by more than their band; a photo taken within 15° makes them surer."
            ),
            Warning::StepAmiss(step) => {
                write!(f, "Ticks {step} apart do not divide every step between the marks, so that step was not used.")
            }
            Warning::RivalSteps([a, b]) => write!(
                f,
                "The unlabelled ticks fit steps of {a} and of {b} about equally well, so they are not used and the band is wider for it. Say which it \
                 is, or give the value of one of them."
            ),
            Warning::NotCounted(count) => write!(
                f,
                "In {count} interval(s) between marks the unlabelled ticks could not be counted with certainty; they are not used."
            ),
            Warning::ClickBeside(value, r) => {
                write!(f, "The click on {value} is {r:.1} px beside the printed tick it was snapped to; check that it is the right tick.")
            }
            Warning::ClickBare(value, sigma) => {
                write!(f, "No printed tick was found at the click on {value}; the click itself is used (± {sigma} px).")
            }
            Warning::GoesOn { ticks, beyond, value, place } => goes_on(f, *ticks, [*beyond, *value], *place),
            Warning::AsHeld(roll) => write!(
                f,
                "The angles are taken from the photo's straight up; the dial's own may lean by some degrees (± {roll}° is in the band)."
            ),
            Warning::PhotoNotUsed(name, why) => write!(f, "{name} is not used: {why}"),
            Warning::OwnNotRead(reason) => own_not_read(f, *reason),
            Warning::ByThermometer(count, [low, high], unit) => write!(
                f,
                "The scale rests on {count} temperatures of another thermometer; outside {low} to {high} {unit} nothing is read."
            ),
        }
    }
}

/// A reference photo that its own dial does not read: what that means for later ones depends on what is amiss.
fn own_not_read(f: &mut Formatter, reason: Refusal) -> Written {
    write!(f, "A dial file of these entries does not read its own reference photo. {} ", reason.sentence())?;
    match reason {
        Refusal::NeedleNotFound | Refusal::NeedleAmbiguous | Refusal::NeedleDoubtful => f.write_str(
            "What the needle looks like is learned from that photo alone, so later photos may often not be read either: take a reference photo in \
             which the whole needle shows, sharp and free of reflections.",
        ),
        _ => write!(f, "Later photos may often not be read either. {}", reason.advice()),
    }
}

/// Ticks that go on beyond a mark of the first value, the last at the second.
fn goes_on(f: &mut Formatter, count: usize, [beyond, value]: [f64; 2], [x, y]: [f64; 2]) -> Written {
    let ticks = if count == 1 { "A printed tick goes" } else { "Printed ticks go" };
    write!(
        f,
        "{ticks} on beyond {beyond} in the same step, the last at {value} if they count on. Nothing is read there. If it is scale, give that mark too: \
         --mark {value}@{x:.0},{y:.0}, or on the page its value."
    )
}
