//! The few EXIF facts that matter, read so that a damaged block is the same as none.
//!
//! Tags and their meaning: Exif 2.32 (CIPA DC-008), 4.6.5 (Orientation, DateTimeOriginal, FocalLengthIn35mmFilm).
use exif::{Error, In, Reader, Tag, Value};
use std::io::Cursor;

/// What the camera wrote about a photo.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Exif {
    /// 1..8, 1 = stored upright.
    pub orientation: u8,
    /// DateTimeOriginal as "YYYY-MM-DD HH:MM:SS", local camera time.
    pub taken_at: Option<String>,
    /// 35 mm equivalent focal length over 36 mm: the focal length in units of the picture's longer side.
    ///
    /// An estimate: makers scale by the frame's diagonal (4 % off for a 4:3 sensor), and a cropped photo keeps the old value.
    pub focal_ratio: Option<f64>,
}

impl Default for Exif {
    fn default() -> Self {
        Self { orientation: 1, taken_at: None, focal_ratio: None }
    }
}

impl Exif {
    /// From a bare EXIF block, as a JPEG's APP1 holds it.
    pub(super) fn of_block(block: &[u8]) -> Self {
        Self::of(lenient().read_raw(block.to_vec()))
    }

    /// From a whole PNG, WebP or TIFF file.
    pub(super) fn of_file(bytes: &[u8]) -> Self {
        Self::of(lenient().read_from_container(&mut Cursor::new(bytes)))
    }

    fn of(read: Result<exif::Exif, Error>) -> Self {
        let Ok(found) = read.or_else(|e| e.distill_partial_result(|_| ())) else { return Self::default() };
        let number = |tag| found.get_field(tag, In::PRIMARY).and_then(|f| f.value.get_uint(0));
        let orientation = number(Tag::Orientation).and_then(|v| u8::try_from(v).ok()).filter(|v| (1..=8).contains(v)).unwrap_or(1);
        let focal_ratio = number(Tag::FocalLengthIn35mmFilm).filter(|&f| f > 0).map(|f| f64::from(f) / 36.0);
        let taken_at = match found.get_field(Tag::DateTimeOriginal, In::PRIMARY).map(|f| &f.value) {
            Some(Value::Ascii(parts)) => parts.first().and_then(|text| capture_time(text)),
            _ => None,
        };
        Self { orientation, taken_at, focal_ratio }
    }
}

/// One bad field must not lose the good ones.
fn lenient() -> Reader {
    let mut reader = Reader::new();
    reader.continue_on_error(true);
    reader
}

/// "2026:08:14 10:31:07" to "2026-08-14 10:31:07"; anything that is no time of the calendar is `None`.
fn capture_time(raw: &[u8]) -> Option<String> {
    let text = std::str::from_utf8(raw).ok()?.trim_end_matches(['\0', ' ']);
    let shape_holds = text.len() == 19
        && text.bytes().enumerate().all(|(i, b)| match i {
            4 | 7 | 13 | 16 => b == b':',
            10 => b == b' ',
            _ => b.is_ascii_digit(),
        });
    if !shape_holds {
        return None;
    }
    let part = |from: usize, to: usize| text.get(from..to).and_then(|t| t.parse::<u32>().ok());
    let (year, month, day) = (part(0, 4)?, part(5, 7)?, part(8, 10)?);
    let (hour, minute, second) = (part(11, 13)?, part(14, 16)?, part(17, 19)?);
    let in_range = year > 0 && (1..=days_in(year, month)).contains(&day) && hour < 24 && minute < 60 && second < 60;
    in_range.then(|| format!("{year:04}-{month:02}-{day:02} {hour:02}:{minute:02}:{second:02}"))
}

fn days_in(year: u32, month: u32) -> u32 {
    match month {
        1 | 3 | 5 | 7 | 8 | 10 | 12 => 31,
        4 | 6 | 9 | 11 => 30,
        2 if year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400)) => 29,
        2 => 28,
        _ => 0,
    }
}
