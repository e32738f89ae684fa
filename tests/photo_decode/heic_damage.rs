//! HEIC files that must be refused: cut, changed, too large; whatever the bytes, an answer and no panic.
use super::*;
use proptest::prelude::*;

const FILES: [&str; 6] = ["eight.heic", "grid.heic", "turned.heic", "ten_p3.heic", "profile_p3.heic", "second.heic"];

#[test]
fn a_heic_cut_anywhere_is_damaged() {
    for name in FILES {
        let whole = data(name);
        assert!(decode(&whole).is_ok());
        for cut in 24..whole.len() {
            assert!(damaged(&whole[..cut]), "{name} cut at {cut} of {}", whole.len());
        }
    }
}

#[test]
fn what_follows_the_picture_does_no_harm() {
    // A motion photo's clip in a box of its own, cut or whole, and data that are no boxes.
    let whole = data("eight.heic");
    for tail in [b"\0\0\0\x10mpvdabcdefgh".as_slice(), b"\0\0\x10\0mpvdabc", b"\xff\xfe\x01", b"\0\0\0\0\0\0\0\0\0\0"] {
        let photo = decode(&[&whole, tail].concat()).unwrap();
        assert_eq!(photo.rgb, decode(&whole).unwrap().rgb);
    }
}

/// The bytes with every `from` replaced.
fn with(name: &str, from: &[u8], to: &[u8]) -> Vec<u8> {
    let mut bytes = data(name);
    let places: Vec<usize> = (0..bytes.len() - from.len()).filter(|&i| bytes[i..].starts_with(from)).collect();
    assert!(!places.is_empty(), "{name}");
    for at in places {
        bytes[at..at + to.len()].copy_from_slice(to);
    }
    bytes
}

#[test]
fn size_is_judged_before_decoding() {
    let too_large = PhotoError::TooLarge { width: 60000, height: 60000, limit: MAX_PIXELS };
    let stated = with("eight.heic", b"ispe\0\0\0\0\0\0\0\x40\0\0\0\x40", b"ispe\0\0\0\0\0\0\xea\x60\0\0\xea\x60");
    assert_eq!(decode(&stated), Err(too_large));
    let none = with("eight.heic", b"ispe\0\0\0\0\0\0\0\x40", b"ispe\0\0\0\0\0\0\0\0");
    assert_eq!(decode(&none), Err(PhotoError::Empty));
    // Stated larger than what is coded: it must not be shown smaller or partly black.
    assert!(damaged(&with("eight.heic", b"ispe\0\0\0\0\0\0\0\x40", b"ispe\0\0\0\0\0\0\0\x80")));
    let crop = with("eight.heic", b"clap\0\0\0\x40", b"clap\0\0\0\x80");
    assert!(damaged(&crop));
    assert!(damaged(&with("grid.heic", b"ispe\0\0\0\0\0\0\0\x40", b"ispe\0\0\0\0\0\0\0\x20")));
}

#[test]
fn other_codecs_in_the_same_container_are_named() {
    match decode(&with("eight.heic", b"hvc1", b"av01")) {
        Err(PhotoError::Unsupported(what)) => assert_eq!(what, "an AVIF picture"),
        other => panic!("{:?}", other.map(|p| p.width)),
    }
}

#[test]
fn a_file_at_which_the_decoder_panics_is_damaged() {
    // Found by changing bytes of grid.heic at random: heifer 0.3.22 runs out of a slice at it.
    assert!(std::panic::catch_unwind(|| heifer::decode(&data("panic.heic"))).is_err(), "mended: find another file, or drop this line");
    assert!(damaged(&data("panic.heic")));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 3000, failure_persistence: None, rng_seed: proptest::test_runner::RngSeed::Fixed(20260815), ..ProptestConfig::default() })]
    /// Whatever the bytes, an answer and no panic; half of the changes in the boxes before the pixels.
    #[test]
    fn any_damage_gives_an_answer(
        which in 0usize..FILES.len(),
        changes in proptest::collection::vec((any::<bool>(), any::<prop::sample::Index>(), any::<u8>()), 1..6),
        cut in proptest::option::weighted(0.1, any::<prop::sample::Index>()),
    ) {
        let mut bytes = data(FILES[which]);
        for (in_boxes, at, byte) in changes {
            let n = if in_boxes { 800 } else { bytes.len() };
            bytes[at.index(n)] = byte;
        }
        if let Some(cut) = cut {
            bytes.truncate(cut.index(bytes.len()));
        }
        match decode(&bytes) {
            Ok(photo) => {
                prop_assert_eq!(photo.rgb.len(), photo.width * photo.height * 3);
                prop_assert!((photo.width * photo.height) as u64 <= MAX_PIXELS);
            }
            Err(e) => prop_assert!(e.to_string().ends_with('.') && !e.to_string().contains('\n')),
        }
    }
}
