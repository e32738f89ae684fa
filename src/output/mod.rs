//! Layer 10: results to text, JSON and pictures. Nothing here measures.
pub mod json;
mod limit;
pub mod picture;
pub mod text;
mod words;
