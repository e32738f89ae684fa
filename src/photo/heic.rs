//! HEIC (ISO/IEC 23008-12), the primary picture only: one HEVC picture or a grid of them, as phones store it.
//!
//! Thumbnails, depth maps, portrait mattes, gain maps and the clip of a live photo are other items or boxes of the file and are not
//! looked at. **Orientation**: the properties `irot` and `imir` are part of decoding; an EXIF orientation in a HEIC only informs and is
//! not applied, also where there is no `irot` (ISO/IEC 23008-12 as libheif follows it). Phones write both, so that applying it would
//! turn a photo twice. **Levels**: 10 bits and more are rounded to 8. Colours are converted to sRGB by the ICC profile or the coded
//! primaries, Display P3 for example; what cannot be converted is taken as written. Curves for HDR screens (PQ, HLG) are refused.
//! What is not noticed: bits changed inside the coded picture. HEVC has no checksum that phones write; such a picture is complete and
//! wrong in places, as a JPEG can be.
use super::error::PhotoError;
use super::exif::Exif;
use super::limits::{MAX_PIXELS, check_size};
use super::raw::Raw;
use heifer::heifer_hevc_dec::Error as HevcError;
use heifer::heifer_hevc_dec::nal::{NalUnit, NalUnitType, split_annex_b};
use heifer::heifer_hevc_dec::params::Sps;
use heifer::heifer_isobmff::boxes::{ColorInfo, Property};
use heifer::heifer_isobmff::{Error as BoxError, HeifFile, ItemId};
use heifer::{Image, Options};

/// Most pictures that a grid may consist of: 50 megapixels in tiles of 512 x 512 are some 200.
const MAX_TILES: usize = 2048;
/// Most pixels that are decoded for one pixel of the limit: the tiles at the edge of a grid reach beyond the picture.
const OVERLAP: u64 = 2;

/// Pixels beyond the limit that a picture of allowed size may be coded with: its sides are filled up to whole coding blocks.
const PADDING: u64 = MAX_PIXELS / 20;

/// Decodes the primary picture. Errors: cut short, too large, a kind that is not read; judged before a pixel is decoded.
///
/// One thread: photos are read side by side, and whatever the decoder does is done where it is watched ([`super::guard`]).
pub(super) fn decode(bytes: &[u8]) -> Result<Raw, PhotoError> {
    let bytes = whole_boxes(bytes)?;
    let file = HeifFile::parse(bytes).map_err(|e| describe(e.into()))?;
    let stated = survey(&file)?;
    let options = Options { max_threads: 1, max_pixels: MAX_PIXELS + PADDING };
    let image = match heifer::decode_srgb_rgba8(bytes, &options) {
        // Colours that cannot be converted are taken as written, as in a JPEG.
        Err(heifer::Error::Unsupported(_) | heifer::Error::Invalid(_)) => heifer::decode_rgba8(bytes, &options),
        answer => answer,
    }
    .map_err(describe)?;
    check_filled(&file, &image, stated)?;
    let written = file.exif(file.primary_id).ok().flatten().map(|block| Exif::of_block(&block)).unwrap_or_default();
    let exif = Exif { orientation: 1, ..written };
    Ok(Raw { width: image.width as usize, height: image.height as usize, rgb: image.into_rgb8().into(), exif })
}

/// The file without what follows its last whole box (makers append clips and data of their own). Error: cut within a box that the
/// picture needs.
fn whole_boxes(bytes: &[u8]) -> Result<&[u8], PhotoError> {
    let mut at = 0;
    while let Some(&[s3, s2, s1, s0, ref kind @ ..]) = bytes.get(at..at + 8) {
        let rest = (bytes.len() - at) as u64;
        let size = match u32::from_be_bytes([s3, s2, s1, s0]) {
            0 => rest,
            1 => bytes.get(at + 8..at + 16).and_then(|b| b.try_into().ok()).map_or(u64::MAX, u64::from_be_bytes),
            size => size.into(),
        };
        if size < 8 || size > rest || !kind.is_ascii() {
            if matches!(kind, b"ftyp" | b"meta" | b"mdat") {
                return Err(damaged("it is cut short: its boxes reach beyond its end"));
            }
            break;
        }
        at += size as usize;
    }
    Ok(&bytes[..at])
}

/// Width and height that the file states for the primary picture, before it is turned. Refuses what is too large, what takes too much
/// work, and what phones do not write: overlays, transparency, other codecs.
fn survey(file: &HeifFile<'_>) -> Result<(u32, u32), PhotoError> {
    let primary = file.primary_id;
    let kind = file.item(primary).map_err(|e| describe(e.into()))?.item_type;
    let (size, parts) = match &kind.0 {
        b"hvc1" => (size_of(file, primary)?, vec![primary]),
        b"grid" => grid(file, primary)?,
        b"av01" => return Err(unsupported("an AVIF picture")),
        _ => return Err(unsupported(&format!("a HEIF picture of a kind that phones do not write (\"{kind}\")"))),
    };
    check_size(size.0.into(), size.1.into())?;
    check_stated_curves(file, primary)?;
    let mut coded = 0;
    for &id in &parts {
        if has_alpha(file, id) || has_alpha(file, primary) {
            return Err(unsupported("a HEIC picture with transparency"));
        }
        check_stated_curves(file, id)?;
        coded += coded_pixels(file, id, size_of(file, id)?)?;
        if coded > OVERLAP * MAX_PIXELS {
            return Err(damaged("more is coded in it than it can show"));
        }
    }
    Ok(size)
}

fn size_of(file: &HeifFile<'_>, id: ItemId) -> Result<(u32, u32), PhotoError> {
    let stated = file.image_size(id).map_err(|e| describe(e.into()))?;
    stated.ok_or_else(|| damaged("the size of a picture in it is missing"))
}

/// The size of a grid and its tiles, which must be coded pictures that cover it: what they leave open would be shown black.
fn grid(file: &HeifFile<'_>, id: ItemId) -> Result<((u32, u32), Vec<ItemId>), PhotoError> {
    let grid = file.grid(id).map_err(|e| describe(e.into()))?;
    let tiles = file.referenced_items(id, b"dimg");
    if tiles.is_empty() || tiles.len() != usize::from(grid.rows) * usize::from(grid.columns) {
        return Err(damaged("tiles of the picture are missing"));
    }
    if tiles.len() > MAX_TILES {
        return Err(unsupported(&format!("a HEIC picture of {} tiles", tiles.len())));
    }
    for &tile in tiles {
        if file.item(tile).map_err(|e| describe(e.into()))?.item_type.0 != *b"hvc1" {
            return Err(unsupported("a HEIC picture whose tiles are no HEVC pictures"));
        }
        let (width, height) = size_of(file, tile)?;
        let covered = (u64::from(width) * u64::from(grid.columns), u64::from(height) * u64::from(grid.rows));
        if covered.0 < grid.output_width.into() || covered.1 < grid.output_height.into() {
            return Err(damaged("its tiles do not cover the picture"));
        }
    }
    Ok(((grid.output_width, grid.output_height), tiles.to_vec()))
}

/// Pixels of the largest picture that a coded item announces (H.265, 7.3.2.2). Error: less is coded than `stated`.
fn coded_pixels(file: &HeifFile<'_>, id: ItemId, stated: (u32, u32)) -> Result<u64, PhotoError> {
    let stream = file.hevc_bitstream(id).map_err(|e| describe(e.into()))?;
    let mut most = 0;
    for unit in split_annex_b(&stream) {
        let Ok(unit) = NalUnit::parse(unit) else { continue };
        if unit.header.unit_type == NalUnitType::Sps {
            let sps = Sps::parse(&unit.rbsp).map_err(|e| describe(e.into()))?;
            check_curve(sps.vui.as_ref().map_or(2, |v| v.transfer_characteristics.into()))?;
            let (width, height) = sps.output_size();
            if width < stated.0 || height < stated.1 {
                return Err(damaged("less is coded in it than the size it states"));
            }
            most = most.max(u64::from(sps.pic_width_in_luma_samples) * u64::from(sps.pic_height_in_luma_samples));
        }
    }
    Ok(most)
}

fn has_alpha(file: &HeifFile<'_>, id: ItemId) -> bool {
    let is_alpha = |p: &Property| matches!(p, Property::AuxiliaryType(t) if t.ends_with(":auxid:1") || t.ends_with(":alpha"));
    file.referencing_items(id, b"auxl").into_iter().any(|aux| file.item_properties(aux).is_ok_and(|mut all| all.any(is_alpha)))
}

/// Refuses the curves for HDR screens, by code points of ITU-T H.273: 16 PQ, 18 HLG.
fn check_curve(transfer: u16) -> Result<(), PhotoError> {
    match transfer {
        16 => Err(unsupported("a HEIC picture for HDR screens (PQ)")),
        18 => Err(unsupported("a HEIC picture for HDR screens (HLG)")),
        _ => Ok(()),
    }
}

fn check_stated_curves(file: &HeifFile<'_>, id: ItemId) -> Result<(), PhotoError> {
    for property in file.item_properties(id).map_err(|e| describe(e.into()))? {
        if let Property::Color(ColorInfo::Nclx { transfer, .. }) = property {
            check_curve(*transfer)?;
        }
    }
    Ok(())
}

/// The decoder gives what is there; it must be all that the file states. Turning keeps the number of pixels.
fn check_filled(file: &HeifFile<'_>, image: &Image<u8>, stated: (u32, u32)) -> Result<(), PhotoError> {
    let (width, height) = (u64::from(image.width), u64::from(image.height));
    check_size(width, height)?;
    let crop = file.item_properties(file.primary_id).ok().and_then(|mut all| all.find_map(cropped_size));
    let expected = crop.unwrap_or((stated.0.into(), stated.1.into()));
    let filled = width * height == expected.0 * expected.1 && image.data.len() as u64 == width * height * 4;
    if filled { Ok(()) } else { Err(damaged("its data do not fill the size it states")) }
}

/// Width and height of a crop (ISO/IEC 14496-12, 12.1.4), whole pixels.
fn cropped_size(property: &Property) -> Option<(u64, u64)> {
    let Property::CleanAperture { width, height, .. } = property else { return None };
    let whole = |(n, d): (u32, u32)| (f64::from(n) / f64::from(d.max(1))).round() as u64;
    Some((whole(*width), whole(*height)))
}

fn describe(error: heifer::Error) -> PhotoError {
    match error {
        heifer::Error::Unsupported(_)
        | heifer::Error::Container(BoxError::Unimplemented(_))
        | heifer::Error::Hevc(HevcError::Unimplemented(_)) => unsupported(&format!("a HEIC picture of an unusual kind ({error})")),
        e => damaged(&format!("it could not be decoded to its end ({e})")),
    }
}

fn damaged(what: &str) -> PhotoError {
    PhotoError::Damaged(what.to_string())
}

fn unsupported(what: &str) -> PhotoError {
    PhotoError::Unsupported(what.to_string())
}
