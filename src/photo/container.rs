//! What the headers of PNG, WebP and HEIF files say, read before any decoder sees them.
use super::error::PhotoError;

/// First bytes of every PNG file.
pub(super) const PNG_SIGNATURE: &[u8] = b"\x89PNG\r\n\x1a\n";

/// Width and height by the PNG's first chunk.
pub(super) fn png_size(bytes: &[u8]) -> Result<(u64, u64), PhotoError> {
    let header = bytes.get(8..24).ok_or_else(png_cut)?;
    let (kind, size) = header.split_at(8);
    match (kind, size) {
        ([_, _, _, _, b'I', b'H', b'D', b'R'], &[w3, w2, w1, w0, h3, h2, h1, h0]) => {
            Ok((u32::from_be_bytes([w3, w2, w1, w0]).into(), u32::from_be_bytes([h3, h2, h1, h0]).into()))
        }
        _ => Err(PhotoError::Damaged("the PNG does not begin with its header".to_string())),
    }
}

/// Refuses a PNG whose chunks do not run through to the closing one.
pub(super) fn png_complete(bytes: &[u8]) -> Result<(), PhotoError> {
    let mut at = PNG_SIGNATURE.len();
    loop {
        let Some(&[l3, l2, l1, l0, ref kind @ ..]) = bytes.get(at..at + 8) else { return Err(png_cut()) };
        // Length, kind and checksum are 12 bytes beside the content.
        let end = (u32::from_be_bytes([l3, l2, l1, l0]) as usize).checked_add(at + 12).ok_or_else(png_cut)?;
        if end > bytes.len() {
            return Err(png_cut());
        }
        if kind == b"IEND" {
            return Ok(());
        }
        at = end;
    }
}

/// Refuses a WebP that is shorter than its own header says.
pub(super) fn webp_complete(bytes: &[u8]) -> Result<(), PhotoError> {
    let stated = match bytes.get(4..8) {
        Some(&[b0, b1, b2, b3]) => u64::from(u32::from_le_bytes([b0, b1, b2, b3])) + 8,
        _ => u64::MAX,
    };
    let there = bytes.len() as u64;
    if there < stated {
        return Err(PhotoError::Damaged(format!("the WebP is cut short: {there} of {stated} bytes are there")));
    }
    Ok(())
}

/// What a file of ISO base media boxes holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Family {
    /// HEIF with HEVC pictures, or with no word of what is in it.
    Heic,
    /// HEIF with AV1 pictures.
    Avif,
    /// A clip, or anything else.
    Video,
}

/// By the brands of the first box (ISO/IEC 14496-12, 4.3; the brands of ISO/IEC 23008-12, annex B).
pub(super) fn family(bytes: &[u8]) -> Family {
    let end = match bytes {
        &[s3, s2, s1, s0, ..] => u32::from_be_bytes([s3, s2, s1, s0]) as usize,
        _ => 0,
    };
    let brands = bytes.get(8..end.clamp(12, bytes.len().max(12))).unwrap_or(&[]);
    // The second word is the minor version.
    let has = |wanted: &[&[u8; 4]]| brands.chunks_exact(4).enumerate().any(|(i, b)| i != 1 && wanted.iter().any(|w| *w == b));
    if has(&[b"heic", b"heix", b"heim", b"heis"]) {
        Family::Heic
    } else if has(&[b"avif", b"avis"]) {
        Family::Avif
    } else if has(&[b"mif1", b"mif2"]) {
        Family::Heic
    } else {
        Family::Video
    }
}

/// Whether a file that begins with these bytes (the first 4096 do) is a clip and no picture: MP4, MOV and their kin.
pub fn is_clip(head: &[u8]) -> bool {
    matches!(head, [_, _, _, _, b'f', b't', b'y', b'p', ..]) && family(head) == Family::Video
}

fn png_cut() -> PhotoError {
    PhotoError::Damaged("the PNG is cut short: its closing chunk is missing".to_string())
}
