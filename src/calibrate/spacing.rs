//! Whether ticks stand evenly, as the marks of a scale do and strokes of other origin do not.

/// Distance of a tick from its even place, share of the spacing: print, and a plane that is not quite the face's.
const OFF: f64 = 0.12;
/// Spacings that are tried, degrees.
const SPACING: std::ops::Range<f64> = 1.5..75.0;
/// Share of the even places that must have a tick.
const FILLED: f64 = 0.6;

/// The most of these angles (degrees, rising) that stand evenly: at multiples of one spacing, most of which are taken.
pub fn even(angles: &[f64]) -> usize {
    let mut best = 0;
    for (i, start) in angles.iter().enumerate() {
        for other in &angles[i + 1..] {
            let spacing = other - start;
            if SPACING.contains(&spacing) {
                best = best.max(run(angles, *start, spacing));
            }
        }
    }
    best
}

/// Angles at multiples of a spacing from a start on, as long as they are filled. The spacing is followed: of two ticks it is not known well
/// enough for the twentieth.
fn run(angles: &[f64], start: f64, mut spacing: f64) -> usize {
    let (mut count, mut last, mut best) = (0usize, -1i64, 0);
    let from = start - OFF * spacing;
    for a in angles.iter().filter(|a| **a >= from) {
        let k = (a - start) / spacing;
        if (k - k.round()).abs() > OFF || k.round() as i64 == last {
            continue;
        }
        (count, last) = (count + 1, k.round() as i64);
        if last > 1 {
            spacing = (a - start) / last as f64;
        }
        if count as f64 >= FILLED * (last + 1) as f64 {
            best = count;
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_of_a_scale_stand_even_and_others_do_not() {
        assert_eq!(even(&[-60.0, -30.5, 0.0, 29.0, 60.0]), 5);
        // one hidden, one stroke too many
        assert_eq!(even(&[0.0, 10.0, 20.0, 33.0, 40.0, 50.0]), 5);
        assert!(even(&[0.0, 7.0, 26.0, 31.0, 60.0, 64.5]) < 4);
        assert_eq!(even(&[]), 0);
    }
}
