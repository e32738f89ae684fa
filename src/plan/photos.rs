//! How many photos a side, and how large the dial in them.
use super::error::PlanError;
use super::place::{Place, place};
use super::wait::Wait;
use crate::dial::Dial;
use crate::maths::detection::detection_limit;
use crate::maths::power::Expected;
use crate::maths::units::Unit;
use crate::scale::Scale;

/// The needle's wander from photo to photo that is taken where none is given, °C, one sigma. An assumption: the temperature of a drive
/// in traffic does not stand still to better than that. (A bench would; give its scatter.)
const SCATTER: f64 = 1.0;
/// How well a photo shows the needle's angle, one sigma, degrees, from `LARGE` px across on: what is left is blur and light. Of 45
/// rendered photos of the four sample dials, hard ones among them, 43 were read better than this and the law below says; the two others
/// lie behind glare. The samples scaled down to 150 px follow the law with an exponent of 0.9 to 1.2.
const ANGLE: f64 = 0.2;
/// px across the marks' circle below which sigma grows as px^-1.5 (the exponent of the Cramér–Rao bound of a line of that length, and
/// more than the photos show).
const LARGE: f64 = 300.0;
/// Sizes that are told apart, px. Below the first a dial is hardly read.
const SIZES: [u32; 3] = [150, 200, 300];
/// More photos a side than this are not planned: conditions do not stay alike so long.
const MOST: usize = 50;
/// Two photos are the least that show a scatter.
const FEWEST: usize = 2;
/// Places of the scale that are tried.
const PLACES: usize = 60;

/// What is asked, in the dial's unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Request {
    /// The drop to be shown, above 0.
    pub drop: f64,
    /// The needle's wander between settled photos, one sigma; `None`: `SCATTER` is assumed.
    pub scatter: Option<f64>,
    /// The temperature before; `None`: the place of the scale that asks for most.
    pub at: Option<f64>,
}

/// What a size of the dial in the frame takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Size {
    /// px across the marks' circle.
    pub px: u32,
    /// One sigma of a reading by its photo alone, dial unit.
    pub reading: f64,
    /// Photos a side; `None` when 50 are too few.
    pub photos: Option<usize>,
}

/// The plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// Unit of every temperature here.
    pub unit: Unit,
    /// The drop to be shown.
    pub drop: f64,
    /// The temperature before.
    pub at: f64,
    /// Whether the user gave it.
    pub at_given: bool,
    /// The wander counted with.
    pub scatter: f64,
    /// Whether it was assumed.
    pub scatter_assumed: bool,
    /// One sigma of what the dial leaves in the difference, however many photos.
    pub fixed: f64,
    /// The smallest drop that any number of photos could show: the detection limit of `fixed` alone.
    pub smallest: f64,
    /// Sizes of the dial in the frame, rising.
    pub sizes: Vec<Size>,
    /// How long to wait.
    pub wait: Wait,
}

impl Plan {
    /// Photos a side and the least size at which they are enough: a larger dial saves none. `None` when 50 a side are too few.
    pub fn advice(&self) -> Option<Size> {
        let best = self.sizes.last()?.photos?;
        self.sizes.iter().find(|s| s.photos == Some(best)).copied()
    }
}

/// Plans a comparison: the fewest photos n a side for which the change that is called real 95 times of 100 is at most the drop. The
/// variance of the difference is fixed² + 2 (reading² + scatter²)/n; that a comparison learns the scatter from these very photos
/// counts ([`Expected`]).
///
/// # Errors
/// [`PlanError`] when the drop does not fit on the scale, or a flat zone hides it.
pub fn plan(dial: &Dial, request: &Request) -> Result<Plan, PlanError> {
    let (unit, (low, high)) = (dial.unit, dial.span());
    let drop = request.drop;
    if drop >= high - low {
        return Err(PlanError::TooLarge { drop, span: high - low, unit });
    }
    let scale = Scale::new(dial);
    let worst = match request.at {
        Some(at) if at > high || at - drop < low => return Err(PlanError::OffScale { at, drop, ends: (low, high), unit }),
        Some(at) => place(dial, &scale, at, drop),
        None => hardest(dial, &scale, drop),
    };
    let here = worst.ok_or(PlanError::FlatZone)?;
    // of what is no temperature the same share of a scale of 100 degrees
    let assumed = if unit.is_temperature() { Unit::C.convert_difference(SCATTER, unit) } else { SCATTER / 100.0 * (high - low) };
    let scatter = request.scatter.unwrap_or(assumed);
    let size = |px: u32| {
        let reading = here.slope * sigma_angle(px);
        Size { px, reading, photos: (FEWEST..=MOST).find(|n| shown(*n, here.fixed, reading, scatter, drop)) }
    };
    Ok(Plan {
        unit,
        drop,
        at: here.at,
        at_given: request.at.is_some(),
        scatter,
        scatter_assumed: request.scatter.is_none(),
        fixed: here.fixed,
        smallest: detection_limit(here.fixed, f64::INFINITY),
        sizes: SIZES.map(size).to_vec(),
        wait: Wait::of(here.at, drop, (unit, low)),
    })
}

/// The place where the dial and a small photo leave most in the difference; places in flat zones are passed over.
fn hardest(dial: &Dial, scale: &Scale, drop: f64) -> Option<Place> {
    let (low, high) = dial.span();
    let at = |k: usize| low + drop + (high - low - drop) * k as f64 / PLACES as f64;
    let places = (0..=PLACES).filter_map(|k| place(dial, scale, at(k), drop));
    let asks = |p: &Place| p.fixed.hypot(p.slope * sigma_angle(SIZES[0]));
    places.max_by(|a, b| asks(a).total_cmp(&asks(b)))
}

/// One sigma of the needle's angle in a photo, degrees.
fn sigma_angle(px: u32) -> f64 {
    ANGLE * (LARGE / f64::from(px)).powf(1.5).max(1.0)
}

/// Whether n photos a side show the drop.
fn shown(photos: usize, fixed: f64, reading: f64, wander: f64, drop: f64) -> bool {
    let expected = Expected { photos, fixed, reading, wander };
    // sigma known is the best case, and quickly told
    detection_limit(expected.sigma(), f64::INFINITY) <= drop && expected.detection_limit() <= drop
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn by_hand() {
        assert!((sigma_angle(150) / sigma_angle(300) - 2.0_f64.powf(1.5)).abs() < 1e-12 && sigma_angle(600) == sigma_angle(300));
    }
}
