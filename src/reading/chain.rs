//! The chain: photo -> register -> rectify -> needle -> scale -> outcome.
use super::judge;
use super::record::{Evidence, NeedleEvidence, Outcome, Reading, Record};
use super::terms;
use crate::diagnostics::{Flag, Refusal};
use crate::dial::Dial;
use crate::maths::measured::Measured;
use crate::maths::pose::{Camera, camera_centre, tilt_degrees};
use crate::needle::{Candidate, NeedleFit, Parallax, fit, vote};
use crate::photo::Photo;
use crate::rectify::{Evidence as NeedleView, InpaintedReference, Work};
use crate::register::face::{FaceModel, NeedlePlace};
use crate::register::{Glyphs, Pyramid, Registrar, Registration, Views};
use crate::scale::{Place, Scale};
use nalgebra::Matrix3;

/// Reads photos of one dial; what can be prepared once is prepared once.
#[derive(Debug)]
pub struct Reader {
    registrar: Registrar,
    glyphs: Glyphs,
    reference: InpaintedReference,
    scale: Scale,
}

/// Why the chain stopped, and how far it had come.
struct Stop {
    refusal: Refusal,
    text: String,
    registration: Option<Box<Registration>>,
}

impl Stop {
    fn new(refusal: Refusal, text: impl Into<String>, registration: Option<Registration>) -> Self {
        Self { refusal, text: text.into(), registration: registration.map(Box::new) }
    }
}

/// What a photo shows of a dial, before any value is made of it: the dial's place and the needle's line, both judged.
#[derive(Clone, Debug)]
pub struct Sight {
    /// Where the dial is.
    pub registration: Registration,
    /// The needle's line in the dial's frame.
    pub needle: NeedleFit,
}

impl Sight {
    /// The needle's angle with every source named: `photo:<photo>/...`, and `dial:<id>/plane/...` for what the dial's own plane does.
    pub fn angle(&self, photo: &str, dial: &Dial) -> Measured {
        terms::angle(photo, dial, &self.registration, &self.needle)
    }
}

impl Reader {
    /// Prepares a dial for reading.
    pub fn new(dial: Dial) -> Self {
        let scale = Scale::new(&dial);
        let face = FaceModel::new(dial);
        let beside = || rayon::join(|| InpaintedReference::new(&face), || Glyphs::new(&face));
        let (views, (reference, glyphs)) = rayon::join(|| Views::new(&face), beside);
        Self { registrar: Registrar::with(face, views), glyphs, reference, scale }
    }
    /// The dial.
    pub fn dial(&self) -> &Dial {
        &self.registrar.face.dial
    }
    /// Reads one photo. Counts and does not count: see [`crate::scale::Scale::temperature`].
    pub fn read(&self, photo: &Photo) -> Record {
        self.read_after(photo, None)
    }
    /// Reads one photo, looking for the dial first where an `earlier` photo of the same size had it: frames of one scene are found at
    /// a fraction of the cost. Where the print does not agree there, the whole photo is searched as by [`Self::read`]; the last
    /// alignment is the same either way.
    pub fn read_after(&self, photo: &Photo, earlier: Option<&Record>) -> Record {
        let mut record = Record {
            photo_id: photo.hash.chars().take(12).collect(),
            taken_at: photo.taken_at.clone(),
            size: (photo.width, photo.height),
            outcome: Outcome::Refused(Refusal::DialNotFound, String::new()),
            evidence: None,
        };
        let same_size = earlier.filter(|r| r.size == (photo.width, photo.height));
        let near = same_size.and_then(|r| r.evidence.as_ref()).filter(|e| e.needle.is_some()).map(|e| &e.homography);
        match self.look(photo, near) {
            Ok(found) => self.conclude(photo, &found, &mut record),
            Err(stop) => {
                record.outcome = Outcome::Refused(stop.refusal, stop.text);
                record.evidence = stop.registration.map(|r| self.evidence(photo, &r, None));
            }
        }
        record
    }
    /// What the photo shows of the dial, for learning more of the dial itself.
    ///
    /// # Errors
    /// The reason for which [`Self::read`] would refuse the photo too, and a sentence.
    pub fn sight(&self, photo: &Photo) -> Result<Sight, (Refusal, String)> {
        self.look(photo, None).map_err(|stop| (stop.refusal, stop.text))
    }
    fn look(&self, photo: &Photo, near: Option<&Matrix3<f64>>) -> Result<Sight, Stop> {
        if let Some(text) = judge::no_detail(photo) {
            return Err(Stop::new(Refusal::NoDetail, text, None));
        }
        let pyramid = Pyramid::of(photo);
        let Some(first) = self.registrar.find(&pyramid, near) else {
            return Err(Stop::new(Refusal::DialNotFound, "No place in the photo resembles the dial.", None));
        };
        if let Some((r, text)) = judge::registration(&first) {
            return Err(Stop::new(r, text, Some(first)));
        }
        let nothing = |r| Stop::new(Refusal::NeedleNotFound, "No line on the face stands out from the print.", Some(r));
        let Some(work) = Work::cut(photo, &first.homography, first.scale, 1.12) else { return Err(nothing(first)) };
        let evidence = NeedleView::new(&self.reference, &work, &first);
        let candidates = self.candidates(photo, &first, &evidence, &work);
        let Some(best) = candidates.first() else { return Err(nothing(first)) };
        // once more without the needle's place: its edges must not pull the print's alignment
        let look = &self.dial().needle;
        let place = NeedlePlace::new(look, best.angle, best.offset);
        let again = self.registrar.again(&pyramid, &first, |x, y| place.covers(x, y, 0.05));
        let Some(again) = again.or_else(|| self.registrar.again(&pyramid, &first, |_, _| false)) else {
            let text = "Too little of the print is left for the last alignment.";
            return Err(Stop::new(Refusal::DialDoubtful, text, Some(first)));
        };
        if let Some((r, text)) = judge::registration(&again) {
            return Err(Stop::new(r, text, Some(again)));
        }
        let Some(needle) = work.placed(&again.homography, again.scale).and_then(|work| {
            let evidence = evidence.sharpened(&again);
            fit(&evidence, &work, look, best, &self.parallax(photo, &again), round_blur(&again))
        }) else {
            return Err(nothing(again));
        };
        let place = NeedlePlace::new(look, needle.angle, needle.offset);
        let seen = self.glyphs.compare(&pyramid, &again, |x, y| place.covers(x, y, 0.05));
        if let Some((r, text)) = judge::glyphs(&seen) {
            return Err(Stop::new(r, text, Some(again)));
        }
        match judge::needle(&needle, &candidates) {
            Some((r, text)) => Err(Stop::new(r, text, Some(again))),
            None => Ok(Sight { registration: again, needle }),
        }
    }
    /// Lines that may be the needle, best first.
    fn candidates(&self, photo: &Photo, registration: &Registration, evidence: &NeedleView, work: &Work) -> Vec<Candidate> {
        let (value, seen) = evidence.map(work);
        vote(&value, &seen, &self.dial().needle, &self.parallax(photo, registration), round_blur(registration))
    }
    fn parallax(&self, photo: &Photo, registration: &Registration) -> Parallax {
        let camera = Camera::of_picture(photo.width, photo.height, photo.focal_ratio);
        Parallax::from_camera(camera_centre(&registration.homography, &camera), &self.dial().needle.stand)
    }
    fn conclude(&self, photo: &Photo, found: &Sight, record: &mut Record) {
        let angle = found.angle(&record.photo_id, self.dial());
        record.evidence = Some(self.evidence(photo, &found.registration, Some((&found.needle, angle.sigma()))));
        let t = self.scale.temperature(&angle);
        if !(t.measured.value().is_finite() && t.measured.sigma().is_finite()) {
            let text = "The dial file's marks and plane give no value with a known uncertainty here.".to_string();
            record.outcome = Outcome::Refused(Refusal::DialDoubtful, text);
            return;
        }
        let slope = self.scale.slope(angle.value()).abs().max(1e-9);
        // the end marks themselves have width: a needle within the band of one is on the scale
        let margin = (2.0 * t.read / slope).max(0.25);
        record.outcome = match self.scale.place(angle.value(), margin) {
            Place::Below => Outcome::BelowScale,
            Place::Above => Outcome::AboveScale,
            Place::On => {
                let inside = self.scale.inside(angle.value()) * slope;
                let at_end = inside < 1.96 * t.read;
                let mut flags = judge::flags(self.dial(), photo, &found.registration, &found.needle, record.evidence.as_ref(), at_end);
                flags.extend(t.flat.map(|_| Flag::FlatZone));
                Outcome::Reading(Reading { temperature: t.measured, band: t.band, flat: t.flat, unit: self.dial().unit, flags })
            }
        };
    }
    fn evidence(&self, photo: &Photo, r: &Registration, needle: Option<(&NeedleFit, f64)>) -> Evidence {
        let camera = Camera::of_picture(photo.width, photo.height, photo.focal_ratio);
        Evidence {
            homography: r.homography,
            tilt: camera_centre(&r.homography, &camera).map_or(0.0, |c| tilt_degrees(&c)),
            radius_px: r.scale,
            print_match: r.print_match,
            matches: r.matches,
            needle: needle.map(|(n, sigma)| NeedleEvidence { angle: n.angle, sigma, offset: n.offset, span: n.span, seen: n.seen }),
        }
    }
}

/// Standard deviation of the photo's blur, the mean of all directions, dial units.
fn round_blur(r: &Registration) -> f64 {
    (0.5 * (r.blur[0] + r.blur[2])).max(0.0).sqrt()
}
