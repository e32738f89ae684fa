//! What `calibrate` learned, for checking.
use super::check::between_marks;
use super::declared::declared;
use super::right;
use crate::calibrate::Calibration;
use crate::dial::{Mark, MarkKind};
use crate::maths::units::Unit;
use crate::output::names::shown;
use crate::output::words::{also, number, plain};
use crate::scale::Scale;

/// The table of marks (value, angle, click residual, kind), what the needle of the reference photo reads, and warnings.
pub fn calibration(done: &Calibration) -> String {
    let dial = &done.dial;
    let unit = dial.unit.symbol();
    let mut out = format!("Dial \"{}\" ({})\n\n", shown(&dial.name), dial.id);
    out.push_str(&format!(
        "{}  {}  {}  {}  kind\n",
        right(&format!("mark {unit}"), 8),
        right("angle °", 9),
        right("± σ °", 7),
        right("click px", 9)
    ));
    let bare = if dial.has_ticks_at_clicks() { "no tick" } else { "as given" };
    for mark in &dial.marks {
        out.push_str(&row(mark, bare));
    }
    out.push_str(&format!("\nThe reference photo looks at the dial from {}° off straight on.\n", number(dial.face.tilt, 1)));
    match done.needle_reads {
        Some(value) => {
            let said = |u: Unit| format!("{} {}", number(dial.unit.convert(value, u), 1), u.symbol());
            let both = also(&said(dial.unit), dial.unit.other().map(said));
            out.push_str(&format!("Its needle reads {both}. Does that agree with what you see in it?\n"));
        }
        None => out.push_str("Its needle gave no value to check by: it is off the scale or was not read.\n"),
    }
    let (low, high) = dial.span();
    if let Some(b) = Scale::new(dial).between_marks().filter(|b| b.matters(high - low)) {
        out.push_str(&format!("{}\n", between_marks(&b, dial)));
    }
    out.push_str(&declared(dial));
    for question in &done.questions {
        out.push_str(&format!("Questioned: {}\n", question.text));
    }
    for warning in &done.warnings {
        out.push_str(&format!("Mind: {warning}\n"));
    }
    if let Some([a, b]) = done.rival_steps {
        out.push_str(&format!("To say which step it is: --tick-step {a}, or --tick-step {b}.\n"));
    }
    out
}

/// Angles are degrees clockwise from straight up; the residual is the click's distance from the printed tick, or `bare`.
fn row(mark: &Mark, bare: &str) -> String {
    let click = match &mark.click {
        None => String::new(),
        Some(c) => c.residual.map_or(bare.to_string(), |r| number(r.abs(), 1)),
    };
    let kind = match mark.kind {
        MarkKind::Labelled => "given",
        MarkKind::Counted => "tick, counted",
        MarkKind::Angle => "angle given",
        MarkKind::Known => "thermometer",
    };
    let cells = [right(&plain(mark.value), 8), right(&number(mark.angle, 2), 9), right(&number(mark.sigma(), 2), 7), right(&click, 9)];
    format!("{}  {kind}\n", cells.join("  "))
}
