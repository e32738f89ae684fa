//! How often the bands of few photos, of unequal sides and of runs over time hold, as tables. Takes some minutes; with a number
//! it draws that many times a row (4000 else).
use needleband::diagnostics::Flag;
use needleband::maths::between::{Sample, Spread};
use needleband::maths::estimate::Estimate;
use needleband::maths::holm::holm;
use needleband::maths::measured::Measured;
use needleband::maths::student::two_sided;
use needleband::maths::units::Unit;
use needleband::reading::{Outcome, Reading, Record};
use needleband::settle::{Verdict, settle};

/// Xorshift64* (Vigna 2016) and Box and Muller 1958: enough for tables, and no further crate.
struct Draw(u64);

impl Draw {
    fn even(&mut self) -> f64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        ((self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 11) as f64 + 0.5) / (1u64 << 53) as f64
    }
    fn normal(&mut self) -> f64 {
        let (u, v) = (self.even(), self.even());
        (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
    }
}

type Side = (usize, f64, f64);

fn drawn((n, own, between): Side, draw: &mut Draw) -> Option<(f64, Sample)> {
    let values: Vec<f64> = (0..n).map(|_| own * draw.normal() + between * draw.normal()).collect();
    Some((values.iter().sum::<f64>() / n as f64, Sample::of(&values, &vec![own * own; n])?))
}

fn of_difference(b: &(f64, Sample), a: &(f64, Sample)) -> (f64, Spread) {
    let terms = (b.1.explained / b.1.count as f64 + a.1.explained / a.1.count as f64).sqrt();
    (a.0 - b.0, Spread::of(terms, &[b.1.of_mean(), a.1.of_mean()]))
}

const RATIOS: [f64; 7] = [0.1, 0.2, 0.3, 0.5, 1.0, 2.0, 3.0];

fn percent(hits: usize, of: usize) -> String {
    format!("{:5.1}", 100.0 * hits as f64 / of.max(1) as f64)
}

fn row(name: &str, cells: impl Iterator<Item = String>) {
    println!("| {name} | {} |", cells.collect::<Vec<_>>().join(" | "));
}

fn one_side(runs: usize, draw: &mut Draw) {
    println!("\nOne side, band of its mean, % held; own over between {RATIOS:?}");
    for n in 2..=10 {
        let held = |r: f64, draw: &mut Draw| {
            (0..runs)
                .filter(|_| {
                    drawn((n, r, 1.0), draw).is_some_and(|(mean, s)| mean.abs() <= Spread::of(r / (n as f64).sqrt(), &[s.of_mean()]).half)
                })
                .count()
        };
        row(&format!("n = {n}"), RATIOS.map(|r| percent(held(r, draw), runs)).into_iter());
    }
}

fn two_sides(runs: usize, draw: &mut Draw) {
    println!("\nTwo sides, band of the change, % held; own over between {RATIOS:?}");
    let pairs = [(2, 2), (2, 3), (3, 3), (2, 5), (2, 10), (3, 5), (3, 10), (4, 4), (4, 10), (6, 6), (10, 10)];
    for (n, m) in pairs {
        for (what, between, share) in [("alike", 1.0, 1.0), ("quiet after", 0.1, 1.0), ("own a fifth after", 1.0, 0.2)] {
            let cell = |r: f64| {
                let mut held = 0;
                for _ in 0..runs {
                    if let (Some(b), Some(a)) = (drawn((n, r, 1.0), draw), drawn((m, share * r, between), draw)) {
                        let (delta, spread) = of_difference(&b, &a);
                        held += usize::from(delta.abs() <= spread.half);
                    }
                }
                percent(held, runs)
            };
            row(&format!("{n} and {m}, {what}"), RATIOS.map(cell).into_iter());
        }
    }
}

fn lent(runs: usize, draw: &mut Draw) {
    println!("\nOne photo beside n, the scatter lent, % held; own over between {RATIOS:?}");
    for n in [2, 3, 4, 5, 10] {
        for share in [1.0, 0.2, 3.0] {
            let cell = |r: f64| {
                let mut held = 0;
                for _ in 0..runs {
                    let Some((mean, s)) = drawn((n, r, 1.0), draw) else { continue };
                    let one = share * r * draw.normal() + draw.normal();
                    let own = r * r / n as f64 + (share * r).powi(2);
                    let spread = Spread::of(own.sqrt(), &[s.lent(own, 1.0 + 1.0 / n as f64)]);
                    held += usize::from((one - mean).abs() <= spread.half);
                }
                percent(held, runs)
            };
            row(&format!("n = {n}, own of the one {share}"), RATIOS.map(cell).into_iter());
        }
    }
}

fn family(runs: usize, draw: &mut Draw) {
    println!(
        "\nSix stages, each against the one before and the first (Holm): % of families with a false alarm; own over between {RATIOS:?}"
    );
    for n in [2, 3, 4, 5, 10] {
        for (what, between) in [("alike", [1.0; 6]), ("noisy and quiet", [1.0, 0.1, 1.0, 0.1, 1.0, 0.1])] {
            let cell = |r: f64| {
                let mut alarms = 0;
                for _ in 0..runs {
                    let all: Vec<_> = between.iter().filter_map(|s| drawn((n, r, *s), draw)).collect();
                    let pairs = (1..6).map(|k| (k - 1, k)).chain((2..6).map(|k| (0, k)));
                    let p: Vec<f64> =
                        pairs.map(|(i, j)| of_difference(&all[i], &all[j])).map(|(delta, s)| two_sided(delta / s.sigma, s.dof)).collect();
                    alarms += usize::from(holm(&p).iter().any(|p| *p < 0.05));
                }
                percent(alarms, runs)
            };
            row(&format!("n = {n}, {what}"), RATIOS.map(cell).into_iter());
        }
    }
}

/// Readings of a course with a scatter of their own and one that follows itself.
fn readings(course: impl Fn(f64) -> f64, times: &[f64], own: f64, between: f64, rho: f64, draw: &mut Draw) -> Vec<Record> {
    let mut follow = between * draw.normal();
    times
        .iter()
        .enumerate()
        .map(|(k, t)| {
            let value = course(*t) + follow + own * draw.normal();
            follow = rho * follow + (1.0 - rho * rho).sqrt() * between * draw.normal();
            let temperature = Measured::new(value, [(format!("photo:{k}/needle"), own)]);
            let half = 1.959_964 * own;
            let flags: Vec<Flag> = Vec::new();
            let outcome =
                Outcome::Reading(Reading { temperature: Estimate::known(temperature, (value - half, value + half)), unit: Unit::C, flags });
            Record { photo_id: format!("{k}"), taken_at: None, size: (0, 0), outcome, evidence: None }
        })
        .collect()
}

/// Name, course, its end, seconds, photos.
type Course = (&'static str, fn(f64) -> f64, f64, f64, usize);

fn runs_over_time(runs: usize, draw: &mut Draw) {
    let courses: [Course; 19] = [
        ("-40 exp(-t/250) - 8 exp(-t/2500), 1200 s", |t| 90.0 - 40.0 * (-t / 250.0).exp() - 8.0 * (-t / 2500.0).exp(), 90.0, 1200.0, 21),
        ("-40 exp(-t/250) - 5 exp(-t/1200), 1500 s", |t| 90.0 - 40.0 * (-t / 250.0).exp() - 5.0 * (-t / 1200.0).exp(), 90.0, 1500.0, 26),
        ("-40 exp(-t/250) - 4 exp(-t/2500), 1200 s", |t| 90.0 - 40.0 * (-t / 250.0).exp() - 4.0 * (-t / 2500.0).exp(), 90.0, 1200.0, 21),
        ("-5 exp(-t/1200), 1500 s", |t| 90.0 - 5.0 * (-t / 1200.0).exp(), 90.0, 1500.0, 26),
        ("-6 exp(-t/2500), 300 s", |t| 90.0 - 6.0 * (-t / 2500.0).exp(), 90.0, 300.0, 11),
        ("-6 exp(-t/2500), 900 s", |t| 90.0 - 6.0 * (-t / 2500.0).exp(), 90.0, 900.0, 16),
        ("-50 exp(-t/340), 1500 s", |t| 90.0 - 50.0 * (-t / 340.0).exp(), 90.0, 1500.0, 26),
        ("-50 exp(-t/250), 1250 s", |t| 90.0 - 50.0 * (-t / 250.0).exp(), 90.0, 1250.0, 26),
        ("-50 exp(-t/250), 1500 s", |t| 90.0 - 50.0 * (-t / 250.0).exp(), 90.0, 1500.0, 26),
        ("-50 exp(-t/340), 2040 s", |t| 90.0 - 50.0 * (-t / 340.0).exp(), 90.0, 2040.0, 35),
        ("-50 exp(-t/340), 3000 s", |t| 90.0 - 50.0 * (-t / 340.0).exp(), 90.0, 3000.0, 51),
        ("level, 300 s", |_| 90.0, 90.0, 300.0, 11),
        ("level, 1200 s", |_| 90.0, 90.0, 1200.0, 21),
        // courses on which nothing was chosen
        ("-35 exp(-t/300) - 6 exp(-t/1800), 1500 s", |t| 90.0 - 35.0 * (-t / 300.0).exp() - 6.0 * (-t / 1800.0).exp(), 90.0, 1500.0, 31),
        ("-46 exp(-t/340) - 4 exp(-t/2500), 2040 s", |t| 90.0 - 46.0 * (-t / 340.0).exp() - 4.0 * (-t / 2500.0).exp(), 90.0, 2040.0, 35),
        (
            "-60 exp(-t/200) - 12 exp(-t/3000), 1000 s",
            |t| 110.0 - 60.0 * (-t / 200.0).exp() - 12.0 * (-t / 3000.0).exp(),
            110.0,
            1000.0,
            21,
        ),
        ("25 exp(-t/400) + 3 exp(-t/3600), 2400 s", |t| 80.0 + 25.0 * (-t / 400.0).exp() + 3.0 * (-t / 3600.0).exp(), 80.0, 2400.0, 41),
        ("-65 exp(-t/180), 1500 s", |t| 95.0 - 65.0 * (-t / 180.0).exp(), 95.0, 1500.0, 31),
        ("30 exp(-t/420), 2500 s", |t| 70.0 + 30.0 * (-t / 420.0).exp(), 70.0, 2500.0, 42),
    ];
    println!("\nRuns over time: % settled, steady, approaching, not settled; band of the level held; its half width (median); limits held");
    for (name, course, end, span, n) in courses {
        for (own, between, rho) in [(0.05, 0.1, 0.0), (0.05, 0.3, 0.0), (0.3, 0.3, 0.0), (0.05, 0.3, 0.5)] {
            println!("{}", told(name, (course, end), (span, n), (own, between, rho), runs, draw));
        }
    }
    println!("\nThe same with few readings that follow each other");
    for n in [5, 6, 8, 10, 12] {
        for rho in [0.0, 0.5, 0.7] {
            println!("{}", told("level, 60 s apart", (|_| 90.0, 90.0), (60.0 * (n - 1) as f64, n), (0.05, 0.3, rho), runs, draw));
            let warm: fn(f64) -> f64 = |t| 90.0 - 50.0 * (-t / 250.0).exp();
            println!("{}", told("-50 exp(-t/250), 120 s apart", (warm, 90.0), (120.0 * (n - 1) as f64, n), (0.05, 0.3, rho), runs, draw));
        }
    }
}

fn told(
    name: &str,
    (course, end): (fn(f64) -> f64, f64),
    (span, n): (f64, usize),
    (own, between, rho): (f64, f64, f64),
    runs: usize,
    draw: &mut Draw,
) -> String {
    let times: Vec<f64> = (0..n).map(|k| span * k as f64 / (n - 1) as f64).collect();
    let given: Vec<Option<f64>> = times.iter().map(|t| Some(*t)).collect();
    let [mut settled, mut steady, mut approaching, mut named, mut held, mut open, mut limits] = [0; 7];
    let mut halves = Vec::new();
    for _ in 0..runs {
        let Ok(a) = settle(&readings(course, &times, own, between, rho, draw), &given) else { continue };
        settled += usize::from(matches!(a.verdict, Verdict::Settled { .. }));
        steady += usize::from(matches!(a.verdict, Verdict::Steady { .. }));
        approaching += usize::from(matches!(a.verdict, Verdict::Approaching { .. }));
        if let Verdict::NotSettled { low, high } = a.verdict {
            open += 1;
            limits += usize::from(low <= end && end <= high);
        }
        if let Some(level) = a.level {
            named += 1;
            let (low, high) = level.temperature.band();
            held += usize::from(low <= end && end <= high);
            halves.push(0.5 * (high - low));
        }
    }
    halves.sort_by(f64::total_cmp);
    let half = halves.get(halves.len() / 2).copied().unwrap_or(f64::NAN);
    let [settled, steady, approaching, not] = [settled, steady, approaching, open].map(|k| percent(k, runs));
    format!(
        "| {name}, {n} photos, own {own}, between {between}, correlation {rho} | {settled} | {steady} | {approaching} | {not} | {} | {half:.2} | {} |",
        percent(held, named),
        percent(limits, open)
    )
}

fn main() {
    let runs = std::env::args().nth(1).and_then(|n| n.parse().ok()).unwrap_or(4000);
    let draw = &mut Draw(0x9E37_79B9_7F4A_7C15);
    if std::env::args().nth(2).as_deref() != Some("runs") {
        one_side(runs, draw);
        two_sides(runs, draw);
        lent(runs, draw);
        family(runs, draw);
    }
    runs_over_time(runs.div_ceil(10), draw);
}
