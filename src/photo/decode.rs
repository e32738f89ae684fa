//! Bytes to an upright RGB photo. The kind of picture is told by its content, never by a file name.
use super::container::{Family, PNG_SIGNATURE, family, png_complete, png_size, webp_complete};
use super::error::{PhotoError, told};
use super::exif::Exif;
use super::guard::guarded;
#[cfg(feature = "heic")]
use super::heic;
use super::jpeg;
use super::limits::{MAX_DECODER_BYTES, check_size};
use super::model::Photo;
use super::raw::Raw;
use super::upright::upright;
use image::{DynamicImage, ImageDecoder, ImageError, ImageFormat, ImageReader, Limits};
use sha2::{Digest, Sha256};
use std::io::Cursor;

/// Kinds of picture by who decodes them.
enum Kind {
    Jpeg,
    Heic,
    Other(ImageFormat),
}

/// Decodes a JPEG, HEIC (feature `heic`), PNG, WebP or TIFF file to an upright RGB photo.
///
/// Levels of more than 8 bits are rounded to 8, gray and palette become RGB, transparency is dropped; of an animation or a file of
/// several pages the first is taken, of a HEIC the primary picture. HEIC is converted to sRGB; colour profiles of the other kinds are
/// left aside. Damaged EXIF counts as absent.
/// Errors: anything but a complete picture of at most [`MAX_PIXELS`](super::MAX_PIXELS) pixels; see [`PhotoError`].
pub fn decode(bytes: &[u8]) -> Result<Photo, PhotoError> {
    let raw = guarded(|| match kind(bytes)? {
        Kind::Jpeg => decode_jpeg(bytes),
        Kind::Heic => decode_heic(bytes),
        Kind::Other(format) => decode_other(bytes, format),
    })?;
    let (rgb, width, height) = upright(raw.rgb, raw.width, raw.height, raw.exif.orientation);
    Ok(Photo { width, height, rgb, hash: sha256_hex(bytes), taken_at: raw.exif.taken_at, focal_ratio: raw.exif.focal_ratio })
}

/// SHA-256 (FIPS 180-4) of some bytes as 64 lower-case hex digits.
pub fn sha256_hex(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|b| format!("{b:02x}")).collect()
}

fn kind(bytes: &[u8]) -> Result<Kind, PhotoError> {
    match bytes {
        [] => Err(PhotoError::Damaged("the file has 0 bytes".to_string())),
        [0xff, 0xd8, 0xff, ..] => Ok(Kind::Jpeg),
        _ if bytes.starts_with(PNG_SIGNATURE) => Ok(Kind::Other(ImageFormat::Png)),
        [b'R', b'I', b'F', b'F', _, _, _, _, b'W', b'E', b'B', b'P', ..] => Ok(Kind::Other(ImageFormat::WebP)),
        [b'I', b'I', 42, 0, ..] | [b'M', b'M', 0, 42, ..] => Ok(Kind::Other(ImageFormat::Tiff)),
        [_, _, _, _, b'f', b't', b'y', b'p', ..] => match family(bytes) {
            Family::Heic => Ok(Kind::Heic),
            Family::Avif => Err(PhotoError::Unsupported("an AVIF picture".to_string())),
            Family::Video => Err(PhotoError::Clip),
        },
        [b'G', b'I', b'F', b'8', ..] => Err(PhotoError::Unsupported("a GIF picture".to_string())),
        _ => Err(PhotoError::NotAPicture),
    }
}

#[cfg(feature = "heic")]
fn decode_heic(bytes: &[u8]) -> Result<Raw, PhotoError> {
    heic::decode(bytes)
}

#[cfg(not(feature = "heic"))]
fn decode_heic(_: &[u8]) -> Result<Raw, PhotoError> {
    Err(PhotoError::HeicLeftOut)
}

fn decode_jpeg(bytes: &[u8]) -> Result<Raw, PhotoError> {
    let found = jpeg::survey(bytes)?;
    let exif = found.exif.map(Exif::of_block).unwrap_or_default();
    Ok(Raw { width: found.width, height: found.height, rgb: found.rgb()?, exif })
}

fn decode_other(bytes: &[u8], format: ImageFormat) -> Result<Raw, PhotoError> {
    match format {
        ImageFormat::Png => {
            let (width, height) = png_size(bytes)?;
            check_size(width, height)?;
            png_complete(bytes)?;
        }
        ImageFormat::WebP => webp_complete(bytes)?,
        _ => {}
    }
    let mut reader = ImageReader::with_format(Cursor::new(bytes), format);
    let mut limits = Limits::no_limits();
    limits.max_alloc = Some(MAX_DECODER_BYTES);
    reader.limits(limits);
    let decoder = reader.into_decoder().map_err(describe)?;
    let (width, height) = decoder.dimensions();
    check_size(width.into(), height.into())?;
    if decoder.total_bytes() > MAX_DECODER_BYTES {
        let megabytes = decoder.total_bytes() / 1_000_000;
        return Err(PhotoError::Unsupported(format!("a picture that needs {megabytes} MB to decode")));
    }
    let rgb = DynamicImage::from_decoder(decoder).map_err(describe)?.into_rgb8().into_raw().into();
    Ok(Raw { width: width as usize, height: height as usize, rgb, exif: Exif::of_file(bytes) })
}

fn describe(error: ImageError) -> PhotoError {
    match error {
        ImageError::Unsupported(e) => PhotoError::Unsupported(format!("a picture of an unusual kind ({})", told(&e))),
        ImageError::Limits(e) => PhotoError::Unsupported(format!("a picture that needs too much memory to decode ({})", told(&e))),
        e => PhotoError::Damaged(format!("it could not be decoded to its end ({})", told(&e))),
    }
}
