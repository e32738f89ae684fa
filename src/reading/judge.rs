//! What may be answered: a registration and a needle are judged, each with a reason; remarks on what was read.
use super::lens;
use super::record::Evidence;
use crate::diagnostics::{Flag, Refusal};
use crate::dial::Dial;
use crate::maths::angle::wrap;
use crate::needle::{Candidate, NeedleFit};
use crate::photo::Photo;
use crate::register::{Registration, Seen};

/// Least agreement with the print, and least share of it that agrees; where hardly any matches speak for the place, and where many do.
/// Measured on 942 looks for dials of photographed clusters where they are not, by day, dusk and night: faces of one family agree to 0.9 (their
/// numerals tell them apart), others to 0.44 with 15 matches and more, and to 0.56 with fewer.
const PRINT_MATCH: [f64; 2] = [0.55, 0.48];
/// See [`PRINT_MATCH`].
const SEEN: [f64; 2] = [0.5, 0.45];
/// See [`PRINT_MATCH`].
const MANY_MATCHES: usize = 15;

/// Least contrast of a needle against its contrast in the reference photo (dials without a needle: 0.05, the least that is fitted).
const FAINT: f64 = 0.09;
/// Most of the print that the photo may clearly contradict: other numerals at the same places, a mirror image. Photos of the right
/// dial stay below half of it.
const CONTRADICTED: f64 = 0.18;

/// How unlike the needle's outline a line may be (see [`NeedleFit::squared_mahalanobis`]). Measured on 515 readings of renderings, most of them
/// sharpened, darkened, blurred or with a reflection laid over: 3 at most; the edge of a reflection that was taken for a needle: 18.
const OUTLINE_DISTANCE: f64 = 9.0;
/// Largest standard uncertainty of the direction, degrees: the same readings have 0.2 at most, so that this is far beyond any that was right.
const VAGUE: f64 = 1.5;

/// Share of a half of the needle from which it counts as seen.
const PART_SEEN: f64 = 0.5;
/// Share of a half of the needle below which it counts as hidden.
const PART_HIDDEN: f64 = 0.2;

/// Share of the needle proper from which the face below the reference needle counts as known.
const UNCOVERED: f64 = 0.9;

/// Whether the photo holds anything at all.
pub fn no_detail(photo: &Photo) -> Option<String> {
    if photo.width < 64 || photo.height < 64 {
        return Some(format!("The picture is {} x {} pixels.", photo.width, photo.height));
    }
    let step = (photo.rgb.len() / 3 / 20_000).max(1);
    let mut v: Vec<u8> = photo.rgb.chunks_exact(3).step_by(step).map(|p| p[0].max(p[1]).max(p[2])).collect();
    v.sort_unstable();
    let (low, high) = (v[v.len() / 1000], v[v.len() - 1 - v.len() / 1000]);
    (high - low < 12).then(|| format!("Its levels differ by no more than {}.", high - low))
}

/// A registration that must not be trusted.
pub fn registration(r: &Registration) -> Option<(Refusal, String)> {
    let many = usize::from(r.matches >= MANY_MATCHES);
    let (needed, share) = (PRINT_MATCH[many], SEEN[many]);
    if r.print_match < needed || r.seen < share {
        let kind = if r.print_match < 0.4 { Refusal::DialNotFound } else { Refusal::DialDoubtful };
        return Some((
            kind,
            format!("The print agrees to {:.2} where {needed} is needed, over {:.0} % of the face.", r.print_match, 100.0 * r.seen),
        ));
    }
    if r.contradicted > CONTRADICTED {
        let text = format!("Over {:.0} % of the print the photo clearly shows something else.", 100.0 * r.contradicted);
        return Some((Refusal::DialDoubtful, text));
    }
    None
}

/// What numerals that are not the dial's differ in both senses, all together: blur makes some 0.05 of two, a single digit 0.1 and more.
const OTHERS: f64 = 0.1;

/// Numerals or words that are not the dial's: one may stand in a reflection, two do not by chance.
pub fn glyphs(seen: &[Seen]) -> Option<(Refusal, String)> {
    let others: Vec<f64> = seen.iter().filter(|s| s.is_other()).map(Seen::difference).collect();
    let other = others.len();
    let few = seen.len() <= 2 && other == seen.len() && other > 0;
    ((other >= 2 || few) && others.iter().sum::<f64>() > OTHERS).then(|| {
        let text = format!("Of {} numerals or words that can be made out, {other} are others than the dial's.", seen.len());
        (Refusal::DialDoubtful, text)
    })
}

/// A needle that must not be trusted.
pub fn needle(n: &NeedleFit, candidates: &[Candidate]) -> Option<(Refusal, String)> {
    let best = candidates.first()?;
    let second = candidates.get(1).map_or(0.0, |c| c.score);
    // a reflection takes the contrast of half a needle and leaves a faint line that stands well above the scatter
    let faint = n.step < FAINT || n.step < 0.12 && n.step < 2.5 * n.noise;
    if best.score < 0.15 || faint || n.seen < 0.35 {
        return Some((
            Refusal::NeedleNotFound,
            format!(
                "The strongest line shows {:.0} % of the needle's contrast over {:.0} % of its length.",
                100.0 * n.step,
                100.0 * n.seen
            ),
        ));
    }
    if best.score < 1.25 * second {
        return Some((Refusal::NeedleAmbiguous, format!("Two lines show {:.2} and {:.2} of the needle's contrast.", best.score, second)));
    }
    let sigma = n.covariance[(1, 1)].max(0.0).sqrt().to_degrees();
    let off = (n.offset - n.expected.0).abs();
    if n.squared_mahalanobis() > OUTLINE_DISTANCE {
        let (wide, taper) = (n.wider - n.usual_wider, n.taper);
        let text = format!(
            "The strongest line has not the needle's outline: each edge stands {:.3} of the radius further {}, and leans by {:.1}°.",
            wide.abs(),
            if wide < 0.0 { "in" } else { "out" },
            taper.atan().to_degrees().abs()
        );
        return Some((Refusal::NeedleDoubtful, text));
    }
    let turned = wrap(n.angle - best.angle).abs();
    let text = if sigma > VAGUE {
        format!("Its direction is known to {sigma:.1}° only.")
    } else if turned > 6.0 {
        format!("Its edges lie {turned:.0}° off the line that was found.")
    } else if off > 0.12 {
        format!("It passes the pivot at {off:.2} of the radius.")
    } else {
        return None;
    };
    Some((Refusal::NeedleDoubtful, text))
}

/// Remarks on a reading.
pub fn flags(dial: &Dial, photo: &Photo, r: &Registration, n: &NeedleFit, evidence: Option<&Evidence>, at_end: bool) -> Vec<Flag> {
    let blur = (0.5 * (r.blur[0] + r.blur[2])).max(0.0).sqrt() * r.scale;
    let over = wrap(n.angle - dial.needle.angle).abs() < 3.0 && dial.uncovered_share() < UNCOVERED;
    [
        (Flag::SteepView, evidence.is_some_and(|e| e.tilt > 30.0)),
        (Flag::SmallDial, r.scale < 75.0),
        (Flag::Blurred, blur > 2.5),
        (Flag::FaceHidden, r.seen < 0.75),
        (Flag::NeedleHidden, n.seen < 0.67),
        (Flag::NeedleStub, n.halves[0] > PART_SEEN && n.halves[1] < PART_HIDDEN),
        (Flag::NeedleTip, n.halves[1] > PART_SEEN && n.halves[0] < PART_HIDDEN),
        (Flag::NeedleOffPivot, (n.offset - n.expected.0).abs() > 3.0 * n.expected.1),
        (Flag::AtScaleEnd, at_end),
        (Flag::OverReferenceNeedle, over),
        (Flag::FewMarks, dial.has_few_marks()),
        (Flag::WideLens, lens::may_bend(r, photo)),
    ]
    .into_iter()
    .filter_map(|(f, on)| on.then_some(f))
    .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use nalgebra::Matrix2;

    /// A line as it was fitted in a rendering, with these changes of half width and taper and this uncertainty (degrees).
    fn fitted(wider: f64, taper: f64, sigma: f64) -> NeedleFit {
        NeedleFit {
            angle: -89.7,
            offset: -0.02,
            covariance: Matrix2::new(1e-6, 0.0, 0.0, sigma.to_radians().powi(2)),
            expected: (0.0, 0.019),
            seen: 0.83,
            halves: [0.92, 0.77],
            step: 0.68,
            noise: 0.07,
            wider,
            usual_wider: 0.003,
            taper,
            tail_shift: 0.0,
            smear: 0.0,
            uneven: 0.0,
            blur: 0.01,
            span: [0.2, 0.95],
        }
    }

    #[test]
    fn the_edge_of_a_reflection_has_not_the_needles_outline() {
        let best = [Candidate { angle: -86.0, offset: 0.0, score: 0.18 }];
        let reason = |n: &NeedleFit| needle(n, &best).map(|r| r.0);
        // the widest and the most tapered of the needles that were read right
        assert_eq!(reason(&fitted(0.028, 0.003, 0.19)), None);
        assert_eq!(reason(&fitted(0.021, 0.0196, 0.15)), None);
        // the edge of a reflection
        assert_eq!(reason(&fitted(0.0616, 0.0454, 0.44)), Some(Refusal::NeedleDoubtful));
        assert_eq!(reason(&fitted(0.003, 0.0, 1.6)), Some(Refusal::NeedleDoubtful));
    }
}
