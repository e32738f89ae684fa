//! One key frame of H.264 (ITU-T H.264): all that is known of its decoder is here.
use super::colour::{Picture, Stated};
use super::{damaged, units, unsupported};
use crate::photo::error::PhotoError;
use rust_h264::decoder::{ChromaFormat, Decoder, Frame};
use rust_h264::error::DecodeError;
use rust_h264::nal::{AvccConfig, NalUnit, NalUnitType, SpsInfo, parse_avcc, parse_avcc_config, parse_sps_info};

/// Judges the parameter sets in the clip's index before any frame.
pub(super) fn survey(config: &[u8], file: Option<Stated>) -> Result<(), PhotoError> {
    judge(&sets(config)?.sps_nals, file).map(|_| ())
}

/// Decodes a key frame; every slice of it must be one that needs no other picture.
pub(super) fn decode(config: &[u8], coded: &[u8], file: Option<Stated>) -> Result<Picture, PhotoError> {
    let sets = sets(config)?;
    let there = units::take(coded, sets.length_size, None)?.0.len();
    let frame_units = parse_avcc(coded, sets.length_size);
    let own: Vec<_> = frame_units.iter().filter(|u| !matches!(u.nal_unit_type, NalUnitType::Slice)).collect();
    if own.len() != there || !own.iter().any(|u| u.nal_unit_type == NalUnitType::SliceIdr) {
        return Err(damaged("a key frame in it is not whole"));
    }
    let first = judge(&sets.sps_nals, file)?;
    let stated = judge(&frame_units, file)?.or(first).ok_or_else(|| damaged("it does not say how large its pictures are"))?;
    let mut decoder = Decoder::new();
    for unit in sets.sps_nals.iter().chain(&sets.pps_nals).chain(&frame_units) {
        if decoder.decode_nal(unit).map_err(|e| describe(&e))?.is_some() {
            return Err(damaged("one frame of its index holds several pictures"));
        }
    }
    let frame = decoder.flush().ok_or_else(|| damaged("a key frame in it is not whole"))?;
    if (frame.width, frame.height) != (stated.0.width, stated.0.height) || frame.chroma_format != ChromaFormat::Yuv420 {
        return Err(damaged("a frame in it does not have the size it states"));
    }
    if has_hole(&frame) {
        return Err(damaged("a part of a key frame is missing"));
    }
    let planes = [&frame.y, &frame.u, &frame.v].map(|p| (0..p.len() / frame.bytes_per_sample()).map(|i| frame.sample(p, i)).collect());
    Ok(Picture { width: frame.width as usize, height: frame.height as usize, depth: frame.bit_depth, planes, stated: stated.1 })
}

fn sets(config: &[u8]) -> Result<AvccConfig<'_>, PhotoError> {
    parse_avcc_config(config).map_err(|e| damaged(&format!("it does not say how its pictures are coded ({e})")))
}

/// Size and colours by the last of the sequence parameter sets among some units; all of them must be ones that are read.
fn judge(all: &[NalUnit<'_>], file: Option<Stated>) -> Result<Option<(SpsInfo, Stated)>, PhotoError> {
    let mut last = None;
    for unit in all.iter().filter(|u| u.nal_unit_type == NalUnitType::Sps) {
        let info = parse_sps_info(unit).map_err(|e| describe(&e))?;
        if !info.progressive || info.chroma_format != 1 || info.bit_depth_luma > 10 || info.bit_depth_luma != info.bit_depth_chroma {
            return Err(unsupported("an H.264 clip of a kind that phones do not write (interlaced, or not 4:2:0 of 8 or 10 bits)"));
        }
        let said = Stated { full_range: info.full_range, transfer: info.transfer.into(), matrix: info.matrix.into() };
        said.or(file).check((info.coded_width, info.coded_height))?;
        last = Some((info, said.or(file).check((info.width, info.height))?));
    }
    Ok(last)
}

/// Whether a macroblock is all zeros, which the decoder leaves where no slice came. No encoder writes that colour: zero in all three is
/// a deep green outside the range of any camera.
fn has_hole(frame: &Frame) -> bool {
    let row = frame.width as usize * frame.bytes_per_sample();
    let chroma_row = frame.chroma_width() as usize * frame.bytes_per_sample();
    let (across, down) = (16 * frame.bytes_per_sample(), 16);
    let zero = |plane: &[u8], row: usize, x: usize, y: usize, w: usize, h: usize| {
        (y..y + h).all(|y| plane.get(y * row + x..y * row + x + w).is_some_and(|line| line.iter().all(|b| *b == 0)))
    };
    let blocks = (0..frame.height as usize / down).flat_map(|j| (0..row / across).map(move |i| (i * across, j * down)));
    blocks.into_iter().any(|(x, y)| {
        zero(&frame.y, row, x, y, across, down)
            && [&frame.u, &frame.v].iter().all(|p| zero(p, chroma_row, x / 2, y / 2, across / 2, down / 2))
    })
}

fn describe(error: &DecodeError) -> PhotoError {
    match error {
        DecodeError::Unsupported(_) => unsupported(&format!("an H.264 clip of an unusual kind ({error})")),
        _ => damaged(&format!("a frame in it could not be decoded to its end ({error})")),
    }
}
