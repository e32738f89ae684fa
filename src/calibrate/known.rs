//! A scale from photos at temperatures that another thermometer gave, for dials without numerals.
use super::error::CalibrateError;
use super::request::{Calibration, Request};
use super::several::calibrate_several;
use super::warning::Warning;
use crate::dial::{Dial, FORMAT_VERSION, Mark, MarkKind};
use crate::maths::angle::run;
use crate::maths::measured::Measured;
use crate::maths::source::{Cause, Source};
use crate::photo::Photo;
use crate::reading::Reader;
use crate::scale::{Place, Scale};
use std::collections::BTreeMap;
use std::f64::consts::FRAC_PI_2;

/// A photo taken at a known temperature.
#[derive(Clone, Debug)]
pub struct KnownPhoto {
    /// What to call it in messages.
    pub name: String,
    /// The photo.
    pub photo: Photo,
    /// Temperature, dial unit.
    pub value: f64,
    /// How far off that may be, either way, dial unit: a limit, counted as rectangular (JCGM 100:2008, 4.3.7). One thermometer is taken to
    /// err alike at like temperatures and independently at the two ends of the scale.
    pub limit: f64,
}

/// Needle angles between which any scale lies, degrees: where the needle is looked for before the scale is known.
const ANYWHERE: [f64; 2] = [-150.0, 150.0];

/// Turn, degrees, up to which two photos tell the way round: the other way would be more than dash scales sweep (270°, common practice).
const QUARTER: f64 = 90.0;
/// Most that one part of a scale is wider than another, degrees of needle per unit of temperature (common practice: dash scales that are
/// not even stay within a factor of three).
const UNEVEN: f64 = 4.0;

/// Calibrates a dial from the needle's place in two or more photos at known temperatures; `request` gives pivot and rim in the
/// reference photo, and no marks. `also`: further photos, as in [`calibrate_several`].
///
/// The scale is taken to run the way round that the photos follow it; of two photos further apart than a quarter turn
/// that is not known, so it takes three there.
///
/// Counts: the thermometer's limits, and needle, registration and plane of each photo. Does not count: that gauge and thermometer may not have been at one temperature.
///
/// # Errors
/// As [`calibrate_several`]; fewer than two photos, a value twice, a needle that does not follow the values, a photo that is not read.
pub fn calibrate_known(
    photo: &Photo,
    known: &[KnownPhoto],
    also: &[(String, Photo)],
    request: &Request,
) -> Result<Calibration, CalibrateError> {
    if known.len() < 2 {
        return Err(CalibrateError::TooFewKnown(known.len()));
    }
    let mut sorted: Vec<&KnownPhoto> = known.iter().collect();
    sorted.sort_by(|a, b| a.value.total_cmp(&b.value));
    if let Some(w) = sorted.windows(2).find(|w| w[0].value == w[1].value) {
        return Err(CalibrateError::SameKnown(w[0].value));
    }
    let angles = ANYWHERE.iter().enumerate().map(|(i, a)| (i as f64, *a)).collect();
    let anywhere = Request { marks: Vec::new(), angles, ..request.clone() };
    let all: Vec<(String, Photo)> = known.iter().map(|k| (k.name.clone(), k.photo.clone())).chain(also.iter().cloned()).collect();
    let first = calibrate_several(photo, &all, &anywhere)?;
    let reader = Reader::new(first.dial.clone());
    let needles = sorted.iter().map(|k| needle(&reader, k)).collect::<Result<Vec<Measured>, _>>()?;
    let marks = marks(&sorted, &needles, &first.dial.id)?;
    let dial = Dial { marks, version: FORMAT_VERSION, ..first.dial }.sealed();
    let scale = Scale::new(&dial);
    let needle_reads = (scale.place(dial.needle.angle, 0.25) == Place::On).then(|| scale.value(dial.needle.angle));
    // the angles that stood for the scale are told of no more
    let stays = |w: &Warning| matches!(w, Warning::PhotoNotUsed(..) | Warning::FewTicks | Warning::Mirrored | Warning::Steep(..));
    let mut warnings: Vec<Warning> = first.warnings.into_iter().filter(stays).collect();
    let ends = [sorted[0].value, sorted[sorted.len() - 1].value];
    warnings.push(Warning::ByThermometer(sorted.len(), ends, dial.unit.symbol()));
    Ok(Calibration { dial, needle_reads, warnings, rival_steps: None, questions: Vec::new() })
}

/// The needle's angle in a photo, with its terms. The marks of the dial it is read with are angles and no print, so that no fault of the pivot is
/// sought: it would be the same in these marks and in every reading.
fn needle(reader: &Reader, known: &KnownPhoto) -> Result<Measured, CalibrateError> {
    let sight = reader.sight(&known.photo).map_err(|(_, text)| CalibrateError::KnownNotRead(known.name.clone(), text))?;
    Ok(sight.angle(&known.photo.hash, reader.dial()))
}

/// The marks: angles on one run, each with its photo's terms, the plane's, and the thermometer's by the scale's slope there.
fn marks(known: &[&KnownPhoto], needles: &[Measured], dial: &str) -> Result<Vec<Mark>, CalibrateError> {
    let angles = run(&needles.iter().map(Measured::value).collect::<Vec<_>>());
    let last = angles.len() - 1;
    if last == 1 && (angles[1] - angles[0]).abs() > QUARTER {
        return Err(CalibrateError::KnownWayRound((angles[1] - angles[0]).abs()));
    }
    let rises = angles[last] > angles[0];
    if let Some(i) = angles.windows(2).position(|w| (w[1] - w[0]).abs() < 0.2 || (w[1] > w[0]) != rises) {
        return Err(CalibrateError::KnownOutOfOrder(known[i].value, known[i + 1].value));
    }
    // the needle's places alone also fit a scale that runs the other way round in leaps
    let steps: Vec<f64> = (0..last).map(|i| (angles[i + 1] - angles[i]).abs() / (known[i + 1].value - known[i].value)).collect();
    let (least, most) = steps.iter().fold((f64::MAX, 0.0f64), |(a, b), &s| (a.min(s), b.max(s)));
    if most > UNEVEN * least || (angles[last] - angles[0]).abs() >= 359.0 {
        let i = steps.iter().position(|s| *s == most).unwrap_or(0);
        return Err(CalibrateError::KnownOutOfOrder(known[i].value, known[i + 1].value));
    }
    // of this very dial file: its plane is in the new one too
    let plane = |source: &Source| match source {
        Source::Dial(id, Cause::Plane(k)) if id == dial => Some(*k),
        _ => None,
    };
    let mark = |i: usize| {
        let own = needles[i].variance_of(|source| plane(source).is_none()).sqrt();
        let mut terms = BTreeMap::from([(Cause::Mark(i), own)]);
        // as a gauge's error (scale/temperature): alike at one place of the scale, of its own at the other end
        let (s, c) = (FRAC_PI_2 * (known[i].value - known[0].value) / (known[last].value - known[0].value)).sin_cos();
        let sigma = known[i].limit / 3f64.sqrt();
        let value_terms = BTreeMap::from([(Cause::Thermometer(0), sigma * c), (Cause::Thermometer(1), sigma * s)]);
        terms.extend(needles[i].terms().iter().filter_map(|(source, t)| Some((Cause::Plane(plane(source)?), *t))));
        Mark { value: known[i].value, angle: angles[i], kind: MarkKind::Known, terms, value_terms, click: None }
    };
    Ok((0..=last).map(mark).collect())
}
