//! The numbered ticks of a photo's dials as an object.
use super::{FORMAT_VERSION, JsonError, finite, written};
use crate::calibrate::{Doubt, FoundDial, NumberedTick};
use serde::Serialize;

#[derive(Serialize)]
struct Found<'a> {
    format_version: u32,
    schema: &'static str,
    photo: &'a str,
    dials: Vec<DialObject>,
}

#[derive(Serialize)]
pub(super) struct DialObject {
    pivot: [f64; 2],
    radius: Option<f64>,
    tilt: Option<f64>,
    ticks: Vec<TickObject>,
}

#[derive(Serialize)]
struct TickObject {
    number: usize,
    place: Option<[f64; 2]>,
    angle: Option<f64>,
    length: Option<f64>,
    long: bool,
    doubt: Option<&'static str>,
}

/// Dials from left to right, ticks by number. Places in px from the picture's corner, lengths in units of the marks' circle.
///
/// # Errors
/// When it cannot be written (a fault of the program).
pub fn ticks(photo: &str, dials: &[FoundDial]) -> Result<String, JsonError> {
    written(&Found { format_version: FORMAT_VERSION, schema: "needleband/ticks", photo, dials: found_dials(dials) })
}

pub(super) fn found_dials(dials: &[FoundDial]) -> Vec<DialObject> {
    let object = |d: &FoundDial| DialObject {
        pivot: d.pivot_place(),
        radius: finite(d.radius),
        tilt: finite(d.tilt),
        ticks: d.ticks.iter().map(|t| tick(d, t)).collect(),
    };
    dials.iter().map(object).collect()
}

fn tick(dial: &FoundDial, t: &NumberedTick) -> TickObject {
    TickObject {
        number: t.number,
        place: dial.place(t.number),
        angle: finite(t.angle),
        length: finite(t.length),
        long: t.long,
        doubt: t.doubt.map(|d| match d {
            Doubt::OffRing => "off_ring",
            Doubt::Askew => "askew",
            Doubt::Width => "width",
            Doubt::Crowded => "crowded",
            Doubt::Round => "round",
        }),
    }
}
