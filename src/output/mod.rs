//! Layer 11: results to text, JSON and pictures. Nothing here measures.
pub mod csv;
pub mod json;
mod limit;
mod markdown;
mod names;
mod page;
pub mod picture;
mod shown;
mod story;
pub mod text;
mod words;
pub use markdown::{Markdown, markdown};
pub(crate) use names::{shown as shown_name, shown_lines, word as shown_word};
#[cfg(feature = "page")]
pub(crate) use page::sheet_style;
pub use page::{Served, SheetPhoto, page, sheet};
pub(crate) use words::sentence_case;
