//! Where in its reference photo the face picture of a dial was cut out.
use crate::dial::Face;
use crate::photo::Photo;

/// Cells across and down the face; one pixel of each is compared.
const CELLS: usize = 24;
/// Largest mean difference, levels, at which the face counts as a part of the photo.
const MOST_LEVELS: i64 = 8;

/// The left and top edge of the face in the photo, px; `None` when it is no part of it.
///
/// Every whole-pixel place is tried on the pixels of the face that stand out most from their neighbours; from the place that
/// differs least all pixels lead on. The stored face has been through JPEG, so it may differ by a few levels, not by more.
pub fn cut_from(photo: &Photo, face: &Face) -> Option<[usize; 2]> {
    if face.width < 2 || face.height < 2 || face.width > photo.width || face.height > photo.height {
        return None;
    }
    let points = telling(face);
    let mut best = (MOST_LEVELS * points.len() as i64, None);
    for y in 0..=photo.height - face.height {
        for x in 0..=photo.width - face.width {
            let mut sum = 0;
            for (px, py, level) in &points {
                sum += (green(&photo.rgb, (y + py) * photo.width + x + px) - level).abs();
                if sum >= best.0 {
                    break;
                }
            }
            if sum < best.0 {
                best = (sum, Some([x, y]));
            }
        }
    }
    let mut place: [usize; 2] = best.1?;
    let mut least = difference(photo, face, place);
    // Downhill over all pixels: a face of long straight lines fixes the chosen pixels poorly along them.
    while let Some((lower, better)) = neighbours(place, photo, face).map(|p| (difference(photo, face, p), p)).min()
        && lower < least
    {
        (least, place) = (lower, better);
    }
    Some(place)
}

fn neighbours([x, y]: [usize; 2], photo: &Photo, face: &Face) -> impl Iterator<Item = [usize; 2]> {
    let near = |v: usize, most: usize| v.saturating_sub(1)..=(v + 1).min(most);
    let columns = near(x, photo.width - face.width);
    near(y, photo.height - face.height).flat_map(move |y| columns.clone().map(move |x| [x, y]))
}

/// Sum of the differences of all pixels, levels, with the face at a place.
fn difference(photo: &Photo, face: &Face, [x, y]: [usize; 2]) -> i64 {
    let row = |r: usize| {
        let (from, to) = ((y + r) * photo.width + x, r * face.width);
        (0..face.width).map(|k| (green(&photo.rgb, from + k) - green(&face.rgb, to + k)).abs()).sum::<i64>()
    };
    (0..face.height).map(row).sum()
}

/// The pixel of each cell that differs most from its right and lower neighbours, with its level; those that differ most first.
fn telling(face: &Face) -> Vec<(usize, usize, i64)> {
    let level = |x: usize, y: usize| green(&face.rgb, y * face.width + x);
    let step = |x: usize, y: usize| (level(x + 1, y) - level(x, y)).abs() + (level(x, y + 1) - level(x, y)).abs();
    let range = |k: usize, size: usize| k * (size - 1) / CELLS..(k + 1) * (size - 1) / CELLS;
    let cell = |k: usize| {
        let (columns, rows) = (range(k % CELLS, face.width), range(k / CELLS, face.height));
        rows.flat_map(|y| columns.clone().map(move |x| (x, y))).map(|(x, y)| (step(x, y), x, y)).max()
    };
    let mut points: Vec<_> = (0..CELLS * CELLS).filter_map(cell).collect();
    points.sort_by(|a, b| b.cmp(a));
    points.into_iter().map(|(_, x, y)| (x, y, level(x, y))).collect()
}

fn green(rgb: &[u8], pixel: usize) -> i64 {
    rgb.get(3 * pixel + 1).map_or(0, |v| i64::from(*v))
}
