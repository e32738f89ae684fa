//! Layer 10: results to text, JSON and pictures. Nothing here measures.
pub mod picture;
mod words;
