//! A correction as JSON spells it: a line of its own kind, of version 2, so that a program that knows no corrections refuses the diary in
//! place of telling what its writer took back.
use super::FORMAT;
use crate::diary::model::{Correction, What};
use serde::{Deserialize, Serialize};

/// The first version with corrections.
pub(super) const VERSION: u64 = 2;

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct CorrectionTwin {
    format: String,
    format_version: u64,
    written_at: String,
    correction: WhatTwin,
    /// As in a note.
    #[serde(skip_serializing_if = "Option::is_none")]
    check: Option<String>,
}

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
enum WhatTwin {
    /// The note of this line, and when it says that it was written.
    TakeBack {
        line: usize,
        written_at: String,
    },
    Rename {
        from: String,
        to: String,
    },
}

impl CorrectionTwin {
    pub(super) fn of(c: &Correction) -> Self {
        let correction = match &c.what {
            What::TakeBack { line, written_at } => WhatTwin::TakeBack { line: *line, written_at: written_at.clone() },
            What::Rename { from, to } => WhatTwin::Rename { from: from.clone(), to: to.clone() },
        };
        Self { format: FORMAT.to_string(), format_version: VERSION, written_at: c.written_at.clone(), correction, check: None }
    }
    /// With its check sum.
    pub(super) fn sealed(mut self, check: impl Fn(&Self) -> String) -> Self {
        self.check = Some(check(&self));
        self
    }
    /// The check sum, and the twin without it.
    pub(super) fn unsealed(mut self) -> (Option<String>, Self) {
        (self.check.take(), self)
    }
    pub(super) fn into_correction(self) -> Correction {
        let what = match self.correction {
            WhatTwin::TakeBack { line, written_at } => What::TakeBack { line, written_at },
            WhatTwin::Rename { from, to } => What::Rename { from, to },
        };
        Correction { written_at: self.written_at, what }
    }
}
