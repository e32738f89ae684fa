//! Which track holds the pictures, and how they are coded (ISO/IEC 14496-12, 8.5.2 and 12.1; 14496-15).
use super::boxes::{Part, first, parts, under};
use super::colour::Stated;
use super::{Codec, damaged, unsupported};
use crate::photo::error::PhotoError;

/// Bytes of a visual sample entry before the boxes in it.
const ENTRY: usize = 78;

/// A track of pictures.
pub(super) struct Found<'a> {
    pub track: &'a [u8],
    pub codec: Codec,
    pub config: &'a [u8],
    pub stated: Option<Stated>,
}

/// The first video track of a coding that is read.
pub(super) fn find(movie: &[u8]) -> Result<Found<'_>, PhotoError> {
    let mut other = None;
    for Part { content: track, .. } in parts(movie)?.into_iter().filter(|p| &p.kind == b"trak") {
        if under(track, &[b"mdia", b"hdlr"])?.get(8..12) != Some(b"vide") {
            continue;
        }
        let entries = under(track, &[b"mdia", b"minf", b"stbl", b"stsd"])?;
        let entries = parts(entries.get(8..).ok_or_else(|| damaged("it does not say how its pictures are coded"))?)?;
        let [entry] = entries[..] else { return Err(unsupported("a clip whose coding changes on the way")) };
        let (codec, box_kind) = match &entry.kind {
            b"avc1" | b"avc3" => (Codec::Avc, b"avcC"),
            b"hvc1" | b"hev1" => (Codec::Hevc, b"hvcC"),
            kind => {
                other = other.or(Some(*kind));
                continue;
            }
        };
        let inner = parts(entry.content.get(ENTRY..).unwrap_or_default())?;
        if first(&inner, b"pasp").is_some_and(|p| p.get(..4) != p.get(4..8)) {
            return Err(unsupported("a clip whose pixels are not square"));
        }
        let config = first(&inner, box_kind).ok_or_else(|| damaged("it does not say how its pictures are coded"))?;
        return Ok(Found { track, codec, config, stated: first(&inner, b"colr").and_then(Stated::of_box) });
    }
    Err(match other {
        Some(kind) => unsupported(&format!("a clip coded as \"{}\", neither H.264 nor HEVC", kind.escape_ascii())),
        None => damaged("it holds no track of pictures"),
    })
}
