//! The needle fitted in the reference photo itself, as it will be in every later one: corrects the learned outline.
use crate::dial::{Dial, NeedleLook};
use crate::maths::blur::BlurCovariance;
use crate::maths::homography::PlaneInPhoto;
use crate::maths::pose::{Camera, camera_centre};
use crate::needle::{Candidate, NeedleFit, Parallax, fit};
use crate::photo::Photo;
use crate::rectify::{Evidence, InpaintedReference, Work};
use crate::register::Registration;
use crate::register::face::FaceModel;
use nalgebra::DMatrix;

/// The needle's fit in the reference photo, whose dial plane maps to photo px by `homography`.
pub fn needle_in_reference(photo: &Photo, dial: &Dial, homography: &PlaneInPhoto, camera: &Camera) -> Option<NeedleFit> {
    let scale = dial.face.scale;
    let registration = Registration {
        dial_to_photo: *homography,
        covariance: DMatrix::zeros(8, 8),
        print_match: 1.0,
        seen: 1.0,
        contradicted: 0.0,
        matches: 0,
        scale,
        blur: BlurCovariance::round(0.0),
        noise: 1.0,
        gain: 1.0,
    };
    let work = Work::cut(photo, homography, scale, 1.12)?;
    let reference = InpaintedReference::new(&FaceModel::new(dial.clone()));
    let evidence = Evidence::new(&reference, &work, &registration);
    let parallax = Parallax::from_camera(camera_centre(homography, camera), &dial.needle.stand);
    let start = Candidate { angle: dial.needle.angle, offset: dial.needle.offset, score: 1.0 };
    let fitted = fit(&evidence, &work, &dial.needle, &start, &parallax, 0.0)?;
    let near = crate::maths::angle::wrap(fitted.angle - dial.needle.angle).abs() < 2.0 && fitted.seen > 0.6;
    let finite = homography.at(0.0, 0.0).iter().all(|v| v.is_finite());
    (near && finite).then_some(fitted)
}

/// The look with its angle, offset and outline corrected by the fit.
pub fn corrected(look: &NeedleLook, fitted: &NeedleFit) -> NeedleLook {
    let half_width = look
        .half_width
        .iter()
        .zip(&look.radii)
        .map(|(w, r)| if *w > 0.0 { (w + fitted.wider - fitted.usual_wider + fitted.taper * r.abs()).max(0.3 * w) } else { 0.0 })
        .collect();
    NeedleLook { angle: fitted.angle, offset: fitted.offset, tail_shift: fitted.tail_shift, half_width, ..look.clone() }
}
