//! The quick tier: `cargo test --release quick`. What takes seconds and tells most of what a change breaks.
mod architecture;
pub mod certified;
mod declared;
mod dial_file;
pub mod diary;
mod rendering;
mod supply;
mod wide_lens;
