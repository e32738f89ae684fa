//! What is prepared of a dial once and for all.
use super::face::FaceModel;
use super::glyphs::Glyphs;
use super::kept::print_of;
use super::packed::pack;
use super::views::straight;
use crate::dial::Dial;

/// The dial with what finding it begins with and the print whose numerals are compared, packed for its file: to be called after
/// [`Dial::sealed`]. Reading is the same without it; to prepare it takes as long as finding the dial in a photo.
pub fn prepared(dial: Dial) -> Dial {
    let face = FaceModel::new(Dial { prepared: None, ..dial });
    let prepared = Some(pack((face.way(), print_of(&face.dial)), &straight(&face), &Glyphs::pieces(&face)));
    Dial { prepared, ..face.dial }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dial::from_bytes;
    use crate::maths::homography::{FacePoint, Homography};

    /// What was prepared of one face is not used for another, in memory too.
    #[test]
    fn another_face_is_told_by_its_print() {
        let dial = from_bytes(&std::fs::read("calibration/gearbox-oil.json").unwrap()).unwrap();
        let own = print_of(&dial);
        let mut others = vec![dial.clone(); 8];
        others[0].face.jpeg[1000] ^= 1;
        others[1].face.plane = Homography::<FacePoint, FacePoint>::shifted(0.0, 1e-9) * dial.face.plane;
        others[2].needle.angle += 1e-9;
        others[3].needle.half_width[7] += 1e-9;
        others[4].face.uncovered.push([0.2, 0.3]);
        others[5].face.print_radius += 1e-9;
        others[6].face.camera = None;
        others[7].needle.stand.height += 1e-9;
        let mut prints: Vec<u64> = others.iter().map(print_of).chain([own]).collect();
        prints.sort_unstable();
        prints.dedup();
        assert_eq!(prints.len(), 9);
        assert_eq!(print_of(&Dial { name: "another".into(), prepared: None, ..dial }), own);
    }
}
