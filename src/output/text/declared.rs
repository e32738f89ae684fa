//! What is declared of a gauge, in words.
use crate::dial::{Amount, Dial, Stand};
use crate::output::names::shown;
use crate::output::words::{amount, number, plain};

/// A line for each thing declared; empty when nothing is.
pub(super) fn declared(dial: &Dial) -> String {
    let d = &dial.declared;
    let line = |what: &str, a: Option<Amount>, how: &str| a.map(|a| format!("Declared: {what} {}; {how}.\n", amount(a, dial)));
    let gauge = line("the gauge is right to within", d.gauge_accuracy, "counted in every band from now on");
    let stiction = line("the needle may stick within", d.stiction, "more photos do not average it out");
    let flats = d.flats.iter().map(|(low, high)| {
        let (low, high, unit) = (plain(*low), plain(*high), dial.unit.symbol());
        format!("Declared: the needle stands still from {low} to {high} {unit}; a reading there is that whole range.\n")
    });
    gauge.into_iter().chain(stiction).chain(flats).chain(stand(dial)).collect()
}

/// How the needle stands over the face, where it was learned.
fn stand(dial: &Dial) -> Option<String> {
    let s = dial.needle.stand;
    (s != Stand::default()).then(|| {
        format!(
            "Learned: the needle stands {} ± {} radii above the face (two sigma); photos from the side are read with that.\n",
            number(s.height, 3),
            number(2.0 * s.height_sigma, 3)
        )
    })
}

/// What `refine` made of a dial.
pub fn refined(old: &Dial, new: &Dial) -> String {
    format!(
        "Dial \"{}\" ({}, made from {})\n\n{}\nThe new file is a dial of its own: readings made with the old one share none of its error terms, \
         so read both sides of a comparison with the same file.\n",
        shown(&new.name),
        new.id,
        old.id,
        declared(new)
    )
}
