//! The chain: photo -> register -> rectify -> needle -> scale -> outcome.
use super::record::{Outcome, Record};
use crate::dial::Dial;
use crate::photo::Photo;
use crate::verdict::Refusal;

/// Reads photos of one dial; what can be prepared once is prepared once.
#[derive(Debug)]
pub struct Reader {
    dial: Dial,
}

impl Reader {
    /// Prepares a dial for reading.
    pub fn new(dial: Dial) -> Self {
        Self { dial }
    }
    /// The dial.
    pub fn dial(&self) -> &Dial {
        &self.dial
    }
    /// Reads one photo.
    pub fn read(&self, photo: &Photo) -> Record {
        Record {
            photo_id: photo.hash.chars().take(12).collect(),
            taken_at: photo.taken_at.clone(),
            size: (photo.width, photo.height),
            outcome: Outcome::Refused(Refusal::DialNotFound, String::new()),
            evidence: None,
        }
    }
}
