//! The chain: photo -> register -> rectify -> needle -> scale -> outcome.
use super::criteria::Criteria;
use super::decide::{Decision, Stage, decide};
use super::distortion::{understated, with_larger_terms};
use super::doubts::is_clear;
use super::metrics::{FileMetrics, LineMetrics, Metrics, NeedleMetrics, PhotoMetrics, PlaceMetrics, ScaleMetrics, Step};
use super::record::{Evidence, NeedleEvidence, Outcome, Reading, Record};
use super::terms;
use crate::diagnostics::Refusal;
use crate::dial::Dial;
use crate::maths::homography::PlaneInPhoto;
use crate::maths::measured::Measured;
use crate::maths::plane_view::PlaneView;
use crate::needle::{Candidate, NeedleFit, Parallax, fit, vote};
use crate::photo::Photo;
use crate::rectify::{Evidence as NeedleView, InpaintedReference, Work};
use crate::register::face::{FaceModel, NeedlePlace};
use crate::register::{Glyphs, Pyramid, Registrar, Registration, Views};
use crate::scale::{Scale, Temperature};

/// Reads photos of one dial; what can be prepared once is prepared once.
#[derive(Debug)]
pub struct Reader {
    registrar: Registrar,
    glyphs: Glyphs,
    reference: InpaintedReference,
    scale: Scale,
    criteria: Criteria,
}

/// What a read has found so far.
#[derive(Default)]
struct Findings {
    metrics: Metrics,
    first: Option<Registration>,
    last: Option<Registration>,
    needle: Option<NeedleFit>,
    value: Option<(Measured, Temperature)>,
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
    /// The angle at which the needle reads with every source named: `photo:<photo>/...`, `dial:<id>/plane/...` for what the dial's own plane does,
    /// and `dial:<id>/pivot/fault/...` where its pivot lies elsewhere.
    pub fn angle(&self, photo: &str, dial: &Dial) -> Measured {
        terms::angle(photo, dial, &self.registration, &self.needle)
    }
}

impl Reader {
    /// Prepares a dial for reading.
    pub fn new(dial: Dial) -> Self {
        Self::with(dial, Criteria::default())
    }
    /// The same with other criteria, for measuring what they do.
    pub fn with(dial: Dial, criteria: Criteria) -> Self {
        let scale = Scale::new(&dial);
        let face = FaceModel::new(dial);
        let beside = || rayon::join(|| InpaintedReference::new(&face), || Glyphs::with(&face, criteria.glyph));
        let (views, (reference, glyphs)) = rayon::join(|| Views::new(&face), beside);
        Self { registrar: Registrar::with(face, views, criteria.search), glyphs, reference, scale, criteria }
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
        self.read_through(photo, earlier, false).0
    }
    /// The same record with all that was measured. Where the photo is refused, what can be measured after that is measured all the same
    /// (but in an empty picture nothing), so that other criteria can be tried on it with [`decide`]. A line of brightness is measured only
    /// where no line of the needle's colour is trusted by the criteria at hand, and told only where it is trusted itself.
    pub fn measure(&self, photo: &Photo, earlier: Option<&Record>) -> (Record, Metrics) {
        self.read_through(photo, earlier, true)
    }
    fn read_through(&self, photo: &Photo, earlier: Option<&Record>, to_the_end: bool) -> (Record, Metrics) {
        let photo_id: String = photo.hash.chars().take(12).collect();
        let same_size = earlier.filter(|r| r.size == (photo.width, photo.height));
        let near = same_size.and_then(|r| r.evidence.as_ref()).filter(|e| e.needle.is_some()).map(|e| &e.homography);
        let mut found = self.look(photo, near, to_the_end);
        if self.goes_on(&found, to_the_end) {
            self.value(photo, &photo_id, &mut found);
        }
        let (outcome, evidence) = self.conclude(photo, &found);
        (Record { photo_id, taken_at: photo.taken_at.clone(), size: (photo.width, photo.height), outcome, evidence }, found.metrics)
    }
    /// What the photo shows of the dial, for learning more of the dial itself.
    ///
    /// # Errors
    /// The reason for which [`Self::read`] would refuse the photo too, and a sentence.
    pub fn sight(&self, photo: &Photo) -> Result<Sight, (Refusal, String)> {
        let found = self.look(photo, None, false);
        if let Decision::Refused { refusal, text, .. } = decide(&found.metrics, &self.criteria) {
            return Err((refusal, text));
        }
        if found.metrics.line.taken().is_some_and(|l| l.lit) {
            let text = "The needle has not its colour of the reference photo here.".to_string();
            return Err((Refusal::NeedleNotFound, text));
        }
        let nothing = || (Refusal::NeedleNotFound, String::new());
        found.last.zip(found.needle).map(|(registration, needle)| Sight { registration, needle }).ok_or_else(nothing)
    }
    /// Whether the next stage is worth taking.
    fn goes_on(&self, found: &Findings, to_the_end: bool) -> bool {
        to_the_end || matches!(decide(&found.metrics, &self.criteria), Decision::Open)
    }
    /// The stages on the photo's pixels, as far as they go.
    fn look(&self, photo: &Photo, near: Option<&PlaneInPhoto>, to_the_end: bool) -> Findings {
        let metrics = Metrics { photo: PhotoMetrics::of(photo), file: FileMetrics::of(&self.registrar.face), ..Metrics::default() };
        let mut found = Findings { metrics, ..Findings::default() };
        // in an empty picture nothing is measured, whatever is asked
        if self.goes_on(&found, false) {
            self.stages(photo, near, to_the_end, &mut found);
        }
        found
    }
    /// `None`: there was nothing more to look at.
    fn stages(&self, photo: &Photo, near: Option<&PlaneInPhoto>, to_the_end: bool, found: &mut Findings) -> Option<()> {
        let pyramid = Pyramid::of(photo);
        found.first = self.registrar.find(&pyramid, near);
        found.metrics.first = found.first.as_ref().map(|r| PlaceMetrics::of(r, photo)).into();
        self.goes_on(found, to_the_end).then_some(())?;
        let first = found.first.clone()?;
        let Some(mut work) = Work::cut(photo, &first.dial_to_photo, first.scale, 1.12) else {
            found.metrics.line = Step::Nothing;
            return None;
        };
        let mut evidence = NeedleView::new(&self.reference, &work, &first);
        self.line(photo, &pyramid, (&mut work, &mut evidence), to_the_end, found);
        if self.lacks_needle(found) {
            let mut evidence = evidence.by_brightness()?;
            work.place(&first.dial_to_photo, first.scale)?;
            let Metrics { photo: picture, file, first: place, .. } = found.metrics.clone();
            let metrics = Metrics { photo: picture, file, first: place, ..Metrics::default() };
            let mut lit = Findings { metrics, first: found.first.clone(), ..Findings::default() };
            self.line(photo, &pyramid, (&mut work, &mut evidence), false, &mut lit);
            if self.goes_on(&lit, false) {
                *found = lit;
            }
        }
        Some(())
    }
    /// Whether the dial is where it was found, but no line was the needle.
    fn lacks_needle(&self, found: &Findings) -> bool {
        use Refusal::{NeedleAmbiguous, NeedleDoubtful, NeedleNotFound};
        let no = |refusal| matches!(refusal, NeedleAmbiguous | NeedleDoubtful | NeedleNotFound);
        matches!(decide(&found.metrics, &self.criteria), Decision::Refused { refusal, .. } if no(refusal))
    }
    /// The needle's line where the dial was found, and the numerals beside it. `None`: there was nothing more to look at.
    fn line(
        &self,
        photo: &Photo,
        pyramid: &Pyramid,
        (work, evidence): (&mut Work, &mut NeedleView),
        to_the_end: bool,
        found: &mut Findings,
    ) -> Option<()> {
        let first = found.first.clone()?;
        let view = first.view(photo);
        let candidates = self.candidates((&first, &view), evidence, work);
        let line = LineMetrics::of(&candidates, evidence.is_by_brightness());
        found.metrics.line = line.clone().into();
        let best = candidates.first()?;
        // once more without the needle's place: its edges must not pull the print's alignment
        let look = &self.dial().needle;
        let covers = NeedlePlace::new(look, best.angle, best.offset);
        let hub = self.registrar.face.hub_from(view.centre);
        let again = self.registrar.again(pyramid, &first, |x, y| covers.covers(x, y, 0.05) || hub.hides(x, y));
        found.last = again.or_else(|| self.registrar.again(pyramid, &first, |_, _| false));
        found.metrics.last = found.last.as_ref().map(|r| PlaceMetrics::of(r, photo)).into();
        self.goes_on(found, to_the_end).then_some(())?;
        let last = found.last.as_ref()?;
        // the needle's line in the pixels themselves, what others nearly as good show there, and the numerals beside it
        let placed = work.place(&last.dial_to_photo, last.scale);
        evidence.sharpen(last);
        let (parallax, blur) = (self.parallax(&last.view(photo)), last.blur.standard_deviation());
        let fitted = |c: &Candidate| placed.and_then(|()| fit(evidence, work, look, c, &parallax, blur));
        found.needle = fitted(best);
        found.metrics.needle = found.needle.as_ref().map(|n| NeedleMetrics::of(n, best, self.dial(), last.scale)).into();
        let (needle, measured) = (found.needle.as_ref()?, found.metrics.needle.taken()?);
        // half of a needle may lie in glare: a rival counts with its better half, and one that cannot be fitted as a needle
        let close = |c: &&Candidate| is_clear(measured, &self.criteria) && best.score < self.criteria.runner_up * c.score;
        let rivals = candidates.iter().skip(1).filter(|c| to_the_end || close(c));
        let seen = rivals.map(|c| fitted(c).map_or(1.0, |n| n.halves[0].max(n.halves[1]))).reduce(f64::max);
        found.metrics.line = line.map(|l| LineMetrics { runner_up_seen: seen, ..l }).into();
        let covers = NeedlePlace::new(look, needle.angle, needle.offset);
        found.metrics.glyphs = Step::Taken(self.glyphs.compare(pyramid, last, |x, y| covers.covers(x, y, 0.05)));
        Some(())
    }
    /// Lines that may be the needle, best first.
    fn candidates(&self, (place, view): (&Registration, &PlaneView), evidence: &NeedleView, work: &Work) -> Vec<Candidate> {
        let (value, seen) = evidence.map(work);
        vote(&value, &seen, &self.dial().needle, &self.parallax(view), place.blur.standard_deviation())
    }
    fn parallax(&self, view: &PlaneView) -> Parallax {
        Parallax::of_view(view, &self.dial().needle.stand)
    }
    /// The value of what was seen.
    fn value(&self, photo: &Photo, photo_id: &str, found: &mut Findings) {
        if let (Some(last), Some(needle)) = (&found.last, &found.needle) {
            let angle = terms::angle(photo_id, self.dial(), last, needle);
            let understated = understated(photo, self.dial(), last);
            let read = with_larger_terms(&self.scale.read(&angle), understated);
            let temperature = self.scale.temperature_as_read(angle.value(), &read);
            found.metrics.scale = Step::Taken(ScaleMetrics::of(&self.scale, &angle, &temperature, understated));
            found.value = Some((with_larger_terms(&angle, understated), temperature));
        }
    }
    /// The outcome, and what pictures of it are drawn from.
    fn conclude(&self, photo: &Photo, found: &Findings) -> (Outcome, Option<Evidence>) {
        let value = found.value.as_ref();
        let whole = || {
            let needle = found.needle.as_ref().zip(value.map(|v| v.0.sigma()));
            found.last.as_ref().map(|r| self.evidence(photo, r, needle))
        };
        match (decide(&found.metrics, &self.criteria), value) {
            (Decision::Refused { refusal, text, at }, _) => {
                let evidence = match at {
                    Stage::Photo => None,
                    Stage::First => found.first.as_ref().map(|r| self.evidence(photo, r, None)),
                    Stage::Last => found.last.as_ref().map(|r| self.evidence(photo, r, None)),
                    Stage::Scale => whole(),
                };
                (Outcome::Refused(refusal, text), evidence)
            }
            (Decision::BelowScale, _) => (Outcome::BelowScale, whole()),
            (Decision::AboveScale, _) => (Outcome::AboveScale, whole()),
            (Decision::Reading(flags), Some((_, t))) => {
                (Outcome::Reading(Reading { temperature: t.estimate.clone(), unit: self.dial().unit, flags }), whole())
            }
            // every stage says what it found or did not
            (Decision::Reading(_) | Decision::Open, _) => (Outcome::Refused(Refusal::NeedleNotFound, String::new()), None),
        }
    }
    fn evidence(&self, photo: &Photo, r: &Registration, needle: Option<(&NeedleFit, f64)>) -> Evidence {
        Evidence {
            homography: r.dial_to_photo,
            tilt: r.view(photo).tilt_degrees(),
            radius_px: r.scale,
            print_match: r.print_match,
            matches: r.matches,
            needle: needle.map(|(n, sigma)| NeedleEvidence { angle: n.angle, sigma, offset: n.offset, span: n.span, seen: n.seen }),
        }
    }
}
