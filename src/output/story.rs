//! What a diary says, in sentences: the words that table, page and Markdown share.
use super::limit::{both_units, limit_sentence};
use super::words::{Banded, also, counts_gauge, sentence_case, typeset, with_unit};
use crate::diary::{Change, Conditions, Diary, From, Note, Project, Stage, Standing};
use crate::maths::rounding::{Ends, band, headline_text, significant, with_uncertainty};
use crate::maths::units::Unit;

/// The answer in one sentence.
pub fn answer(p: &Project) -> String {
    let gauge = sentence_case(&p.gauge);
    let ends = p.first().zip(p.last()).and_then(|(a, b)| Some((p.stages.get(a)?, p.stages.get(b)?, p.change(a, b))));
    let level = |s: &Stage| s.level.as_ref().map(|l| Banded::of(&l.temperature, p.unit));
    match ends {
        None => format!("{gauge}: no stage has a temperature yet."),
        Some((first, last, Some(c))) => {
            let said = typeset(&c.headline(p.unit));
            let names = format!("from “{}” to “{}”", first.name, last.name);
            match (c.standing, level(first).zip(level(last))) {
                (Standing::Real, Some((a, b))) => {
                    // why a change is known as a limit only stands in its notes
                    let short = typeset(&c.short_headline(p.unit));
                    format!("{gauge}: {} {names}, from {} to {}.", also(&short, other_size(c, p.unit)), a.head().0, b.head().0)
                }
                _ => format!("{gauge}, {names}: {said}."),
            }
        }
        Some((first, ..)) => {
            let said = level(first).map_or(String::new(), |b| also(&b.headline(), b.other().map(Banded::headline)));
            format!("{gauge}: “{}” stands at {said}; there is no second stage to compare it with yet.", first.name)
        }
    }
}

/// The size of a change in the other unit, without its sign.
fn other_size(c: &Change, unit: Unit) -> Option<String> {
    let other = unit.other()?;
    let to = |v: f64| unit.convert_difference(v, other);
    if c.delta.half().is_infinite() {
        let least = if c.delta.band().0.is_infinite() { -c.delta.band().1 } else { c.delta.band().0 };
        return Some(ends((to(least), f64::INFINITY), other));
    }
    Some(format!("{} {}", headline_text(to(c.delta.value().abs()), to(c.delta.half())), other.symbol()))
}

/// A change with half its band in one unit: "−5.609 ± 0.023 °C", "−38.9 °C or less".
pub fn change_in(c: &Change, from: Unit, to: Unit) -> String {
    match c.delta.half().is_infinite() {
        true => with_unit(&ends_in(c, from, to), to),
        false => format!("{} {}", change_number(c, from, to), to.symbol()),
    }
}

/// A change with the digits of a headline: "−5.6 ± 0.1 °C".
pub fn headline_change(c: &Change, unit: Unit) -> String {
    match c.delta.half().is_infinite() {
        true => change_in(c, unit, unit),
        false => format!("{} {}", typeset(&headline_text(c.delta.value(), c.delta.half())), unit.symbol()),
    }
}

/// The same without the unit.
pub fn change_number(c: &Change, from: Unit, to: Unit) -> String {
    let by = |v: f64| from.convert_difference(v, to);
    typeset(&match c.delta.half().is_infinite() {
        true => ends_in(c, from, to).to_string(),
        false => with_uncertainty(by(c.delta.value()), by(c.delta.half())),
    })
}

fn ends_in(c: &Change, from: Unit, to: Unit) -> Ends {
    let (low, high) = c.delta.band();
    band(from.convert_difference(low, to), from.convert_difference(high, to))
}

/// Ends of a band: "−5.633 to −5.586 °C".
pub fn ends((low, high): (f64, f64), unit: Unit) -> String {
    with_unit(&band(low, high), unit)
}

/// What a change amounts to, in a word or two.
pub fn standing(c: &Change) -> &'static str {
    match c.standing {
        Standing::Real if c.delta.value() < 0.0 => "real drop",
        Standing::Real => "real rise",
        Standing::Alone => "may be chance",
        Standing::NotSeen => "not seen",
        Standing::Hidden => "hidden by the dial",
        Standing::OnePhoto => "may be scatter",
    }
}

/// A probability.
pub fn probability(p: f64) -> String {
    if p < 1e-4 { "< 0.0001".to_string() } else { significant(p, 2) }
}

/// What may be said of all changes at once; nothing for a single one.
pub fn family(p: &Project) -> Option<String> {
    let m = p.changes.len();
    let real = p.changes.iter().filter(|c| c.standing == Standing::Real).count();
    let found = match real {
        0 => "none of them is real".to_string(),
        n if n == m => format!("all {m} are real"),
        1 => "1 is real".to_string(),
        n => format!("{n} are real"),
    };
    (m > 1).then(|| {
        format!(
            "{m} changes are looked at here, and among several one may seem real by chance. Counted together (Holm's method, \
             5 % for all of them) {found}."
        )
    })
}

/// "5 of 5 photos", "level of a run, 26 of 26 photos".
pub fn photos(stage: &Stage) -> String {
    let (run, n) = match &stage.level {
        Some(l) if matches!(l.from, From::Run(_)) => ("settled level of a run, ", l.photos),
        Some(l) => ("", l.photos),
        None => ("", 0),
    };
    format!("{run}{n} of {} photo{}", stage.photos, if stage.photos == 1 { "" } else { "s" })
}

/// From when to when a stage's photos were taken, in the camera's local time.
pub fn when(stage: &Stage) -> Option<String> {
    let (first, last) = stage.taken.as_ref()?;
    let day = |t: &str| t.split(' ').next().unwrap_or(t).to_string();
    Some(if day(first) == day(last) { day(first) } else { format!("{} to {}", day(first), day(last)) })
}

/// Each stage against the limit; nothing without one.
pub fn against(p: &Project) -> Vec<String> {
    let Some(limit) = p.limit else { return Vec::new() };
    let said = |s: &Stage| match (&s.margin, &s.level) {
        (Some(m), _) => limit_sentence(m, p.unit),
        (None, Some(_)) => format!("what its photos say of the limit of {} is not known", both_units(limit, p.unit)),
        (None, None) => format!("no temperature, so nothing is known of the limit of {}", both_units(limit, p.unit)),
    };
    p.stages.iter().map(|s| format!("“{}”: {}.", s.name, said(s))).collect()
}

/// What was noted of the conditions, as name and words; what was not noted is said.
pub fn conditions(c: &Conditions) -> Vec<(&'static str, String)> {
    let outside = c.ambient.map(|a| {
        let shown = |u: Unit| format!("{} {}", typeset(&significant(a.to(u), 3)), u.symbol());
        also(&shown(a.unit), a.unit.other().map(shown))
    });
    let told = |t: Option<&String>| t.cloned().unwrap_or("not noted".to_string());
    let mut all = vec![("outside", told(outside.as_ref())), ("speed", told(c.speed.as_ref())), ("load", told(c.load.as_ref()))];
    all.extend(c.text.clone().map(|t| ("note", t)));
    all
}

/// A note in a line: "5 photos, noted 2026-08-14".
pub fn note_line(n: &Note) -> String {
    let kind = if n.warm_up { "run over time, " } else { "" };
    let count = n.photos.len();
    let day = n.written_at.split('T').next().unwrap_or("");
    format!("{kind}{count} photo{}, noted {day}", if count == 1 { "" } else { "s" })
}

/// Lines of the diary and notes that are not used.
pub fn lost(p: &Project, d: &Diary) -> Vec<String> {
    let others = p
        .others
        .iter()
        .map(|(line, name)| format!("Line {line} of the diary is of the dial “{name}”, so its note is left out: a diary is of one gauge."));
    let back = d.taken_back.iter().map(|t| {
        let n = t.note.photos.len();
        format!(
            "Line {} of the diary, {n} photo{} of “{}”, was taken back in line {} and does not count.",
            t.line,
            if n == 1 { "" } else { "s" },
            t.note.stage,
            t.by
        )
    });
    d.damaged.iter().map(|x| x.sentence()).chain(others).chain(back).collect()
}

/// How it was worked out, in plain words.
pub fn method(p: &Project) -> Vec<String> {
    let mut all = vec![
        "Every number is read from photos of the dash dial: the printed face is found in the photo, and the direction of the needle is \
         measured on it. Nobody read the dial by eye."
            .to_string(),
        "± reaches the farther end of the 95 % band: of 100 such bands some 95 hold what the needle shows. It counts the photo (noise, blur, view from aside), \
         the calibration of the dial, and how much the needle wandered between photos."
            .to_string(),
        "In a change, what both stages share (the marks, the pivot, a steady error of the gauge at the same place) drops out, so a change \
         is known better than either temperature."
            .to_string(),
    ];
    if p.stages.iter().any(|s| !s.runs.is_empty()) {
        all.push(
            "A run over time is fitted with an approach that is fast at first and ever slower. Its settled level counts only when two \
             time constants were seen."
                .to_string(),
        );
    }
    if p.changes.len() > 1 {
        all.push(
            "Where several changes are looked at, each has its own 95 % band. Whether it is called real is decided for all of them \
             together (Holm 1979), so that luck calls one of them real in less than 5 % of such projects."
                .to_string(),
        );
    }
    all
}

/// What the numbers cannot say.
pub fn limits(p: &Project) -> Vec<String> {
    let declared = p.stages.iter().filter_map(|s| s.level.as_ref()).any(|l| counts_gauge(&l.temperature));
    let gauge = if declared {
        "How right the gauge is counts as its owner declared it; the sender and the wiring do not count."
    } else {
        "How right the gauge, its sender and its wiring are is not in the bands: a dash gauge is usually worse than a photo of it. A steady \
         error drops out of a change where the needle stands nearly alike."
    };
    vec![
        gauge.to_string(),
        "Nothing is corrected for the weather, the load or the speed. Whether the drives were comparable is for the reader to judge from \
         the conditions."
            .to_string(),
        "A needle that sticks, or a gauge that drifts between two days, looks like a change.".to_string(),
    ]
}

/// The cautions of a page.
pub const CAUTIONS: &str = "Nobody drives and photographs: a passenger or a mount takes the photo, or the vehicle is parked. Hot oil and \
     pressurised coolant scald; never open a hot pressure cap. A dash gauge is no safety instrument. Local law, the workshop manual and \
     licensed practice come first.";
