//! The key frames of a phone clip (feature `video`): MP4 or MOV with H.264 or HEVC, each frame an upright photo with its time.
//!
//! Key frames alone are decoded: each is a whole picture, and the ones between add nothing that a slow dial would show. One is decoded
//! at a time, and of the file only the index and that frame are in memory. **Times** are seconds from the start of what the clip shows
//! (edit list applied); **orientation** is the track's matrix; **levels** are those of the stream (range, matrix), 10 bits rounded to 8.
//! Curves for HDR screens (PQ, HLG) are refused, as in a HEIC. What is not noticed: bits changed inside a coded frame; the codecs have
//! no checksum that phones write.
mod avc;
mod boxes;
mod colour;
mod error;
mod hevc;
mod index;
mod track;
mod units;
use super::decode::sha256_hex;
use super::error::PhotoError;
use super::guard::guarded;
use super::model::Photo;
use super::upright::upright;
use colour::{Picture, Stated};
pub use error::ClipError;
use index::Key;
use std::io::{Read, Seek, SeekFrom};

/// Largest coded frame that is read: 50 megapixels of key frame need less.
const MAX_CODED_BYTES: u64 = 64 * 1024 * 1024;

/// Who decodes the frames.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Codec {
    Avc,
    Hevc,
}

/// What every frame of the track needs.
#[derive(Clone, Debug)]
struct Coding {
    codec: Codec,
    /// Content of the box `avcC` or `hvcC`.
    config: Vec<u8>,
    /// Colour by the file, where the stream says nothing.
    stated: Option<Stated>,
    /// As in EXIF.
    orientation: u8,
}

/// An opened clip.
#[derive(Debug)]
pub struct Clip<R> {
    source: R,
    coding: Coding,
    keys: Vec<Key>,
}

impl<R: Read + Seek> Clip<R> {
    /// Reads the clip's index and judges it: kind, size, colours. No frame is decoded yet.
    ///
    /// Errors: no index, no key frame, a codec or kind of picture that is not read, more than [`MAX_PIXELS`](super::MAX_PIXELS).
    pub fn open(mut source: R) -> Result<Self, ClipError> {
        let (coding, keys) = guarded(|| {
            let (track, length) = boxes::index(&mut source)?;
            let (coding, keys) = index::read(&track, length)?;
            match coding.codec {
                Codec::Avc => avc::survey(&coding.config, coding.stated)?,
                Codec::Hevc => hevc::survey(&coding.config, coding.stated)?,
            }
            Ok((coding, keys))
        })?;
        Ok(Self { source, coding, keys })
    }
    /// When each key frame is shown, seconds from the clip's start, rising.
    pub fn times(&self) -> Vec<f64> {
        self.keys.iter().map(|k| k.seconds).collect()
    }
    /// Decodes the key frame `number` (from 0) to an upright photo. Its hash is that of its coded bytes: the identity of a frame.
    ///
    /// Errors: as for a photo; a frame that does not exist or of which a part is missing is damaged.
    pub fn photo(&mut self, number: usize) -> Result<Photo, PhotoError> {
        let key = *self.keys.get(number).ok_or_else(|| damaged("there is no such key frame"))?;
        let Self { source, coding, .. } = self;
        guarded(|| {
            let coded = read(source, key)?;
            let picture = coding.decode(&coded)?;
            let rgb = picture.rgb()?.into();
            let (rgb, width, height) = upright(rgb, picture.width, picture.height, coding.orientation);
            Ok(Photo { width, height, rgb, hash: sha256_hex(&coded), taken_at: None, focal_ratio: None })
        })
    }
}

impl Coding {
    fn decode(&self, coded: &[u8]) -> Result<Picture, PhotoError> {
        match self.codec {
            Codec::Avc => avc::decode(&self.config, coded, self.stated),
            Codec::Hevc => hevc::decode(&self.config, coded, self.stated),
        }
    }
}

fn read<R: Read + Seek>(source: &mut R, key: Key) -> Result<Vec<u8>, PhotoError> {
    if key.size > MAX_CODED_BYTES {
        return Err(damaged("a frame in it is larger than any phone writes"));
    }
    let failed = |e: std::io::Error| damaged(&format!("its bytes could not be read ({e})"));
    source.seek(SeekFrom::Start(key.offset)).map_err(failed)?;
    let mut coded = vec![0; key.size as usize];
    source.read_exact(&mut coded).map_err(failed)?;
    Ok(coded)
}

fn damaged(what: &str) -> PhotoError {
    PhotoError::Damaged(what.to_string())
}

fn unsupported(what: &str) -> PhotoError {
    PhotoError::Unsupported(what.to_string())
}
