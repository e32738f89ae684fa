//! What must never become a number: other dials, no needle, the mirror image, no picture of a dial at all.
use crate::support::case::{self, NIGHT};
use crate::support::light::Light;
use crate::support::sweep::cases;
use crate::support::view::View;
use chacha20::ChaCha8Rng;
use needleband::diagnostics::Refusal;
use needleband::photo::Photo;
use needleband::reading::Outcome;
use rand::{RngExt, SeedableRng};

fn view() -> View {
    View::straight(640, 480, 155.0).tilted(8.0, 30.0).rolled(7.0)
}

fn refused(outcome: Outcome, what: &str) -> Refusal {
    match outcome {
        Outcome::Refused(r, _) => r,
        other => panic!("{what} was answered: {other:?}"),
    }
}

#[test]
fn another_dial_is_refused() {
    for known in case::all() {
        for other in case::all().into_iter().filter(|o| o.drawn.plan.name != known.drawn.plan.name) {
            let photo = other.drawn.at(other.drawn.plan.labels[1], &view(), &Light::default()).photo;
            refused(known.read(&photo), &format!("{} read with the file of {}", other.drawn.plan.name, known.drawn.plan.name));
        }
    }
}

#[test]
fn a_dial_without_its_needle_is_refused_as_such() {
    for known in case::all() {
        let r = refused(known.read(&known.drawn.photo(None, &view(), &Light::default())), known.drawn.plan.name);
        assert!(
            matches!(r, Refusal::NeedleNotFound | Refusal::NeedleAmbiguous | Refusal::NeedleDoubtful),
            "{}: {r:?}",
            known.drawn.plan.name
        );
    }
}

#[test]
fn the_mirror_image_is_refused() {
    for known in case::all() {
        let p = &known.drawn.plan;
        let mut photo = known.drawn.at(p.labels[0] + 0.37 * p.span(), &view(), &Light::default()).photo;
        for row in photo.rgb.chunks_exact_mut(3 * 640) {
            let pixels: Vec<[u8; 3]> = row.chunks_exact(3).map(|c| [c[0], c[1], c[2]]).collect();
            row.chunks_exact_mut(3).zip(pixels.iter().rev()).for_each(|(to, from)| to.copy_from_slice(from));
        }
        refused(known.read(&photo), &format!("the mirror image of {}", p.name));
    }
}

#[test]
fn a_photo_taken_upside_down_reads_the_same() {
    for known in case::all() {
        let p = &known.drawn.plan;
        let mut photo = known.drawn.at(p.labels[0] + 0.37 * p.span(), &view(), &Light::default()).photo;
        let upright = case::reading(known.read(&photo), p.name).temperature;
        photo.rgb = photo.rgb.chunks_exact(3).rev().flatten().copied().collect();
        let turned = case::reading(known.read(&photo), p.name).temperature;
        // the same pixels in another order: only the start of the search differs
        let apart = (turned.value() - upright.value()).abs();
        assert!(apart < 0.2 * upright.sigma(), "{}: {} and {} ± {}", p.name, turned.value(), upright.value(), upright.sigma());
    }
}

#[test]
fn black_white_texture_and_tiny_pictures_are_refused() {
    let like = NIGHT.reference.photo.clone();
    let of = |rgb: Vec<u8>| Photo { rgb: rgb.into(), ..like.clone() };
    let n = like.rgb.len();
    assert_eq!(refused(NIGHT.read(&of(vec![0; n])), "black"), Refusal::NoDetail);
    assert_eq!(refused(NIGHT.read(&of(vec![255; n])), "white"), Refusal::NoDetail);
    let mut rng = ChaCha8Rng::seed_from_u64(9);
    refused(NIGHT.read(&of((0..n).map(|_| rng.random()).collect())), "noise");
    let tiny = NIGHT.drawn.at(90.0, &View::straight(60, 45, 18.0), &Light::default()).photo;
    assert_eq!(refused(NIGHT.read(&tiny), "tiny"), Refusal::NoDetail);
}

#[test]
fn a_heavily_blurred_or_half_hidden_dial_is_read_within_its_band_or_refused() {
    for known in case::all() {
        let p = &known.drawn.plan;
        let truth = p.labels[0] + 0.37 * p.span();
        let shots = [4.0, 8.0, 14.0].map(|blur| (view(), Light { blur, ..Light::default() })).into_iter();
        let cut = [(320.0, 0.0), (-320.0, 0.0), (0.0, 240.0), (0.0, -240.0)].map(|(x, y)| (view().at(x, y), Light::default()));
        for (view, light) in shots.chain(cut).step_by(cases(2, 1)) {
            if let Outcome::Reading(r) = known.read_at(truth, &view, &light) {
                let e = (r.temperature.value() - truth).abs();
                // 4 sigma, and never a gross error (3 % of span)
                assert!(
                    e < 4.0 * r.temperature.sigma().max(0.0005 * p.span()) && e < 0.03 * p.span(),
                    "{}: off by {e:.2}, {view:?}, {light:?}",
                    p.name
                );
            }
        }
    }
}
