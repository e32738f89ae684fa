//! Colours: two quiet tones for the ground and the text, and five of the Okabe–Ito set, which people with any common kind
//! of colour vision can tell apart (Okabe & Ito, "Color Universal Design", 2008). Lines over a photo carry a dark rim, so
//! nothing rests on colour alone.

/// Ground behind the text, as pixel levels.
pub const GROUND_RGB: [u8; 3] = [0x12, 0x17, 0x1d];
/// The same as a colour of a drawing.
pub const GROUND: &str = "#12171d";
/// Rim of lines and letters over a photo.
pub const RIM: &str = "#0b0e12";
/// Main text.
pub const TEXT: &str = "#f5f7f9";
/// Lesser text.
pub const QUIET: &str = "#b4bec8";
/// The scale as the dial file has it (sky blue).
pub const SCALE: &str = "#56b4e9";
/// The needle's line as fitted (yellow).
pub const NEEDLE: &str = "#f0e442";
/// The 95 % band (bluish green).
pub const BAND: &str = "#009e73";
/// Not read, or a warning (orange).
pub const WARN: &str = "#e69f00";
/// Told apart beside each other where several dials are in one picture: each with its own (white, yellow, sky blue, reddish purple).
pub const APART: [&str; 4] = [TEXT, NEEDLE, SCALE, "#cc79a7"];
