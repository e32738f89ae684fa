//! The needle's angle as a measured quantity: every source named.
use super::pivot::PivotFault;
use crate::dial::Dial;
use crate::maths::angle::wrap;
use crate::maths::homography::Homography;
use crate::maths::measured::Measured;
use crate::maths::point::DialPoint;
use crate::maths::source::{Cause, Source};
use crate::needle::NeedleFit;
use crate::register::Registration;
use crate::register::face::LineFrame;

/// The angle of the scale at which the needle reads (degrees clockwise from up; its direction, and what a pivot that lies elsewhere makes of it)
/// with its terms: the needle's, the registration's, the dial's plane and the pivot's fault. `photo`: its hash, or how it begins.
pub fn angle(photo: &str, dial: &Dial, registration: &Registration, needle: &NeedleFit) -> Measured {
    let own = |part| Source::Photo(photo.to_string(), part);
    let mut out = Measured::exact(needle.angle)
        .with_term(own(Cause::Needle), needle.covariance[(1, 1)].max(0.0).sqrt().to_degrees())
        .with_term(own(Cause::Edges), needle.uneven.to_degrees())
        .with_term(own(Cause::Blur), needle.smear.to_degrees());
    for (k, d) in registration.shifts().iter().enumerate() {
        out = with(out, own(Cause::Registration(k)), turned(d, needle.angle, needle.offset, needle.span));
    }
    let crossing = PivotFault::seen(dial, photo, registration, needle).ring_crossing(needle.angle);
    for (k, term) in crossing.shared.into_iter().enumerate() {
        out = with(out, Source::Dial(dial.id.clone(), Cause::PivotFault(k)), term);
    }
    out = with(out, own(Cause::PivotFault(0)), crossing.own);
    out.plus(&plane(dial, needle.angle, needle.offset, needle.span)).plus(&Measured::exact(crossing.further))
}

/// A needle's angle with the terms of the dial alone: as in a photo that adds nothing, the needle in line with the pivot.
pub fn needle_at(dial: &Dial, angle: f64) -> Measured {
    Measured::exact(angle).plus(&plane(dial, angle, 0.0, dial.needle.span))
}

/// The dial's own plane: the marks' terms of the same name move the scale with it, so that most of this cancels there.
fn plane(dial: &Dial, angle: f64, offset: f64, span: [f64; 2]) -> Measured {
    let mut out = Measured::exact(0.0);
    for (k, moved) in dial.face.plane_terms.iter().enumerate() {
        let change = moved.inverse().map_or(f64::NAN, |b| turned(&(b * dial.face.plane), angle, offset, span));
        out = with(out, Source::Dial(dial.id.clone(), Cause::Plane(k)), change);
    }
    out
}

/// A term more, unless it is nothing. What is not a number stays one, so that no reading comes of it.
fn with(angle: Measured, source: Source, term: f64) -> Measured {
    if term.is_nan() || term.abs() > 1e-7 { angle.with_term(source, term) } else { angle }
}

/// By how much a small homography on the dial side turns the needle's line, degrees.
fn turned(d: &Homography<DialPoint, DialPoint>, angle: f64, offset: f64, span: [f64; 2]) -> f64 {
    let line = LineFrame::new(angle, offset);
    let [a, b] = span.map(|r| line.point(r, 0.0)).map(|(x, y)| d.at(x, y));
    wrap((b.x - a.x).atan2(b.y - a.y).to_degrees() - angle)
}
