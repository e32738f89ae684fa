//! The picture of the face on its way through storage.
use super::error::DialFileError;
use super::model::Face;
use crate::maths::homography::PlaneInFace;
use crate::photo::{Buffer, MAX_PIXELS, Photo, PhotoError, decode};
use image::ExtendedColorType;
use image::codecs::jpeg::JpegEncoder;

/// Quality of the stored JPEG. Its colour is not thinned out (4:4:4: all three channels are sampled 1 x 1, as the encoder does
/// for RGB); what is lost is a level or two of noise. Calibration learns from the stored pixels, so that it cancels.
pub const FACE_JPEG_QUALITY: u8 = 97;

/// A picture as it is stored, and the pixels that come back.
#[derive(Clone, Debug, PartialEq)]
pub struct StoredPicture {
    /// The stored bytes.
    pub jpeg: Vec<u8>,
    /// What they decode to: RGB, 3 bytes a pixel, row by row; the size of the picture given.
    pub rgb: Buffer<u8>,
}

/// Where the dial is in the picture of its face; each field as in [`Face`].
#[derive(Clone, Debug, PartialEq)]
pub struct FaceFrame {
    /// Dial plane to face-picture pixel.
    pub plane: PlaneInFace,
    /// Pixels per radius of the marks' circle at the pivot.
    pub scale: f64,
    /// Tilt of the reference photo that was removed, degrees.
    pub tilt: f64,
    /// Radius out to which the picture shows print on the face's own plane.
    pub print_radius: f64,
    /// Radius of a cover over the pivot, 0 when there is none.
    pub cover_radius: f64,
    /// `plane` moved by one sigma along each independent direction of its covariance, and by the principal point's doubt.
    pub plane_terms: Vec<PlaneInFace>,
    /// Radii between which the needle of the reference photo is replaced by the face.
    pub uncovered: Vec<[f64; 2]>,
    /// Where the camera of the reference photo stood in the dial frame, radii.
    pub camera: Option<[f64; 3]>,
}

/// Encodes RGB pixels as they will be stored and decodes them once: calibration must learn from `rgb` of the answer, and the
/// dial must keep `jpeg` of the same answer (encoding twice would give other pixels).
/// Errors: no pixels, not `width * height * 3` bytes, a side above 65535 px, or more than [`MAX_PIXELS`].
pub fn through_storage(rgb: &[u8], width: usize, height: usize) -> Result<StoredPicture, DialFileError> {
    let pixels = width.checked_mul(height).filter(|&n| n > 0 && n as u64 <= MAX_PIXELS);
    if pixels.and_then(|n| n.checked_mul(3)) != Some(rgb.len()) {
        return Err(DialFileError::Picture(format!("{} bytes of pixels do not make {width} x {height} pixels", rgb.len())));
    }
    let mut jpeg = Vec::new();
    // The pixel limit keeps both sides within u32; the encoder refuses more than 65535.
    JpegEncoder::new_with_quality(&mut jpeg, FACE_JPEG_QUALITY)
        .encode(rgb, width as u32, height as u32, ExtendedColorType::Rgb8)
        .map_err(|e| DialFileError::Picture(format!("it could not be encoded ({e})")))?;
    let (rgb, ..) = decode_stored(&jpeg)?;
    Ok(StoredPicture { jpeg, rgb })
}

impl Face {
    /// A face from RGB pixels, which go through storage once: `rgb` of the answer differs from what was given by a level or two.
    /// Errors: as [`through_storage`].
    pub fn from_rgb(rgb: &[u8], width: usize, height: usize, frame: FaceFrame) -> Result<Self, DialFileError> {
        Ok(Self::of(through_storage(rgb, width, height)?, (width, height), frame))
    }

    /// A face from the stored bytes. Errors: no JPEG, or a damaged one.
    pub fn from_jpeg(jpeg: Vec<u8>, frame: FaceFrame) -> Result<Self, DialFileError> {
        let (rgb, width, height) = decode_stored(&jpeg)?;
        Ok(Self::of(StoredPicture { jpeg, rgb }, (width, height), frame))
    }

    /// The picture as a photo of its own.
    pub fn picture(&self) -> Photo {
        let (width, height, rgb) = (self.width, self.height, self.rgb.clone());
        Photo { width, height, rgb, hash: String::new(), taken_at: None, focal_ratio: None }
    }

    fn of(picture: StoredPicture, (width, height): (usize, usize), frame: FaceFrame) -> Self {
        let FaceFrame { plane, scale, tilt, print_radius, cover_radius, plane_terms, uncovered, camera } = frame;
        let StoredPicture { rgb, jpeg } = picture;
        Self { width, height, rgb, jpeg, plane, scale, tilt, print_radius, cover_radius, plane_terms, uncovered, camera }
    }
}

/// RGB, width and height of a stored JPEG.
pub(super) fn decode_stored(jpeg: &[u8]) -> Result<(Buffer<u8>, usize, usize), DialFileError> {
    if !jpeg.starts_with(&[0xff, 0xd8]) {
        return Err(DialFileError::Picture("it is not a JPEG".to_string()));
    }
    let photo = decode(jpeg).map_err(|e| {
        DialFileError::Picture(match e {
            PhotoError::Damaged(what) | PhotoError::Unsupported(what) => what,
            PhotoError::TooLarge { width, height, limit } => format!("{width} x {height} pixels are more than {limit}"),
            PhotoError::Empty => "it has 0 pixels".to_string(),
            PhotoError::NotAPicture | PhotoError::HeicLeftOut | PhotoError::Clip => "it is not a JPEG".to_string(),
        })
    })?;
    Ok((photo.rgb, photo.width, photo.height))
}
