//! What is prepared of a dial once and for all.
use super::face::FaceModel;
use super::glyphs::Glyphs;
use super::packed::pack;
use super::views::straight;
use crate::dial::Dial;

/// The dial with what finding it begins with and the print whose numerals are compared, packed for its file: to be called after
/// [`Dial::sealed`]. Reading is the same without it; to prepare it takes as long as finding the dial in a photo.
pub fn prepared(dial: Dial) -> Dial {
    let face = FaceModel::new(Dial { prepared: None, ..dial });
    let prepared = Some(pack(print_of(&face.dial), &straight(&face), &Glyphs::pieces(&face)));
    Dial { prepared, ..face.dial }
}

/// What tells whether something was prepared of this very face: a sum over its picture, its place in it and its needle (Fowler, Noll and
/// Vo's hash by eight bytes: it tells dials apart, it does not withstand a forger).
pub(super) fn print_of(dial: &Dial) -> u64 {
    let (f, n) = (&dial.face, &dial.needle);
    let (picture, rest) = f.jpeg.as_chunks::<8>();
    let numbers = [f.scale, f.print_radius, f.cover_radius, n.angle, n.offset, n.span[0], n.span[1]];
    let lists = [f.plane.as_slice(), &n.radii, &n.half_width, f.uncovered.as_flattened(), &numbers];
    let words = picture.iter().map(|b| u64::from_le_bytes(*b)).chain(rest.iter().map(|b| u64::from(*b)));
    let words = words.chain(lists.iter().flat_map(|l| l.iter().map(|v| v.to_bits())));
    // the high bits are brought down, or they would only move up and out
    words.fold(0xcbf2_9ce4_8422_2325, |sum, w| ((sum ^ w).wrapping_mul(0x0100_0000_01b3)).rotate_left(29))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dial::from_bytes;

    /// What was prepared of one face is not used for another, in memory too.
    #[test]
    fn another_face_is_told_by_its_print() {
        let dial = from_bytes(&std::fs::read("calibration/gearbox-oil.json").unwrap()).unwrap();
        let own = print_of(&dial);
        let mut others = vec![dial.clone(); 6];
        others[0].face.jpeg[1000] ^= 1;
        others[1].face.plane[(1, 2)] += 1e-9;
        others[2].needle.angle += 1e-9;
        others[3].needle.half_width[7] += 1e-9;
        others[4].face.uncovered.push([0.2, 0.3]);
        others[5].face.print_radius += 1e-9;
        let mut prints: Vec<u64> = others.iter().map(print_of).chain([own]).collect();
        prints.sort_unstable();
        prints.dedup();
        assert_eq!(prints.len(), 7);
        assert_eq!(print_of(&Dial { name: "another".into(), prepared: None, ..dial }), own);
    }
}
