//! Temporary stand-in, dropped at merge.
use super::*;
use crate::base::units::Unit;
use nalgebra::Matrix3;
/// Stand-in.
#[derive(Debug, thiserror::Error)]
#[error("{0}")]
pub struct DialFileError(String);
/// Stand-in: name, unit, id, marks only.
pub fn to_bytes(dial: &Dial) -> Result<Vec<u8>, DialFileError> {
    let marks: Vec<(f64, f64)> = dial.marks.iter().map(|m| (m.value, m.angle)).collect();
    serde_json::to_vec(&(&dial.name, dial.unit, &dial.id, marks)).map_err(|e| DialFileError(e.to_string()))
}
/// Stand-in.
pub fn from_bytes(bytes: &[u8]) -> Result<Dial, DialFileError> {
    let (name, unit, id, marks): (String, Unit, String, Vec<(f64, f64)>) =
        serde_json::from_slice(bytes).map_err(|e| DialFileError(format!("not a dial file ({e}). Give the file that calibrate wrote.")))?;
    let mark = |(value, angle)| Mark { value, angle, kind: MarkKind::Labelled, terms: Default::default(), click: None };
    Ok(Dial {
        name,
        unit,
        id,
        marks: marks.into_iter().map(mark).collect(),
        face: Face {
            width: 0,
            height: 0,
            rgb: Vec::new(),
            plane: Matrix3::identity(),
            scale: 1.0,
            tilt: 0.0,
            print_radius: 1.2,
            cover_radius: 0.0,
        },
        needle: NeedleLook {
            angle: 0.0,
            offset: 0.0,
            half_width: Vec::new(),
            radii: Vec::new(),
            span: [0.0, 1.0],
            contrast: [0.0; 3],
            axis: [0.0; 3],
        },
        focal_ratio: None,
        reference: String::new(),
    })
}
