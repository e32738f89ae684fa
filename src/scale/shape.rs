//! The shape of a scale between its marks, as a distribution over rising curves.
//!
//! The curves of all priors (see `prior`), weighed by their evidence, have one mean and one covariance. The covariance is split into factors
//! (pivoted Cholesky), each a source of its own: two readings of one dial at one place share all of it, at two places what the
//! curve's stiffness makes them share.
//!
//! The curve that is read is not that mean everywhere. Where marks follow each other in even steps of value, makers often set out the
//! marks and divide evenly between them, so that the scale is drawn straight from mark to mark: there a straight line is taken, and the mean's
//! distance from it becomes one more source. Across a wider step, where a mark of the row is missing, the mean is taken.
//!
//! Counted: how the maker may have drawn the scale between the marks, within the priors. Not counted: the marks' own uncertainty (terms of
//! the marks), and a curve that no prior holds likely, such as a flat middle that stands between three marks at equal angles: it can be
//! declared.
use super::posterior::{Cells, Posterior, Weighed};
use super::prior;
use nalgebra::{DMatrix, DVector};

/// Posterior weight below which a prior is left out.
const NEGLIGIBLE: f64 = 1e-4;
/// Factors end where no place has more than this share of the largest variance left.
const REST: f64 = 1e-4;
/// Steps of value against the least (or the neighbour's) from which a mark of an even row is missing in an interval.
const BARE: f64 = 1.5;
/// Standard deviation of the truth about the straight line, in distances of the mean from it: line and mean are both likely, and
/// a curve may be bent more than the mean (simulation: docs/measurements/scale-shape.md).
const OFF_LINE: f64 = 0.7;
/// Standard deviation of the middle of a bare interval at an end, as a share of its rise: its halves of value may take 1 to 2 of its
/// angle, rectangular (0.125/√3). Scales are bent where they start, without their further marks showing it.
const BENT: f64 = 0.072;

/// Mean and factors of the curve at the edges of cells.
#[derive(Clone, Debug)]
pub(super) struct Shape {
    at: Vec<f64>,
    mean: Vec<f64>,
    factors: Vec<Vec<f64>>,
}

impl Shape {
    /// The distribution over curves through the points `x` (rising, any unit) with values `y` (rising), the positions of which have
    /// the covariance `noise` (unit of x, squared). `None` where there is no such curve.
    pub fn new(x: &[f64], y: &[f64], noise: &DMatrix<f64>) -> Option<Self> {
        let (&x0, &x1, &y0, &y1) = (x.first()?, x.last()?, y.first()?, y.last()?);
        let (sweep, span) = (x1 - x0, y1 - y0);
        let rises = |v: &[f64]| v.windows(2).all(|w| w[1] > w[0]);
        if x.len() < 2 || x.len() != y.len() || !rises(x) || !rises(y) || !sweep.is_finite() || !span.is_finite() {
            return None;
        }
        let scaled = |v: &[f64], from: f64, over: f64| v.iter().map(|v| (v - from) / over).collect::<Vec<f64>>();
        let cells = Cells::new(&scaled(x, x0, sweep), &scaled(y, y0, span), &(noise / (sweep * sweep)));
        let (mean, covariance) = mixture(&posteriors(&cells))?;
        let drawn = straight_between(&mean, y, cells.per, span);
        let mut factors = factors(&covariance);
        factors.push(mean.iter().zip(&drawn).map(|(m, d)| OFF_LINE * (m - d)).collect());
        factors.extend(bare_ends(x, y, cells.per, span));
        let at = cells.edges.iter().map(|u| x0 + sweep * u).collect();
        let mean = drawn.iter().map(|v| y0 + span * v).collect();
        Some(Self { at, mean, factors: factors.into_iter().map(|f| f.iter().map(|v| span * v).collect()).collect() })
    }
    /// What a list of values at the edges is at a place: straight between edges, and on beyond the ends.
    fn between(&self, v: &[f64], x: f64) -> f64 {
        let k = self.at.partition_point(|a| *a <= x).clamp(1, self.at.len() - 1);
        let t = (x - self.at[k - 1]) / (self.at[k] - self.at[k - 1]);
        v[k - 1] + t * (v[k] - v[k - 1])
    }
    /// The curve that is read.
    pub fn value(&self, x: f64) -> f64 {
        self.between(&self.mean, x)
    }
    /// Where the curve is known least, and how well it is there, one sigma.
    pub fn widest(&self) -> (f64, f64) {
        let sigma = |k: usize| self.factors.iter().map(|f| f[k] * f[k]).sum::<f64>().sqrt();
        let of = (0..self.at.len()).map(|k| (self.at[k], sigma(k)));
        of.fold((self.at[0], 0.0), |most, here| if here.1 > most.1 { here } else { most })
    }
    /// The factors at a place, one sigma each.
    pub fn factors(&self, x: f64) -> impl Iterator<Item = f64> + '_ {
        self.factors.iter().map(move |f| self.between(f, x))
    }
}

/// The curves of the priors that count.
fn posteriors(cells: &Cells) -> Vec<Posterior> {
    let weighed: Vec<Weighed> = prior::all().filter_map(|p| cells.weigh(&p)).collect();
    let top = weighed.iter().map(|p| p.evidence).fold(f64::NEG_INFINITY, f64::max);
    weighed.into_iter().filter(|p| (p.evidence - top).exp() > NEGLIGIBLE).filter_map(|p| cells.under(p)).collect()
}

/// Mean and covariance of the curves, weighed by their evidence.
fn mixture(of: &[Posterior]) -> Option<(DVector<f64>, DMatrix<f64>)> {
    let top = of.iter().map(|p| p.evidence).fold(f64::NEG_INFINITY, f64::max);
    let sum: f64 = of.iter().map(|p| (p.evidence - top).exp()).sum();
    let weight = |p: &Posterior| (p.evidence - top).exp() / sum;
    let n = of.first()?.curve.len();
    let mean = of.iter().fold(DVector::zeros(n), |m, p| m + weight(p) * &p.curve);
    let covariance = of.iter().fold(DMatrix::zeros(n, n), |c, p| {
        let off = &p.curve - &mean;
        c + weight(p) * (&p.covariance + &off * off.transpose())
    });
    Some((mean, covariance))
}

/// Columns whose products sum to the covariance: Cholesky with the largest remaining variance first.
fn factors(covariance: &DMatrix<f64>) -> Vec<Vec<f64>> {
    let n = covariance.nrows();
    let mut left: Vec<f64> = covariance.diagonal().iter().copied().collect();
    let end = REST * left.iter().copied().fold(0.0, f64::max);
    let mut out: Vec<Vec<f64>> = Vec::new();
    while out.len() < n {
        let Some((at, &most)) = left.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1)).filter(|l| *l.1 > end) else { break };
        let column: Vec<f64> =
            (0..n).map(|i| (covariance[(i, at)] - out.iter().map(|f| f[i] * f[at]).sum::<f64>()) / most.sqrt()).collect();
        left.iter_mut().zip(&column).for_each(|(l, c)| *l -= c * c);
        left[at] = 0.0;
        out.push(column);
    }
    out
}

/// The mean, but straight from mark to mark where the marks follow in even steps; shares of the span.
fn straight_between(mean: &DVector<f64>, y: &[f64], per: usize, span: f64) -> Vec<f64> {
    let least = y.windows(2).map(|w| w[1] - w[0]).fold(f64::INFINITY, f64::min);
    let mut out: Vec<f64> = mean.iter().copied().collect();
    for (i, w) in y.windows(2).enumerate().filter(|(_, w)| w[1] - w[0] <= BARE * least) {
        (0..per).for_each(|k| out[i * per + k] = (w[0] - y[0] + (w[1] - w[0]) * k as f64 / per as f64) / span);
    }
    out
}

/// The first and the last interval, where a mark that the neighbour interval has is not known: a bow of each.
fn bare_ends(x: &[f64], y: &[f64], per: usize, span: f64) -> Vec<Vec<f64>> {
    let n = x.len() - 1;
    let rise = |i: usize| (y[i + 1] - y[i]) / span;
    let ends = [(0, 1), (n - 1, n.wrapping_sub(2))];
    let bare = |&(end, next): &(usize, usize)| n >= 3 && rise(end) > BARE * rise(next);
    let bow = |end: usize| {
        let t = |k: usize| (k as f64 - (end * per) as f64) / per as f64;
        (0..=n * per).map(|k| if (0.0..=1.0).contains(&t(k)) { 4.0 * t(k) * (1.0 - t(k)) * BENT * rise(end) } else { 0.0 }).collect()
    };
    ends.iter().filter(|e| bare(e)).map(|e| bow(e.0)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use chacha20::ChaCha8Rng;
    use rand::{RngExt, SeedableRng};

    fn bare(n: usize) -> DMatrix<f64> {
        DMatrix::zeros(n, n)
    }

    #[test]
    fn equal_steps_make_a_straight_line_and_uneven_ones_a_smooth_curve() {
        let even = Shape::new(&[-60.0, 0.0, 60.0], &[50.0, 100.0, 150.0], &bare(3)).unwrap();
        (0..=24).for_each(|k| {
            let x = -60.0 + 5.0 * k as f64;
            assert!((even.value(x) - (100.0 + x * 50.0 / 60.0)).abs() < 1e-6, "{x}: {}", even.value(x));
        });
        // a mark is missing between 0 and 50: a smooth bend there, straight lines elsewhere, rising everywhere
        let uneven = Shape::new(&[0.0, 40.0, 65.0, 100.0], &[0.0, 50.0, 75.0, 100.0], &bare(4)).unwrap();
        [(0.0, 0.0), (40.0, 50.0), (65.0, 75.0), (100.0, 100.0)].iter().for_each(|(x, y)| assert!((uneven.value(*x) - y).abs() < 1e-6));
        assert!((uneven.value(50.0) - 60.0).abs() < 1e-6 && (uneven.value(82.5) - 87.5).abs() < 1e-6);
        let slope = |x: f64| uneven.value(x + 1.0) - uneven.value(x - 1.0);
        (1..99).for_each(|x| assert!(slope(f64::from(x)) > 0.0));
        assert!(slope(2.0) / slope(38.0) > 1.02, "{} {}", slope(2.0), slope(38.0));
        // the smooth mean stays within one sigma of what is drawn straight
        let sigma = |x: f64| uneven.factors(x).map(|f| f * f).sum::<f64>().sqrt();
        assert!(sigma(52.5) > 0.1 && sigma(82.5) > 0.1, "{} {}", sigma(52.5), sigma(82.5));
    }

    #[test]
    fn nothing_is_in_doubt_at_a_mark_and_less_between_many() {
        let half = |n: usize| {
            let x: Vec<f64> = (0..n).map(|k| 100.0 * k as f64 / (n - 1) as f64).collect();
            let s = Shape::new(&x, &x, &bare(n)).unwrap();
            x.iter().for_each(|x| assert!(s.factors(*x).all(|f| f.abs() < 1e-9)));
            (0..1000).map(|k| s.factors(0.1 * f64::from(k)).map(|f| f * f).sum::<f64>().sqrt()).fold(0.0, f64::max)
        };
        let (two, three, five, nine) = (half(2), half(3), half(5), half(9));
        assert!(two > 5.0 && two > three && three > 1.5 && three > 5.0 * five && five > nine && nine < 0.05, "{two} {three} {five} {nine}");
    }

    #[test]
    fn the_factors_are_the_covariance() {
        let cells = Cells::new(&[0.0, 0.2, 0.7, 1.0], &[0.0, 0.3, 0.6, 1.0], &bare(4));
        let (_, covariance) = mixture(&posteriors(&cells)).unwrap();
        let product: DMatrix<f64> =
            factors(&covariance).iter().map(|f| DVector::from_column_slice(f)).fold(DMatrix::zeros(49, 49), |m, f| m + &f * f.transpose());
        assert!((product - &covariance).abs().max() < 2.0 * REST * covariance.diagonal().max());
    }

    /// Values at 2001 even places of the sweep for a slope given at them.
    fn summed(slope: impl Fn(f64) -> f64) -> Vec<f64> {
        let s: Vec<f64> = (0..=2000).map(|k| slope(f64::from(k) / 2000.0)).collect();
        let mut v = vec![0.0];
        s.windows(2).for_each(|w| v.push(v[v.len() - 1] + 0.5 * (w[0] + w[1])));
        let end = v[2000];
        v.iter().map(|v| v / end).collect()
    }

    /// Curves as instruments have them; the angle of a thermistor in a divider is a logistic function of the temperature.
    fn drawn(family: &str, rng: &mut ChaCha8Rng) -> Vec<f64> {
        loop {
            let v = match family {
                "even" => summed(|_| 1.0),
                "slightly bent" => {
                    let c = rng.random_range(0.05..0.25);
                    summed(|u| (c * (1.5 * (2.0 * u - 1.0).powi(2) - 0.5)).exp())
                }
                "one end" | "both ends" => {
                    let both = family == "both ends";
                    let w = if both { rng.random_range(0.16..0.5) } else { rng.random_range(0.2..0.6) };
                    let c = if both {
                        rng.random_range(0.4..0.6)
                    } else if rng.random_bool(0.5) {
                        rng.random_range(-0.2..0.1)
                    } else {
                        rng.random_range(0.9..1.2)
                    };
                    let f = |v: f64| 1.0 / (1.0 + (-(v - c) / w).exp());
                    let of = |u: f64| c - w * (1.0 / (f(0.0) + u * (f(1.0) - f(0.0))) - 1.0).ln();
                    (0..=2000).map(|k| of(f64::from(k) / 2000.0)).collect()
                }
                "root" => {
                    let (a, p) = (rng.random_range(0.02..0.3), if rng.random_bool(0.5) { 0.5 } else { 2.0 });
                    summed(|u: f64| (u + a).powf(p - 1.0))
                }
                "flat middle" => {
                    let (m, w, a): (f64, f64, f64) =
                        (rng.random_range(0.35..0.65), rng.random_range(0.06..0.15), rng.random_range(0.7..4.0));
                    summed(|u: f64| 1.0 + a * (-0.5 * ((u - m) / w).powi(2)).exp())
                }
                _ => {
                    let (knee, a, b) = (rng.random_range(0.15..0.85), rng.random_range(-0.5f64..0.5), rng.random_range(-0.5f64..0.5));
                    summed(|u| if u < knee { a.exp() } else { b.exp() })
                }
            };
            let steps: Vec<f64> = v.windows(2).map(|w| w[1] - w[0]).collect();
            let (least, most) = steps.iter().fold((f64::INFINITY, 0.0f64), |(a, b), s| (a.min(*s), b.max(*s)));
            if most < 4.5 * least {
                return v;
            }
        }
    }

    /// Share of places at which the truth lies in the 95 % band, for scales with `n` marks of even values, and the median half band in % of the span.
    fn held(family: &str, n: usize, scales: usize) -> (f64, f64) {
        let mut rng = ChaCha8Rng::seed_from_u64(7);
        let (mut inside, mut halves) = (0usize, Vec::new());
        for _ in 0..scales {
            let v = drawn(family, &mut rng);
            let y: Vec<f64> = (0..n).map(|k| k as f64 / (n - 1) as f64).collect();
            let at = |y: f64| {
                let k = v.partition_point(|v| *v < y).clamp(1, 2000);
                (k as f64 - 1.0 + (y - v[k - 1]) / (v[k] - v[k - 1])) / 2000.0
            };
            let x: Vec<f64> = y.iter().map(|y| at(*y)).collect();
            let s = Shape::new(&x, &y, &(DMatrix::identity(n, n) * 1e-8)).unwrap();
            for k in 1..40usize {
                let u = k as f64 / 40.0;
                let truth = v[k * 50];
                let sigma = s.factors(u).map(|f| f * f).sum::<f64>().sqrt();
                // 2e-4 of the span: the straight pieces of cells and of the table of the truth
                inside += usize::from((s.value(u) - truth).abs() <= 1.96 * sigma + 2e-4);
                halves.push(196.0 * sigma);
            }
        }
        halves.sort_by(f64::total_cmp);
        (inside as f64 / halves.len() as f64, halves[halves.len() / 2])
    }

    #[test]
    fn the_band_holds_the_curves_of_instruments() {
        for family in ["even", "slightly bent", "one end", "both ends", "root", "flat middle", "pieces"] {
            let (shares, halves): (Vec<f64>, Vec<f64>) = [2, 3, 5, 9].iter().map(|n| held(family, *n, 60)).unzip();
            println!("{family}: {shares:.3?}, half bands {halves:.2?}");
            // a flat middle between three marks at equal angles cannot be seen: it must be declared
            let least = |n: usize| match (family, n) {
                ("flat middle", 1) => 0.4,
                _ => 0.92,
            };
            shares.iter().enumerate().for_each(|(k, s)| assert!(*s >= least(k), "{family} {shares:?}"));
        }
    }
}
