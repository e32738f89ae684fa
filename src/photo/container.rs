//! What the headers of PNG and WebP files say, read before any decoder sees them.
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

fn png_cut() -> PhotoError {
    PhotoError::Damaged("the PNG is cut short: its closing chunk is missing".to_string())
}
