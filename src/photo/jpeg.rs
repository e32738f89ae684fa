//! JPEG, decoded so that a damaged file is an error and never a half grey picture.
//!
//! Decoders are lenient: they fill what is missing and report success. Three things make this one strict. The file is walked
//! marker by marker (ITU-T T.81, annex B) up to the end-of-image marker, which must be there; what follows it (gain maps,
//! motion clips) is dropped. The decoder runs in its strict mode. And the last scan is followed by one-bits: no Huffman code
//! consists of ones alone (T.81, C.2), so a scan that ends too early runs into an impossible code instead of being made up.
//! What is not noticed: a progressive file that was closed between two scans; that is a softer picture of the right size.
use super::buffer::Buffer;
use super::error::{PhotoError, told};
use super::limits::check_size;
use zune_core::bytestream::ZCursor;
use zune_core::colorspace::ColorSpace;
use zune_core::options::DecoderOptions;

const SOI: u8 = 0xd8;
const EOI: u8 = 0xd9;
const SOS: u8 = 0xda;
/// Most scans of a file: each costs a walk over the whole picture and next to no bytes, so that a small file could take hours. Encoders
/// write some ten.
const MAX_SCANS: usize = 100;
/// 64 one-bits as entropy-coded bytes (0xff is written 0xff 0x00): longer than any code with its extra bits.
const ONES: [u8; 16] = [0xff, 0, 0xff, 0, 0xff, 0, 0xff, 0, 0xff, 0, 0xff, 0, 0xff, 0, 0xff, 0];

/// A JPEG whose markers are complete.
#[derive(Debug, Default)]
pub(super) struct Survey<'a> {
    /// Width by the frame header, px.
    pub width: usize,
    /// Height by the frame header, px.
    pub height: usize,
    /// The EXIF block (a small TIFF file), when there is one.
    pub exif: Option<&'a [u8]>,
    progressive: bool,
    /// The primary picture alone: tables, frame and scans; metadata, junk and trailing data left out.
    stream: Vec<u8>,
}

/// Walks the markers to the end of the primary picture. Errors: cut short, too large, a kind of JPEG that is not read.
pub(super) fn survey(bytes: &[u8]) -> Result<Survey<'_>, PhotoError> {
    let mut found = Survey { stream: Vec::with_capacity(bytes.len() + 256), ..Survey::default() };
    found.stream.extend([0xff, SOI]);
    let mut at = 2;
    let mut scans = 0;
    loop {
        let Some((marker, after)) = next_marker(bytes, at) else { return Err(cut_short()) };
        at = after;
        match marker {
            EOI if scans > 0 => {
                // The decoder looks for the marker behind the first scan of a progressive file in the bytes next to it.
                if !found.progressive || scans > 1 {
                    found.stream.extend(ONES);
                }
                found.stream.extend([0xff, EOI]);
                return Ok(found);
            }
            EOI => return Err(damaged("the JPEG ends before any picture data")),
            SOI | 0x01 | 0xd0..=0xd7 => continue,
            _ => {}
        }
        let Some(body) = segment(bytes, at) else { return Err(cut_short()) };
        at += body.len();
        found.take(marker, body)?;
        if marker == SOS {
            scans += 1;
            if scans > MAX_SCANS {
                return Err(damaged(&format!("the JPEG has more than {MAX_SCANS} scans")));
            }
            let end = scan_end(bytes, at).ok_or_else(cut_short)?;
            found.stream.extend_from_slice(&bytes[at..end]);
            at = end;
        }
    }
}

impl<'a> Survey<'a> {
    /// Notes one marker segment (`body` begins with its two length bytes) and keeps it when the picture needs it.
    fn take(&mut self, marker: u8, body: &'a [u8]) -> Result<(), PhotoError> {
        match marker {
            // APP1: EXIF is kept aside; other APPn but the two that say how colours are coded, and comments, are dropped.
            0xe1 => {
                let exif = body[2..].strip_prefix(b"Exif\0\0".as_slice());
                self.exif = self.exif.or(exif);
                return Ok(());
            }
            0xe2..=0xed | 0xef | 0xfe => return Ok(()),
            0xc0..=0xc2 => {
                self.progressive = marker == 0xc2;
                self.frame(body)?;
            }
            0xc3 | 0xc5..=0xc7 => return Err(unsupported("a lossless or hierarchical JPEG")),
            0xc9..=0xcb | 0xcd..=0xcf => return Err(unsupported("an arithmetic-coded JPEG")),
            SOS if self.width == 0 => return Err(damaged("the JPEG's picture data come before its frame header")),
            _ => {}
        }
        self.stream.extend([0xff, marker]);
        self.stream.extend_from_slice(body);
        Ok(())
    }

    fn frame(&mut self, body: &[u8]) -> Result<(), PhotoError> {
        let &[_, _, precision, h1, h0, w1, w0, components, ..] = body else {
            return Err(damaged("the JPEG's frame header is too short"));
        };
        if self.width != 0 {
            return Err(damaged("the JPEG has two frame headers"));
        }
        if precision != 8 {
            return Err(unsupported(&format!("a JPEG of {precision} bits a channel")));
        }
        if !matches!(components, 1 | 3 | 4) {
            return Err(unsupported(&format!("a JPEG of {components} colour channels")));
        }
        self.width = usize::from(u16::from_be_bytes([w1, w0]));
        self.height = usize::from(u16::from_be_bytes([h1, h0]));
        check_size(self.width as u64, self.height as u64)
    }

    /// Decodes to RGB8, row by row, in the orientation of the file. Gray is tripled; CMYK is converted without a profile.
    pub(super) fn rgb(&self) -> Result<Buffer<u8>, PhotoError> {
        let options = DecoderOptions::default()
            .set_strict_mode(true)
            .set_max_width(usize::from(u16::MAX))
            .set_max_height(usize::from(u16::MAX))
            .jpeg_set_out_colorspace(ColorSpace::RGB);
        let mut decoder = zune_jpeg::JpegDecoder::new_with_options(ZCursor::new(self.stream.as_slice()), options);
        let broken = |e| damaged(&format!("the JPEG's picture data are incomplete or broken ({})", told(&e)));
        decoder.decode_headers().map_err(broken)?;
        if decoder.output_buffer_size() != Some(self.width * self.height * 3) {
            return Err(damaged("the JPEG's picture data do not fill the size its header gives"));
        }
        let mut rgb = Buffer::zeroed(self.width * self.height * 3);
        decoder.decode_into(&mut rgb).map_err(broken)?;
        Ok(rgb)
    }
}

/// The next marker code at or after `at`, and where its segment begins. Fill bytes and stray bytes are passed over.
fn next_marker(bytes: &[u8], mut at: usize) -> Option<(u8, usize)> {
    loop {
        at += bytes.get(at..)?.iter().position(|&b| b == 0xff)?;
        let code = *bytes.get(at + 1)?;
        match code {
            0xff => at += 1,
            0 => at += 2,
            _ => return Some((code, at + 2)),
        }
    }
}

/// The segment at `at`, length bytes included.
fn segment(bytes: &[u8], at: usize) -> Option<&[u8]> {
    let &[high, low] = bytes.get(at..at + 2)? else { return None };
    let length = usize::from(u16::from_be_bytes([high, low]));
    bytes.get(at..at + length.max(2))
}

/// Where the entropy-coded data that begin at `at` end: at the first marker that is not a restart.
fn scan_end(bytes: &[u8], mut at: usize) -> Option<usize> {
    loop {
        at += bytes.get(at..)?.iter().position(|&b| b == 0xff)?;
        match *bytes.get(at + 1)? {
            0 | 0xd0..=0xd7 => at += 2,
            0xff => at += 1,
            _ => return Some(at),
        }
    }
}

fn cut_short() -> PhotoError {
    damaged("the JPEG is cut short: its end marker is missing")
}

fn damaged(what: &str) -> PhotoError {
    PhotoError::Damaged(what.to_string())
}

fn unsupported(what: &str) -> PhotoError {
    PhotoError::Unsupported(what.to_string())
}
