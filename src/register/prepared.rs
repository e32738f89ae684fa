//! What is prepared of a dial once and for all.
use super::emblems::Emblems;
use super::face::FaceModel;
use super::packed::pack;
use super::views::straight;
use crate::dial::Dial;

/// The dial with what finding it begins with and the print whose numerals are compared, packed for its file: to be called after
/// [`Dial::sealed`]. Reading is the same without it; to prepare it takes as long as finding the dial in a photo.
pub fn prepared(dial: Dial) -> Dial {
    let face = FaceModel::new(Dial { prepared: None, ..dial });
    let prepared = Some(pack(&straight(&face), &Emblems::pieces(&face)));
    Dial { prepared, ..face.dial }
}
