//! Round outlines in a photo: the rim of a dial or of its lit face, where nothing printed can be made out yet.
//!
//! A circle seen by a camera is close to an ellipse, and what a steering wheel or a frame cuts off it leaves an arc. Contours of the photo
//! at several levels of light are searched for the arc that fits an ellipse best; least squares on the conic with A + C = 2 (F. L.
//! Bookstein, "Fitting conic sections to scattered data", CGIP 9 (1979), the normalisation only).
use crate::maths::robust::per_mille;
use crate::photo::Plane;
use image::GrayImage;
use imageproc::contours::find_contours_with_threshold;
use nalgebra::{Matrix2, SMatrix, SVector, Vector2};

/// Levels of light at which contours are taken.
const LEVELS: usize = 10;
/// Points of a contour that are fitted at most.
const POINTS: usize = 160;
/// Starts of the arc that is tried first.
const STARTS: usize = 12;
/// Share of a contour that such an arc has.
const ARC: f64 = 0.5;
/// Distance from the ellipse up to which a point lies on it, shares of its radius.
const NEAR: f64 = 0.03;
/// Least share of a contour that lies on its ellipse.
const ROUND: f64 = 0.55;

/// An ellipse: centre + shape · (unit circle), px.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ellipse {
    /// Its centre, px.
    pub centre: Vector2<f64>,
    /// Takes the unit circle to the ellipse about its centre, px; symmetric: it stretches and does not turn.
    pub shape: Matrix2<f64>,
    /// How much of its rim a contour shows, px.
    pub shown: f64,
}

impl Ellipse {
    /// Mean of its radii: the root of their product, px.
    pub fn radius(&self) -> f64 {
        self.shape.determinant().abs().sqrt()
    }
    /// Through eight points and more by least squares, `None` where that is no ellipse; none of its rim shown.
    pub fn through(points: &[Vector2<f64>]) -> Option<Self> {
        fitted(points)
    }
    /// A place as a share of the radius in its direction.
    fn share(&self, back: &Matrix2<f64>, p: &Vector2<f64>) -> f64 {
        (back * (p - self.centre)).norm()
    }
}

/// The clearest round outlines of at least `least` px of radius, those of which most is shown first.
pub fn outlines(photo: &Plane, least: f64, most: usize) -> Vec<Ellipse> {
    let soft = photo.gaussian(0.8);
    let Some((dark, light)) = light_range(&soft.data) else { return Vec::new() };
    let grey = GrayImage::from_fn(soft.width as u32, soft.height as u32, |x, y| {
        let level = soft.data[y as usize * soft.width + x as usize];
        image::Luma([((level - dark) / (light - dark) * 255.0).clamp(0.0, 255.0) as u8])
    });
    let mut found = Vec::new();
    for i in 0..LEVELS {
        // closer to each other where it is dark: a lit face at night is far darker than its lamps
        let share = ((i as f64 + 0.5) / LEVELS as f64).powi(2);
        for c in find_contours_with_threshold::<u32>(&grey, (255.0 * share) as u8) {
            let inner = |p: &&imageproc::point::Point<u32>| p.x > 1 && p.y > 1 && p.x + 2 < grey.width() && p.y + 2 < grey.height();
            let points: Vec<Vector2<f64>> = c.points.iter().filter(inner).map(|p| Vector2::new(f64::from(p.x), f64::from(p.y))).collect();
            if points.len() as f64 >= ARC * std::f64::consts::TAU * least {
                found.extend(rounded(&points, c.points.len()).filter(|e| e.radius() >= least));
            }
        }
    }
    found.sort_by(|a, b| b.shown.total_cmp(&a.shown));
    let mut out: Vec<Ellipse> = Vec::new();
    for e in found {
        let same = |o: &Ellipse| (o.centre - e.centre).norm() + (o.shape - e.shape).norm() < 0.15 * e.radius();
        if !out.iter().any(same) {
            out.push(e);
            if out.len() == most {
                break;
            }
        }
    }
    out
}

/// From dark to light, two thousandths left out at either end; `None` for a picture without light.
fn light_range(levels: &[f32]) -> Option<(f32, f32)> {
    let mut some: Vec<f32> = levels.iter().step_by(5).copied().collect();
    let (dark, light) = (per_mille(&mut some, 2)?, per_mille(&mut some, 998)?);
    (light > dark + 2.0).then_some((dark, light))
}

/// The ellipse on which most of a contour lies; `None` where that is little. `length`: points of the whole contour.
fn rounded(contour: &[Vector2<f64>], length: usize) -> Option<Ellipse> {
    let step = contour.len().div_ceil(POINTS);
    let points: Vec<Vector2<f64>> = contour.iter().step_by(step).copied().collect();
    let n = points.len();
    let arc = (ARC * n as f64) as usize;
    let on = |e: &Ellipse| -> Vec<Vector2<f64>> {
        let Some(back) = e.shape.try_inverse() else { return Vec::new() };
        let near = NEAR.max(1.0 / e.radius());
        points.iter().filter(|p| (e.share(&back, p) - 1.0).abs() < near).copied().collect()
    };
    let best = (0..STARTS)
        .filter_map(|s| fitted(&(0..arc).map(|i| points[(s * n / STARTS + i) % n]).collect::<Vec<_>>()))
        .map(|e| (on(&e), e))
        .max_by_key(|(inliers, _)| inliers.len())?;
    let again = fitted(&best.0).map(|e| (on(&e), e)).filter(|a| a.0.len() >= best.0.len()).unwrap_or(best);
    let (inliers, e) = again;
    let shown = inliers.len() as f64 * step as f64;
    (shown >= ROUND * length as f64).then_some(Ellipse { shown, ..e })
}

/// The ellipse through points by least squares; `None` where it is none.
fn fitted(points: &[Vector2<f64>]) -> Option<Ellipse> {
    let n = points.len() as f64;
    if n < 8.0 {
        return None;
    }
    let middle = points.iter().sum::<Vector2<f64>>() / n;
    let unit = points.iter().map(|p| (p - middle).norm()).sum::<f64>() / n;
    // u² + v² + p (u² - v²) + 2 q u v + r u + s v + t = 0
    let (mut normal, mut right) = (SMatrix::<f64, 5, 5>::zeros(), SVector::<f64, 5>::zeros());
    for p in points {
        let (u, v) = ((p.x - middle.x) / unit, (p.y - middle.y) / unit);
        let row = SVector::<f64, 5>::new(u * u - v * v, 2.0 * u * v, u, v, 1.0);
        normal += row * row.transpose();
        right -= row * (u * u + v * v);
    }
    let x = normal.cholesky()?.solve(&right);
    let conic = Matrix2::new(1.0 + x[0], x[1], x[1], 1.0 - x[0]);
    if x[0] * x[0] + x[1] * x[1] > 0.85 {
        return None;
    }
    let half = Vector2::new(x[2], x[3]) * 0.5;
    let centre = -(conic.try_inverse()? * half);
    let size = centre.dot(&(conic * centre)) - x[4];
    if size.is_nan() || size <= 0.0 {
        return None;
    }
    let e = conic.symmetric_eigen();
    let roots = Matrix2::from_diagonal(&e.eigenvalues.map(|v| (size / v).sqrt()));
    let shape = unit * e.eigenvectors * roots * e.eigenvectors.transpose();
    Some(Ellipse { centre: middle + unit * centre, shape, shown: 0.0 })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A lit ellipse on dark ground, a straight edge before its lower part, with grain.
    fn lit(centre: Vector2<f64>, shape: Matrix2<f64>, below: f64) -> Plane {
        let back = shape.try_inverse().unwrap();
        let mut seed = 7u32;
        let mut grain: Vec<f32> = Vec::new();
        for _ in 0..300 * 220 {
            seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            grain.push((seed >> 24) as f32 / 64.0);
        }
        Plane::from_fn(300, 220, |x, y| {
            let p = Vector2::new(x as f64, y as f64);
            let inside = (back * (p - centre)).norm() < 1.0 && p.y < below;
            grain[y * 300 + x] + if inside { 90.0 } else { 8.0 }
        })
    }

    #[test]
    fn an_outline_is_found_whole_and_cut() {
        let (centre, shape) = (Vector2::new(141.3, 108.6), Matrix2::new(62.0, -7.0, -7.0, 49.0));
        for below in [500.0, 138.0] {
            let found = outlines(&lit(centre, shape, below), 15.0, 4);
            let e = found.first().unwrap();
            assert!((e.centre - centre).norm() < 1.2, "{below}: {e:?}");
            assert!((e.shape - shape).norm() < 2.5, "{below}: {e:?}");
        }
    }

    #[test]
    fn corners_and_plain_pictures_have_no_round_outline() {
        let square = Plane::from_fn(300, 220, |x, y| if (80..200).contains(&x) && (50..170).contains(&y) { 120.0 } else { 10.0 });
        assert!(outlines(&square, 15.0, 4).is_empty());
        assert!(outlines(&Plane::from_fn(300, 220, |_, _| 40.0), 15.0, 4).is_empty());
    }
}
