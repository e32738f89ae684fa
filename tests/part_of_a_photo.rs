//! A photo that was cut out of a larger one: EXIF still tells the focal length of the whole, the part has a longer one.
use crate::support::case::{Clicks, DAY, Known, NIGHT, reading};
use crate::support::light::Light;
use crate::support::view::View;
use needleband::calibrate::calibrate;
use needleband::photo::Photo;
use needleband::reading::Reader;

/// The middle of a photo, by so much of its width, seen at a slant; EXIF as of the whole.
fn part(known: &Known, value: f64, (times, tilt, azimuth): (f64, f64, f64)) -> (Photo, View) {
    let whole = View::straight(560, 520, 170.0).tilted(tilt, azimuth);
    let view = View { focal: times * whole.focal, ..whole };
    let light = Light { noise: 2.0, seed: 70 + azimuth as u64, ..Light::default() };
    (Photo { focal_ratio: Some(whole.focal), ..known.drawn.at(value, &view, &light).photo }, view)
}

#[test]
fn a_slanted_reference_that_was_cut_out_gives_the_right_scale() {
    for (known, times, tilt, azimuth) in [(&*NIGHT, 2.8, 24.0, 60.0), (&*DAY, 2.2, 22.0, 200.0)] {
        let plan = &known.drawn.plan;
        let at = |u: f64| plan.labels[0] + u * plan.span();
        let (photo, view) = part(known, at(0.3), (times, tilt, azimuth));
        let picture = known.drawn.at(at(0.3), &view, &Light::default());
        let request = Clicks { noise: 1.0, pivot: true, seed: 9 }.request(plan, &picture);
        let reader = Reader::new(calibrate(&photo, &request).unwrap().dial);
        for i in 0..6 {
            let (value, other) = (at(0.1 + 0.15 * f64::from(i)), View::straight(520, 480, 150.0).tilted(8.0, 50.0 * f64::from(i)));
            let r = reading(reader.read(&known.drawn.at(value, &other, &Light::default()).photo).outcome, plan.name);
            let off = r.temperature.value() - value;
            assert!(off.abs() < 3.5 * r.temperature.sigma(), "{} {i}: {off} with {}", plan.name, r.temperature.sigma());
            assert!(off.abs() < 0.0025 * plan.span(), "{} {i}: {:.2} % of the scale", plan.name, 100.0 * off / plan.span());
        }
    }
}

#[test]
fn a_slanted_part_shows_its_tilt() {
    let (photo, _) = part(&NIGHT, 90.0, (3.0, 40.0, 110.0));
    let tilt = NIGHT.reader.read(&photo).evidence.map_or(f64::NAN, |e| e.tilt);
    // EXIF's own focal length makes 27° of it
    assert!((tilt - 40.0).abs() < 4.0, "{tilt}");
}
