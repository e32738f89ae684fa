//! Which way round a scale goes between two marks, which alone do not tell: three and more follow each other one way only.
use super::asked::Question;
use crate::maths::angle::wrap;

/// So many ticks on one side, and so many times as dense as on the other, say that the scale lies there.
const TICKS: (usize, f64) = (3, 4.0);
/// Between two marks of a scale without a tick between them there is less than this, degrees, where other parts have ticks: the gaps of dash
/// dials are wider (60° and more, common practice).
const GAP: f64 = 45.0;

/// The two ways between two directions, degrees.
struct Ways {
    first: f64,
    /// Degrees swept with the clock and against it.
    sweep: [f64; 2],
    /// Ticks strictly between the marks on either way.
    ticks: [usize; 2],
}

impl Ways {
    fn new(from: f64, to: f64, ticks: &[f64], guard: f64) -> Self {
        let clockwise = (to - from).rem_euclid(360.0);
        let turned = |t: &f64| (t - from).rem_euclid(360.0);
        let with = ticks.iter().map(turned).filter(|t| (guard..clockwise - guard).contains(t)).count();
        let against = ticks.iter().map(turned).filter(|t| (clockwise + guard..360.0 - guard).contains(t)).count();
        Self { first: from, sweep: [clockwise, 360.0 - clockwise], ticks: [with, against] }
    }

    /// Whether the ticks stand on one way only: 0 with the clock, 1 against it.
    fn by_ticks(&self) -> Option<usize> {
        let dense = |i: usize| self.ticks[i] as f64 / self.sweep[i].max(1.0);
        (0..2).find(|&i| self.ticks[i] >= TICKS.0 && dense(i) >= TICKS.1 * dense(1 - i))
    }

    /// The way that is taken, and whether that is sure. Values of dash dials rise with the clock (common practice) but for scales of less
    /// than half a turn that stand at the right side, and the gap of a scale of more than half a turn is at the bottom.
    fn taken(&self) -> (usize, bool) {
        if self.sweep[0] <= 180.0 {
            return (0, true);
        }
        let over_the_bottom = (self.first - 180.0).rem_euclid(360.0) < self.sweep[1];
        self.by_ticks().map_or((usize::from(!over_the_bottom), false), |way| (way, true))
    }
}

/// The two angles on one run.
pub fn run_of_two(from: f64, to: f64, ticks: &[f64], guard: f64) -> Vec<f64> {
    let ways = Ways::new(from, to, ticks, guard);
    let turned = if ways.taken().0 == 0 { ways.sweep[0] } else { -ways.sweep[1] };
    vec![from, from + turned]
}

/// What there is to ask where nothing tells which way the scale goes; `angles` of the marks and of the ticks on one run.
pub fn question(angles: &[f64], ticks: &[f64], guard: f64) -> Option<Question> {
    let &[from, to] = angles else { return None };
    let ways = Ways::new(wrap(from), wrap(to), ticks, guard);
    let (way, sure) = ways.taken();
    (!sure).then(|| {
        let told = ["with the clock", "against the clock"];
        let text = format!(
            "Two marks do not tell which way the scale goes: {:.0}° {} was taken, {:.0}° {} is as possible. Give a third mark between them.",
            ways.sweep[way],
            told[way],
            ways.sweep[1 - way],
            told[1 - way]
        );
        Question::of(None, text)
    })
}

/// The first of the intervals between three or more marks that is wide enough for a scale's gap and has no tick in it; `angles` of the marks on
/// one run, `ticks` degrees.
pub fn bare_interval(angles: &[f64], ticks: &[f64], guard: f64) -> Option<usize> {
    let bare = |w: &[f64]| (w[1] - w[0]).abs() > GAP && between(w[0], w[1], ticks, guard) == 0;
    angles.windows(2).position(bare).filter(|_| angles.len() > 2)
}

/// Ticks strictly between two directions of one run, from the one to the other.
fn between(from: f64, to: f64, ticks: &[f64], guard: f64) -> usize {
    let (way, sweep) = ((to - from).signum(), (to - from).abs());
    ticks.iter().filter(|t| (guard..sweep - guard).contains(&(way * (*t - from)).rem_euclid(360.0))).count()
}

/// One value in the wrong order turns three marks round: the scale then goes where there is no tick, and ticks stand outside of it. `ticks`: all
/// of the ring, degrees; `values` and `angles` of the marks, these on one run.
pub fn through_the_gap(values: &[f64], angles: &[f64], ticks: &[f64], guard: f64) -> Option<Question> {
    let bare = bare_interval(angles, ticks, guard)?;
    let (first, last) = (*angles.first()?, *angles.last()?);
    let way = (last - first).signum();
    // from the last mark on to the first again
    let outside = between(last, first + way * 360.0, ticks, guard);
    if outside < TICKS.0 || TICKS.1 * (outside as f64) < ticks.len() as f64 {
        return None;
    }
    // with the clock from the end of the gap on
    let behind = angles[if way > 0.0 { bare + 1 } else { bare }];
    let mut order: Vec<usize> = (0..values.len()).collect();
    let clockwise = |i: &usize| (angles[*i] - behind + 1e-6).rem_euclid(360.0);
    order.sort_by(|i, j| clockwise(i).total_cmp(&clockwise(j)));
    let told: Vec<String> = order.iter().map(|i| values[*i].to_string()).collect();
    let text = format!(
        "From {} to {} the scale would go {:.0}° over a part of the face without ticks, and {outside} ticks stand outside of it. With the clock \
         the marks have the values {}: one of them is mistyped, or stands at another's tick.",
        values[bare],
        values[bare + 1],
        (angles[bare + 1] - angles[bare]).abs(),
        told.join(", ")
    );
    Some(Question::of(None, text))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wide_scale_by_its_two_ends_goes_over_the_top() {
        // ends at lower left and lower right, ticks each 15 degrees between them
        let ticks: Vec<f64> = (1..18).map(|k| wrap(-135.0 + 15.0 * f64::from(k))).collect();
        assert_eq!(run_of_two(-135.0, 135.0, &ticks, 1.0), [-135.0, 135.0]);
        assert!(question(&[-135.0, 135.0], &ticks, 1.0).is_none());
        // without ticks it is taken so and asked
        assert_eq!(run_of_two(-135.0, 135.0, &[], 1.0), [-135.0, 135.0]);
        let asked = question(&[-135.0, 135.0], &[], 1.0).map(|q| q.text).unwrap_or_default();
        assert!(asked.contains("270° with the clock") && asked.contains("third mark"), "{asked}");
    }

    #[test]
    fn a_scale_at_the_right_side_may_rise_against_the_clock() {
        // low value at the lower right, high one at the upper right
        assert_eq!(run_of_two(135.0, 45.0, &[], 1.0), [135.0, 45.0]);
        assert!(question(&[135.0, 45.0], &[], 1.0).is_some());
        let ticks = [120.0, 105.0, 90.0, 75.0, 60.0];
        assert_eq!(run_of_two(135.0, 45.0, &ticks, 1.0), [135.0, 45.0]);
        assert!(question(&[135.0, 45.0], &ticks, 1.0).is_none());
    }

    #[test]
    fn less_than_half_a_turn_with_the_clock_is_taken_unasked() {
        assert_eq!(run_of_two(-60.0, 60.0, &[], 1.0), [-60.0, 60.0]);
        assert_eq!(run_of_two(120.0, -120.0, &[], 1.0), [120.0, 240.0]);
        assert!(question(&[-60.0, 60.0], &[], 1.0).is_none());
    }

    /// 40, 80 and 120 on a scale of 240 degrees with a tick each 6: with 180 for 80, or 12 for 120, it would go through the gap below.
    #[test]
    fn a_value_out_of_order_sends_the_scale_through_its_gap() {
        let ticks: Vec<f64> = (0..=40).map(|k| -120.0 + 6.0 * f64::from(k)).collect();
        assert!(through_the_gap(&[40.0, 80.0, 120.0], &[-120.0, 0.0, 120.0], &ticks, 1.0).is_none());
        let wrong =
            [([40.0, 120.0, 180.0], [-120.0, -240.0, -360.0], "40, 180, 120"), ([12.0, 40.0, 80.0], [120.0, 240.0, 360.0], "40, 80, 12")];
        for (values, angles, told) in wrong {
            let asked = through_the_gap(&values, &angles, &ticks, 1.0).map(|q| q.text).unwrap_or_default();
            assert!(asked.contains("120° over a part of the face without ticks") && asked.contains("19 ticks"), "{asked}");
            assert!(asked.contains(told), "{asked}");
        }
        // marks of a part of the scale, and a face whose labelled marks are all there is
        assert!(through_the_gap(&[40.0, 60.0, 80.0], &[-120.0, -60.0, 0.0], &ticks, 1.0).is_none());
        assert!(through_the_gap(&[50.0, 90.0, 130.0], &[-120.0, 0.0, 120.0], &[-120.0, 0.0, 120.0], 1.0).is_none());
    }
}
