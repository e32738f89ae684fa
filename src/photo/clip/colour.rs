//! Luma and chroma to red, green and blue (ITU-T H.273, 8.3): the stream's range and matrix.
use super::{damaged, unsupported};
use crate::photo::error::PhotoError;
use crate::photo::limits::check_size;

/// Lines from which a picture that names no matrix is taken for BT.709 and not BT.601 (common practice).
const HIGH_DEFINITION: usize = 720;

/// Code points of H.273.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Stated {
    pub full_range: bool,
    pub transfer: u16,
    pub matrix: u16,
}

/// What stands for "not said".
const UNSPECIFIED: u16 = 2;

impl Stated {
    /// Of a box `colr` (ISO/IEC 14496-12, 12.1.5; `nclc` is QuickTime's).
    pub fn of_box(content: &[u8]) -> Option<Self> {
        let &[k0, k1, k2, k3, _, _, t1, t0, m1, m0, ref rest @ ..] = content else { return None };
        let full_range = match &[k0, k1, k2, k3] {
            b"nclx" => rest.first().is_some_and(|b| b & 0x80 != 0),
            b"nclc" => false,
            _ => return None,
        };
        Some(Self { full_range, transfer: u16::from_be_bytes([t1, t0]), matrix: u16::from_be_bytes([m1, m0]) })
    }
    /// The stream's word, and the file's where the stream has none.
    pub fn or(self, file: Option<Self>) -> Self {
        let Some(file) = file else { return self };
        let pick = |own, other| if own == UNSPECIFIED { other } else { own };
        Self {
            full_range: self.full_range || file.full_range,
            transfer: pick(self.transfer, file.transfer),
            matrix: pick(self.matrix, file.matrix),
        }
    }
    /// Refuses what cannot be shown on an ordinary screen, and a size that is not opened.
    pub fn check(self, (width, height): (u32, u32)) -> Result<Self, PhotoError> {
        check_size(width.into(), height.into())?;
        if width % 2 != 0 || height % 2 != 0 {
            return Err(unsupported("a clip of an odd number of pixels across or down"));
        }
        match self.transfer {
            16 => Err(unsupported("a clip for HDR screens (PQ; switch HDR video off in the camera)")),
            18 => Err(unsupported("a clip for HDR screens (HLG; switch HDR video off in the camera)")),
            _ => weights(self.matrix, height as usize).map(|_| self),
        }
    }
}

/// Shares of red and blue in luma by the code point of the matrix.
fn weights(matrix: u16, height: usize) -> Result<(f32, f32), PhotoError> {
    Ok(match matrix {
        1 => (0.2126, 0.0722),
        4 => (0.30, 0.11),
        5 | 6 => (0.299, 0.114),
        7 => (0.212, 0.087),
        9 => (0.2627, 0.0593),
        UNSPECIFIED if height >= HIGH_DEFINITION => (0.2126, 0.0722),
        UNSPECIFIED => (0.299, 0.114),
        other => return Err(unsupported(&format!("a clip of an unusual kind (colour matrix {other})"))),
    })
}

/// A decoded picture, chroma of half the width and height.
pub(super) struct Picture {
    pub width: usize,
    pub height: usize,
    /// Bits a sample.
    pub depth: u8,
    /// Luma, blue and red difference.
    pub planes: [Vec<u16>; 3],
    pub stated: Stated,
}

impl Picture {
    /// RGB, 3 bytes a pixel. Chroma is interpolated linearly, its places on every other luma column and between the lines.
    pub fn rgb(&self) -> Result<Vec<u8>, PhotoError> {
        let (w, h) = (self.width, self.height);
        let [y, u, v] = &self.planes;
        if y.len() != w * h || [u, v].iter().any(|p| p.len() != (w / 2) * (h / 2)) || u.is_empty() || !(8..=12).contains(&self.depth) {
            return Err(damaged("a frame in it does not fill the size it states"));
        }
        let (kr, kb) = weights(self.stated.matrix, h)?;
        let unit = f32::from(1u16 << (self.depth - 8));
        let (black, luma, chroma) = if self.stated.full_range {
            let full = 256.0 * unit - 1.0;
            (0.0, full, full)
        } else {
            (16.0 * unit, 219.0 * unit, 224.0 * unit)
        };
        let mut out = Vec::with_capacity(w * h * 3);
        for (row, line) in y.chunks_exact(w).enumerate() {
            let (cb, cr) = (chroma_line(u, w / 2, row), chroma_line(v, w / 2, row));
            for ((level, cb), cr) in line.iter().zip(cb).zip(cr) {
                let l = (f32::from(*level) - black) / luma;
                let r = l + 2.0 * (1.0 - kr) * (cr - 128.0 * unit) / chroma;
                let b = l + 2.0 * (1.0 - kb) * (cb - 128.0 * unit) / chroma;
                let g = (l - kr * r - kb * b) / (1.0 - kr - kb);
                out.extend([r, g, b].map(|c| (255.0 * c).round().clamp(0.0, 255.0) as u8));
            }
        }
        Ok(out)
    }
}

/// Chroma at every pixel of a luma line.
fn chroma_line(plane: &[u16], width: usize, row: usize) -> Vec<f32> {
    let last = plane.len() / width - 1;
    let (near, far) = if row.is_multiple_of(2) { (row / 2, (row / 2).saturating_sub(1)) } else { (row / 2, (row / 2 + 1).min(last)) };
    let at = |k: usize| 0.75 * f32::from(plane[near * width + k]) + 0.25 * f32::from(plane[far * width + k]);
    let column = |x: usize| if x.is_multiple_of(2) { at(x / 2) } else { 0.5 * (at(x / 2) + at((x / 2 + 1).min(width - 1))) };
    (0..2 * width).map(column).collect()
}

#[cfg(test)]
mod tests {
    use super::{Picture, Stated};
    use crate::photo::error::PhotoError;

    const PLAIN: Stated = Stated { full_range: false, transfer: 1, matrix: 1 };

    #[test]
    fn size_and_curve_are_judged_before_any_picture() {
        assert_eq!(PLAIN.check((1920, 1080)), Ok(PLAIN));
        assert!(matches!(PLAIN.check((60000, 60000)), Err(PhotoError::TooLarge { .. })));
        assert!(matches!(PLAIN.check((0, 2)), Err(PhotoError::Empty)));
        for (transfer, name) in [(16, "PQ"), (18, "HLG")] {
            let hdr = Stated { transfer, ..PLAIN };
            assert!(matches!(hdr.check((64, 48)), Err(PhotoError::Unsupported(what)) if what.contains(name)));
        }
    }

    #[test]
    fn the_stream_comes_before_the_file() {
        // ISO/IEC 14496-12, 12.1.5: primaries 9, transfer 18, matrix 9, full range
        let file = Stated::of_box(b"nclx\0\x09\0\x12\0\x09\x80");
        assert_eq!(file, Some(Stated { full_range: true, transfer: 18, matrix: 9 }));
        assert_eq!(Stated { full_range: false, transfer: 2, matrix: 1 }.or(file), Stated { full_range: true, transfer: 18, matrix: 1 });
        assert_eq!(Stated::of_box(b"prof"), None);
    }

    /// The colour bars at 75 % of ITU-R BT.709-6 in 8 and 10 bits, limited range, from H.273's equations by hand: white 180/128/128, red
    /// 51/109/212; the screen's levels are 191.
    #[test]
    fn bars_have_their_colours() {
        for (depth, unit) in [(8, 1), (10, 4)] {
            for (levels, colour) in [([180, 128, 128], [191, 191, 191]), ([51, 109, 212], [191, 0, 0]), ([28, 212, 120], [0, 0, 191])] {
                let planes = [vec![levels[0] * unit; 4], vec![levels[1] * unit], vec![levels[2] * unit]];
                let rgb = Picture { width: 2, height: 2, depth, planes, stated: PLAIN }.rgb().unwrap();
                assert!(rgb.chunks(3).all(|p| p.iter().zip(colour).all(|(a, b)| a.abs_diff(b) <= 2)), "{rgb:?} for {colour:?}");
            }
        }
        assert!(Picture { width: 2, height: 2, depth: 8, planes: [vec![0; 3], vec![0], vec![0]], stated: PLAIN }.rgb().is_err());
    }
}
