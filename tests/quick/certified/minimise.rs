//! Nonlinear least squares against NIST StRD certified values and standard errors; robust losses against SciPy and repeats.
use super::{close, near, number, pairs, rows};
use needleband::maths::minimise::{Fit, Loss, Options, minimise};
use needleband::maths::solve::Noise;
use rand::{RngExt, SeedableRng};

fn model(name: &str, b: &[f64], x: f64) -> f64 {
    match name {
        "Misra1a" | "BoxBOD" => b[0] * (1.0 - (-b[1] * x).exp()),
        "Misra1b" => b[0] * (1.0 - (1.0 + b[1] * x / 2.0).powi(-2)),
        "Chwirut2" => (-b[0] * x).exp() / (b[1] + b[2] * x),
        "MGH09" => b[0] * (x * x + x * b[1]) / (x * x + x * b[2] + b[3]),
        "Rat43" => b[0] / (1.0 + (b[1] - b[2] * x).exp()).powf(1.0 / b[3]),
        "MGH17" => b[0] + b[1] * (-x * b[3]).exp() + b[2] * (-x * b[4]).exp(),
        "Lanczos3" => b[0] * (-b[1] * x).exp() + b[2] * (-b[3] * x).exp() + b[4] * (-b[5] * x).exp(),
        _ => panic!("{name}"),
    }
}

/// The certified rows of a data set: value, standard error, start 1, start 2, residual sum of squares.
fn certified(name: &str) -> Vec<[f64; 5]> {
    let table = rows("nist_nonlinear_certified.csv");
    table.iter().filter(|r| r[0] == name).map(|r| [3, 4, 5, 6, 7].map(|k| number(&r[k]))).collect()
}

fn fit_from(name: &str, start: usize) -> Fit {
    let (x, y) = pairs(&format!("nist_{}.csv", name.to_lowercase()));
    let start: Vec<f64> = certified(name).iter().map(|c| c[1 + start]).collect();
    let steps: Vec<f64> = start.iter().map(|s| 1e-5 * s).collect();
    let residuals = |b: &[f64]| x.iter().zip(&y).map(|(x, y)| model(name, b, *x) - y).collect();
    minimise(residuals, &start, &steps, Options { max_iterations: 1000, ..Options::default() })
}

/// Parameters and standard errors agree with the certified ones to the given relative size.
fn check(name: &str, start: usize, parameters: f64, errors: f64) {
    let fit = fit_from(name, start);
    assert!(fit.converged, "{name} from start {start}");
    let c = fit.covariance.unwrap();
    for (i, certified) in certified(name).iter().enumerate() {
        close(fit.x[i], certified[0], parameters);
        close(c[(i, i)].sqrt(), certified[1], errors);
        close(fit.rss, certified[4], 1e-9);
    }
}

/// y = b1 (1 - exp(-b2 x)), the shape of a warm-up: both starts.
#[test]
fn nist_misra1a() {
    check("Misra1a", 1, 1e-8, 1e-7);
    check("Misra1a", 2, 1e-8, 1e-7);
}

/// BoxBOD from start 2. From start 1 = (1, 1) the first step leaps to a rate of about 115, where the curve is flat at every
/// point and its mean, 172.5, is the best level: a plateau that no longer depends on the rate. The fit does not find the way
/// back to 213.809, and says so: not converged, no covariance.
#[test]
fn nist_boxbod() {
    check("BoxBOD", 2, 1e-8, 1e-7);
    let trapped = fit_from("BoxBOD", 1);
    assert!(!trapped.converged && trapped.covariance.is_none());
    close(trapped.x[0], 172.5, 1e-6);
    assert!(trapped.rss > 5.0 * certified("BoxBOD")[0][4]);
}

/// The rest, of lower and higher difficulty. MGH09 and Lanczos3 are nearly undetermined: fewer digits can be had from a
/// numeric derivative. MGH17 (two time constants) from start 1, a hundred times off, ends unconverged and says so.
#[test]
fn nist_other_shapes() {
    for start in [1, 2] {
        check("Misra1b", start, 1e-8, 1e-7);
        check("Chwirut2", start, 1e-7, 1e-7);
        check("Rat43", start, 1e-7, 1e-6);
        check("MGH09", start, 2e-6, 2e-5);
        check("Lanczos3", start, 1e-7, 1e-6);
    }
    check("MGH17", 2, 1e-7, 1e-6);
    let lost = fit_from("MGH17", 1);
    assert!(!lost.converged && lost.covariance.is_none());
}

/// Misra1a with two readings spoilt (the fourth by +5, the eleventh by -3), limit 0.15: minima by SciPy 1.17.1
/// (scipy.optimize.least_squares, the same four losses, stopped at 1e-8 or so of the parameters).
#[test]
fn robust_losses_agree_with_scipy() {
    let (x, mut y) = pairs("nist_misra1a.csv");
    y[3] += 5.0;
    y[10] -= 3.0;
    for (loss, b1, b2, cost) in [
        (Loss::Squares, 207.28042338, 6.49439824e-4, 33.878860139493554),
        (Loss::Huber(0.15), 238.73499766, 5.50648803e-4, 2.5196671006351172),
        (Loss::SoftL1(0.15), 237.73849596, 5.53287984e-4, 2.4652219284582237),
        (Loss::Cauchy(0.15), 239.60808847, 5.48583791e-4, 0.3770408462235311),
    ] {
        let options = Options { loss, max_iterations: 1000, ..Options::default() };
        let residuals = |b: &[f64]| x.iter().zip(&y).map(|(x, y)| model("Misra1a", b, *x) - y).collect();
        let fit = minimise(residuals, &[250.0, 5e-4], &[2.5e-3, 5e-9], options);
        assert!(fit.converged, "{loss:?}");
        close(fit.x[0], b1, 1e-6);
        close(fit.x[1], b2, 1e-6);
        close(fit.rss, cost, 1e-10);
        // The two spoilt readings are the ones that lose weight.
        let plain = loss == Loss::Squares;
        let doubted: Vec<usize> = (0..14).filter(|&i| fit.weights[i] < 0.2).collect();
        assert_eq!(doubted, if plain { vec![] } else { vec![3, 10] }, "{loss:?}");
    }
}

/// Slope of a line through 40 points under each loss, 4000 noisy repeats: the scatter of the slopes against the mean predicted
/// variance. 8 % is 3.6 sigma of a variance from 4000 draws.
#[test]
fn covariance_is_what_repeats_scatter() {
    let mut rng = chacha20::ChaCha8Rng::seed_from_u64(3);
    let mut normal = || needleband::maths::normal::normal_quantile(rng.random_range(1e-12..1.0));
    let sigma = 0.5;
    let losses = [Loss::Squares, Loss::Huber(1.345 * sigma), Loss::SoftL1(sigma), Loss::Cauchy(2.385 * sigma)];
    for noise in [Noise::Sigma(sigma), Noise::FromScatter] {
        for loss in losses {
            let (runs, mut spread, mut predicted) = (4000, 0.0, 0.0);
            for _ in 0..runs {
                let y: Vec<f64> = (0..40).map(|t| 3.0 + 0.2 * f64::from(t) + sigma * normal()).collect();
                let residuals = |b: &[f64]| y.iter().enumerate().map(|(t, y)| b[0] + b[1] * (t as f64 - 19.5) - y).collect();
                let fit = minimise(residuals, &[6.0, 0.1], &[1e-2, 1e-3], Options { loss, noise, ..Options::default() });
                spread += (fit.x[1] - 0.2).powi(2) / f64::from(runs);
                predicted += fit.covariance.unwrap()[(1, 1)] / f64::from(runs);
            }
            let ratio = spread / predicted;
            if loss == Loss::Squares || noise == Noise::FromScatter {
                near(ratio, 1.0, 0.08);
            } else {
                // An approximation, up to 15 % on the wide side for clean noise.
                near(ratio, 0.93, 0.16);
            }
        }
    }
}
