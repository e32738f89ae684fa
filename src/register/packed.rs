//! What finding the dial and comparing its numerals begin with, as bytes, so that a dial file can keep it: preparing it takes as long as
//! finding the dial.
//!
//! The heading (one byte of [`Way`], what tells the dial: [`super::kept`]); the number of features (u32) and for each its
//! place (2 × f32), the first two rows of its frame (6 × f32), its descriptor (128 × u8, steps of 1/400, cut off at 255); the number of
//! pieces of print (u32) and for each its ink and its pixels, both as runs: their number (u32), then first pixel and length of each
//! (2 × u32). Numbers are little endian. Fresh features go through the same bytes, so that it makes no difference whether they were kept.
use super::features::{LENGTH, ViewFeature};
use super::kept::{Way, headed};
use super::pieces::Piece;
use crate::maths::homography::Homography;
use nalgebra::{Matrix2, Vector2};

/// Numbers of a feature, and its bytes.
const NUMBERS: usize = 8;
const BYTES: usize = 4 * NUMBERS + LENGTH;
/// Steps of a descriptor's value to 1.
const STEPS: f32 = 400.0;

/// Features and pieces of the dial that `dial` tells, as bytes.
pub(super) fn pack((way, dial): (Way, u64), features: &[ViewFeature], pieces: &[Piece]) -> Vec<u8> {
    let mut out = vec![way as u8];
    out.extend(dial.to_le_bytes());
    put(&mut out, features.len());
    for f in features {
        let m = f.frame.matrix();
        let numbers: [f64; NUMBERS] = [f.place.x, f.place.y, m.m11, m.m12, m.m13, m.m21, m.m22, m.m23];
        out.extend(numbers.iter().flat_map(|v| (*v as f32).to_le_bytes()));
        // a cast saturates
        out.extend(f.descriptor.iter().map(|v| (v * STEPS).round() as u8));
    }
    put(&mut out, pieces.len());
    for pixels in pieces.iter().flat_map(|p| [&p.ink, &p.pixels]) {
        let runs: Vec<&[usize]> = pixels.chunk_by(|a, b| a + 1 == *b).collect();
        put(&mut out, runs.len());
        for run in runs {
            put(&mut out, run[0]);
            put(&mut out, run.len());
        }
    }
    out
}

/// A picture of a dial has fewer pixels than a u32 counts.
fn put(out: &mut Vec<u8>, v: usize) {
    out.extend((v as u32).to_le_bytes());
}

/// The features of some bytes; `None` when they are not of this packing and this dial.
pub(super) fn unpack_features(bytes: &[u8], dial: u64) -> Option<Vec<ViewFeature>> {
    let (features, _) = sections(bytes, dial)?;
    features.chunks_exact(BYTES).map(feature).collect()
}

/// The pieces of some bytes, of a picture of so many pixels; `None` when they are not of this packing and this dial.
pub(super) fn unpack_pieces(bytes: &[u8], dial: u64, picture: usize) -> Option<Vec<Piece>> {
    let (_, mut rest) = sections(bytes, dial)?;
    let count = take(&mut rest)?;
    let mut out = Vec::new();
    // pieces share no ink, and the face round them is shared by few: no more memory than a picture of print would need
    let (mut ink, mut around) = (picture, 8 * picture);
    for _ in 0..count {
        out.push(Piece { ink: pixels(&mut rest, picture, &mut ink)?, pixels: pixels(&mut rest, picture, &mut around)? });
    }
    rest.is_empty().then_some(out)
}

/// The bytes of the features, and what follows them.
fn sections(bytes: &[u8], dial: u64) -> Option<(&[u8], &[u8])> {
    let (_, mut rest) = headed(bytes, dial)?;
    let count = take(&mut rest)?;
    rest.split_at_checked(count.checked_mul(BYTES)?)
}

fn take(bytes: &mut &[u8]) -> Option<usize> {
    let (number, rest) = bytes.split_first_chunk::<4>()?;
    *bytes = rest;
    usize::try_from(u32::from_le_bytes(*number)).ok()
}

/// Rising pixels below `picture`, no more than are `left`.
fn pixels(bytes: &mut &[u8], picture: usize, left: &mut usize) -> Option<Vec<usize>> {
    let mut out = Vec::new();
    let runs = take(bytes)?;
    let mut from = 0;
    for _ in 0..runs {
        let (first, length) = (take(bytes)?, take(bytes)?);
        let end = first.checked_add(length).filter(|end| first >= from && length > 0 && *end <= picture)?;
        *left = left.checked_sub(length)?;
        out.extend(first..end);
        from = end;
    }
    Some(out)
}

fn feature(bytes: &[u8]) -> Option<ViewFeature> {
    let (numbers, descriptor) = bytes.split_at(4 * NUMBERS);
    let v: Vec<f64> = numbers.chunks_exact(4).map(|b| f64::from(f32::from_le_bytes([b[0], b[1], b[2], b[3]]))).collect();
    v.iter().all(|v| v.is_finite()).then(|| ViewFeature {
        place: Vector2::new(v[0], v[1]),
        frame: Homography::affine(Matrix2::new(v[2], v[3], v[5], v[6]), Vector2::new(v[4], v[7])),
        descriptor: descriptor.iter().map(|&d| f32::from(d) / STEPS).collect(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn some() -> (Vec<ViewFeature>, Vec<Piece>) {
        let one = |i: u32| {
            let v = |k: u32| f64::from(i * 31 + k) * 0.37 - 3.0;
            ViewFeature {
                place: Vector2::new(v(0), v(1)),
                frame: Homography::affine(Matrix2::new(v(2), v(3), v(5), v(6)), Vector2::new(v(4), v(7))),
                descriptor: (0..LENGTH as u32).map(|k| ((i + k) % 11) as f32 * 0.02).collect(),
            }
        };
        let piece = Piece { ink: vec![3, 4, 5, 9], pixels: (2..12).chain(20..23).collect() };
        ((0..5).map(one).collect(), vec![piece, Piece { ink: vec![30], pixels: Vec::new() }])
    }

    #[test]
    fn what_is_packed_comes_back_and_packs_the_same() {
        let (features, pieces) = some();
        let bytes = pack((Way::Edges, 7), &features, &pieces);
        let (back, pieces_back) = (unpack_features(&bytes, 7).unwrap(), unpack_pieces(&bytes, 7, 31).unwrap());
        for (a, b) in features.iter().zip(&back) {
            // numbers up to 55 have 24 bits: 2e-6 each
            assert!((a.place - b.place).norm() < 1e-5 && (a.frame.matrix() - b.frame.matrix()).norm() < 1e-5);
            assert!(a.descriptor.iter().zip(&b.descriptor).all(|(a, b)| (a - b).abs() <= 0.5 / STEPS + 1e-6));
        }
        assert_eq!((back.len(), &pieces_back), (5, &pieces));
        assert_eq!(pack((Way::Edges, 7), &back, &pieces_back), bytes);
    }

    #[test]
    fn other_bytes_are_nothing() {
        let (features, pieces) = some();
        let bytes = pack((Way::Edges, 7), &features, &pieces);
        let changed = |at: usize, to: u8| {
            let mut b = bytes.clone();
            b[at] = to;
            b
        };
        // nothing, cut short, another packing, another dial, more features than there are bytes
        for wrong in [Vec::new(), vec![Way::Edges as u8], bytes[..700].to_vec(), changed(0, 1), changed(3, 1), changed(12, 200)] {
            assert!(unpack_features(&wrong, 7).is_none() && unpack_pieces(&wrong, 7, 31).is_none());
        }
        let mut nan = bytes.clone();
        nan[13..17].copy_from_slice(&f32::NAN.to_le_bytes());
        assert!(unpack_features(&nan, 7).is_none());
        // cut short, more than there should be, a pixel outside the picture, falling pixels, a run of nothing
        let more: Vec<u8> = bytes.iter().copied().chain([0]).collect();
        let runs = 13 + 5 * BYTES + 8;
        for wrong in [&bytes[..bytes.len() - 1], &more, &changed(runs, 250), &changed(runs + 8, 2), &changed(runs + 4, 0)] {
            assert!(unpack_pieces(wrong, 7, 31).is_none());
        }
        assert!(unpack_pieces(&bytes, 7, 30).is_none());
        let none = pack((Way::Edges, 7), &[], &[]);
        assert!(unpack_features(&none, 7).unwrap().is_empty() && unpack_pieces(&none, 7, 0).unwrap().is_empty());
    }

    /// Whatever a byte is changed to, there is an answer within bounds and no panic.
    #[test]
    fn any_bytes_give_an_answer() {
        let (features, pieces) = some();
        let bytes = pack((Way::Edges, 7), &features[..1], &pieces);
        let mut answers = 0;
        for at in 0..bytes.len() {
            for to in [0, 1, 0x7f, 0x80, 0xff] {
                let mut b = bytes.clone();
                b[at] = to;
                answers += usize::from(unpack_features(&b, 7).is_some());
                let pieces = unpack_pieces(&b, 7, 31).unwrap_or_default();
                assert!(pieces.iter().flat_map(|p| p.ink.iter().chain(&p.pixels)).all(|p| *p < 31), "byte {at}: {to}");
            }
        }
        assert!(answers > 100);
    }

    /// A few bytes must not ask for much memory.
    #[test]
    fn pieces_share_a_picture() {
        let all = Piece { ink: (0..100).collect(), pixels: (0..100).collect() };
        assert!(unpack_pieces(&pack((Way::Edges, 7), &[], std::slice::from_ref(&all)), 7, 100).is_some());
        assert!(unpack_pieces(&pack((Way::Edges, 7), &[], &[all.clone(), all.clone()]), 7, 100).is_none());
        let around = Piece { ink: Vec::new(), ..all };
        assert!(unpack_pieces(&pack((Way::Edges, 7), &[], &vec![around.clone(); 8]), 7, 100).is_some());
        assert!(unpack_pieces(&pack((Way::Edges, 7), &[], &vec![around; 9]), 7, 100).is_none());
    }
}
