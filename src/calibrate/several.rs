//! From several photos of one dial to a better calibration.
use super::build::calibrate_with;
use super::error::CalibrateError;
use super::request::{Calibration, Request};
use super::views::View;
use super::warning::Warning;
use crate::photo::Photo;
use crate::reading::Reader;
use std::iter::once;

/// Calibrates a dial from several photos: the first is the one the user marked, the others, with a name each, show the same dial at
/// other needle places and from other sides.
///
/// First as [`super::calibrate`]; with that dial every further photo is laid over the reference photo by its print. Then once more with the
/// ticks of all photos (also those under the reference photo's needle) and with the needle's line in each of them, which tells
/// pivot, tilt, and how high the needle stands above the face; the face below the reference photo's needle is taken from them. A photo that cannot be laid over is left out with a warning.
///
/// # Errors
/// As [`super::calibrate`].
pub fn calibrate_several(photo: &Photo, also: &[(String, Photo)], request: &Request) -> Result<Calibration, CalibrateError> {
    let (mut done, plane) = calibrate_with(photo, &[], request)?;
    if also.is_empty() {
        return Ok(done);
    }
    let look = done.dial.needle.clone();
    let reader = Reader::new(done.dial.clone());
    let mut left_out = Vec::new();
    let mut views: Vec<View> = Vec::new();
    for (name, p) in once(("The reference photo", photo)).chain(also.iter().map(|(name, p)| (name.as_str(), p))) {
        match reader.sight(p) {
            Ok(sight) => views.extend(View::new(p, sight, &plane, &look)),
            Err((_, text)) => left_out.push(Warning::PhotoNotUsed(name.to_string(), text)),
        }
        if views.is_empty() {
            break;
        }
    }
    if views.len() > 1 {
        done = calibrate_with(photo, &views, request)?.0;
    }
    done.warnings.extend(left_out);
    Ok(done)
}
