//! The dial file: JSON, versioned, with the picture of the face inside.
//!
//! The identity of a dial is the hash of all it says, so that error terms of readings cancel only between readings made with
//! the very same calibration; a file changed by hand states an identity that it no longer has, and is refused.
mod twin;
use super::check::{MAX_QUESTION, MAX_QUESTIONS, check, is_hex};
use super::declare::{self, DeclareError};
use super::declared::Declared;
use super::error::DialFileError;
use super::face::decode_stored;
use super::heading::Heading;
use super::model::{Dial, FIRST_VERSION, FORMAT_VERSION, Stand};
use crate::photo::{sha256_hex, told};
use serde_json::error::Category;
use twin::DialTwin;

/// Largest dial file that is opened.
pub const MAX_FILE_BYTES: u64 = 64 * 1024 * 1024;

const FORMAT: &str = "needleband-dial";
const ID_DIGITS: usize = 12;

/// Identity of a dial: the first 12 hex digits of SHA-256 over its content as compact JSON in its own format version, without the
/// identity itself.
pub fn content_id(dial: &Dial) -> String {
    let content = serde_json::to_vec(&DialTwin::of(dial, None)).unwrap_or_default();
    sha256_hex(&content).chars().take(ID_DIGITS).collect()
}

/// Whether these bytes call themselves a dial file, of whatever version.
pub fn is_dial_file(bytes: &[u8]) -> bool {
    serde_json::from_slice::<Heading>(bytes).is_ok_and(|h| h.format.as_deref() == Some(FORMAT))
}

impl Dial {
    /// The dial with the identity of its content; to be called last, when nothing changes any more. What was prepared of it before goes.
    pub fn sealed(mut self) -> Self {
        self.prepared = None;
        self.id = content_id(&self);
        self
    }

    /// The dial with its needle standing so over the face, in the present format and with the identity of its new content.
    pub fn with_stand(mut self, stand: Stand) -> Self {
        self.needle.stand = stand;
        Dial { version: FORMAT_VERSION, ..self }.sealed()
    }

    /// The dial with what was asked about its entries, in the present format and with the identity of its new content. Of more questions
    /// than a file holds the first are kept, and of a longer one its beginning.
    pub fn with_questions(mut self, questions: Vec<String>) -> Self {
        let fits = |q: String| q.chars().map(|c| if c.is_control() { ' ' } else { c }).take(MAX_QUESTION).collect();
        self.questions = questions.into_iter().filter(|q| !q.is_empty()).take(MAX_QUESTIONS).map(fits).collect();
        Dial { version: FORMAT_VERSION, ..self }.sealed()
    }

    /// The dial with these declarations in place of its own, in the present format and with the identity of its new content:
    /// readings made with it share no error term with those made before.
    ///
    /// # Errors
    /// A limit that is not above 0 or wider than the scale; a flat zone that does not rise, leaves the scale, holds no mark, meets
    /// another or is the whole scale.
    pub fn declare(self, declared: Declared) -> Result<Self, DeclareError> {
        declare::check(&declared, &self.marks)?;
        Ok(Dial { declared, version: FORMAT_VERSION, ..self }.sealed())
    }
}

/// The dial as a file. The same dial gives the same bytes.
/// Errors: something that [`from_bytes`] would refuse: impossible content, an identity that is not the content's (see
/// [`Dial::sealed`]), pixels that are not those of the stored picture, too large a file.
pub fn to_bytes(dial: &Dial) -> Result<Vec<u8>, DialFileError> {
    check(dial)?;
    let (stated, found) = (dial.id.clone(), content_id(dial));
    if stated != found {
        return Err(DialFileError::NotSealed { stated, found });
    }
    let face = &dial.face;
    if decode_stored(&face.jpeg)? != (face.rgb.clone(), face.width, face.height) {
        return Err(DialFileError::Picture("its pixels are not those of its stored form".to_string()));
    }
    let twin = DialTwin::of(dial, Some(dial.id.clone()));
    let mut bytes = serde_json::to_vec_pretty(&twin).map_err(|e| DialFileError::Shape(e.to_string()))?;
    bytes.push(b'\n');
    check_size(bytes.len())?;
    Ok(bytes)
}

/// The dial of a file, bit for bit as it was written.
/// Errors: anything but an unchanged dial file of a version that is read; see [`DialFileError`].
pub fn from_bytes(bytes: &[u8]) -> Result<Dial, DialFileError> {
    check_size(bytes.len())?;
    // Some editors put a byte-order mark in front.
    let text = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    read_heading(text)?;
    let twin: DialTwin = serde_json::from_slice(text).map_err(|e| DialFileError::Shape(told(&e)))?;
    let check_stated = twin.prepared_check();
    let dial = twin.into_dial()?;
    check(&dial)?;
    verify_id(&dial)?;
    match (&dial.prepared, check_stated) {
        (Some(bytes), Some(stated)) if stated != prepared_id(&dial.id, bytes) => Err(DialFileError::NotItsOwn),
        _ => Ok(dial),
    }
}

/// What ties prepared bytes to the dial of this identity: the first 12 hex digits of SHA-256 over the identity and the bytes.
fn prepared_id(id: &str, bytes: &[u8]) -> String {
    let mut both = id.as_bytes().to_vec();
    both.extend_from_slice(bytes);
    sha256_hex(&both).chars().take(ID_DIGITS).collect()
}

fn read_heading(text: &[u8]) -> Result<(), DialFileError> {
    let heading: Heading = serde_json::from_slice(text).map_err(|e| match e.classify() {
        Category::Data => DialFileError::NotADial,
        _ => DialFileError::NotJson(told(&e)),
    })?;
    if heading.format.as_deref() != Some(FORMAT) {
        return Err(DialFileError::NotADial);
    }
    match heading.format_version.0 {
        Some(FIRST_VERSION..=FORMAT_VERSION) => Ok(()),
        Some(found) => Err(DialFileError::Version { found, known: FORMAT_VERSION }),
        None => Err(DialFileError::Shape("`format_version` is not a whole number".to_string())),
    }
}

fn verify_id(dial: &Dial) -> Result<(), DialFileError> {
    let (stated, found) = (dial.id.clone(), content_id(dial));
    if stated.len() != ID_DIGITS || !is_hex(&stated) {
        return Err(DialFileError::Content(format!("its identity is not {ID_DIGITS} hex digits")));
    }
    if found == stated { Ok(()) } else { Err(DialFileError::ChangedByHand { stated, found }) }
}

fn check_size(bytes: usize) -> Result<(), DialFileError> {
    let bytes = bytes as u64;
    if bytes > MAX_FILE_BYTES { Err(DialFileError::TooLarge { bytes, limit: MAX_FILE_BYTES }) } else { Ok(()) }
}
