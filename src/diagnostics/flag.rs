//! Flags: something that makes a reading less good, or that the reader of a number should know.
use super::remarks::{RemarkCriteria, share_in_words};

/// A remark on a reading. The number stands; the remark says what to mind.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[non_exhaustive]
pub enum Flag {
    /// The camera looked at the dial from far off the straight-on direction.
    SteepView,
    /// The dial is small in the photo.
    SmallDial,
    /// The photo is blurred compared with the reference.
    Blurred,
    /// Part of the printed face is hidden or lost in glare.
    FaceHidden,
    /// Part of the needle is hidden or lost in glare.
    NeedleHidden,
    /// Only the needle's inner part is seen.
    NeedleStub,
    /// Only the needle's outer part is seen.
    NeedleTip,
    /// No line of the needle's colour could be trusted, but one by its brightness.
    NeedleLit,
    /// The line of the needle passes the pivot further off than parallax explains.
    NeedleOffPivot,
    /// The needle stands on the mark at an end of the scale, within the band.
    AtScaleEnd,
    /// The needle stands where it stood in the reference photo: the print below it was never seen.
    OverReferenceNeedle,
    /// The needle stands in a flat zone of the dial, or may.
    FlatZone,
    /// The dial file rests on three marks or fewer: the shape of the scale between them is assumed.
    FewMarks,
    /// No camera with this photo's lens sees the face so.
    FaceDistorted,
    /// A very wide lens (the 0.5x of a phone), and a dial so far from the middle that the lens may bend it. The band does not count that.
    WideLens,
}

impl Flag {
    /// Every flag, in the order of the registry.
    pub const ALL: [Flag; 15] = [
        Flag::SteepView,
        Flag::SmallDial,
        Flag::Blurred,
        Flag::FaceHidden,
        Flag::NeedleHidden,
        Flag::NeedleStub,
        Flag::NeedleTip,
        Flag::NeedleLit,
        Flag::NeedleOffPivot,
        Flag::AtScaleEnd,
        Flag::OverReferenceNeedle,
        Flag::FlatZone,
        Flag::FewMarks,
        Flag::FaceDistorted,
        Flag::WideLens,
    ];
    /// Short stable code, as in JSON.
    pub fn code(self) -> &'static str {
        match self {
            Flag::SteepView => "steep_view",
            Flag::SmallDial => "small_dial",
            Flag::Blurred => "blurred",
            Flag::FaceHidden => "face_hidden",
            Flag::NeedleHidden => "needle_hidden",
            Flag::NeedleStub => "needle_stub",
            Flag::NeedleTip => "needle_tip",
            Flag::NeedleLit => "needle_lit",
            Flag::NeedleOffPivot => "needle_off_pivot",
            Flag::AtScaleEnd => "at_scale_end",
            Flag::OverReferenceNeedle => "over_reference_needle",
            Flag::FlatZone => "flat_zone",
            Flag::FewMarks => "few_marks",
            Flag::FaceDistorted => "face_distorted",
            Flag::WideLens => "wide_lens",
        }
    }
    /// What was seen and what it does to the number; its numbers are those of the criteria as they are by default.
    pub fn sentence(self) -> String {
        let c = RemarkCriteria::default();
        match self {
            Flag::SteepView => {
                return format!("The dial was photographed from more than {}° off straight on; the band is wider for it.", c.tilt_deg);
            }
            Flag::SmallDial => return format!("The dial is less than {} pixels across; the band is wider for it.", c.dial_px),
            Flag::Blurred => "The photo is much softer than the reference photo; the band is wider for it.",
            Flag::FaceHidden => {
                let share = share_in_words(1.0 - c.face_seen);
                return format!("More than {share} of the printed face could not be matched (glare, a hand, the edge of the picture).");
            }
            Flag::NeedleHidden => {
                let share = share_in_words(c.needle_seen);
                return format!("Less than {share} of the needle's length could be seen; the line rests on the rest.");
            }
            Flag::NeedleStub => "Only the inner part of the needle could be seen; its direction rests on a short piece near the pivot.",
            Flag::NeedleTip => "Only the outer part of the needle could be seen; its direction leans on where its axis is assumed to pass.",
            Flag::NeedleLit => "The needle was not told by its colour of the reference photo but by its brightness, as a lit needle in the dark is.",
            Flag::NeedleOffPivot => "The needle's line passes further from the pivot than the camera's view explains.",
            Flag::AtScaleEnd => "The needle stands on the last mark of the scale; part of the band lies outside the scale.",
            Flag::OverReferenceNeedle => "The needle stands where it stood in the reference photo, so the print below it is not known.",
            Flag::FlatZone => {
                "The needle stands where it was declared to stand still, or may; the band is that whole zone, and no value in it is likelier."
            }
            Flag::FewMarks => "The dial file rests on few marks; the shape of the scale between them is assumed.",
            Flag::FaceDistorted => {
                "The face is seen in a shape in which no camera with this lens sees it: the dial file or the dial's place in the photo is off; the band is wider for it."
            }
            Flag::WideLens => {
                "The photo was taken with a very wide lens (0.5x) and the dial is not in its middle, where such a lens bends; the band does not count it."
            }
        }
        .to_string()
    }
    /// What to do about it.
    pub fn advice(self) -> &'static str {
        match self {
            Flag::SteepView => "Hold the phone straight in front of the dial.",
            Flag::SmallDial => "Go nearer or zoom in until the dial fills a third of the picture.",
            Flag::Blurred => "Hold still, let the phone focus on the dial, add light.",
            Flag::FaceHidden => "Shade the glass or change the angle until the numerals are clear.",
            Flag::NeedleHidden => "Move the reflection off the needle.",
            Flag::NeedleStub => "Look at the overlay; move the reflection off the needle's tip.",
            Flag::NeedleTip => "Hold the phone straight before the dial, and move the reflection off the needle.",
            Flag::NeedleLit => {
                "Look at the overlay: is the drawn line on the needle? A second dial file from a photo in this light does without."
            }
            Flag::NeedleOffPivot => "Look at the overlay: is the drawn line on the needle?",
            Flag::AtScaleEnd => "Treat the number as a limit rather than a value.",
            Flag::OverReferenceNeedle => {
                "Nothing needs doing; calibrating with further photos of the needle elsewhere (--also) removes the remark."
            }
            Flag::FlatZone => "Read the band and not the number; read at a temperature outside the zone.",
            Flag::FewMarks => "Calibrate again with more marks if the scale is not even.",
            Flag::FaceDistorted => {
                "If most photos say so, calibrate again from a photo taken straight on; if this one does, use the file as the camera wrote it, without a reflection on the face."
            }
            Flag::WideLens => "Use the phone's 1x lens, or bring the dial to the middle of the picture.",
        }
    }
}
