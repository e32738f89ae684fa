//! A dial calibrated by day and read where one lamp lights print and needle alike: the needle has lost the colour that it is told by.
use crate::support::case::{Known, reading, reference_view};
use crate::support::draw::Drawn;
use crate::support::light::Light;
use crate::support::looks;
use crate::support::plan::{Needle, Plan};
use crate::support::shapes::Colour;
use crate::support::view::View;
use needleband::diagnostics::{Flag, Refusal};
use needleband::reading::Outcome;
use std::sync::LazyLock;

const AMBER: Colour = [235.0, 165.0, 40.0];

/// A red needle over a grey face with white print, darker than the face.
fn by_day() -> Plan {
    let plan = looks::night();
    let needle = Needle { colour: [150.0, 18.0, 22.0], ..plan.needle };
    Plan { paper: [128.0, 130.0, 132.0], print: [224.0, 226.0, 228.0], dash: [70.0, 70.0, 72.0], zone: None, bezel: None, needle, ..plan }
}

/// The same face in the dark.
fn by_night(needle: Colour) -> Plan {
    let plan = by_day();
    let needle = Needle { colour: needle, hub_colour: [4.0, 3.0, 2.0], ..plan.needle };
    Plan { paper: [9.0, 7.0, 5.0], print: AMBER, dash: [5.0, 4.0, 4.0], needle, ..plan }
}

static KNOWN: LazyLock<Known> = LazyLock::new(|| Known::new(by_day(), 58.0, &reference_view()));

fn views() -> impl Iterator<Item = (usize, View, Light)> {
    (0..6).map(|i| {
        let view = View::straight(520, 460, 150.0).tilted(3.0 * i as f64, 60.0 * i as f64).rolled(5.0 * i as f64 - 12.0);
        (i, view, Light { noise: 2.0, seed: 300 + i as u64, ..Light::default() })
    })
}

#[test]
fn a_needle_lit_like_the_print_is_read_by_its_brightness() {
    let night = Drawn::new(by_night(AMBER));
    for (i, view, light) in views() {
        let value = 50.0 + 17.3 * i as f64;
        let r = reading(KNOWN.read(&night.at(value, &view, &light).photo), &format!("view {i}"));
        let z = (r.temperature.value() - value) / r.temperature.sigma();
        assert!(z.abs() < 3.5, "view {i}: {z:.1} standard uncertainties off");
        assert!(r.flags.contains(&Flag::NeedleLit), "view {i}: {:?}", r.flags);
    }
}

/// Nothing on the face is the needle.
fn no_needle(outcome: &Outcome) -> bool {
    use Refusal::{NeedleAmbiguous, NeedleDoubtful, NeedleNotFound};
    matches!(outcome, Outcome::Refused(NeedleAmbiguous | NeedleDoubtful | NeedleNotFound, _))
}

#[test]
fn a_dark_face_without_a_needle_has_no_value() {
    let night = Drawn::new(by_night(AMBER));
    for (i, view, light) in views() {
        let outcome = KNOWN.read(&night.photo(None, &view, &light));
        assert!(no_needle(&outcome), "view {i}: {outcome:?}");
    }
}

/// By day the needle has its colour: a bright line of another is another hand, or something that lies on the glass. The same under a veil of
/// half the print's contrast, and by a warmer lamp.
#[test]
fn in_the_light_of_the_reference_a_white_line_is_not_the_red_needle() {
    let day = by_day();
    let warm = |c: Colour| [c[0], 0.92 * c[1], 0.8 * c[2]];
    let warmer = Plan {
        paper: warm(day.paper),
        print: warm(day.print),
        needle: Needle { colour: warm(day.print), ..day.needle.clone() },
        ..day.clone()
    };
    for (what, plan, veil) in [("day", by_white(&day), 0.0), ("warm", warmer, 0.0), ("veil", by_white(&day), 48.0)] {
        let other = Drawn::new(plan);
        for (i, view, light) in views() {
            let light = Light { offset: veil, gain: if veil > 0.0 { 0.8 } else { 1.0 }, ..light };
            let outcome = KNOWN.read(&other.at(50.0 + 17.3 * i as f64, &view, &light).photo);
            assert!(no_needle(&outcome), "{what}, view {i}: {outcome:?}");
        }
    }
}

fn by_white(day: &Plan) -> Plan {
    Plan { needle: Needle { colour: day.print, ..day.needle.clone() }, ..day.clone() }
}
