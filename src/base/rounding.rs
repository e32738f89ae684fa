//! Temporary stand-in, dropped at merge.
/// Decimals that show a half width with two digits when it starts with 1 or 2... (stand-in).
pub fn decimals(half: f64) -> usize {
    if !half.is_finite() || half <= 0.0 { 1 } else { (1 - half.log10().floor() as i32).clamp(0, 3) as usize }
}
