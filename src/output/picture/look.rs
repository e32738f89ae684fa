//! Colours and letter size of a plot: on the ground of the pictures, or on a page.
use super::palette;

/// How a plot looks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Look {
    /// Text and frame.
    pub ink: &'static str,
    /// What is behind.
    pub paper: &'static str,
    /// Lesser text, grid.
    pub quiet: &'static str,
    /// Readings.
    pub mark: &'static str,
    /// The fitted curve.
    pub curve: &'static str,
    /// The 95 % band.
    pub band: &'static str,
    /// Held down.
    pub warn: &'static str,
    /// Size of the letters, px.
    pub size: f64,
}

/// On the dark ground of the pictures.
pub(super) const PICTURE: Look = Look {
    ink: palette::TEXT,
    paper: palette::GROUND,
    quiet: palette::QUIET,
    mark: palette::SCALE,
    curve: palette::NEEDLE,
    band: palette::BAND,
    warn: palette::WARN,
    size: 24.0,
};

/// On a page, which says what each colour is in light and in dark.
pub(super) const PAGE: Look = Look {
    ink: "var(--ink)",
    paper: "var(--paper)",
    quiet: "var(--quiet)",
    mark: "var(--mark)",
    curve: "var(--curve)",
    band: "var(--band)",
    warn: "var(--warn)",
    size: 12.0,
};
