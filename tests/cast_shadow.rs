//! A reference photo in low sun: the needle's shadow on the light face is a stronger step than the red needle that casts it.
use crate::support::case::{Known, reading};
use crate::support::light::Light;
use crate::support::looks;
use crate::support::plan::{Needle, Plan, Shadow};
use crate::support::view::View;

/// A red needle over a grey face, with a shadow beside it.
fn in_the_sun(shift: (f64, f64), depth: f64) -> Plan {
    let plan = looks::night();
    let needle = Needle { colour: [188.0, 72.0, 62.0], hub_colour: [70.0, 70.0, 72.0], ..plan.needle };
    let shadow = Some(Shadow { shift, depth, soft: 0.03 });
    let print = [224.0, 226.0, 228.0];
    Plan { paper: [128.0, 130.0, 132.0], print, dash: [70.0, 70.0, 72.0], zone: None, bezel: None, needle, shadow, ..plan }
}

#[test]
fn the_coloured_needle_is_learned_and_not_its_shadow() {
    for (i, shift) in [(0.12, -0.1), (-0.1, 0.13), (0.13, 0.08), (-0.14, -0.05)].into_iter().enumerate() {
        let view = View::straight(640, 480, 168.0).tilted(5.0 * i as f64, 70.0 * i as f64);
        let value = 62.0 + 21.0 * i as f64;
        let known = Known::new(in_the_sun(shift, 0.75), value, &view);
        let contrast = known.calibration.dial.needle.contrast;
        assert!(contrast[0] > 5.0 && contrast[1] < -20.0, "reference {i}: learned {contrast:.0?}, a shadow is below 0 in all");
        let read = known.calibration.needle_reads.unwrap_or_else(|| panic!("reference {i}: its own needle is not read"));
        // a deep shadow along one flank pulls the line in the reference itself: 0.7 % of the scale at most here
        assert!((read - value).abs() < 1.0, "reference {i}: reads itself {read:.2} for {value}");
        // and the sun from elsewhere later on
        let later = Known { drawn: crate::support::draw::Drawn::new(in_the_sun((-shift.1, shift.0), 0.5)), ..known };
        let light = Light { noise: 2.0, seed: 40 + i as u64, ..Light::default() };
        let other = 140.0 - 19.0 * i as f64;
        let r = reading(later.read_at(other, &view.rolled(6.0), &light), &format!("reference {i}"));
        let z = (r.temperature.value() - other) / r.temperature.sigma();
        assert!(z.abs() < 3.5, "reference {i}: {other} is read {:.2}, {z:.1} standard uncertainties off", r.temperature.value());
    }
}

#[test]
fn a_red_limit_line_beside_a_black_needle_is_not_the_needle() {
    for (i, limit) in [88.0, 91.0, 109.0, 113.0].into_iter().enumerate() {
        let plan = Plan { zone: Some(([limit - 0.6, limit + 0.6], [0.3, 0.95], [225.0, 0.0, 0.0])), ..looks::day() };
        let known = Known::new(plan, 100.0, &View::straight(640, 480, 150.0).tilted(4.0 * i as f64, 90.0 * i as f64));
        let contrast = known.calibration.dial.needle.contrast;
        assert!(contrast.iter().all(|c| *c < -100.0), "limit at {limit}: learned {contrast:.0?}");
        let read = known.calibration.needle_reads.unwrap_or_else(|| panic!("limit at {limit}: its own needle is not read"));
        assert!((read - 100.0).abs() < 0.5, "limit at {limit}: reads itself {read:.2} for 100");
    }
}
