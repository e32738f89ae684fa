//! Boxes of an ISO base media file (ISO/IEC 14496-12, 4.2), read without trust in their sizes.
//!
//! Of the index only the boxes of one video track are handed on, each inside the one that holds it: what phones add beside them (sound,
//! places, tracks of data) is of no use here, and no reader of theirs sees a size that was not checked.
use super::{damaged, unsupported};
use crate::photo::error::PhotoError;
use std::io::{Read, Seek, SeekFrom};

/// Largest index that is read; that of ten hours of clip is smaller.
const MAX_INDEX_BYTES: u64 = 64 * 1024 * 1024;

/// A box: its kind and what is in it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Part<'a> {
    pub kind: [u8; 4],
    pub content: &'a [u8],
}

/// Finds the index (`moov`) of the file: its content, and the file's length.
pub(super) fn index<R: Read + Seek>(source: &mut R) -> Result<(Vec<u8>, u64), PhotoError> {
    let failed = |e: std::io::Error| damaged(&format!("it could not be read ({e})"));
    let length = source.seek(SeekFrom::End(0)).map_err(failed)?;
    let mut at = 0;
    while length.saturating_sub(at) >= 8 {
        source.seek(SeekFrom::Start(at)).map_err(failed)?;
        let mut head = [0; 8];
        source.read_exact(&mut head).map_err(failed)?;
        let [s3, s2, s1, s0, kind @ ..] = head;
        let (header, size) = match u32::from_be_bytes([s3, s2, s1, s0]) {
            0 => (8, length - at),
            1 => {
                let mut large = [0; 8];
                source.read_exact(&mut large).map_err(failed)?;
                (16, u64::from_be_bytes(large))
            }
            size => (8, size.into()),
        };
        let inside = size >= header && size <= length - at;
        if &kind == b"moov" && inside {
            if size > MAX_INDEX_BYTES {
                return Err(damaged("its index is larger than any phone writes"));
            }
            let mut content = vec![0; (size - header) as usize];
            source.read_exact(&mut content).map_err(failed)?;
            return Ok((content, length));
        }
        if !inside {
            return Err(damaged("it is cut short: its boxes reach beyond its end"));
        }
        at += size;
    }
    Err(damaged("its index is missing, as when a recording was broken off"))
}

/// The boxes in some content. Fewer than 8 bytes at the end are passed over (QuickTime closes lists with zeros).
pub(super) fn parts(content: &[u8]) -> Result<Vec<Part<'_>>, PhotoError> {
    let broken = || damaged("a box of its index is larger than what holds it");
    let (mut all, mut rest) = (Vec::new(), content);
    while let [s3, s2, s1, s0, k0, k1, k2, k3, ..] = *rest {
        let size = u32::from_be_bytes([s3, s2, s1, s0]) as usize;
        let content = rest.get(8..size).ok_or_else(broken)?;
        all.push(Part { kind: [k0, k1, k2, k3], content });
        rest = rest.get(size..).ok_or_else(broken)?;
    }
    Ok(all)
}

/// The first box of a kind.
pub(super) fn first<'a>(parts: &[Part<'a>], kind: &[u8; 4]) -> Option<&'a [u8]> {
    parts.iter().find(|p| &p.kind == kind).map(|p| p.content)
}

/// The content behind a path of boxes; an empty one where there is none.
pub(super) fn under<'a>(content: &'a [u8], path: &[&[u8; 4]]) -> Result<&'a [u8], PhotoError> {
    path.iter().try_fold(content, |c, kind| Ok(first(&parts(c)?, kind).unwrap_or_default()))
}

/// A box with its header.
pub(super) fn boxed(kind: &[u8; 4], content: &[u8]) -> Result<Vec<u8>, PhotoError> {
    let size = u32::try_from(content.len() + 8).map_err(|_| damaged("its index is too large"))?;
    Ok([&size.to_be_bytes()[..], kind, content].concat())
}

/// A file with nothing but the index, and in it nothing but this track's boxes of times, sizes and places.
pub(super) fn bare(movie: &[u8], track: &[u8]) -> Result<Vec<u8>, PhotoError> {
    let top = parts(movie)?;
    if first(&top, b"mvex").is_some() {
        return Err(unsupported("a clip in fragments"));
    }
    let header = boxed(b"mvhd", first(&top, b"mvhd").unwrap_or_default())?;
    let moov = [header, boxed(b"trak", &kept(track)?)?].concat();
    Ok([boxed(b"ftyp", b"isom\0\0\0\0")?, boxed(b"moov", &moov)?].concat())
}

fn kept(content: &[u8]) -> Result<Vec<u8>, PhotoError> {
    let mut out = Vec::new();
    for part in parts(content)? {
        match &part.kind {
            b"edts" | b"mdia" | b"stbl" => out.extend(boxed(&part.kind, &kept(part.content)?)?),
            b"minf" => {
                // where the samples lie is always this file
                let here = boxed(b"dref", &[&[0, 0, 0, 0, 0, 0, 0, 1][..], &boxed(b"url ", &[0, 0, 0, 1])?].concat())?;
                out.extend(boxed(b"minf", &[kept(part.content)?, boxed(b"dinf", &here)?].concat())?);
            }
            // the coding is read elsewhere
            b"stsd" => out.extend(boxed(b"stsd", &[&[0, 0, 0, 0, 0, 0, 0, 1][..], &boxed(b"none", &[])?].concat())?),
            b"stsz" if part.content.get(4..8) != Some(&[0; 4]) => return Err(damaged("all its frames have one size")),
            // the handler of `minf` (QuickTime) would be taken for that of the track
            b"tkhd" | b"elst" | b"mdhd" | b"hdlr" | b"stts" | b"ctts" | b"stss" | b"stsc" | b"stsz" | b"stco" | b"co64" => {
                out.extend(boxed(&part.kind, part.content)?);
            }
            _ => {}
        }
    }
    Ok(out)
}
