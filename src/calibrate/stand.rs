//! How the needle of a known dial stands over the face, from photos of it.
use super::needle_line::{NeedleLine, VIEW_DOUBT};
use crate::dial::{Dial, Stand};
use crate::maths::homography::{Homography, PlaneInFace, PlaneInPhoto};
use crate::maths::minimise::{Loss, Options, minimise};
use crate::maths::solve::Noise;
use crate::photo::Photo;
use crate::reading::Reader;

/// What a later photo may differ in where its needle passes the pivot, units: its own registration at the pivot, the cover's bending.
const AXIS_DOUBT: f64 = 0.004;
/// The height counts as learned when its standard uncertainty is below this share of what is assumed of a dial not yet learned.
const LEARNED: f64 = 0.6;
/// Fewest photos: height and axis, and one more to tell that they agree.
const FEWEST: usize = 3;

/// Why the needle's stand was not learned.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum StandError {
    /// Too few photos with a needle.
    #[error(
        "the dial and its needle were found in {found} of {given} photos; the height of the needle takes at least {FEWEST}. Give photos in \
         which the dial is large and the needle whole, from different sides."
    )]
    TooFew {
        /// Photos in which the needle was found.
        found: usize,
        /// Photos given.
        given: usize,
    },
    /// The photos do not tell.
    #[error(
        "the {0} photos look at the dial from nearly the same side, so they do not tell how high the needle stands. Give some taken from \
         20 to 40 degrees off straight on, from different sides."
    )]
    SameSide(usize),
}

/// Learns height and axis of the needle from photos of a calibrated dial, at other needle places and from other sides. Gives the stand
/// and the names of photos that were not used, each with the reason.
///
/// Unknowns: height and axis (with their usual widths as priors) and where the pivot lies against the dial file's (prior: the
/// plane's own terms). Counts: the needle's fit and the registration of each photo, a share of each shift for what focal length and a
/// cover leave in doubt. Does not count: a needle that is bent; photos that are parts of larger ones, whose camera is known less well than that.
///
/// # Errors
/// Too few photos with a needle, or all from one side.
pub fn learn_stand(dial: &Dial, photos: &[(String, Photo)]) -> Result<(Stand, Vec<String>), StandError> {
    let reader = Reader::new(dial.clone());
    let (mut lines, mut left_out) = (Vec::new(), Vec::new());
    for (name, photo) in photos {
        match reader.sight(photo) {
            // the dial's frame itself stands for the reference photo
            Ok(sight) => lines.extend(NeedleLine::new(&sight, &PlaneInPhoto::identity(), sight.registration.view(photo).camera)),
            Err((_, text)) => left_out.push(format!("{name} is not used: {text}")),
        }
    }
    if lines.len() < FEWEST {
        return Err(StandError::TooFew { found: lines.len(), given: photos.len() });
    }
    let stand = solve(&lines, pivot_sigma(dial)).ok_or(StandError::SameSide(lines.len()))?;
    Ok((stand, left_out))
}

fn solve(lines: &[NeedleLine], pivot_sigma: f64) -> Option<Stand> {
    let usual = Stand::default();
    let residuals = |x: &[f64]| -> Vec<f64> {
        let moved = Homography::shifted(pivot_sigma * x[2], pivot_sigma * x[3]);
        let back = Homography::shifted(-pivot_sigma * x[2], -pivot_sigma * x[3]);
        let of_lines = lines.iter().map(|l| l.residual(&moved, &back, height(x[0]), usual.axis_sigma * x[1]));
        of_lines.chain(x.iter().copied()).collect()
    };
    let options = Options { loss: Loss::SoftL1(2.0), noise: Noise::Sigma(1.0), ..Options::default() };
    let fit = minimise(residuals, &[0.0; 4], &[1e-4; 4], options);
    let c = fit.covariance.filter(|_| fit.converged)?;
    (c[(0, 0)].sqrt() < LEARNED).then(|| posterior(fit.x[0], fit.x[1], c[(0, 0)], c[(1, 1)]))
}

/// Height in radii from its unknown (in the usual sigmas); never below the face.
pub fn height(unknown: f64) -> f64 {
    let usual = Stand::default();
    (usual.height + usual.height_sigma * unknown).max(0.005)
}

/// Height and axis in radii from their unknowns (in the usual sigmas) and variances, with what no photo of the set can show.
pub fn posterior(unknown: f64, axis: f64, height_variance: f64, axis_variance: f64) -> Stand {
    let usual = Stand::default();
    let height = height(unknown);
    Stand {
        height,
        height_sigma: (usual.height_sigma * height_variance.sqrt()).hypot(VIEW_DOUBT * height),
        axis: usual.axis_sigma * axis,
        axis_sigma: (usual.axis_sigma * axis_variance.sqrt()).hypot(AXIS_DOUBT),
    }
}

/// Standard uncertainty of where the dial file's pivot lies, units: how far its plane's terms move it, and no less than a cover's bending.
fn pivot_sigma(dial: &Dial) -> f64 {
    let back = dial.face.plane.inverse().unwrap_or_else(Homography::identity);
    let moved = |m: &PlaneInFace| {
        let q = m.at(0.0, 0.0);
        back.at(q.x, q.y).norm_squared() / 2.0
    };
    dial.face.plane_terms.iter().map(moved).sum::<f64>().sqrt().max(0.0005)
}
