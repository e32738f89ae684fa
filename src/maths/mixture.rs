//! A mixture of Student t distributions: what several hypotheses say of one number, each with its probability.
//!
//! F(x) = Σ p_k T((x - m_k)/s_k), T with the same degrees of freedom for all (G. McLachlan and D. Peel, Finite Mixture Models, 2000, 1.1 and 7).
//! Units: those of the number.
use super::range::{range, sought};
use super::student::t_above;

/// One hypothesis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Component {
    /// Its probability.
    pub weight: f64,
    /// Where it puts the number.
    pub centre: f64,
    /// Standard uncertainty of that.
    pub sigma: f64,
}

/// Components together; their weights need not sum to 1.
#[derive(Clone, Debug, PartialEq)]
pub struct Mixture {
    parts: Vec<Component>,
    nu: f64,
}

/// A component of less than this share of all changes no quantile that is asked for.
const LEAST: f64 = 1e-5;

impl Mixture {
    /// Components of positive weight that are finite, with `nu` degrees of freedom; `None` where none is left.
    pub fn of(parts: impl Iterator<Item = Component>, nu: f64) -> Option<Self> {
        let fit = |c: &Component| c.weight > 0.0 && c.weight.is_finite() && c.centre.is_finite() && c.sigma >= 0.0 && c.sigma.is_finite();
        let all: Vec<Component> = parts.filter(fit).collect();
        let sum: f64 = all.iter().map(|c| c.weight).sum();
        let parts: Vec<Component> =
            all.iter().filter(|c| c.weight > LEAST * sum).map(|c| Component { weight: c.weight / sum, ..*c }).collect();
        (!parts.is_empty() && nu > 0.0).then_some(Self { parts, nu })
    }
    /// The mean (of the centres where `nu` is 1 or less, which have none).
    pub fn mean(&self) -> f64 {
        self.parts.iter().map(|c| c.weight * c.centre).sum()
    }
    /// Probability that the number lies above `x`.
    pub fn above(&self, x: f64) -> f64 {
        let one = |c: &Component| {
            let tail = if c.sigma > 0.0 { t_above((x - c.centre) / c.sigma, self.nu) } else { f64::from(u8::from(c.centre > x)) };
            c.weight * tail
        };
        self.parts.iter().map(one).sum()
    }
    /// The value that is passed with probability `tail`, by bisection between the components' own quantiles.
    pub fn passed_by(&self, tail: f64) -> f64 {
        let own = super::student::t_quantile(1.0 - tail, self.nu);
        let ends = self.parts.iter().map(|c| if c.sigma > 0.0 { c.centre + own * c.sigma } else { c.centre });
        sought(range(ends), 30, |x| self.above(x) > tail)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn part(weight: f64, centre: f64, sigma: f64) -> Component {
        Component { weight, centre, sigma }
    }

    /// JCGM 100:2008, table G.2: t(95 %) for 10 degrees of freedom is 2.23; one component is that distribution itself.
    #[test]
    fn one_component_is_students_t() {
        let one = Mixture::of([part(3.0, 5.0, 2.0)].into_iter(), 10.0).unwrap();
        assert!((one.passed_by(0.025) - 5.0 - 2.0 * 2.228).abs() < 2e-3 && (one.passed_by(0.5) - 5.0).abs() < 1e-9);
    }

    /// By hand: of two normal distributions far apart the one with a tenth of the weight is passed by 2.5 % at its own 75 % quantile, 0.6745 sigma.
    #[test]
    fn a_rare_component_gives_its_own_quantile() {
        let two = Mixture::of([part(0.9, 0.0, 0.01), part(0.1, 8.0, 1.0), part(f64::NAN, 0.0, 1.0)].into_iter(), f64::INFINITY).unwrap();
        assert!((two.passed_by(0.025) - 8.674_49).abs() < 1e-4 && (two.mean() - 0.8).abs() < 1e-12);
        assert!((two.above(4.0) - 0.1).abs() < 1e-4);
        assert!(Mixture::of([part(0.0, 0.0, 1.0)].into_iter(), 5.0).is_none());
    }
}
