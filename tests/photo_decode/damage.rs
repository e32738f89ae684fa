//! Files that must be refused: cut short, closed too early, overwritten, no picture at all, too large; and none may panic.
use super::*;
use proptest::prelude::*;

#[test]
fn a_file_cut_anywhere_is_damaged() {
    let d = DynamicImage::from(drawing());
    let mut files: Vec<(String, Vec<u8>)> =
        ["sub420.jpg", "progressive.jpg", "restart.jpg", "cmyk.jpg", "palette.png", "lossy.webp", "animated.webp"]
            .map(|n| (n.to_string(), data(n)))
            .into();
    files.push(("jpeg".into(), jpeg(&drawing(), Some(exif_block(6, TIME, 26)))));
    files.push(("png".into(), encoded(&d, ImageFormat::Png)));
    files.push(("webp".into(), encoded(&d, ImageFormat::WebP)));
    files.push(("tiff".into(), tiff_by_hand(1)));
    for (name, whole) in files {
        assert!(decode(&whole).is_ok());
        for cut in 12..whole.len() {
            assert!(damaged(&whole[..cut]), "{name} cut at {cut} of {}: {:?}", whole.len(), decode(&whole[..cut]).map(|p| p.width));
        }
    }
}

#[test]
fn a_compressed_tiff_cut_anywhere_is_damaged() {
    for name in ["lzw.tif", "deflate.tif"] {
        let whole = data(name);
        for cut in 8..whole.len() {
            match decode(&whole[..cut]) {
                Err(PhotoError::Damaged(_)) => {}
                other => panic!("{name} cut at {cut} of {}: {:?}", whole.len(), other.map(|p| p.width)),
            }
        }
    }
    let mut bytes = Cursor::new(Vec::new());
    TiffEncoder::new(&mut bytes).write_image(&drawing(), W, H, ExtendedColorType::Rgb8).unwrap();
    let whole = bytes.into_inner();
    (8..whole.len()).for_each(|cut| assert!(damaged(&whole[..cut]), "{cut}"));
}

#[test]
fn a_jpeg_closed_too_early_is_damaged() {
    // Cut inside the scan, then given an end marker: decoders show the rest as grey and call it a success.
    for name in ["sub420.jpg", "restart.jpg", "cmyk.jpg", "gray.jpg"] {
        let whole = data(name);
        let scan = whole.windows(2).position(|w| w == [0xff, 0xda]).unwrap() + 14;
        let expected = decode(&whole).unwrap().rgb;
        for cut in scan..whole.len() - 2 {
            let mut short = whole[..cut].to_vec();
            short.extend([0xff, 0xd9]);
            // The last byte or two may hold only padding; then nothing is missing.
            match decode(&short) {
                Err(PhotoError::Damaged(_)) => {}
                Ok(photo) if whole.len() - cut <= 4 => assert_eq!(photo.rgb, expected, "{name} {cut}"),
                other => panic!("{name} cut at {cut} of {}: {:?}", whole.len(), other.map(|p| p.width)),
            }
        }
    }
}

#[test]
fn a_jpeg_whose_tail_is_zeros_is_damaged() {
    for name in ["sub420.jpg", "progressive.jpg", "restart.jpg"] {
        let mut bytes = data(name);
        let half = bytes.len() * 3 / 4;
        bytes[half..].fill(0);
        assert!(damaged(&bytes), "{name}");
    }
}

#[test]
fn stray_and_trailing_bytes_do_no_harm() {
    let whole = jpeg(&drawing(), Some(exif_block(6, TIME, 26)));
    let expected = decode(&whole).unwrap();
    let mut trailing = whole.clone();
    trailing.extend(jpeg(&smooth(), None));
    trailing.extend(b"mvhd something");
    // Between two marker segments; the first one (JFIF) is 18 bytes long.
    let mut stray = whole[..20].to_vec();
    stray.extend([0, 1, 2, 3, 4, 5, 6, 7, 0xff, 0xff]);
    stray.extend(&whole[20..]);
    for bytes in [trailing, stray] {
        let photo = decode(&bytes).unwrap();
        assert_eq!((&photo.rgb, &photo.taken_at), (&expected.rgb, &expected.taken_at));
        assert_ne!(photo.hash, expected.hash);
    }
}

#[test]
fn a_flipped_bit_in_a_png_is_seen() {
    let mut bytes = encoded(&DynamicImage::from(drawing()), ImageFormat::Png);
    let middle = bytes.len() / 2;
    bytes[middle] ^= 4;
    assert!(damaged(&bytes));
}

#[test]
fn what_is_no_photo_is_refused_by_name() {
    assert!(damaged(b""));
    for bytes in [b"x".as_slice(), b"<html><body>404</body></html>", b"BM\0\0", &[0; 4000], b"\xff\xd8"] {
        assert_eq!(decode(bytes), Err(PhotoError::NotAPicture));
    }
    for bytes in [b"\0\0\0\x18ftypisom\0\0\0\0isommp42".as_slice(), b"\0\0\0\x14ftypqt  \0\0\0\0qt  "] {
        assert_eq!(decode(bytes), Err(PhotoError::Clip));
    }
    let named: [(&[u8], &str); 3] = [
        (b"\0\0\0\x18ftypavif\0\0\0\0mif1avif", "an AVIF picture"),
        (b"\0\0\0\x18ftypmif1\0\0\0\0mif1avif", "an AVIF picture"),
        (b"GIF89a\x01\0\x01\0", "a GIF picture"),
    ];
    for (bytes, name) in named {
        assert_eq!(decode(bytes), Err(PhotoError::Unsupported(name.to_string())));
    }
}

fn png_header(width: u32, height: u32) -> Vec<u8> {
    let mut b = b"\x89PNG\r\n\x1a\n\0\0\0\x0dIHDR".to_vec();
    b.extend(width.to_be_bytes());
    b.extend(height.to_be_bytes());
    b.extend([8, 2, 0, 0, 0, 0, 0, 0, 0]);
    b
}

/// A whole little JPEG that claims another size.
fn jpeg_of(width: u16, height: u16) -> Vec<u8> {
    let mut bytes = jpeg(&drawing(), None);
    let frame = bytes.windows(2).position(|w| w == [0xff, 0xc0]).unwrap();
    bytes[frame + 5..frame + 7].copy_from_slice(&height.to_be_bytes());
    bytes[frame + 7..frame + 9].copy_from_slice(&width.to_be_bytes());
    bytes
}

#[test]
fn size_is_judged_by_the_header_before_decoding() {
    let too_large = PhotoError::TooLarge { width: 60000, height: 60000, limit: MAX_PIXELS };
    assert_eq!(decode(&png_header(60000, 60000)), Err(too_large.clone()));
    assert_eq!(decode(&jpeg_of(60000, 60000)), Err(too_large.clone()));
    let mut tiff = tiff_by_hand(1);
    tiff[18..22].copy_from_slice(&60000u32.to_le_bytes());
    tiff[30..34].copy_from_slice(&60000u32.to_le_bytes());
    tiff[114..118].copy_from_slice(&60000u32.to_le_bytes());
    assert_eq!(decode(&tiff), Err(too_large));
    for bytes in [png_header(0, 10), png_header(10, 0), jpeg_of(0, 10), jpeg_of(10, 0)] {
        assert_eq!(decode(&bytes), Err(PhotoError::Empty));
    }
    // Within the limit, but the data are not there: damaged, and no gigabyte was asked for.
    assert!(damaged(&png_header(7000, 7000)));
    assert!(damaged(&jpeg_of(7000, 7000)));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 3000, failure_persistence: None, rng_seed: proptest::test_runner::RngSeed::Fixed(20260814), ..ProptestConfig::default() })]
    /// Whatever the bytes, an answer and no panic.
    #[test]
    fn any_damage_gives_an_answer(
        which in 0usize..11,
        changes in proptest::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..6),
        cut in proptest::option::of(any::<prop::sample::Index>()),
    ) {
        let names = [
            "sub420.jpg", "progressive.jpg", "restart.jpg", "gray.jpg", "cmyk.jpg", "palette.png", "lossy.webp", "animated.webp",
            "lzw.tif", "deflate.tif", "palette.tif",
        ];
        let mut bytes = data(names[which]);
        for (at, byte) in changes {
            let n = bytes.len();
            bytes[at.index(n)] = byte;
        }
        if let Some(cut) = cut {
            bytes.truncate(cut.index(bytes.len()));
        }
        if let Ok(photo) = decode(&bytes) {
            prop_assert_eq!(photo.rgb.len(), photo.width * photo.height * 3);
        }
    }
}
