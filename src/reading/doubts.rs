//! What speaks against a stage of a read: nothing that was measured there may be less, or more, than trust needs.
use super::criteria::Criteria;
use super::metrics::{LineMetrics, NeedleMetrics, PhotoMetrics, PlaceMetrics};
use crate::diagnostics::Refusal;

/// Why a stage says no.
pub(super) type No = (Refusal, String);

/// Whether less was measured than is needed. What is not a number is never enough.
pub(super) fn less(measured: f64, needed: f64) -> bool {
    measured.is_nan() || needed.is_nan() || measured < needed
}

/// Whether more was measured than may be. What is not a number is always too much.
fn more(measured: f64, most: f64) -> bool {
    measured.is_nan() || measured > most
}

/// A picture that holds nothing at all.
pub(super) fn empty(p: &PhotoMetrics, c: &Criteria) -> Option<No> {
    let text = if p.width < c.side_px || p.height < c.side_px {
        format!("The picture is {} x {} pixels.", p.width, p.height)
    } else if p.levels < c.levels {
        format!("Its levels differ by no more than {}.", p.levels)
    } else {
        return None;
    };
    Some((Refusal::NoDetail, text))
}

/// A place of the dial that must not be trusted. `proved`: whether its numerals prove the dial, or may.
pub(super) fn place(p: &PlaceMetrics, proved: bool, c: &Criteria) -> Option<No> {
    let many = p.matches >= c.many_matches;
    let needed = if many { c.print_match_many } else { c.print_match };
    let by_numerals = if many { c.print_match_proved_many } else { c.print_match_proved };
    let needed = if proved { needed.min(by_numerals) } else { needed };
    if less(p.print_match, needed) {
        let kind = if p.print_match < c.resembles { Refusal::DialNotFound } else { Refusal::DialDoubtful };
        return Some((
            kind,
            format!("The print agrees to {:.2} where {needed} is needed, over {:.0} % of the face.", p.print_match, 100.0 * p.seen),
        ));
    }
    more(p.contradicted, c.contradicted).then(|| {
        let text = format!("Over {:.0} % of the print the photo clearly shows something else.", 100.0 * p.contradicted);
        (Refusal::DialDoubtful, text)
    })
}

/// A needle so clear that it stands against lines nearly as strong, where they are none.
pub(super) fn is_clear(n: &NeedleMetrics, c: &Criteria) -> bool {
    n.seen >= c.alone_seen && n.outline <= c.alone_outline
}

/// A needle of which no more is hidden than what lies in a mirrored window: the rest, long enough for itself, shows its contrast and its outline.
fn is_plain(n: &NeedleMetrics, line: &LineMetrics, c: &Criteria) -> bool {
    !line.lit
        && line.score >= c.plain_score
        && n.step >= c.plain_step
        && n.outline <= c.alone_outline
        && n.seen * n.length_px >= c.needle_px
}

/// A needle that must not be trusted.
pub(super) fn needle(n: &NeedleMetrics, line: &LineMetrics, c: &Criteria) -> Option<No> {
    let faint = less(n.step, c.needle_step) || n.step < c.needle_step_clear && less(n.step, c.needle_step_noise * n.noise);
    let needed = if is_plain(n, line, c) { c.needle_seen_plain } else { c.needle_seen };
    if less(line.score, c.line_score) || faint || less(n.seen, needed) {
        let (step, seen) = (100.0 * n.step, 100.0 * n.seen);
        let text = format!("The strongest line shows {step:.0} % of the needle's contrast over {seen:.0} % of its length.");
        return Some((Refusal::NeedleNotFound, text));
    }
    let alone = is_clear(n, c) && line.runner_up_seen.is_some_and(|seen| seen < c.runner_up_seen);
    if less(line.score, c.runner_up * line.runner_up) && !alone {
        let text = format!("Two lines show {:.2} and {:.2} of the needle's contrast.", line.score, line.runner_up);
        return Some((Refusal::NeedleAmbiguous, text));
    }
    let off = n.beside_pivot();
    let text = if less(n.length_px, c.needle_px) {
        format!("It is {:.0} px long here or in the reference photo.", n.length_px)
    } else if more(n.outline, c.outline) {
        format!(
            "The strongest line has not the needle's outline: each edge stands {:.3} of the radius further {}, and leans by {:.1}°.",
            n.wider.abs(),
            if n.wider < 0.0 { "in" } else { "out" },
            n.taper.atan().to_degrees().abs()
        )
    } else if more(n.sigma_deg, c.needle_sigma_deg) {
        format!("Its direction is known to {:.1}° only.", n.sigma_deg)
    } else if more(n.off_line, c.needle_off_line) {
        format!("Its edges lie {:.3} of the radius off the line that was found.", n.off_line)
    } else if more(off, c.off_pivot) {
        format!("It passes the pivot at {off:.2} of the radius.")
    } else {
        return None;
    };
    Some((Refusal::NeedleDoubtful, text))
}

/// A needle whose line has another pivot than the dial's, where nothing proves that it is the dial.
pub(super) fn pivot(n: &NeedleMetrics, c: &Criteria) -> Option<No> {
    let (off, sigma) = (n.beside_pivot(), n.expected_offset.1);
    more(off, c.off_pivot_unproved * sigma).then(|| {
        let text = format!(
            "The needle passes the pivot {off:.2} of the radius beside where this dial's would, {:.0} times the doubt of that place, and no \
             numerals prove that it is this dial. If it is, calibrate it again with its pivot.",
            off / sigma
        );
        (Refusal::DialDoubtful, text)
    })
}
