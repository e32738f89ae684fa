//! One key frame of HEVC (ITU-T H.265): all that is known of its decoder is here. The colours, which it passes over, are read by that
//! of HEIC pictures.
use super::colour::{Picture, Stated};
use super::{damaged, units, unsupported};
use crate::photo::error::PhotoError;
use heifer::heifer_hevc_dec::nal::NalUnit;
use heifer::heifer_hevc_dec::params::Sps;
use rust_h265::{DecodeError, Decoder, NalUnitType, PixelData, parse_nal};

/// Bytes of the record before its lists of parameter sets (ISO/IEC 14496-15, 8.3.3.1).
const HEAD: usize = 22;

/// Judges the parameter sets in the clip's index before any frame.
pub(super) fn survey(config: &[u8], file: Option<Stated>) -> Result<(), PhotoError> {
    judge(&sets(config)?.1, file).map(|_| ())
}

/// Decodes a key frame; every slice of it must be one that needs no other picture.
pub(super) fn decode(config: &[u8], coded: &[u8], file: Option<Stated>) -> Result<Picture, PhotoError> {
    let (width, sets) = sets(config)?;
    let (frame_units, _) = units::take(coded, width, None)?;
    let first = judge(&sets, file)?;
    let (size, stated) = judge(&frame_units, file)?.or(first).ok_or_else(|| damaged("it does not say how large its pictures are"))?;
    let mut decoder = Decoder::new();
    let mut slices = 0;
    for bytes in sets.iter().chain(&frame_units) {
        let unit = parse_nal(bytes).ok_or_else(|| damaged("a key frame in it is not whole"))?;
        if unit.nal_unit_type.is_vcl() {
            if !unit.nal_unit_type.is_irap() {
                return Err(damaged("a key frame in it is not whole"));
            }
            slices += 1;
        }
        if decoder.decode_nal(&unit).map_err(|e| describe(&e))?.is_some() {
            return Err(damaged("one frame of its index holds several pictures"));
        }
    }
    let frame = decoder.flush().filter(|_| slices > 0).ok_or_else(|| damaged("a key frame in it is not whole"))?;
    if (frame.width, frame.height) != size || frame.chroma_format_idc != 1 {
        return Err(damaged("a frame in it does not have the size it states"));
    }
    let planes = [frame.y, frame.u, frame.v].map(|p| match p {
        PixelData::U8(levels) => levels.into_iter().map(u16::from).collect(),
        PixelData::U16(levels) => levels,
    });
    let picture = Picture { width: size.0 as usize, height: size.1 as usize, depth: frame.bit_depth, planes, stated };
    if has_hole(&picture) { Err(damaged("a part of a key frame is missing")) } else { Ok(picture) }
}

/// Bytes of a length, and the parameter sets.
fn sets(config: &[u8]) -> Result<(usize, Vec<&[u8]>), PhotoError> {
    let broken = || damaged("it does not say how its pictures are coded");
    let width = usize::from(config.get(HEAD - 1).ok_or_else(broken)? & 3) + 1;
    let (&lists, mut rest) = config.get(HEAD..).and_then(|r| r.split_first()).ok_or_else(broken)?;
    let mut all = Vec::new();
    for _ in 0..lists {
        let [kind, n1, n0, after @ ..] = rest else { return Err(broken()) };
        let (units, after) = units::take(after, 2, Some(u16::from_be_bytes([*n1, *n0]).into()))?;
        // messages beside the parameter sets may stand here too
        if (32..=34).contains(&(kind & 0x3f)) {
            all.extend(units);
        }
        rest = after;
    }
    Ok((width, all))
}

/// Width and height, px, and colours.
type Judged = ((u32, u32), Stated);

/// Size and colours by the last of the sequence parameter sets among some units; all of them must be ones that are read.
fn judge(all: &[&[u8]], file: Option<Stated>) -> Result<Option<Judged>, PhotoError> {
    let mut last = None;
    for unit in all.iter().filter(|u| parse_nal(u).is_some_and(|n| n.nal_unit_type == NalUnitType::Sps)) {
        let unusable = |e| damaged(&format!("it does not say how its pictures are coded ({e})"));
        let sps = NalUnit::parse(unit).and_then(|n| Sps::parse(&n.rbsp)).map_err(unusable)?;
        if sps.chroma_format_idc != 1 || sps.bit_depth_luma > 10 || sps.bit_depth_luma != sps.bit_depth_chroma {
            return Err(unsupported("an HEVC clip of a kind that phones do not write (not 4:2:0 of 8 or 10 bits)"));
        }
        let unsaid = Stated { full_range: false, transfer: 2, matrix: 2 };
        let of = |v: &heifer::heifer_hevc_dec::params::Vui| Stated {
            full_range: v.video_full_range_flag,
            transfer: v.transfer_characteristics.into(),
            matrix: v.matrix_coeffs.into(),
        };
        let said = sps.vui.as_ref().map_or(unsaid, of).or(file);
        said.check((sps.pic_width_in_luma_samples, sps.pic_height_in_luma_samples))?;
        let size = sps.output_size();
        last = Some((size, said.check(size)?));
    }
    Ok(last)
}

/// Side of the smallest block that a lost slice can leave, px.
const BLOCK: usize = 16;

/// Whether a block is exactly mid-grey in all three planes, which the decoder fills in where no slice came. A camera's noise leaves none.
fn has_hole(picture: &Picture) -> bool {
    let [y, u, v] = &picture.planes;
    let (w, grey) = (picture.width, 1u16 << (picture.depth - 1));
    let even = |plane: &[u16], row: usize, x: usize, y: usize, side: usize| {
        (y..y + side).all(|y| plane.get(y * row + x..y * row + x + side).is_some_and(|line| line.iter().all(|l| *l == grey)))
    };
    let blocks = (0..picture.height / BLOCK).flat_map(|j| (0..w / BLOCK).map(move |i| (i * BLOCK, j * BLOCK)));
    blocks.into_iter().any(|(i, j)| even(y, w, i, j, BLOCK) && [u, v].iter().all(|p| even(p, w / 2, i / 2, j / 2, BLOCK / 2)))
}

fn describe(error: &DecodeError) -> PhotoError {
    match error {
        DecodeError::Unsupported(_) | DecodeError::ResourceLimit(_) => unsupported(&format!("an HEVC clip of an unusual kind ({error})")),
        _ => damaged(&format!("a frame in it could not be decoded to its end ({error})")),
    }
}
