//! Names of stages that are nearly the same: more likely a slip of the keyboard than two stages.
use strsim::osa_distance;

/// Shorter names than this are never taken for each other.
const SHORT: usize = 4;
/// From this length on two letters may differ.
const LONG: usize = 8;

/// Whether two different names are nearly the same: in other letter cases or with other spaces, or with one letter (in long names two)
/// left out, put in, changed or swapped. Names with other digits in them are meant to be two.
pub fn near(a: &str, b: &str) -> bool {
    let plain = |s: &str| s.to_lowercase().chars().filter(|c| c.is_alphanumeric()).collect::<String>();
    let digits = |s: &str| s.chars().filter(|c| c.is_numeric()).collect::<String>();
    let (p, q) = (plain(a), plain(b));
    if a == b || digits(&p) != digits(&q) {
        return false;
    }
    let most = match p.chars().count().min(q.chars().count()) {
        n if n < SHORT => 0,
        n if n < LONG => 1,
        _ => 2,
    };
    // optimal string alignment: Damerau 1964, each letter in one step only
    osa_distance(&p, &q) <= most
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
