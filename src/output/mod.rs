//! Results to text, JSON and pictures.
