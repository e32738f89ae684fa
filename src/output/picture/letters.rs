//! Letters of the two embedded faces as outlines.
//!
//! The fonts are subsets of Inter (src/output/fonts, with their licence): Latin-1 and a few signs, set from left to right with the
//! font's own advances and pair kerning (OpenType `hmtx` and `GPOS`). Nothing else of a shaper is needed for these letters.
use super::error::PictureError;
use tiny_skia::PathBuilder;
use ttf_parser::gpos::{PairAdjustment, PositioningSubtable};
use ttf_parser::{Face, GlyphId, OutlineBuilder};

const REGULAR: &[u8] = include_bytes!("../fonts/Inter-Regular.otf");
const BOLD: &[u8] = include_bytes!("../fonts/Inter-Bold.otf");

/// Whether the embedded fonts hold a character.
pub fn in_font(c: char) -> bool {
    matches!(c, ' '..='~' | '\u{a0}'..='\u{ff}' | '–' | '—' | '‘' | '’' | '“' | '”' | '•' | '…' | '′' | '″' | '−' | '≈' | '≤' | '≥' | 'Δ' | 'σ' | 'θ' | '→')
}

/// One of the embedded faces.
pub(super) struct Typeface {
    face: Face<'static>,
}

impl Typeface {
    /// The regular or the bold face.
    ///
    /// # Errors
    /// When the font cannot be read (a fault of the program).
    pub fn embedded(bold: bool) -> Result<Self, PictureError> {
        let face = Face::parse(if bold { BOLD } else { REGULAR }, 0).map_err(|e| PictureError::Drawing(e.to_string()))?;
        Ok(Self { face })
    }
    /// Width of a text, canvas px.
    pub fn width(&self, words: &str, size: f64) -> f64 {
        self.set(words).last().map_or(0.0, |(_, _, end)| self.per_unit(size) * f64::from(*end))
    }
    /// Adds the outlines of a text whose baseline begins at the position, canvas px.
    pub fn outline(&self, words: &str, size: f64, at: [f64; 2], to: &mut PathBuilder) {
        let per_unit = self.per_unit(size);
        for (glyph, from, _) in self.set(words) {
            let mut pen = Pen { at: [at[0] + per_unit * f64::from(from), at[1]], per_unit, to: &mut *to };
            self.face.outline_glyph(glyph, &mut pen);
        }
    }
    /// Canvas px per font unit.
    fn per_unit(&self, size: f64) -> f64 {
        size / f64::from(self.face.units_per_em())
    }
    /// Each letter's glyph, and where it begins and ends along the line, font units; "?" for a character that the font does not hold.
    fn set(&self, words: &str) -> Vec<(GlyphId, i32, i32)> {
        let mut line: Vec<(GlyphId, i32, i32)> = Vec::new();
        for c in words.chars() {
            let known = if in_font(c) { self.face.glyph_index(c) } else { None };
            let Some(glyph) = known.or_else(|| self.face.glyph_index('?')) else { continue };
            let from = line.last().map_or(0, |(before, _, end)| end + self.kerning(*before, glyph));
            line.push((glyph, from, from + i32::from(self.face.glyph_hor_advance(glyph).unwrap_or(0))));
        }
        line
    }
    /// How much nearer than its advance the second of two letters stands (negative), font units: of each lookup the first subtable
    /// that holds the pair counts (OpenType 1.9, `GPOS` lookup type 2). All lookups are gone through: the subsets keep kerning only.
    fn kerning(&self, first: GlyphId, second: GlyphId) -> i32 {
        let Some(gpos) = self.face.tables().gpos else { return 0 };
        let advance = |pair: PairAdjustment| {
            let covered = pair.coverage().get(first)?;
            let (value, _) = match pair {
                PairAdjustment::Format1 { sets, .. } => sets.get(covered)?.get(second)?,
                PairAdjustment::Format2 { classes, matrix, .. } => matrix.get((classes.0.get(first), classes.1.get(second)))?,
            };
            Some(i32::from(value.x_advance))
        };
        let pair = |table: PositioningSubtable| if let PositioningSubtable::Pair(p) = table { advance(p) } else { None };
        gpos.lookups.into_iter().filter_map(|l| l.subtables.into_iter::<PositioningSubtable>().find_map(pair)).sum()
    }
}

/// Puts a glyph's outline on the canvas: font units with y up at a position.
struct Pen<'a> {
    at: [f64; 2],
    per_unit: f64,
    to: &'a mut PathBuilder,
}

impl Pen<'_> {
    fn px(&self, x: f32, y: f32) -> (f32, f32) {
        let [left, base] = self.at;
        ((left + self.per_unit * f64::from(x)) as f32, (base - self.per_unit * f64::from(y)) as f32)
    }
}

impl OutlineBuilder for Pen<'_> {
    fn move_to(&mut self, x: f32, y: f32) {
        let (x, y) = self.px(x, y);
        self.to.move_to(x, y);
    }
    fn line_to(&mut self, x: f32, y: f32) {
        let (x, y) = self.px(x, y);
        self.to.line_to(x, y);
    }
    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        let ((x1, y1), (x, y)) = (self.px(x1, y1), self.px(x, y));
        self.to.quad_to(x1, y1, x, y);
    }
    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        let ((x1, y1), (x2, y2), (x, y)) = (self.px(x1, y1), self.px(x2, y2), self.px(x, y));
        self.to.cubic_to(x1, y1, x2, y2, x, y);
    }
    fn close(&mut self) {
        self.to.close();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Advances (`hmtx`) and pairs (`GPOS`) as a script that shares no code with the library reads them from the two files.
    #[test]
    fn a_line_is_as_wide_as_its_letters_and_their_kerning() {
        let wide = |bold: bool, words: &str| {
            let face = Typeface::embedded(bold).unwrap();
            face.width(words, f64::from(face.face.units_per_em())).round() as i32
        };
        assert_eq!([wide(false, "A"), wide(false, "AV")], [1904, 2 * 1904 - 192]);
        assert_eq!([wide(false, "T."), wide(false, "11"), wide(false, "74") - wide(false, "4")], [1808 + 776 - 96, 2 * 1308, 1608 - 164]);
        assert_eq!([wide(true, "AV"), wide(true, "T."), wide(true, "11")], [2 * 2106 - 254, 1882 + 838 - 96, 2 * 1378]);
        // three letters stand apart as their two pairs do
        assert_eq!(wide(false, "AVA"), 3 * 1904 - 192 - 176);
        assert_eq!(wide(false, ""), 0);
    }
}
