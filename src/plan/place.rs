//! What the dial itself leaves in a difference between two places of its scale.
use crate::dial::Dial;
use crate::maths::range::sought;
use crate::maths::source::Which;
use crate::reading::needle_at;
use crate::scale::Scale;

/// A drop at a place of the scale.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// The temperature before.
    pub at: f64,
    /// One sigma of what does not cancel, however many photos.
    pub fixed: f64,
    /// Change of temperature per degree of needle, the larger of the two places.
    pub slope: f64,
}

/// The drop from `at`; `None` in a flat zone, or where the scale gives no number.
pub fn place(dial: &Dial, scale: &Scale, at: f64, drop: f64) -> Option<Place> {
    let (before, after) = (angle_of(dial, scale, at), angle_of(dial, scale, at - drop));
    let read = |angle: f64, side: Which| {
        let t = scale.temperature(&needle_at(dial, angle)).estimate;
        t.interval().is_none().then(|| t.measured().on(side))
    };
    let fixed = read(after, Which::After)?.minus(&read(before, Which::Before)?).sigma();
    let slope = scale.slope(before).abs().max(scale.slope(after).abs());
    (fixed.is_finite() && slope.is_finite()).then_some(Place { at, fixed, slope })
}

/// The angle at which the dial shows a value within its scale, by bisection: the scale is monotone.
fn angle_of(dial: &Dial, scale: &Scale, value: f64) -> f64 {
    let end = |m: Option<&crate::dial::Mark>| m.map_or(f64::NAN, |m| m.angle);
    sought((end(dial.marks.first()), end(dial.marks.last())), 60, |angle| scale.value(angle) < value)
}
