//! A note as JSON spells it. The model stays free of the format; a change here is a new format version, and so is a new remark
//! or refusal: a reader that does not know it would drop the line.
use super::{FORMAT, correction};
use crate::diagnostics::{Flag, Refusal};
use crate::diary::model::{Ambient, Conditions, DialStamp, Note, Noted, Sketch};
use crate::maths::estimate::Estimate;
use crate::maths::homography::PlaneInPhoto;
use crate::maths::measured::Measured;
use crate::maths::source::Source;
use crate::maths::units::Unit;
use crate::reading::{Evidence, NeedleEvidence, Outcome, Reading, Record};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct NoteTwin {
    format: String,
    format_version: u64,
    written_at: String,
    stage: String,
    dial: DialTwin,
    warm_up: bool,
    ambient: Option<AmbientTwin>,
    speed: Option<String>,
    load: Option<String>,
    text: Option<String>,
    photos: Vec<PhotoTwin>,
    picture: Option<PictureTwin>,
    /// Left out where the check sum itself is worked out; the last field, so that a line cut off never has one.
    #[serde(skip_serializing_if = "Option::is_none")]
    check: Option<String>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct DialTwin {
    id: String,
    name: String,
    unit: Unit,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct AmbientTwin {
    value: f64,
    unit: Unit,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct PhotoTwin {
    file: String,
    sha256: String,
    seconds: Option<f64>,
    photo_id: String,
    taken_at: Option<String>,
    size: (usize, usize),
    outcome: OutcomeTwin,
    evidence: Option<EvidenceTwin>,
}

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
enum OutcomeTwin {
    Reading { value: f64, terms: BTreeMap<Source, f64>, band: (f64, f64), flat: Option<(f64, f64)>, unit: Unit, flags: Vec<String> },
    BelowScale,
    AboveScale,
    Refused { reason: String, seen: String },
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct EvidenceTwin {
    /// Row by row.
    homography: [[f64; 3]; 3],
    tilt: f64,
    radius_px: f64,
    print_match: f64,
    matches: usize,
    needle: Option<NeedleTwin>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct NeedleTwin {
    angle: f64,
    sigma: f64,
    offset: f64,
    span: [f64; 2],
    seen: f64,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct PictureTwin {
    photo: usize,
    size: [u32; 2],
    radius: f64,
    jpeg_base64: String,
}

/// 1, or 2 for what version 1 has no word for.
fn version(n: &Note) -> u64 {
    let new = |o: &Outcome| matches!(o, Outcome::Refused(Refusal::LeftOut, _));
    if n.photos.iter().any(|p| new(&p.record.outcome)) { correction::VERSION } else { 1 }
}

impl NoteTwin {
    pub(super) fn of(n: &Note) -> Self {
        let c = &n.conditions;
        Self {
            format: FORMAT.to_string(),
            format_version: version(n),
            written_at: n.written_at.clone(),
            stage: n.stage.clone(),
            dial: DialTwin { id: n.dial.id.clone(), name: n.dial.name.clone(), unit: n.dial.unit },
            warm_up: n.warm_up,
            ambient: c.ambient.map(|a| AmbientTwin { value: a.value, unit: a.unit }),
            speed: c.speed.clone(),
            load: c.load.clone(),
            text: c.text.clone(),
            photos: n.photos.iter().map(PhotoTwin::of).collect(),
            picture: n.sketch.as_ref().map(PictureTwin::of),
            check: None,
        }
    }
    /// With its check sum.
    pub(super) fn sealed(mut self, check: impl Fn(&Self) -> String) -> Self {
        self.check = Some(check(&self));
        self
    }
    /// The check sum, and the twin without it.
    pub(super) fn unsealed(mut self) -> (Option<String>, Self) {
        (self.check.take(), self)
    }
    /// Errors: what no note can hold, in words.
    pub(super) fn into_note(self) -> Result<Note, String> {
        let photos: Vec<Noted> = self.photos.into_iter().map(PhotoTwin::into_noted).collect::<Result<_, _>>()?;
        let sketch = self.picture.map(PictureTwin::into_sketch).transpose()?;
        if sketch.as_ref().is_some_and(|s| s.photo >= photos.len()) {
            return Err("its picture is of a photo that it does not hold".to_string());
        }
        let ambient = self.ambient.map(|a| Ambient { value: a.value, unit: a.unit });
        Ok(Note {
            written_at: self.written_at,
            stage: self.stage,
            dial: DialStamp { id: self.dial.id, name: self.dial.name, unit: self.dial.unit },
            warm_up: self.warm_up,
            conditions: Conditions { ambient, speed: self.speed, load: self.load, text: self.text },
            photos,
            sketch,
        })
    }
}

impl PhotoTwin {
    fn of(n: &Noted) -> Self {
        let r = &n.record;
        Self {
            file: n.file.clone(),
            sha256: n.sha256.clone(),
            seconds: n.seconds,
            photo_id: r.photo_id.clone(),
            taken_at: r.taken_at.clone(),
            size: r.size,
            outcome: OutcomeTwin::of(&r.outcome),
            evidence: r.evidence.as_ref().map(EvidenceTwin::of),
        }
    }
    fn into_noted(self) -> Result<Noted, String> {
        if !self.sha256.starts_with(&self.photo_id) || self.photo_id.is_empty() {
            return Err(format!("the identity of {} is not that of its digest", self.file));
        }
        let record = Record {
            photo_id: self.photo_id,
            taken_at: self.taken_at,
            size: self.size,
            outcome: self.outcome.into_outcome()?,
            evidence: self.evidence.map(EvidenceTwin::into_evidence),
        };
        Ok(Noted { file: self.file, sha256: self.sha256, seconds: self.seconds, record })
    }
}

impl OutcomeTwin {
    fn of(outcome: &Outcome) -> Self {
        match outcome {
            Outcome::Reading(r) => OutcomeTwin::Reading {
                value: r.temperature.value(),
                terms: r.temperature.terms().clone(),
                band: r.temperature.band(),
                flat: r.temperature.interval(),
                unit: r.unit,
                flags: r.flags.iter().map(|f| f.code().to_string()).collect(),
            },
            Outcome::BelowScale => OutcomeTwin::BelowScale,
            Outcome::AboveScale => OutcomeTwin::AboveScale,
            Outcome::Refused(why, seen) => OutcomeTwin::Refused { reason: why.code().to_string(), seen: seen.clone() },
        }
    }
    fn into_outcome(self) -> Result<Outcome, String> {
        Ok(match self {
            OutcomeTwin::Reading { value, terms, band, flat, unit, flags } => {
                let temperature = Estimate::known(Measured::new(value, terms), band).anywhere_in(flat);
                let flags = flags.iter().map(|c| flag(c)).collect::<Result<_, _>>()?;
                Outcome::Reading(Reading { temperature, unit, flags })
            }
            OutcomeTwin::BelowScale => Outcome::BelowScale,
            OutcomeTwin::AboveScale => Outcome::AboveScale,
            OutcomeTwin::Refused { reason, seen } => {
                let known = Refusal::ALL.into_iter().find(|r| r.code() == reason);
                Outcome::Refused(known.ok_or(format!("\"{reason}\" is no known reason"))?, seen)
            }
        })
    }
}

fn flag(code: &str) -> Result<Flag, String> {
    Flag::ALL.into_iter().find(|f| f.code() == code).ok_or(format!("\"{code}\" is no known remark"))
}

impl EvidenceTwin {
    fn of(e: &Evidence) -> Self {
        let needle = |n: &NeedleEvidence| NeedleTwin { angle: n.angle, sigma: n.sigma, offset: n.offset, span: n.span, seen: n.seen };
        Self {
            homography: e.homography.rows(),
            tilt: e.tilt,
            radius_px: e.radius_px,
            print_match: e.print_match,
            matches: e.matches,
            needle: e.needle.as_ref().map(needle),
        }
    }
    fn into_evidence(self) -> Evidence {
        let needle = |n: NeedleTwin| NeedleEvidence { angle: n.angle, sigma: n.sigma, offset: n.offset, span: n.span, seen: n.seen };
        Evidence {
            homography: PlaneInPhoto::from_rows(self.homography),
            tilt: self.tilt,
            radius_px: self.radius_px,
            print_match: self.print_match,
            matches: self.matches,
            needle: self.needle.map(needle),
        }
    }
}

impl PictureTwin {
    fn of(s: &Sketch) -> Self {
        Self { photo: s.photo, size: s.size, radius: s.radius, jpeg_base64: STANDARD.encode(&s.jpeg) }
    }
    fn into_sketch(self) -> Result<Sketch, String> {
        let jpeg = STANDARD.decode(self.jpeg_base64).map_err(|e| format!("the text of its picture is damaged: {e}"))?;
        Ok(Sketch { photo: self.photo, size: self.size, radius: self.radius, jpeg })
    }
}
