//! The registration: its scatter in new noise against its predicted covariance, and hard views.
use crate::support::case::{self, Known};
use crate::support::light::Light;
use crate::support::stats::{rms, rms_interval};
use crate::support::view::{View, apply};
use nalgebra::{DMatrix, DVector, Matrix3};
use needleband::photo::Photo;
use needleband::reading::Outcome;
use needleband::register::face::FaceModel;
use needleband::register::{Pyramid, Registrar, Registration};
use rayon::prelude::*;

/// Copies of one photo in new noise.
const COPIES: u64 = 24;

/// A direction in the space of the eight small parameters, by numerical differentiation of what it does to the dial plane.
fn gradient(of: impl Fn(&Matrix3<f64>) -> f64) -> DVector<f64> {
    let h = 1e-6;
    DVector::from_fn(8, |k, _| {
        let moved = |s: f64| {
            let mut d = Matrix3::identity();
            d[(k / 3, k % 3)] += s;
            of(&d)
        };
        (moved(h) - moved(-h)) / (2.0 * h)
    })
}

/// What is asked of a registration: turns of a needle (radians) and shifts on the unit circle (radii).
fn asked() -> Vec<(String, DVector<f64>)> {
    let mut out = Vec::new();
    for a in (0..360).step_by(45) {
        let (s, c) = f64::from(a).to_radians().sin_cos();
        let turn = move |d: &Matrix3<f64>| {
            let (p, q) = (apply(d, 0.2 * s, 0.2 * c), apply(d, 0.9 * s, 0.9 * c));
            ((q.x - p.x) * c - (q.y - p.y) * s) / 0.7
        };
        out.push((format!("turn at {a}"), gradient(turn)));
        out.push((format!("radial at {a}"), gradient(move |d| { let q = apply(d, s, c); q.x * s + q.y * c })));
        out.push((format!("across at {a}"), gradient(move |d| { let q = apply(d, s, c); q.x * c - q.y * s })));
    }
    out
}

fn parameters(d: &Matrix3<f64>) -> DVector<f64> {
    let d = d / d[(2, 2)] - Matrix3::identity();
    DVector::from_fn(8, |k, _| d[(k / 3, k % 3)])
}

fn copies(known: &Known, view: &View, light: &Light) -> Vec<Registration> {
    let registrar = Registrar::new(FaceModel::new(known.calibration.dial.clone()));
    let p = &known.drawn.plan;
    let value = p.labels[0] + 0.7 * p.span();
    (0..COPIES)
        .into_par_iter()
        .map(|seed| {
            let photo = known.drawn.at(value, view, &Light { seed: 900 + seed, ..*light }).photo;
            registrar.find(&Pyramid::new(photo.luma())).expect("not found")
        })
        .collect()
}

#[test]
fn dev() {
    for known in case::all() {
        for noise in [2.0, 8.0] {
            let view = View::straight(440, 400, 135.0).tilted(12.0, 60.0).rolled(20.0);
            let all = copies(known, &view, &Light { noise, blur: 1.0, ..Light::default() });
            let d: Vec<DVector<f64>> = all.iter().map(|r| parameters(&(r.back * all[0].homography))).collect();
            let mean = d.iter().fold(DVector::zeros(8), |a, b| a + b) / COPIES as f64;
            let cov = all.iter().fold(DMatrix::zeros(8, 8), |a, r| a + &r.covariance) / COPIES as f64;
            let ratios: Vec<(String, f64)> = asked()
                .into_iter()
                .map(|(name, g)| {
                    let var = d.iter().map(|v| g.dot(&(v - &mean)).powi(2)).sum::<f64>() / (COPIES - 1) as f64;
                    (name, (var / (g.transpose() * &cov * &g)[(0, 0)]).sqrt())
                })
                .collect();
            println!("{} noise {noise} interval {:?} mean ratio {:.2}", known.drawn.plan.name, rms_interval(23.0, 0.002), rms(ratios.iter().map(|r| r.1)));
            println!("   {:?}", ratios.iter().map(|r| format!("{} {:.2}", r.0, r.1)).collect::<Vec<_>>().join(", "));
            let t = known.drawn.plan.labels.len();
            let _ = (t, Outcome::BelowScale, Option::<Photo>::None);
        }
    }
}
