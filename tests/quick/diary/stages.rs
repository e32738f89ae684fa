//! Stages: what they share cancels, what was noted twice counts once, runs give their level, and several changes are counted together.
use super::{diary, note, noted, outside, record, without};
use crate::handmade::{banded, dial};
use crate::support::light::normal;
use crate::support::stats::count_interval;
use chacha20::ChaCha8Rng;
use needleband::compare::compare;
use needleband::diagnostics::Refusal;
use needleband::diary::{Diary, From, Note, Project, Standing, line, parse, project};
use needleband::maths::estimate::Estimate;
use needleband::maths::units::Unit;
use needleband::output::{json, markdown, page, text};
use needleband::reading::{Outcome, Record, Why};
use needleband::settle::settle;
use rand::SeedableRng;

fn of(notes: Vec<Note>) -> Project {
    project(&diary(notes)).unwrap()
}

fn records(n: &Note) -> Vec<Record> {
    n.photos.iter().map(|p| p.record.clone()).collect()
}

#[test]
fn stages_share_the_dial_also_when_they_come_back_from_the_file() {
    let notes = [note("stock", &[92.0], 0.3), note("cooler", &[85.0], 0.4), note("thermostat", &[83.0], 0.3)];
    let text: String = notes.iter().map(|n| line(n).unwrap()).collect();
    let p = project(&parse(text.as_bytes()).unwrap()).unwrap();
    let step = p.step(1).unwrap();
    // by hand: sqrt(0.3² + 0.4²); the dial's 0.8 on both sides would make it 1.24
    assert!((step.delta.value() + 7.0).abs() < 1e-12 && (step.delta.sigma() - 0.5).abs() < 1e-12, "{step:?}");
    // the stage's own band keeps it: 1.96 sqrt(0.8² + 0.3²)
    let level = p.stages[0].level.as_ref().unwrap();
    assert!((level.temperature.band().1 - 92.0 - 1.959_964 * 0.854_400_4).abs() < 1e-5);
    // each pair once: two steps and one since the first, which for the second stage is its step
    let pairs: Vec<_> = p.changes.iter().map(|c| (c.from, c.to)).collect();
    assert_eq!(pairs, [(0, 1), (1, 2), (0, 2)]);
    assert_eq!((p.step(2).map(|c| c.from), p.since_first(2).map(|c| c.from), p.since_first(1)), (Some(1), Some(0), p.step(1)));
    // and each is what `compare` says of the two
    let direct = compare(&records(&notes[0]), &records(&notes[2])).unwrap();
    let c = p.since_first(2).unwrap();
    let numbers = |e: &Estimate| (e.value(), e.sigma(), e.band());
    assert_eq!(numbers(&c.delta), numbers(&direct.delta));
}

#[test]
fn a_photo_noted_twice_in_a_stage_counts_once_and_is_named() {
    let twice = note("stock", &[92.0, 90.0], 0.3);
    let again = Note { photos: vec![twice.photos[0].clone()], ..twice.clone() };
    let p = of(vec![twice.clone(), note("cooler", &[85.0], 0.3), again]);
    let s = &p.stages[0];
    assert_eq!((p.stages.len(), s.notes.as_slice(), s.photos), (2, &[0, 2][..], 3));
    // once: the mean of 92 and 90
    assert!((s.level.as_ref().unwrap().temperature.value() - 91.0).abs() < 1e-12);
    assert_eq!((s.not_counted.len(), s.not_counted[0].file.as_str(), s.not_counted[0].why.clone()), (1, "stock0.jpg", Why::Repeated));
    assert!(text::stages(&p, &diary(Vec::new()), true).contains("stock0.jpg: the same file as an earlier one; counted once"));
    // in two stages it stands on both sides, and that is said
    let other = Note { photos: vec![twice.photos[0].clone()], ..note("cooler", &[], 0.3) };
    let p = of(vec![twice, other]);
    assert!(p.changes[0].notes.iter().any(|n| n.contains("1 photo is on both sides")), "{:?}", p.changes[0].notes);
}

/// Two changes of p = 0.03 each by themselves: alone each would be called real, together neither is.
#[test]
fn several_changes_are_counted_together() {
    // four photos that agree, 2 each: sigma of a stage 1, of a change sqrt(2); z for a two-sided 3 % is 2.170 (normal table)
    let by = 2.170_090_378 * 2.0_f64.sqrt();
    let alone = of(vec![note("a", &[90.0; 4], 2.0), note("b", &[90.0 + by; 4], 2.0)]);
    assert!((alone.changes[0].p - 0.03).abs() < 1e-6 && alone.changes[0].standing == Standing::Real);
    assert_eq!(alone.changes[0].p, alone.changes[0].adjusted);
    let p = of(vec![note("a", &[90.0; 4], 2.0), note("b", &[90.0 + by; 4], 2.0), note("c", &[90.0; 4], 2.0)]);
    // probabilities 0.03, 0.03, 1; adjusted by hand 3 x 0.03, then 2 x 0.03 held up to it, then 1
    let adjusted: Vec<f64> = p.changes.iter().map(|c| c.adjusted).collect();
    assert!((adjusted[0] - 0.09).abs() < 1e-5 && adjusted[1] == adjusted[0] && adjusted[2] == 1.0, "{adjusted:?}");
    assert!(p.changes[..2].iter().all(|c| c.standing == Standing::Alone) && p.changes[2].standing == Standing::NotSeen);
    assert!(p.changes[0].delta.band().0 > 0.0 && p.changes[0].together.0 < 0.0, "its own band lies off 0, the one for all does not");
    // normal quantile for 1 - 0.025/3 (SciPy: 2.393980)
    let half = p.changes[0].together.1 - p.changes[0].delta.value();
    assert!((half - 2.393_980 * 2.0_f64.sqrt()).abs() < 1e-5, "{half}");
    let said = p.changes[0].sentence(Unit::C);
    assert!(said.starts_with("a rise of") && said.ends_with("one like it may be chance"), "{said}");
    assert!(text::stages(&p, &diary(Vec::new()), true).contains("none of them is real"));
}

/// A run of 26 photos towards a level; the dial's 0.8 °C is shared by all.
fn run(stage: &str, level: f64) -> Note {
    let values: Vec<f64> =
        (0..26).map(|k| level - 50.0 * (-60.0 * f64::from(k) / 340.0).exp() + 0.1 * (7.7 * f64::from(k * k)).sin()).collect();
    let mut n = Note { warm_up: true, ..note(stage, &values, 0.1) };
    n.photos.iter_mut().enumerate().for_each(|(k, p)| p.seconds = Some(60.0 * k as f64));
    n
}

#[test]
fn a_run_gives_its_settled_level_and_the_dial_cancels() {
    let (a, b) = (run("stock", 93.6), run("cooler", 88.1));
    let p = of(vec![a.clone(), b.clone()]);
    let answer = |n: &Note| settle(&records(n), &n.photos.iter().map(|p| p.seconds).collect::<Vec<_>>()).unwrap();
    let (la, lb) = (answer(&a).level.unwrap(), answer(&b).level.unwrap());
    let s = p.stages[0].level.as_ref().unwrap();
    assert_eq!(
        (s.from, s.photos, s.temperature.value(), s.temperature.band()),
        (From::Run(0), 26, la.temperature.value(), la.temperature.band())
    );
    assert!((s.temperature.sigma() - la.temperature.sigma()).abs() < 1e-12);
    let c = p.step(1).unwrap();
    // the dial's 0.8 is the same in both levels, so only the two scatters are left
    assert!((c.delta.sigma() - la.scatter.hypot(lb.scatter)).abs() < 1e-9 && c.delta.sigma() < 0.2, "{c:?}");
    assert!(
        (c.delta.value() - (lb.temperature.value() - la.temperature.value())).abs() < 1e-12
            && c.delta.band().0 < -5.5
            && -5.5 < c.delta.band().1
    );
    // a run against photos: the scatter of the run with that of the photo, and the dial still cancels
    let p = of(vec![a.clone(), note("cooler", &[88.1, 88.2, 88.0], 0.1)]);
    let c = p.step(1).unwrap();
    assert!((c.delta.sigma() - la.scatter.hypot(0.1 / 3.0_f64.sqrt())).abs() < 1e-6, "{} {}", c.delta.sigma(), la.scatter);
    // a single photo borrows the wander of the run, and that is said
    let p = of(vec![a, note("cooler", &[88.1], 0.1)]);
    assert!(p.changes[0].notes[0].contains("the wander of the run before is used for it"));
}

/// Six readings know their wander with a few degrees of freedom, fewer still where the photos' own part is taken off. Lent to a
/// single photo they must not become more: a band with those of the level held 0.911 here.
#[test]
fn a_single_photo_against_a_run_holds_as_often_as_it_says() {
    let mut rng = ChaCha8Rng::seed_from_u64(61);
    let (own, wander) = (0.2_f64, 0.3);
    let (mut held, mut all) = (0_u64, 0_u64);
    for _ in 0..1500 {
        let mut shown = |n: usize, level: f64| -> Vec<f64> { (0..n).map(|_| level + own.hypot(wander) * normal(&mut rng)).collect() };
        let mut a = Note { warm_up: true, ..note("stock", &shown(6, 92.0), own) };
        a.photos.iter_mut().enumerate().for_each(|(k, p)| p.seconds = Some(300.0 * k as f64));
        let p = of(vec![a, note("cooler", &shown(1, 86.0), own)]);
        // a run that is taken for one not settled names no level
        if let Some(c) = p.step(1) {
            all += 1;
            held += u64::from(c.delta.band().0 <= -6.0 && -6.0 <= c.delta.band().1);
        }
    }
    let (least, _) = count_interval(all, 0.95, 0.003);
    assert!(all > 1000 && held >= least, "{held} of {all}, at least {least}");
}

#[test]
fn a_run_that_names_no_level_gives_none() {
    let mut short = run("stock", 93.6);
    short.photos.truncate(6);
    let p = of(vec![short.clone(), note("cooler", &[85.0, 85.1], 0.1)]);
    assert!(p.stages[0].level.is_none() && p.changes.is_empty());
    assert!(p.stages[0].remarks.iter().any(|r| r.contains("names no level")), "{:?}", p.stages[0].remarks);
    // with settled photos beside it those count, and of two runs the later
    let p = of(vec![short, note("stock", &[93.0, 93.1], 0.1), note("cooler", &[85.0], 0.1)]);
    assert_eq!(p.stages[0].level.as_ref().map(|l| l.from), Some(From::Photos));
    let p = of(vec![run("stock", 93.6), run("stock", 92.0), note("stock", &[91.0], 0.1)]);
    let s = &p.stages[0];
    assert!(s.level.as_ref().is_some_and(|l| l.from == From::Run(1) && (l.temperature.value() - 92.0).abs() < 0.3));
    assert!(
        s.remarks.iter().any(|r| r.contains("a later one gives the level"))
            && s.remarks.iter().any(|r| r.contains("One photo that is no run"))
    );
    // too few for any statement
    let mut few = run("stock", 93.6);
    few.photos.truncate(3);
    assert!(of(vec![few]).stages[0].remarks[0].starts_with("Of a run over time nothing can be said. "));
}

#[test]
fn what_is_declared_or_hidden_stays_so() {
    let stick = |n: Note| {
        let mut n = n;
        for p in &mut n.photos {
            if let Outcome::Reading(r) = &mut p.record.outcome {
                r.temperature = Estimate::known(r.temperature.measured().clone().with_term("stiction", 0.6), r.temperature.band());
            }
        }
        n
    };
    // stiction is whole in each side, also between a run and photos: sqrt(2) 0.6
    for second in [run("cooler", 88.0), note("cooler", &[88.0, 88.0, 88.0], 0.0)] {
        let p = of(vec![stick(run("stock", 93.6)), stick(second)]);
        let sigma = p.changes[0].delta.sigma();
        assert!(sigma > 0.6 * 2.0_f64.sqrt() && sigma < 0.9, "{sigma}");
    }
    // a flat zone hides a change inside it, however the other side was measured
    let flat = |n: Note| {
        let mut n = n;
        if let Outcome::Reading(r) = &mut n.photos[0].record.outcome {
            banded(r, (74.0, 96.0), Some((75.0, 95.0)));
        }
        n
    };
    for first in [run("stock", 84.0), note("stock", &[84.0, 84.1], 0.1)] {
        let p = of(vec![first, flat(note("cooler", &[80.0], 0.1))]);
        let c = &p.changes[0];
        assert_eq!((c.standing, c.p), (Standing::Hidden, 1.0), "{c:?}");
        assert!(c.sentence(Unit::C).starts_with("not shown") && c.delta.band().1 >= 11.0 - 1.0);
    }
}

#[test]
fn one_diary_is_of_one_gauge_and_one_unit() {
    let mut other = note("stock", &[60.0], 0.1);
    other.dial.name = "coolant".to_string();
    let p = of(vec![note("stock", &[92.0], 0.3), other, note("cooler", &[85.0], 0.3)]);
    assert_eq!(p.others, [(2, "coolant".to_string())]);
    assert!((p.stages[0].level.as_ref().unwrap().temperature.value() - 92.0).abs() < 1e-12);
    assert!(text::stages(&p, &diary(Vec::new()), true).contains("Line 2 of the diary is of the dial “coolant”, so its note is left out"));
    // the same gauge read in °F (another dial file): converted, and nothing of the dial cancels
    let mut f = note("cooler", &[185.0], 0.54);
    f.dial.unit = Unit::F;
    if let Outcome::Reading(r) = &mut f.photos[0].record.outcome {
        r.unit = Unit::F;
    }
    let p = of(vec![note("stock", &[92.0], 0.3), f]);
    assert!((p.changes[0].delta.value() + 7.0).abs() < 1e-9 && p.unit == Unit::C, "185 °F are 85 °C");
    let p = of(vec![note("stock", &[92.0], 0.3), run_with_other_dial()]);
    assert!(p.changes[0].notes.iter().any(|n| n.contains("different dial files")));
}

fn run_with_other_dial() -> Note {
    let mut n = run("cooler", 85.0);
    n.photos = n
        .photos
        .into_iter()
        .map(|p| {
            let Outcome::Reading(r) = &p.record.outcome else { panic!() };
            let own = format!("photo:{}/needle", p.record.photo_id);
            noted(record(&p.record.photo_id, r.temperature.value(), &[("dial:other/mark/1", 0.8), (&own, 0.1)]), p.seconds)
        })
        .collect();
    n
}

#[test]
fn conditions_that_differ_are_said_and_nothing_is_corrected() {
    let p = of(vec![outside(note("stock", &[92.0], 0.3), 30.0), outside(note("cooler", &[85.0], 0.3), 18.0)]);
    assert_eq!((p.stages[0].ambient, p.changes[0].delta.value()), (Some(30.0), -7.0));
    assert!(p.changes[0].notes.iter().any(|n| n == "Outside it was 12 °C cooler after: a part of the change may come from that."));
    let p = of(vec![outside(note("stock", &[92.0], 0.3), 18.0), outside(note("cooler", &[85.0], 0.3), 20.5)]);
    assert!(p.changes[0].notes.iter().any(|n| n == "Outside it was 2.5 °C warmer after: on like days the change may be another one."));
    let p = of(vec![outside(note("stock", &[92.0], 0.3), 30.0), note("cooler", &[85.0], 0.3)]);
    assert!(!p.changes[0].notes.iter().any(|n| n.starts_with("Outside")));
}

#[test]
fn a_stage_without_a_reading_is_shown_and_passed_over() {
    let none =
        Note { photos: vec![noted(without("x", Outcome::Refused(Refusal::NoDetail, String::new())), None)], ..note("night", &[], 0.1) };
    let p = of(vec![note("stock", &[92.0], 0.3), none.clone(), note("cooler", &[85.0], 0.3)]);
    assert_eq!(p.changes.iter().map(|c| (c.from, c.to)).collect::<Vec<_>>(), [(0, 2)]);
    assert_eq!((p.step(2).map(|c| c.from), p.stages[1].not_counted.len()), (Some(0), 1));
    let said = text::stages(&p, &diary(Vec::new()), true);
    assert!(said.contains("no temperature") && said.contains("The picture is black"), "{said}");
    let p = of(vec![none]);
    assert!(text::stages(&p, &Diary::default(), false).starts_with("Gearbox oil: no stage has a temperature yet.") && p.first().is_none());
    let one = of(vec![note("stock", &[92.0], 0.3)]);
    assert!(json::stages(&one, &Diary::default()).unwrap().contains("there is no second stage to compare it with yet"));
    assert!(project(&Diary::default()).is_none());
}

fn beyond(mut n: Note, id: &str) -> Note {
    n.photos.push(noted(without(id, Outcome::BelowScale), None));
    n
}

/// What is said of single photos counts those that were read, and the scatter that is lent is told as large as `compare` tells it.
#[test]
fn single_photos_are_counted_as_they_were_read() {
    let notes_of = |notes: Vec<Note>| of(notes).changes.iter().flat_map(|c| c.notes.clone()).collect::<Vec<_>>().join(" / ");
    let said = notes_of(vec![note("stock", &[92.0], 0.1), note("cooler", &[85.0], 0.1)]);
    assert!(said.contains("One photo was read in each of the two"), "{said}");
    let two = beyond(note("cooler", &[85.0, 85.2], 0.1), "low");
    let said = notes_of(vec![note("stock", &[92.0], 0.1), two.clone()]);
    assert!(said.contains("Only one photo was read before, and the 2 read after lend it no scatter") && !said.contains("each"), "{said}");
    let said = notes_of(vec![two, note("stock", &[92.0], 0.1)]);
    assert!(said.contains("Only one photo was read after, and the 2 read before lend it no scatter"), "{said}");
    // by hand: 90.00, 90.02 and 90.01 lie 0.01 apart (standard deviation), a tenth of what each photo explains
    let earlier = note("earlier", &[90.0, 90.02, 90.01], 0.1);
    let said = notes_of(vec![earlier, note("stock", &[92.0], 0.1), note("cooler", &[85.0], 0.1)]);
    assert!(said.contains("the scatter of the earlier stage \"earlier\", 0.010 °C between photos"), "{said}");
    let alike = note("earlier", &[90.0; 3], 0.1);
    let said = notes_of(vec![alike, note("stock", &[92.0], 0.1), note("cooler", &[85.0], 0.1)]);
    assert!(said.contains("0.10 °C between photos") && !said.contains(", 0 °C"), "{said}");
}

/// Long names are cut with a sign that they are, and two stages never look alike.
#[test]
fn long_names_are_cut_and_stay_apart() {
    let long = "larger cooler with the bypass ";
    let p = of(vec![note("stock", &[92.0], 0.3), note(&format!("{long}open"), &[85.0], 0.3), note(&format!("{long}shut"), &[84.0], 0.3)]);
    let said = text::stages(&p, &diary(Vec::new()), true);
    let tables: Vec<&str> = said.lines().filter(|l| l.contains("°C  ") && !l.starts_with("Mind")).collect();
    let starts: Vec<String> = tables.iter().map(|l| l.split("  ").next().unwrap().to_string()).collect();
    assert!(starts.len() == 3 + 3 && starts.iter().all(|s| s.chars().count() <= 40), "{starts:#?}");
    let different: std::collections::BTreeSet<&String> = starts.iter().collect();
    assert_eq!(different.len(), starts.len(), "{starts:#?}");
    for name in ["larger cooler wit… (2)", "larger cooler wit… (3)", "larger coo… (2) → larger coo… (3)"] {
        assert!(said.contains(name), "{name}\n{said}");
    }
}

/// A number's hyphen becomes a minus sign, a name's stays; and what is advised is something that a diary can do.
#[test]
fn a_hyphen_in_a_name_is_no_minus() {
    let d = diary(vec![note("pre-2024", &[92.0, 91.0, 92.5], 0.1), note("stock", &[92.0], 0.1), note("new", &[85.0], 0.1)]);
    let p = project(&d).unwrap();
    for said in [text::stages(&p, &d, false), page(&p, &d).unwrap(), markdown(&p, &d, "oil").unwrap().text] {
        assert!(said.contains("pre-2024") && !said.contains("pre−2024") && said.contains('−'), "{said}");
    }
    let d = diary(vec![note("stock", &[92.0], 0.1), note("new", &[85.0], 0.1)]);
    let p = project(&d).unwrap();
    for said in [text::stages(&p, &d, false), page(&p, &d).unwrap(), markdown(&p, &d, "oil").unwrap().text] {
        assert!(said.contains("Note three or more photos of a stage.") && !said.contains("scatter with"), "{said}");
    }
}

/// A name neither steers the terminal nor turns the line round, wherever it is shown; JSON keeps it as it is.
#[test]
fn names_are_shown_without_what_steers() {
    let mut none = note("st\u{202e}ock", &[92.0], 0.3);
    none.photos.push(noted(without("x", Outcome::Refused(Refusal::NoDetail, String::new())), None));
    none.photos[1].file = "a\u{1b}[2J\n.jpg".to_string();
    let d = diary(vec![none.clone(), note("cooler", &[85.0], 0.3)]);
    let p = project(&d).unwrap();
    let made = [text::stages(&p, &d, true), text::noted(&none, &d), page(&p, &d).unwrap(), markdown(&p, &d, "oil").unwrap().text];
    for said in made {
        assert!(!said.contains(['\u{1b}', '\u{202e}']) && !said.contains("[2J\n"), "{said}");
        assert!(said.contains(r"u{202e}ock") && said.contains(r"u{1b}") && said.contains(r"u{a}.jpg"), "{said}");
    }
    assert!(json::stages(&p, &d).unwrap().contains("st\u{202e}ock"));
    let path = "b\u{9b}1m.jpg".to_string();
    let mut table = text::ReadTable::new(std::slice::from_ref(&path));
    assert!(table.row(&path, &dial(), &none.photos[0].record).starts_with(r"b\u{9b}1m.jpg  92"));
}
