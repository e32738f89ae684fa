//! How the camera sees the face, as far as it is known before the dial's own ticks are seen: what is usual, and what other dials of the same
//! face show.
//!
//! Dials that lie in one another are printed on one face, so that a sub-dial of three marks, whose ring hardly tells its tilt, is seen at the
//! tilt of the dial about it. What another dial's ticks tell is the quotient of its posterior and the prior it was fitted with (normal
//! densities), widened by how far two such planes are from parallel ([`NESTED`], [`BESIDE`]), once however many dials tell it, since it is the dial's own too;
//! that and the usual prior are the new one.
use nalgebra::{Matrix2, Matrix3, Vector2, Vector3};

/// Usual tilt of a reference photo, radians: the width of the prior (common practice; a person holds the phone about so).
const TILT: f64 = 0.122;
/// What is known of a lens and of which part of its picture was kept.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Lens {
    /// Standard uncertainty of the log of the focal length.
    focal: f64,
    /// Standard uncertainty of the principal point in each direction, over the focal length assumed.
    middle: f64,
}

/// EXIF tells the focal length in whole millimetres. The middle is assumed.
const TOLD: Lens = Lens { focal: 0.03, middle: 0.005 };
/// Nothing tells it: a phone's main or tele lens is possible, and a part of a photo. See docs/decisions/calibration.md.
const UNTOLD: Lens = Lens { focal: 0.4, middle: 0.06 };
/// A part of a larger photo: the half of it has twice the whole's focal length. The middle: see docs/decisions/calibration.md.
const PART: Lens = Lens { focal: 0.7, middle: 0.1 };
/// How far the tilts of two dials in one another differ, radians: lenses bend the view, and faces. Standard deviation about each axis; with 0.02
/// to 0.08 a drawn sub-dial's readings scatter by 0.21 to 0.27 % of span, without neighbours by 0.28.
pub const NESTED: f64 = 0.04;
/// The same of two dials of one photo that lie side by side, on one plate or each in a housing of its own: two large dials of a photographed
/// cluster seem 3 to 9° apart, in one photo 17°, each to its own side, as where a lens bends the view.
pub const BESIDE: f64 = 0.1;

/// Share of what a dial's posterior knows along a direction that it must have from its ticks rather than from the prior. What it tells is its
/// posterior's mean over this share, and of a mixture of two sides, which is no normal density, that is nothing: at 0.0002, 0.001, 0.01 and 0.05 such
/// a dial costs 840, 170, 19 and 6 by disagreeing with the prior (reckoned), where 9 are enough to leave it out.
const TELLS: f64 = 0.05;
/// Information below this is rounding: along a direction that counts a dial tells more than a thousand times as much.
const ROUNDING: f64 = 1e-6;

/// How a face is seen: tilts about the camera's x and y (radians) and the log of the focal length over the one assumed, in that order. A
/// normal density.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SeenFace {
    /// Its mean.
    pub mean: Vector3<f64>,
    /// Its covariance.
    pub covariance: Matrix3<f64>,
}

impl SeenFace {
    /// This or that, each as likely: mean and covariance of the two densities together.
    pub fn or(&self, other: &Self) -> Self {
        let half = 0.5 * (self.mean - other.mean);
        Self { mean: 0.5 * (self.mean + other.mean), covariance: 0.5 * (self.covariance + other.covariance) + half * half.transpose() }
    }
}

/// What is known of tilt, focal length and principal point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ViewPrior {
    lens: Lens,
    told: Told,
    mean: Vector3<f64>,
    /// Turns a distance from the mean into standard deviations.
    whitening: Matrix3<f64>,
    /// What is known already costs as much, because it disagrees.
    conflict: f64,
}

/// What other dials tell: information, information times mean, and the same times the mean once more.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Told {
    information: Matrix3<f64>,
    moment: Vector3<f64>,
    square: f64,
}

impl ViewPrior {
    /// What is usual; `focal_told`: whether EXIF tells the focal length.
    pub fn usual(focal_told: bool) -> Self {
        Self::with(if focal_told { TOLD } else { UNTOLD }, Told::default())
    }
    /// Standard deviation of the principal point in each direction from the picture's centre, over the focal length assumed.
    pub fn middle(&self) -> f64 {
        self.lens.middle
    }
    /// The same for a part of a larger photo, whose focal length EXIF does not tell; `None` where it told none anyhow.
    pub fn of_a_part(&self) -> Option<Self> {
        (self.lens == TOLD).then(|| Self::with(PART, self.told))
    }
    /// The same knowing how other dials are seen, each fitted as if no focal length were told. The face's tilt and log of the focal length differ
    /// from those of all of them together by so much.
    pub fn told_by(&self, others: &[SeenFace], differs: f64) -> Self {
        let quotient = || {
            let (mut information, mut moment) = (Matrix3::zeros(), Vector3::zeros());
            for other in others {
                let own = other.covariance.try_inverse()?;
                let (own_moment, told) = (own * other.mean, (own - usual(UNTOLD.focal)).symmetric_eigen());
                for (v, told) in told.eigenvectors.column_iter().zip(&told.eigenvalues) {
                    // nothing along directions in which it knows no more than the prior, as one that is seen from either of two sides
                    if *told > TELLS * v.dot(&(own * v)) {
                        information += v * v.transpose() * *told;
                        moment += v * v.dot(&own_moment);
                    }
                }
            }
            // widened along each direction by itself, so that one that nothing is told of needs no inverse
            let told = information.symmetric_eigen();
            let mut sum = self.told;
            for (v, w) in told.eigenvectors.column_iter().zip(&told.eigenvalues).filter(|(_, w)| **w > ROUNDING) {
                let (h, wider) = (v.dot(&moment), 1.0 + differs * differs * w);
                sum.information += v * v.transpose() * (w / wider);
                sum.moment += v * (h / wider);
                sum.square += h * h / (w * wider);
            }
            Some(sum)
        };
        if others.is_empty() { *self } else { quotient().map_or(*self, |told| Self::with(self.lens, told)) }
    }
    /// What it costs that what is known disagrees with itself: twice the negative log likelihood of the best view.
    pub fn conflict(&self) -> f64 {
        self.conflict
    }
    /// Distance of tilts and log focal length from what is known, in standard deviations.
    pub fn residuals(&self, [rx, ry, log_focal]: [f64; 3]) -> [f64; 3] {
        (self.whitening * (Vector3::new(rx, ry, log_focal) - self.mean)).into()
    }
    /// Distance of tilts from what other dials alone tell of them, in standard deviations: along directions of which they tell nothing, none.
    /// The focal length is what it is most likely to be for these tilts.
    pub fn off_told(&self, [rx, ry]: [f64; 2]) -> f64 {
        let (known, moment) = (self.told.information, self.told.moment);
        let focal = known[(2, 2)] + 1.0 / (self.lens.focal * self.lens.focal);
        let across = Vector2::new(known[(0, 2)], known[(1, 2)]);
        let tilts: Matrix2<f64> = known.fixed_view::<2, 2>(0, 0) - across * across.transpose() / focal;
        let moment = moment.xy() - across * (moment[2] / focal);
        let told = tilts.symmetric_eigen();
        let directions = told.eigenvectors.column_iter().zip(&told.eigenvalues).filter(|(_, w)| **w > ROUNDING);
        directions.map(|(v, w)| (w * v.dot(&Vector2::new(rx, ry)) - v.dot(&moment)).powi(2) / w).sum::<f64>().sqrt()
    }
    /// Distance of tilts from what is known of them, in standard deviations.
    pub fn off_tilt(&self, [rx, ry]: [f64; 2]) -> f64 {
        let covariance = (self.whitening.transpose() * self.whitening).try_inverse().unwrap_or_else(Matrix3::identity);
        let off = Vector2::new(rx - self.mean[0], ry - self.mean[1]);
        let tilts: Matrix2<f64> = covariance.fixed_view::<2, 2>(0, 0).into();
        tilts.try_inverse().map_or(0.0, |i| (off.transpose() * i * off)[(0, 0)].max(0.0).sqrt())
    }
    fn with(lens: Lens, told: Told) -> Self {
        let known = usual(lens.focal) + told.information;
        match known.cholesky() {
            Some(c) => {
                let mean = c.solve(&told.moment);
                Self { lens, told, mean, whitening: c.l().transpose(), conflict: (told.square - told.moment.dot(&mean)).max(0.0) }
            }
            None => Self { lens, told, mean: Vector3::zeros(), whitening: usual(lens.focal).map(f64::sqrt), conflict: 0.0 },
        }
    }
}

/// Information of the usual prior.
fn usual(focal: f64) -> Matrix3<f64> {
    Matrix3::from_diagonal(&Vector3::new(TILT, TILT, focal).map(|s| 1.0 / (s * s)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn seen(mean: [f64; 3], sigma: [f64; 3]) -> SeenFace {
        SeenFace { mean: Vector3::from(mean), covariance: Matrix3::from_diagonal(&Vector3::from(sigma).map(|s| s * s)) }
    }

    /// A dial fitted with the usual prior and told nothing of its own tells nothing: counting the prior twice would.
    #[test]
    fn what_only_the_prior_told_is_not_told_again() {
        let usual = ViewPrior::usual(false);
        let known = usual.told_by(&[seen([0.0; 3], [TILT, TILT, UNTOLD.focal])], NESTED);
        let at = [0.1, -0.05, 0.2];
        for (a, b) in known.residuals(at).iter().zip(usual.residuals(at)) {
            assert!((a - b).abs() < 1e-6, "{a} {b}");
        }
    }

    /// One unknown by hand: the other's posterior 0.2 with a variance v = 1 / (1 / 0.01^2 + 1 / TILT^2) stands for an observation of 0.01; with
    /// the spread and the prior its mean and width follow.
    #[test]
    fn another_dial_is_an_observation_with_the_spread_of_planes() {
        let (own, prior) = (1.0 / (0.01f64 * 0.01), 1.0 / (TILT * TILT));
        let posterior = (own + prior).recip();
        let observed = 0.2 / posterior / own;
        let view = ViewPrior::usual(true).told_by(&[seen([0.2, 0.0, 0.0], [posterior.sqrt(), TILT, UNTOLD.focal])], NESTED);
        let information = (0.01f64 * 0.01 + NESTED * NESTED).recip();
        let (mean, sigma) = (observed * information / (information + prior), (information + prior).sqrt().recip());
        assert!((view.off_tilt([mean, 0.0])).abs() < 1e-6);
        assert!((view.off_tilt([mean + 2.0 * sigma, 0.0]) - 2.0).abs() < 1e-6);
        assert!((view.residuals([mean, 0.0, TOLD.focal]).iter().map(|v| v * v).sum::<f64>() - 1.0).abs() < 1e-6, "EXIF's focal length");
        assert!((view.conflict() - observed * observed / (information.recip() + prior.recip())).abs() < 1e-6, "{}", view.conflict());
        // two that disagree are as good as their mean; the spread of planes stays
        let (a, b) = (seen([0.1, 0.0, 0.0], [0.01, 0.01, 0.3]), seen([-0.1, 0.0, 0.0], [0.01, 0.01, 0.3]));
        let both = ViewPrior::usual(false).told_by(&[a, b], BESIDE);
        let sigma = 0.2 / both.off_tilt([0.2, 0.0]);
        assert!(both.off_tilt([0.0, 0.0]) < 1e-6 && sigma > 0.07 && sigma < BESIDE, "{sigma}");
        // seen from either of two sides: across, more in doubt than by the prior alone, so that its mean there tells nothing
        let either = seen([0.2, 0.3, 0.1], [0.01, 0.15, UNTOLD.focal]);
        let told = ViewPrior::usual(true).told_by(&[either], NESTED);
        let straight = ViewPrior::usual(true).told_by(&[SeenFace { mean: Vector3::new(0.2, 0.0, 0.0), ..either }], NESTED);
        assert!((told.off_tilt([0.1, 0.1]) - straight.off_tilt([0.1, 0.1])).abs() < 1e-3 && told.conflict() < 10.0, "{}", told.conflict());
        // a part of a larger photo keeps what others told
        assert!(view.of_a_part().is_some_and(|p| (p.off_tilt([mean, 0.0])).abs() < 1e-6));
        assert!(ViewPrior::usual(false).of_a_part().is_none());
    }

    /// A dial seen from either of two sides, its tilt correlated with the focal length: the prior of the tilts is the same all round, so that what is
    /// known turns with the dial.
    #[test]
    fn what_another_dial_tells_turns_with_it() {
        let side = |mean: [f64; 3]| {
            let mut face = seen(mean, [0.01, 0.02, 0.38]);
            (face.covariance[(0, 2)], face.covariance[(2, 0)]) = (0.0015, 0.0015);
            face
        };
        let either = side([0.3, 0.02, 0.1]).or(&side([-0.3, 0.03, -0.1]));
        let seen_from = |azimuth: f64| {
            let (s, c) = azimuth.to_radians().sin_cos();
            let turn = Matrix3::new(c, -s, 0.0, s, c, 0.0, 0.0, 0.0, 1.0);
            let turned = SeenFace { mean: turn * either.mean, covariance: turn * either.covariance * turn.transpose() };
            let view = ViewPrior::usual(true).told_by(&[turned], NESTED);
            let off = |x: f64, y: f64| view.off_tilt([c * x - s * y, s * x + c * y]);
            assert!(view != ViewPrior::usual(true), "it tells something at {azimuth}");
            [off(0.1, 0.0), off(0.0, 0.1), off(0.1, 0.1), view.conflict()]
        };
        let straight = seen_from(0.0);
        assert!(straight[1] > 1.5 * straight[0] && straight[3] < 1.0, "it tells the tilt across the two sides alone: {straight:?}");
        for azimuth in [10.0, 33.0, 45.0, 71.0, 120.0] {
            let turned = seen_from(azimuth);
            assert!(turned.iter().zip(&straight).all(|(a, b)| (a - b).abs() < 1e-6), "{azimuth}: {turned:?} for {straight:?}");
        }
    }
}
