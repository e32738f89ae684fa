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
    /// Widths of what is drawn of a run.
    pub strokes: Strokes,
}

/// Widths, px, and how strong the band is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Strokes {
    /// Opacity of the band.
    pub band: f64,
    /// The curve, and of how many pieces it is.
    pub curve: (f64, u32),
    /// A reading's bar.
    pub bar: f64,
    /// A reading's ring: radius and width.
    pub ring: (f64, f64),
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
    strokes: Strokes { band: 0.55, curve: (2.6, 200), bar: 2.0, ring: (5.0, 2.2) },
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
    strokes: Strokes { band: 0.45, curve: (1.6, 120), bar: 1.2, ring: (2.8, 1.3) },
};
