//! The dial as JSON spells it. The model stays free of the format; a change here is a new format version.
use super::{FORMAT, prepared_id};
use crate::dial::declared::{Amount, Declared};
use crate::dial::error::DialFileError;
use crate::dial::face::FaceFrame;
use crate::dial::model::{Click, Dial, Face, Mark, MarkKind, NeedleLook, Stand};
use crate::maths::homography::Homography;
use crate::maths::source::Cause;
use crate::maths::units::Unit;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct DialTwin {
    format: String,
    format_version: u64,
    /// Left out where the identity itself is worked out.
    #[serde(skip_serializing_if = "Option::is_none")]
    id: Option<String>,
    name: String,
    unit: Unit,
    reference: String,
    focal_ratio: Option<f64>,
    // from version 2 on
    #[serde(default, skip_serializing_if = "Option::is_none")]
    gauge_accuracy: Option<AmountTwin>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    stiction: Option<AmountTwin>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    flats: Vec<(f64, f64)>,
    marks: Vec<MarkTwin>,
    needle: NeedleTwin,
    face: FaceTwin,
    /// From version 3 on; only in a file that was written over open questions.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    questions: Vec<String>,
    /// From version 3 on; left out where the identity is worked out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    prepared: Option<PreparedTwin>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct PreparedTwin {
    check: String,
    base64: String,
}

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
enum AmountTwin {
    PercentOfSpan(f64),
    Degrees(f64),
    Value(f64),
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct MarkTwin {
    value: f64,
    angle: f64,
    kind: KindTwin,
    terms: BTreeMap<Cause, f64>,
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    value_terms: BTreeMap<Cause, f64>,
    click: Option<ClickTwin>,
}

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
enum KindTwin {
    Labelled,
    Counted,
    Angle,
    Known,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct ClickTwin {
    given: [f64; 2],
    snapped: [f64; 2],
    residual: Option<f64>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct NeedleTwin {
    angle: f64,
    offset: f64,
    #[serde(default, skip_serializing_if = "is_zero")]
    tail_shift: f64,
    span: [f64; 2],
    contrast: [f64; 3],
    axis: [f64; 3],
    radii: Vec<f64>,
    half_width: Vec<f64>,
    /// Left out where nothing was learned.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    stand: Option<StandTwin>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct StandTwin {
    height: f64,
    height_sigma: f64,
    axis: f64,
    axis_sigma: f64,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct FaceTwin {
    width: usize,
    height: usize,
    /// Row by row.
    plane: [[f64; 3]; 3],
    scale: f64,
    tilt: f64,
    print_radius: f64,
    cover_radius: f64,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    plane_terms: Vec<[[f64; 3]; 3]>,
    /// Left out where no further photo showed the face below the needle.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    uncovered: Vec<[f64; 2]>,
    /// Left out where it is not known, and in older files.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    camera: Option<[f64; 3]>,
    jpeg_base64: String,
}

impl DialTwin {
    pub(super) fn of(dial: &Dial, id: Option<String>) -> Self {
        let prepared = id.as_ref().and(dial.prepared.as_ref());
        Self {
            prepared: prepared.map(|p| PreparedTwin { check: prepared_id(&dial.id, p), base64: STANDARD.encode(p) }),
            format: FORMAT.to_string(),
            format_version: dial.version,
            id,
            name: dial.name.clone(),
            unit: dial.unit,
            reference: dial.reference.clone(),
            focal_ratio: dial.focal_ratio,
            gauge_accuracy: dial.declared.gauge_accuracy.map(AmountTwin::of),
            stiction: dial.declared.stiction.map(AmountTwin::of),
            flats: dial.declared.flats.clone(),
            marks: dial.marks.iter().map(MarkTwin::of).collect(),
            needle: NeedleTwin::of(&dial.needle),
            face: FaceTwin::of(&dial.face),
            questions: dial.questions.clone(),
        }
    }

    /// What the file states of what is prepared.
    pub(super) fn prepared_check(&self) -> Option<String> {
        self.prepared.as_ref().map(|p| p.check.clone())
    }

    /// Errors: a picture that cannot be decoded or has another size than stated.
    pub(super) fn into_dial(self) -> Result<Dial, DialFileError> {
        Ok(Dial {
            name: self.name,
            unit: self.unit,
            id: self.id.unwrap_or_default(),
            marks: self.marks.into_iter().map(MarkTwin::into_mark).collect(),
            face: self.face.into_face()?,
            needle: self.needle.into_needle(),
            focal_ratio: self.focal_ratio,
            reference: self.reference,
            declared: Declared {
                gauge_accuracy: self.gauge_accuracy.map(AmountTwin::into_amount),
                stiction: self.stiction.map(AmountTwin::into_amount),
                flats: self.flats,
            },
            questions: self.questions,
            version: self.format_version,
            prepared: self
                .prepared
                .map(|p| STANDARD.decode(p.base64))
                .transpose()
                .map_err(|e| DialFileError::Content(format!("the text of what is prepared is damaged ({e})")))?,
        })
    }
}

impl AmountTwin {
    fn of(amount: Amount) -> Self {
        match amount {
            Amount::PercentOfSpan(v) => AmountTwin::PercentOfSpan(v),
            Amount::Degrees(v) => AmountTwin::Degrees(v),
            Amount::Value(v) => AmountTwin::Value(v),
        }
    }

    fn into_amount(self) -> Amount {
        match self {
            AmountTwin::PercentOfSpan(v) => Amount::PercentOfSpan(v),
            AmountTwin::Degrees(v) => Amount::Degrees(v),
            AmountTwin::Value(v) => Amount::Value(v),
        }
    }
}

impl MarkTwin {
    fn of(m: &Mark) -> Self {
        let kind = match m.kind {
            MarkKind::Labelled => KindTwin::Labelled,
            MarkKind::Counted => KindTwin::Counted,
            MarkKind::Angle => KindTwin::Angle,
            MarkKind::Known => KindTwin::Known,
        };
        let click = m.click.map(|c| ClickTwin { given: c.given, snapped: c.snapped, residual: c.residual });
        Self { value: m.value, angle: m.angle, kind, terms: m.terms.clone(), value_terms: m.value_terms.clone(), click }
    }

    fn into_mark(self) -> Mark {
        let kind = match self.kind {
            KindTwin::Labelled => MarkKind::Labelled,
            KindTwin::Counted => MarkKind::Counted,
            KindTwin::Angle => MarkKind::Angle,
            KindTwin::Known => MarkKind::Known,
        };
        let click = self.click.map(|c| Click { given: c.given, snapped: c.snapped, residual: c.residual });
        Mark { value: self.value, angle: self.angle, kind, terms: self.terms, value_terms: self.value_terms, click }
    }
}

impl NeedleTwin {
    fn of(n: &NeedleLook) -> Self {
        Self {
            angle: n.angle,
            offset: n.offset,
            tail_shift: n.tail_shift,
            span: n.span,
            contrast: n.contrast,
            axis: n.axis,
            radii: n.radii.clone(),
            half_width: n.half_width.clone(),
            stand: (n.stand != Stand::default()).then(|| {
                let Stand { height, height_sigma, axis, axis_sigma } = n.stand;
                StandTwin { height, height_sigma, axis, axis_sigma }
            }),
        }
    }

    fn into_needle(self) -> NeedleLook {
        let Self { angle, offset, tail_shift, span, contrast, axis, radii, half_width, stand } = self;
        let stand = stand.map_or_else(Stand::default, |s| {
            let StandTwin { height, height_sigma, axis, axis_sigma } = s;
            Stand { height, height_sigma, axis, axis_sigma }
        });
        NeedleLook { angle, offset, tail_shift, half_width, radii, span, contrast, axis, stand }
    }
}

impl FaceTwin {
    fn of(f: &Face) -> Self {
        Self {
            width: f.width,
            height: f.height,
            plane: f.plane.rows(),
            scale: f.scale,
            tilt: f.tilt,
            print_radius: f.print_radius,
            cover_radius: f.cover_radius,
            plane_terms: f.plane_terms.iter().map(Homography::rows).collect(),
            uncovered: f.uncovered.clone(),
            camera: f.camera,
            jpeg_base64: STANDARD.encode(&f.jpeg),
        }
    }

    fn into_face(self) -> Result<Face, DialFileError> {
        let frame = FaceFrame {
            plane: Homography::from_rows(self.plane),
            scale: self.scale,
            tilt: self.tilt,
            print_radius: self.print_radius,
            cover_radius: self.cover_radius,
            plane_terms: self.plane_terms.into_iter().map(Homography::from_rows).collect(),
            uncovered: self.uncovered,
            camera: self.camera,
        };
        let jpeg = STANDARD.decode(self.jpeg_base64).map_err(|e| DialFileError::Picture(format!("its text is damaged ({e})")))?;
        let face = Face::from_jpeg(jpeg, frame)?;
        if (face.width, face.height) != (self.width, self.height) {
            let (w, h, sw, sh) = (face.width, face.height, self.width, self.height);
            return Err(DialFileError::Picture(format!("it is {w} x {h} pixels where {sw} x {sh} are stated")));
        }
        Ok(face)
    }
}

/// Older files do not state what was not measured then.
fn is_zero(v: &f64) -> bool {
    *v == 0.0
}
