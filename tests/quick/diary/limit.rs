//! Stages against a limit: margin, band and probability in every output.
use super::{diary, note, noted};
use crate::handmade::without;
use needleband::diary::{Diary, Note, Project, project};
use needleband::output::{json, markdown, page, text};
use needleband::reading::Outcome;

/// JCGM 106:2012, 7.4, as a stage: 13.6 with 1.8 in all, of which the dial's 0.8 is a part. The second stage stands partly below the scale,
/// and 40 minutes of the third rise to 15.
fn judged(limit: f64) -> (Project, Diary) {
    let mut low = note("cooler", &[12.0], 0.6);
    low.photos.push(noted(without("off", Outcome::BelowScale), None));
    let values: Vec<f64> = (0..40).map(|k| 15.0 - 10.0 * (-f64::from(k) / 3.0).exp()).collect();
    let mut run = Note { warm_up: true, ..note("thermostat", &values, 0.1) };
    run.photos.iter_mut().enumerate().for_each(|(k, p)| p.seconds = Some(120.0 * k as f64));
    let d = diary(vec![note("stock", &[13.6], (1.8_f64 * 1.8 - 0.64).sqrt()), low, run]);
    (project(&d).unwrap().against(limit), d)
}

/// 13.6 is above 16.3 with 1 - Φ(1.5) = 6.68 %; where only an upper limit is known the probability is anything from 0 to that of the
/// limit, 1 - Φ(4.3) with 0.8² + 0.6² = 1.
#[test]
fn the_margin_of_each_stage_by_hand() {
    let (p, _) = judged(16.3);
    let [a, b, c] = [0, 1, 2].map(|k| p.stages[k].margin.unwrap());
    assert!((a.margin - 2.7).abs() < 1e-12 && (a.above.0 - 0.066_807_2).abs() < 1e-6 && (a.band.0 - (2.7 - 1.959_964 * 1.8)).abs() < 1e-5);
    assert!(b.above.0 == 0.0 && (b.above.1 - 8.54e-6).abs() < 1e-8 && b.band.1.is_infinite(), "{b:?}");
    // the run's level stands at 15 with 0.8 of the dial and little else: 1 - Φ(1.3/0.8) = 5.2 %
    assert!((c.margin - 1.3).abs() < 0.02 && (c.above.0 - 0.052).abs() < 0.003, "{c:?}");
    assert!(project(&diary(vec![note("stock", &[13.6], 1.0)])).unwrap().stages[0].margin.is_none());
}

#[test]
fn every_output_tells_it_with_its_caution() {
    let (p, d) = judged(16.3);
    let told = [text::stages(&p, &d, true), page(&p, &d).unwrap(), markdown(&p, &d, "x").unwrap().text];
    for out in &told {
        for part in [
            "“stock”: 2.7 ± 3.5 °C below the limit of 16.3 °C (61.34 °F); the probability of being above it is 6.7 %.",
            "“cooler”: 2.34 °C or more below the limit of 16.3 °C (61.34 °F); the probability of being above it is less than 0.1 %.",
            "A margin to a limit is no alarm",
        ] {
            assert!(out.contains(part), "{part}: {out}");
        }
    }
    // drawn on both plots of the page, in each row of the stages', and told in the words for those who do not see them
    let lines = |out: &str| out.matches("stroke=\"var(--warn)\"").count();
    let (plain, _) = (project(&d).unwrap(), ());
    assert_eq!((lines(&told[1]), lines(&page(&plain, &d).unwrap())), (4, 0));
    assert!(told[1].contains("The upright line is the limit of 16.3 °C (61.34 °F).") && told[2].contains("Limit: 16.3 °C (61.34 °F)."));
    assert!(!text::stages(&plain, &d, false).contains("limit of"));
    let read = |p: &Project| -> serde_json::Value { serde_json::from_str(&json::stages(p, &d).unwrap()).unwrap() };
    let out = read(&p);
    assert_eq!((out["limit"].as_f64(), out["stages"][0]["limit"]["stands"].as_str()), (Some(16.3), Some("not_told")));
    assert!(out["stages"][1]["limit"]["high"].is_null() && out["stages"][1]["limit"]["stands"] == "below");
    assert!(read(&plain)["limit"].is_null() && read(&plain)["stages"][0]["limit"].is_null());
}

/// The answer of a project whose last stage is partly off the scale is one short sentence with both units.
#[test]
fn a_limited_change_is_one_sentence() {
    let mut low = note("cooler", &[46.3], 0.02);
    low.photos.push(noted(without("off", Outcome::BelowScale), None));
    let d = diary(vec![note("stock", &[85.3], 0.02), low]);
    let said = text::stages(&project(&d).unwrap(), &d, true);
    let first = said.lines().next().unwrap();
    // 38.94 °C are 70.1 °F
    assert!(first.starts_with("Gearbox oil: at least 38.9 °C lower (70.1 °F or more) from “stock” to “cooler”"), "{first}");
    assert!(said.contains("1 photo after stands below the scale"), "{said}");
}
