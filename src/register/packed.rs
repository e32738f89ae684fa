//! Features of the reference face as bytes, so that a dial file can keep them: finding them takes as long as finding the dial.
//!
//! One byte of [`PACKING`], then for each feature, little endian: its place (2 × f32), the first two rows of its frame (6 × f32), its
//! descriptor (128 × u8, steps of 1/400). Fresh features go through the same bytes, so that it makes no difference whether they were kept.
use super::features::LENGTH;
use super::views::ViewFeature;
use nalgebra::{Matrix3, Vector2};

/// Changes with the way features are found, so that those of another way are not used.
const PACKING: u8 = 1;
/// Numbers of a feature, and its bytes.
const NUMBERS: usize = 8;
const BYTES: usize = 4 * NUMBERS + LENGTH;
/// Steps of a descriptor's value to 1: none of 25 equal values or more reaches the last of 255.
const STEPS: f32 = 400.0;

/// The features as bytes.
pub(super) fn pack(features: &[ViewFeature]) -> Vec<u8> {
    let mut out = Vec::with_capacity(1 + features.len() * BYTES);
    out.push(PACKING);
    for f in features {
        let m = &f.frame;
        let numbers: [f64; NUMBERS] = [f.place.x, f.place.y, m.m11, m.m12, m.m13, m.m21, m.m22, m.m23];
        out.extend(numbers.iter().flat_map(|v| (*v as f32).to_le_bytes()));
        // a cast saturates
        out.extend(f.descriptor.iter().map(|v| (v * STEPS).round() as u8));
    }
    out
}

/// The features of some bytes; `None` when they are not of this packing.
pub(super) fn unpack(bytes: &[u8]) -> Option<Vec<ViewFeature>> {
    let (&packing, rest) = bytes.split_first()?;
    (packing == PACKING && rest.len() % BYTES == 0).then(|| rest.chunks_exact(BYTES).map(feature).collect::<Option<_>>()).flatten()
}

fn feature(bytes: &[u8]) -> Option<ViewFeature> {
    let (numbers, descriptor) = bytes.split_at(4 * NUMBERS);
    let v: Vec<f64> = numbers.chunks_exact(4).map(|b| f64::from(f32::from_le_bytes([b[0], b[1], b[2], b[3]]))).collect();
    v.iter().all(|v| v.is_finite()).then(|| ViewFeature {
        place: Vector2::new(v[0], v[1]),
        frame: Matrix3::new(v[2], v[3], v[4], v[5], v[6], v[7], 0.0, 0.0, 1.0),
        descriptor: descriptor.iter().map(|&d| f32::from(d) / STEPS).collect(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn some() -> Vec<ViewFeature> {
        let one = |i: u32| {
            let v = |k: u32| f64::from(i * 31 + k) * 0.37 - 3.0;
            ViewFeature {
                place: Vector2::new(v(0), v(1)),
                frame: Matrix3::new(v(2), v(3), v(4), v(5), v(6), v(7), 0.0, 0.0, 1.0),
                descriptor: (0..LENGTH as u32).map(|k| ((i + k) % 11) as f32 * 0.02).collect(),
            }
        };
        (0..5).map(one).collect()
    }

    #[test]
    fn what_is_packed_comes_back_and_packs_the_same() {
        let bytes = pack(&some());
        assert_eq!(bytes.len(), 1 + 5 * 160);
        let back = unpack(&bytes).unwrap();
        for (a, b) in some().iter().zip(&back) {
            assert!((a.place - b.place).norm() < 1e-6 && (a.frame - b.frame).norm() < 1e-5);
            assert!(a.descriptor.iter().zip(&b.descriptor).all(|(a, b)| (a - b).abs() <= 0.5 / STEPS + 1e-6));
        }
        assert_eq!(pack(&back), bytes);
    }

    #[test]
    fn other_bytes_are_no_features() {
        let bytes = pack(&some());
        let other = [PACKING + 1].iter().chain(&bytes[1..]).copied().collect::<Vec<_>>();
        let mut nan = bytes.clone();
        nan[1..5].copy_from_slice(&f32::NAN.to_le_bytes());
        for wrong in [&[][..], &bytes[..bytes.len() - 1], &other, &nan] {
            assert!(unpack(wrong).is_none());
        }
        assert_eq!(unpack(&[PACKING]).unwrap().len(), 0);
    }
}
