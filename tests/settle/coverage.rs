//! How often the 95 % band of the settled level holds the truth, over simulated warm-ups.
use super::{Errors, approach, holds, run, settle};
use needleband::settle::Verdict;

struct Tally {
    named: usize,
    held: usize,
    tau_held: usize,
    false_alarm: usize,
}

fn tally(n: usize, every: f64, own: f64, wander: f64, rho: f64, draws: u64) -> Tally {
    let mut t = Tally { named: 0, held: 0, tau_held: 0, false_alarm: 0 };
    for seed in 0..draws {
        let mut errors = Errors::new(20_260_814 + 1000 * seed, rho);
        let mut values = approach([93.6, -49.6, 340.0], n, every, wander, &mut errors);
        values.iter_mut().for_each(|v| *v += own * errors.normal());
        let (records, times) = run(&values, own, every);
        // the dial's part is a shift that no simulation of readings can show: only the scatter is judged
        let bare: Vec<_> = records.iter().map(without_dial).collect();
        let a = settle(&bare, &times).unwrap();
        match (&a.level, a.tau) {
            (Some(level), Some(tau)) => {
                t.named += 1;
                t.held += usize::from(holds(level.band, 93.6));
                t.tau_held += usize::from(holds((tau.low, tau.high), 340.0));
            }
            _ => {
                if seed < 400 && !matches!(a.verdict, Verdict::NotSettled { .. } | Verdict::Approaching { .. }) && t.false_alarm < 4 {
                    println!("{:?} {:?} {:?}", a.verdict, a.notes, a.drift);
                }
                t.false_alarm += usize::from(!matches!(a.verdict, Verdict::NotSettled { .. } | Verdict::Approaching { .. }));
            }
        }
    }
    t
}

fn without_dial(r: &needleband::reading::Record) -> needleband::reading::Record {
    use needleband::base::measured::Measured;
    use needleband::reading::Outcome;
    let mut r = r.clone();
    if let Outcome::Reading(x) = &mut r.outcome {
        let terms = x.temperature.terms().iter().filter(|(k, _)| k.starts_with("photo:")).map(|(k, t)| (k.clone(), *t)).collect();
        x.temperature = Measured::new(x.temperature.value(), terms);
        let half = 1.959964 * x.temperature.sigma();
        x.band = (x.temperature.value() - half, x.temperature.value() + half);
    }
    r
}

#[test]
fn level_runs() {
    for (n, rho) in [(8, 0.0), (20, 0.0), (20, 0.5), (60, 0.5)] {
        let (mut steady, mut held) = (0, 0);
        let mut others = std::collections::BTreeMap::new();
        for seed in 0..400 {
            let mut errors = Errors::new(1 + 1000 * seed, rho);
            let values = approach([90.0, 0.0, 1.0], n, 30.0, 0.3, &mut errors);
            let (records, times) = run(&values, 0.05, 30.0);
            let bare: Vec<_> = records.iter().map(without_dial).collect();
            let a = settle(&bare, &times).unwrap();
            *others.entry(a.verdict.code()).or_insert(0) += 1;
            if let Some(l) = a.level {
                steady += 1;
                held += usize::from(holds(l.band, 90.0));
            }
        }
        println!("level {n} {rho}: named {steady} held {:.3} {others:?}", held as f64 / steady as f64);
    }
}

#[test]
fn report() {
    for (n, every, own, wander, rho) in [
        (26, 60.0, 0.2, 0.0, 0.0),
        (26, 60.0, 0.05, 0.3, 0.0),
        (26, 60.0, 0.05, 0.3, 0.5),
        (60, 30.0, 0.05, 0.3, 0.5),
        (60, 30.0, 0.05, 0.3, 0.7),
        (12, 120.0, 0.05, 0.3, 0.0),
        (12, 120.0, 0.05, 0.3, 0.5),
        (8, 180.0, 0.05, 0.3, 0.0),
        (20, 60.0, 0.05, 0.3, 0.0),
        (14, 60.0, 0.05, 0.3, 0.0),
    ] {
        let t = tally(n, every, own, wander, rho, 400);
        println!(
            "{n} {every} {own} {wander} {rho}: named {} held {:.3} tau {:.3} alarm {}",
            t.named,
            t.held as f64 / t.named as f64,
            t.tau_held as f64 / t.named as f64,
            t.false_alarm
        );
    }
}
