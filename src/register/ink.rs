//! Where the straight-on face has print, told by what its ticks are like: narrow, of their polarity, and of their contrast.
use super::face::FaceModel;
use super::rendering::Canonical;
use super::top_hat::{HALF_WIDTH, top_hat};
use crate::maths::angle::wrap;
use crate::maths::robust::{high_median, per_mille};
use crate::photo::Plane;

// The numbers below were settled by eye on 52 photographed and eight rendered faces; no curve kept.

/// Grain is smoothed by so much, px.
const SOFT: f64 = 0.8;
/// Radii (units) within which a mark has its tick.
const TICK_RADII: std::ops::Range<f64> = 0.84..1.06;
/// The contrast of print at a place is that of the ticks within about so many degrees.
const NEAR_DEG: f64 = 25.0;
/// Share of the ticks' contrast from which print is ink.
const SHARE: f32 = 0.4;
/// The same in medians of the whole face, which is bare for the most part: grain is not print.
const GRAIN: f32 = 3.0;
/// The ticks tell the polarity of print where so many times more of it is seen than of the other.
const TOLD: f32 = 1.5;
/// A tick with less than this share of the contrast of the clearest is hidden, or is none.
const HIDDEN: f32 = 0.2;

/// The ink of a face, for each pixel of a straight-on picture of it. `usable`: where that shows the face.
pub(super) fn ink(face: &FaceModel, canonical: &Canonical, usable: &[bool]) -> Vec<bool> {
    let n = canonical.plane.width;
    let smooth = canonical.plane.gaussian(SOFT);
    let both = [true, false].map(|lighter| top_hat(&smooth, HALF_WIDTH * canonical.k, lighter));
    let ticks: Vec<(f64, [f32; 2])> =
        face.dial.marks.iter().filter_map(|m| Some((m.angle, tick(m.angle, canonical, &both, usable)?))).collect();
    let strongest = both.each_ref().map(|heights| strongest(heights, usable));
    let sums = ticks.iter().fold([0.0; 2], |s, (_, t)| [s[0] + t[0], s[1] + t[1]]);
    // ticks of which hardly anything is seen, or as much of either polarity, say nothing: print is what stands out most then
    let told = sums[0].max(sums[1]) > TOLD * sums[0].min(sums[1]) && sums[0].max(sums[1]) > 0.0;
    let of = if told { sums } else { strongest.map(|s| s.0) };
    let polarity = usize::from(of[1] > of[0]);
    let (height, (most, grain)) = (&both[polarity].data, strongest[polarity]);
    let clearest = ticks.iter().fold(0.0_f32, |c, (_, t)| c.max(t[polarity]));
    let seen = (GRAIN * grain).max(HIDDEN * clearest);
    let ticks: Vec<(f64, f32)> = ticks.iter().map(|(a, t)| (*a, t[polarity])).filter(|t| told && t.1 > seen).collect();
    let least: Vec<f32> = (0..360).map(|turn| (SHARE * contrast(&ticks, f64::from(turn)).unwrap_or(most)).max(GRAIN * grain)).collect();
    let is_ink = |i: usize| {
        let (x, y) = canonical.dial(i % n, i / n);
        let turn = x.atan2(y).to_degrees().rem_euclid(360.0) as usize % 360;
        usable[i] && height[i] > least[turn]
    };
    (0..n * n).map(is_ink).collect()
}

/// Height of what stands out most, and the median of all, of the part that shows the face; 0 where none does.
fn strongest(heights: &Plane, usable: &[bool]) -> (f32, f32) {
    let mut all: Vec<f32> = heights.data.iter().zip(usable).filter(|(_, u)| **u).map(|(h, _)| *h).collect();
    (per_mille(&mut all, 998).unwrap_or(0.0), high_median(all.iter().copied()).unwrap_or(0.0))
}

/// Contrast of print at an angle from that of the ticks (angle, contrast), the nearer the more; `None` without ticks.
fn contrast(ticks: &[(f64, f32)], turn: f64) -> Option<f32> {
    let (sum, weights) = ticks.iter().fold((0.0, 0.0), |(s, w), (angle, level)| {
        // far from all ticks all count alike
        let weight = (-0.5 * (wrap(angle - turn) / NEAR_DEG).powi(2)).exp().max(1e-6) as f32;
        (s + weight * level, w + weight)
    });
    (weights > 0.0).then(|| sum / weights)
}

/// How far the tick at an angle stands above the face, and how far below; `None` where the picture does not show most of its line.
fn tick(angle: f64, canonical: &Canonical, both: &[Plane; 2], usable: &[bool]) -> Option<[f32; 2]> {
    let n = canonical.plane.width;
    let (s, c) = angle.to_radians().sin_cos();
    let steps = 24;
    let on_line = (0..=steps).filter_map(|a| {
        let r = TICK_RADII.start + (TICK_RADII.end - TICK_RADII.start) * f64::from(a) / f64::from(steps);
        let (i, j) = canonical.px(r * s, r * c);
        let (i, j) = (i.round() as usize, j.round() as usize);
        (i < n && j < n && usable[j * n + i]).then(|| both.each_ref().map(|b| b.data[j * n + i]))
    });
    let on_line: Vec<[f32; 2]> = on_line.collect();
    let at = |polarity: usize| per_mille(&mut on_line.iter().map(|b| b[polarity]).collect::<Vec<_>>(), 750);
    (2 * on_line.len() > steps as usize).then(|| Some([at(0)?, at(1)?])).flatten()
}

#[cfg(test)]
mod tests {
    use super::super::glyphs::Glyphs;
    use super::*;
    use crate::dial::{Dial, from_bytes};

    fn dial(name: &str) -> Dial {
        from_bytes(&std::fs::read(format!("calibration/{name}.json")).unwrap()).unwrap()
    }

    /// The shipped faces' numerals, by eye: one piece for each label, at its angle, and hardly anything else (the coolant's unit): no tick, no rim, no cap.
    #[test]
    fn the_numerals_of_a_face_are_its_pieces() {
        for (name, labels, others) in [
            ("gearbox-oil", &[40.0, 60.0, 80.0, 100.0, 120.0][..], 0),
            ("cluster-coolant", &[50.0, 90.0, 130.0], 1),
            ("night-oil", &[90.0, 160.0, 230.0, 300.0], 0),
            ("transfer-box", &[20.0, 40.0, 60.0, 80.0, 100.0, 120.0, 140.0], 0),
        ] {
            let dial = dial(name);
            let face = FaceModel::new(Dial { prepared: None, ..dial.clone() });
            let places = Glyphs::new(&face).places();
            let at = |label: &f64| {
                let angle = dial.marks.iter().find(|m| m.value == *label).unwrap().angle;
                let turn = |(x, y): &&(f64, f64)| wrap(x.atan2(*y).to_degrees() - angle).abs() < 10.0 && x.hypot(*y) > 0.6;
                places.iter().filter(turn).count()
            };
            assert!(labels.iter().all(|l| at(l) == 1), "{name}: {places:?}");
            assert_eq!(places.len(), labels.len() + others, "{name}: {places:?}");
        }
    }

    /// Marks where no tick is printed say nothing of print: what stands out most is taken, dark on a light face as light on a dark one.
    #[test]
    fn print_is_found_where_the_ticks_are_not_seen() {
        for name in ["gearbox-oil", "night-oil", "transfer-box"] {
            let told = dial(name);
            let mut untold = told.clone();
            untold.marks.iter_mut().for_each(|m| m.angle = 180.0);
            let found = [told, untold].map(|dial| {
                let face = FaceModel::new(Dial { prepared: None, ..dial });
                let canonical = face.canonical(100.0, 1.1);
                let usable = face.voting(&canonical, 1.1);
                ink(&face, &canonical, &usable)
            });
            let both = found[0].iter().zip(&found[1]).filter(|(a, b)| **a && **b).count();
            let own = found[0].iter().filter(|i| **i).count();
            assert!(2 * both > own && own > 300, "{name}: {both} of {own}");
        }
    }
}
