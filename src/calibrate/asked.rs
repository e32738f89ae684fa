//! A question about what was entered.

/// A question about what was entered.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// The mark it is about, by its value; `None` where it is about several or none.
    pub value: Option<f64>,
    /// What was seen, what it means, what would fit: sentences.
    pub text: String,
}

impl Question {
    pub(in crate::calibrate) fn of(value: Option<f64>, text: String) -> Self {
        Self { value, text }
    }
}
