//! Names of stages that are nearly the same: more likely a slip of the keyboard than two stages.

/// Shorter names than this are never taken for each other.
const SHORT: usize = 4;
/// From this length on two letters may differ.
const LONG: usize = 8;

/// Whether two different names are nearly the same: in other letter cases or with other spaces, or with one letter (in long names two)
/// left out, put in, changed or swapped. Names with other digits in them are meant to be two.
pub fn near(a: &str, b: &str) -> bool {
    let plain = |s: &str| s.to_lowercase().chars().filter(|c| c.is_alphanumeric()).collect::<Vec<char>>();
    let digits = |s: &[char]| s.iter().filter(|c| c.is_numeric()).copied().collect::<String>();
    let (p, q) = (plain(a), plain(b));
    if a == b || digits(&p) != digits(&q) {
        return false;
    }
    let most = match p.len().min(q.len()) {
        n if n < SHORT => 0,
        n if n < LONG => 1,
        _ => 2,
    };
    distance(&p, &q) <= most
}

/// Letters left out, put in, changed, or swapped with their neighbour (optimal string alignment: Damerau 1964, each letter in one step only).
fn distance(a: &[char], b: &[char]) -> usize {
    let width = b.len() + 1;
    let mut d: Vec<Vec<usize>> = (0..=a.len()).map(|i| (0..width).map(|j| if i == 0 { j } else { i }).collect()).collect();
    for i in 1..=a.len() {
        for j in 1..width {
            let changed = d[i - 1][j - 1] + usize::from(a[i - 1] != b[j - 1]);
            let mut least = changed.min(d[i - 1][j] + 1).min(d[i][j - 1] + 1);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                least = least.min(d[i - 2][j - 2] + 1);
            }
            d[i][j] = least;
        }
    }
    d[a.len()][b.len()]
}

#[cfg(test)]
mod tests {
    use super::near;

    #[test]
    fn slips_are_near_and_other_stages_are_not() {
        for (a, b) in
            [("stock", "stok"), ("stock", "Stock"), ("stock", "sotck"), ("larger cooler", "larger  cooler"), ("thermostat", "termostats")]
        {
            assert!(near(a, b) && near(b, a), "{a} {b}");
        }
        for (a, b) in [
            ("stock", "stock"),
            ("cooler 1", "cooler 2"),
            ("fan", "van"),
            ("stock", "cooler"),
            ("larger cooler", "smaller cooler"),
            ("a", "b"),
        ] {
            assert!(!near(a, b) && !near(b, a), "{a} {b}");
        }
    }
}
