//! Plans: by hand, against simulated comparisons, and what cannot be planned.
use super::handmade::dial;
use super::handmade::drops::{Drop, found};
use crate::support::stats::share_sigma;
use crate::support::sweep::cases;
use needleband::dial::{Amount, Declared, Dial};
use needleband::maths::power::Expected;
use needleband::maths::units::Unit;
use needleband::plan::{PlanError, Request, plan};

fn request(drop: f64, scatter: f64) -> Request {
    Request { drop, scatter: Some(scatter), at: Some(95.0) }
}

fn declared(d: Declared) -> Dial {
    dial().declare(d).unwrap()
}

/// Photos as planned do what the plan says, and not many more are asked for than it takes: with one photo fewer a side the drop is called
/// real less often than is promised.
#[test]
fn as_many_photos_as_planned_show_the_drop() {
    for (drop, scatter) in [(5.0, 1.5), (2.0, 0.8), (3.0, 2.0)] {
        let p = plan(&dial(), &request(drop, scatter)).unwrap();
        let photos = p.sizes[2].photos.unwrap();
        let as_planned = Drop { photos, at: p.at, size: drop, reading: p.sizes[2].reading, wander: scatter };
        let share = found(&dial(), &as_planned, draws());
        assert!(share > least(), "{as_planned:?}: {share}");
        let fewer = found(&dial(), &Drop { photos: photos - 1, ..as_planned }, draws());
        assert!(fewer < 0.95 + (0.95 - least()), "{} photos would do as well: {fewer}", photos - 1);
    }
}

fn draws() -> u32 {
    cases(1000, 4000)
}

/// Three standard deviations of the binomial below a true 95 % (4000 draws: 1.03 %), so one of 700 right promises falls below; half a per
/// cent more for the equally likely scatters (48 a side) that the limit is worked out with.
fn least() -> f64 {
    0.95 - 3.0 * share_sigma(0.95, f64::from(draws())) - 0.005
}

/// The smallest drop for which so few photos are planned: there the promise is tightest. `None` where fewer photos show as much.
fn tightest(d: &Dial, photos: usize, wander: f64) -> Option<Drop> {
    let at_300_px = |drop: f64| plan(d, &request(drop, wander)).map(|p| (p.sizes[2], p.fixed)).unwrap();
    let mut size = 1.0;
    for _ in 0..4 {
        let (s, fixed) = at_300_px(size);
        size = 1.001 * Expected { photos, fixed, reading: s.reading, wander }.detection_limit();
    }
    let (s, _) = at_300_px(size);
    (s.photos == Some(photos)).then_some(Drop { photos, at: 95.0, size, reading: s.reading, wander })
}

/// Two to five photos a side, with no wander at all, with one as large as what a photo says of itself (0.07 °C), and with one that is
/// nearly all; plain, and with gauge accuracy and stiction declared.
#[test]
fn few_photos_keep_the_promise_however_small_the_wander_is() {
    let all = Declared { gauge_accuracy: Some(Amount::Value(2.0)), stiction: Some(Amount::Value(0.2)), flats: Vec::new() };
    for (d, wanders) in [(dial(), &[0.07, 0.0, 0.5][..cases(1, 3)]), (declared(all), &[0.07])] {
        for (photos, wander) in [2, 5, 3, 4].into_iter().take(cases(2, 4)).flat_map(|n| wanders.iter().map(move |s| (n, *s))) {
            let drop = tightest(&d, photos, wander).unwrap_or_else(|| panic!("{photos} photos are never planned for {wander}"));
            let share = found(&d, &drop, draws());
            assert!(share > least(), "{drop:?}: {share}");
        }
    }
}

/// The needle's angle to a temperature: 3 degrees a °C, so 0.2° is 0.0667 °C; half the size takes 2^1.5 times that.
#[test]
fn reading_and_size_by_hand() {
    let p = plan(&dial(), &request(5.0, 1.0)).unwrap();
    let sizes: Vec<(u32, f64)> = p.sizes.iter().map(|s| (s.px, s.reading)).collect();
    assert_eq!(sizes.iter().map(|s| s.0).collect::<Vec<_>>(), [150, 200, 300]);
    for ((_, reading), expected) in sizes.iter().zip([0.2 * 8f64.sqrt() / 3.0, 0.2 * 1.5f64.powf(1.5) / 3.0, 0.2 / 3.0]) {
        assert!((reading - expected).abs() < 1e-6, "{reading} {expected}");
    }
    let advice = p.advice().unwrap();
    assert_eq!(advice.photos, p.sizes[2].photos);
    // where reading matters, small dials ask for more photos
    let fine = plan(&dial(), &Request { drop: 0.6, scatter: Some(0.0), at: Some(95.0) }).unwrap();
    let n: Vec<usize> = fine.sizes.iter().map(|s| s.photos.unwrap_or(99)).collect();
    assert!(n[0] > n[1] && n[1] >= n[2], "{n:?}");
}

/// From 20 °C to 95 °C a tenth of 5 °C is left after ln(75/0.5) time constants; 1 - e^-3 = 95.0 % (any table).
#[test]
fn the_wait_by_hand() {
    let wait = plan(&dial(), &request(5.0, 1.0)).unwrap().wait;
    assert!((wait.time_constants - 150.0_f64.ln()).abs() < 1e-9 && (wait.from, wait.left) == (20.0, 0.5));
    assert!((75.0 * (-wait.time_constants).exp() - wait.left).abs() < 1e-9);
}

/// Stiction of ±3 °C is 3/√3 a side (JCGM 100:2008, 4.3.7) and does not average down: sqrt(2) x 1.732 = 2.449, and 3.6048 times that
/// is 8.83. No number of photos shows a drop of 8.
#[test]
fn what_the_gauge_leaves_in_doubt_no_number_of_photos_removes() {
    let sticky = declared(Declared { stiction: Some(Amount::Value(3.0)), ..Declared::default() });
    let p = plan(&sticky, &request(8.0, 0.1)).unwrap();
    assert!((p.fixed - 6.0_f64.sqrt()).abs() < 0.01, "{}", p.fixed);
    assert!((p.smallest - 3.604_8 * 6.0_f64.sqrt()).abs() < 0.04 && p.advice().is_none() && p.sizes.iter().all(|s| s.photos.is_none()));
    assert!(plan(&sticky, &request(10.0, 0.1)).unwrap().advice().is_some());
}

#[test]
fn the_hardest_place_is_never_easier_than_a_given_one() {
    let d = dial();
    let all = plan(&d, &Request { drop: 5.0, scatter: Some(1.0), at: None }).unwrap();
    for at in [50.0, 70.0, 90.0, 119.0] {
        let here = plan(&d, &Request { drop: 5.0, scatter: Some(1.0), at: Some(at) }).unwrap();
        assert!(all.fixed.hypot(all.sizes[0].reading) >= here.fixed.hypot(here.sizes[0].reading) - 0.002, "{at}");
    }
    assert!(all.at >= 45.0 && all.at <= 120.0 && !all.at_given);
}

#[test]
fn what_cannot_be_planned_says_why() {
    let why = |d: &Dial, r: Request| plan(d, &r).unwrap_err();
    let too_large = why(&dial(), request(80.0, 1.0));
    assert!(matches!(too_large, PlanError::TooLarge { .. }) && too_large.to_string().contains("80.0 °C long"), "{too_large}");
    for at in [41.0, 121.0] {
        assert!(matches!(why(&dial(), Request { drop: 5.0, scatter: None, at: Some(at) }), PlanError::OffScale { .. }));
    }
    let flat = declared(Declared { flats: vec![(75.0, 97.0)], ..Declared::default() });
    assert_eq!(why(&flat, request(5.0, 1.0)), PlanError::FlatZone);
    let beside = plan(&flat, &Request { drop: 5.0, scatter: None, at: None }).unwrap();
    assert!(beside.at <= 75.0 || beside.at - 5.0 >= 97.0, "{}", beside.at);
    assert_eq!((beside.scatter, beside.scatter_assumed, beside.unit), (1.0, true, Unit::C));
}
