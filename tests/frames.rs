//! Frames of one scene: the dial is looked for where an earlier photo had it.
use crate::support::case::{all, reading};
use crate::support::light::Light;
use crate::support::view::View;
use needleband::reading::Record;

fn view(step: f64) -> View {
    // a hand-held or vibrating mount: a pixel or two between frames
    View::straight(520, 460, 150.0).tilted(12.0, 40.0).rolled(6.0).at(4.0 + 0.9 * step, -3.0 + 0.6 * step)
}

/// Both roads agree within a tenth of sigma, for they end in the same alignment.
#[test]
fn a_frame_reads_the_same_by_either_road() {
    for known in all() {
        let (reader, plan) = (&known.reader, &known.drawn.plan);
        let light = |seed| Light { noise: 4.0, seed, ..Light::default() };
        let shot = |share: f64, step: f64, seed| known.drawn.at(plan.labels[0] + share * plan.span(), &view(step), &light(seed)).photo;
        let first = reader.read(&shot(0.4, 0.0, 1));
        for (k, share) in [0.42, 0.55, 0.8].into_iter().enumerate() {
            let photo = shot(share, k as f64 + 1.0, 10 + k as u64);
            let (whole, quick) = (reader.read(&photo), reader.read_after(&photo, Some(&first)));
            let matches = |r: &Record| r.evidence.as_ref().map(|e| e.matches);
            assert_eq!(matches(&quick), Some(0), "{}: the earlier place was not taken", plan.name);
            assert_ne!(matches(&whole), Some(0));
            let (whole, quick) = (reading(whole.outcome, "whole"), reading(quick.outcome, "quick"));
            let difference = (quick.temperature.value() - whole.temperature.value()).abs() / whole.temperature.sigma();
            println!("{}: {difference:.3} sigma apart", plan.name);
            assert!(difference < 0.1, "{}: {difference} sigma", plan.name);
        }
    }
}

/// A photo of another scene is searched as if there had been no earlier one: the same to the last bit.
#[test]
fn another_scene_is_searched_as_a_whole() {
    let known = all()[0];
    let (reader, plan) = (&known.reader, &known.drawn.plan);
    let at = |view: &View| known.drawn.at(plan.labels[0] + 0.6 * plan.span(), view, &Light::default()).photo;
    let first = reader.read(&at(&view(0.0)));
    let other = at(&View::straight(520, 460, 130.0).rolled(70.0).at(-20.0, 10.0));
    let (whole, after) = (reader.read(&other), reader.read_after(&other, Some(&first)));
    let value = |r: Record| reading(r.outcome, "other").temperature.value();
    assert_eq!(value(whole).to_bits(), value(after).to_bits());
}
