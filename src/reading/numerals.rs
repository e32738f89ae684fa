//! What the numerals and words of a face say of a place: that it is the dial, that it is another, that no dial is there.
use super::criteria::Criteria;
use super::doubts::less;
use crate::register::Seen;

/// Whether the numerals that can be made out prove the dial: enough of them are its own, and hardly any speaks against it. One that a blur leaves
/// between the two does neither.
pub(super) fn prove(seen: &[Seen], c: &Criteria) -> bool {
    let is_other = is_other(seen, c);
    let against = seen.iter().filter(|s| is_other(s) || less(s.likeness, c.unlike)).count();
    let own = own(seen, c);
    own >= c.proving_glyphs && against as f64 <= c.not_proving * (own + against) as f64
}

/// How many are the dial's own beyond doubt.
fn own(seen: &[Seen], c: &Criteria) -> usize {
    seen.iter().filter(|s| !less(s.likeness, c.own_likeness)).count()
}

/// Whether something else stands in the place of one of these: much of its ink differs, and it is less like the reference's than the clearest of
/// them, since a blur that is not quite the photo's makes all of them less alike.
fn is_other(seen: &[Seen], c: &Criteria) -> impl Fn(&Seen) -> bool {
    let clearest = seen.iter().map(|s| s.likeness).fold(-1.0, f64::max);
    let alike = (clearest - c.less_alike).min(c.own_likeness).max(c.other_likeness);
    move |s| s.differs(&c.glyph) && less(s.likeness, alike)
}

/// Numerals or words that are not the dial's, or are not there. `mirrored`: whether the reference shows what its cover mirrored.
pub(super) fn amiss(seen: &[Seen], mirrored: bool, c: &Criteria) -> Option<String> {
    let is_other = is_other(seen, c);
    let others: Vec<f64> = seen.iter().filter(|s| is_other(s)).map(Seen::difference).collect();
    let other = others.len();
    // what the reference's cover mirrored passes for print that no photo has: more numerals of the dial's own outdo it
    let own = own(seen, c);
    let outdone = mirrored && own >= c.outdoing_glyphs && own > other;
    let many = other >= c.other_glyphs && other as f64 > c.other_share * seen.len() as f64 && !outdone;
    let unlike = seen.iter().filter(|s| less(s.likeness, c.unlike)).count();
    let text = if many && others.iter().sum::<f64>() > c.other_ink {
        format!("Of {} numerals or words that can be made out, {other} are others than the dial's.", seen.len())
    } else if seen.len() >= c.unlike_glyphs && unlike as f64 >= c.unlike_share * seen.len() as f64 {
        format!("Where {} numerals or words of the dial should be, {unlike} show nothing like them, whole or in part.", seen.len())
    } else {
        return None;
    };
    Some(text)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn seen(missing: f64, extra: f64, likeness: &[f64]) -> Vec<Seen> {
        likeness.iter().map(|&likeness| Seen { missing, extra, likeness }).collect()
    }

    /// Places of numerals that show something in one sense only (nothing, or a patch) are none of another dial's; most of them so are no dial's.
    #[test]
    fn a_place_without_the_dials_numerals_is_not_trusted() {
        let refused = |likeness: &[f64]| amiss(&seen(1.0, 0.0, likeness), false, &Criteria::default()).is_some();
        assert!(refused(&[0.7, 0.9, 0.01, -0.2, 0.34]) && refused(&[0.9, 0.1, 0.1, 0.0]) && refused(&[0.1, 0.0]));
        // half of them in glare; blurred; at the limit; one alone says nothing
        for few in [&[0.7, 0.5, 0.0, -0.2][..], &[0.4, 0.4, 0.35], &[0.35, 0.35], &[0.9, 0.1], &[0.1], &[]] {
            assert!(!refused(few), "{few:?}");
        }
    }

    /// Where all is clear, a numeral that is half as alike is another; where a blur takes from all of them, it is none. What a cover mirrored in the
    /// reference photo is outdone by more of the dial's own.
    #[test]
    fn another_numeral_is_less_alike_than_the_clearest() {
        let by = |likeness: &[f64], mirrored: bool| amiss(&seen(0.3, 0.3, likeness), mirrored, &Criteria::default()).is_some();
        let refused = |likeness: &[f64]| by(likeness, false);
        assert!(refused(&[0.97, 0.62, 0.63, 0.68]) && refused(&[0.9, 0.6, 0.62, 0.85, 0.85]) && refused(&[0.5, 0.4, 0.3]));
        for own in [&[0.71, 0.6, 0.62, 0.68][..], &[0.97, 0.62, 0.74, 0.8], &[0.6, 0.56], &[0.9, 0.3]] {
            assert!(!refused(own), "{own:?}");
        }
        let mixed = |own: usize, other: usize| [vec![0.95; own], vec![0.1; other]].concat();
        assert!(!by(&mixed(6, 5), true) && by(&mixed(5, 5), true) && by(&mixed(4, 3), true) && by(&mixed(6, 5), false));
        // criteria that contradict each other, and no number
        let odd = Criteria { other_likeness: 0.9, own_likeness: f64::NAN, ..Criteria::default() };
        assert!(amiss(&seen(0.3, 0.3, &[0.5, 0.4, 0.3]), false, &odd).is_some());
    }

    #[test]
    fn numerals_prove_the_dial_when_hardly_any_speaks_against_it() {
        let proved = |likeness: &[f64]| prove(&seen(0.5, 0.0, likeness), &Criteria::default());
        assert!(proved(&[0.9, 0.8, 0.75, 0.9]) && !proved(&[0.9, 0.8, 0.75]));
        // blurred ones do neither
        assert!(proved(&[0.9, 0.8, 0.75, 0.9, 0.6, 0.5, 0.4]) && !proved(&[0.9, 0.8, 0.75, 0.6, 0.5, 0.7]));
        // one of eight may be something else, one of seven may not, and blurred ones make no eight
        assert!(proved(&[0.9, 0.8, 0.75, 0.9, 0.9, 0.9, 0.9, 0.1]) && !proved(&[0.9, 0.8, 0.75, 0.9, 0.9, 0.9, 0.1, 0.6, 0.5]));
        let differing = |likeness: &[f64]| prove(&seen(0.3, 0.3, likeness), &Criteria::default());
        assert!(differing(&[0.9, 0.9, 0.8, 0.8]) && !differing(&[0.9, 0.9, 0.8, 0.8, 0.6]), "another numeral");
        assert!(!proved(&[0.9, 0.8, 0.9, 0.9, f64::NAN]), "no number");
    }
}
