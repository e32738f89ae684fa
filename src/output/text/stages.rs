//! A diary in words: what was noted, and what each stage brought.
use super::{column, right};
use crate::diary::{Change, Diary, Note, Project, Stage};
use crate::output::limit::LIMIT_CAUTION;
use crate::output::names::{self, shown};
use crate::output::picture::shortened;
use crate::output::story;
use crate::output::words::{Banded, CAUTION, also, none_of, typeset, why_left_out};
use crate::reading::Outcome;

const LONGEST_NAME: usize = 22;
const LONGEST_PAIR: usize = 34;
/// Length of a name in a pair that is too long.
const NAME_IN_PAIR: usize = 15;

/// Stages, changes, what may be said of all of them, what does not count.
pub fn stages(p: &Project, d: &Diary, explain: bool) -> String {
    let (p, d) = (&names::project(p), &names::diary(d));
    let mut out = format!("{}\n\n{}", story::answer(p), levels(p));
    if !p.changes.is_empty() {
        out.push_str(&format!("\n{}", changes(p)));
    }
    if let Some(all) = story::family(p) {
        out.push_str(&format!("\n{all}\n"));
    } else {
        out.push('\n');
    }
    let against = story::against(p);
    against.iter().for_each(|l| out.push_str(&format!("{l}\n")));
    if !against.is_empty() {
        out.push_str(&format!("{LIMIT_CAUTION}\n"));
    }
    for s in &p.stages {
        for n in &s.not_counted {
            out.push_str(&format!("Left out of \"{}\": {}: {}\n", s.name, n.file, why_left_out(&n.why)));
        }
        s.remarks.iter().for_each(|r| out.push_str(&format!("Mind, \"{}\": {r}\n", s.name)));
    }
    for c in &p.changes {
        c.notes.iter().for_each(|n| out.push_str(&format!("Mind, {}: {}\n", pair(p, c.from, c.to), typeset(n))));
    }
    story::lost(p, d).iter().for_each(|l| out.push_str(&format!("Mind: {l}\n")));
    if explain {
        out.push_str(&all_digits(p));
    }
    let more = if explain { "" } else { "--explain shows all digits.\n" };
    out.push_str(&format!(
        "± reaches the farther end of the 95 % band. Nothing is corrected for the weather, the load or the speed.\n{more}{CAUTION}\n"
    ));
    out
}

fn levels(p: &Project) -> String {
    let width = 2 + p.stages.iter().map(|s| s.name.chars().count()).max().unwrap_or(0).clamp(5, LONGEST_NAME);
    let mut out = format!("{}{}photos\n", column("stage", width), column("temperature", 38));
    for (s, name) in p.stages.iter().zip(short_names(p, LONGEST_NAME)) {
        let own = s.level.as_ref().map(|l| Banded::of(&l.temperature, p.unit));
        let [a, b] = own.map_or([none_of(p.unit).to_string(), String::new()], |b| [b.headline(), b.other_headline()]);
        out.push_str(&format!("{}{}{}{}\n", column(&name, width), column(&a, 19), column(&b, 19), story::photos(s)));
    }
    out
}

/// Each stage and each change with all digits and its band.
fn all_digits(p: &Project) -> String {
    let level = |s: &Stage| {
        let own = s.level.as_ref().map(|l| Banded::of(&l.temperature, p.unit))?;
        Some(format!("  {}: {}, 95 % band {}\n", s.name, own.both(), own.range()))
    };
    let stages: String = p.stages.iter().filter_map(level).collect();
    let change = |c: &Change| {
        let to = |u| story::change_in(c, p.unit, u);
        let both = also(&to(p.unit), p.unit.other().map(to));
        format!("  {}: {both}, 95 % band {}\n", pair(p, c.from, c.to), story::ends(c.delta.band(), p.unit))
    };
    format!("With all digits\n{stages}{}", p.changes.iter().map(change).collect::<String>())
}

fn changes(p: &Project) -> String {
    let short = short_names(p, NAME_IN_PAIR);
    let name = |k: usize| short.get(k).map_or("", String::as_str);
    let told = |(from, to): (usize, usize)| {
        let whole = pair(p, from, to);
        if whole.chars().count() <= LONGEST_PAIR { whole } else { format!("{} → {}", name(from), name(to)) }
    };
    let pairs: Vec<String> = p.changes.iter().map(|c| told((c.from, c.to))).collect();
    let width = 2 + pairs.iter().map(|t| t.chars().count()).max().unwrap_or(0).clamp(6, LONGEST_PAIR);
    let mut out = format!("{}{}chance\n", column("change", width), column("", 19));
    for (c, name) in p.changes.iter().zip(&pairs) {
        let chance = column(&story::probability(c.adjusted), 10);
        out.push_str(&format!("{}{}{chance}{}\n", column(name, width), column(&story::headline_change(c, p.unit), 19), story::standing(c)));
    }
    out
}

/// The stages' names, longer ones cut to `most` characters; those that would then look alike end in the place of their stage.
fn short_names(p: &Project, most: usize) -> Vec<String> {
    let cut: Vec<String> = p.stages.iter().map(|s| shortened(&s.name, most)).collect();
    let alike = |k: usize| cut.iter().enumerate().any(|(j, other)| j != k && cut.get(k) == Some(other));
    let numbered = |k: usize, s: &Stage| {
        let place = format!(" ({})", k + 1);
        shortened(&s.name, most.saturating_sub(place.len()).min(s.name.chars().count().saturating_sub(1))) + &place
    };
    p.stages.iter().zip(&cut).enumerate().map(|(k, (s, c))| if alike(k) { numbered(k, s) } else { c.clone() }).collect()
}

fn pair(p: &Project, from: usize, to: usize) -> String {
    format!("{} → {}", p.name(from), p.name(to))
}

/// The notes of a diary line by line, with what was put right later.
pub fn diary_lines(d: &Diary) -> String {
    let row = |line: usize, n: &Note, end: &str| {
        let (photos, stage) = (n.photos.len(), shown(&n.stage));
        let words = format!("{photos} photo{}{end}", if photos == 1 { "" } else { "s" });
        (line, format!("{}  {}  {}{words}\n", right(&line.to_string(), 4), n.written_at, column(&shortened(&stage, 30), 32)))
    };
    let counted = d.notes.iter().zip(&d.note_lines).map(|(n, line)| row(*line, n, ""));
    let back = d.taken_back.iter().map(|t| row(t.line, &t.note, &format!(", taken back in line {}", t.by)));
    let told = |(line, from, to): &(usize, String, String)| {
        (*line, format!("{}  \"{}\" is called \"{}\" from here on\n", right(&line.to_string(), 4), shown(from), shown(to)))
    };
    let mut rows: Vec<(usize, String)> = counted.chain(back).chain(d.renamed.iter().map(told)).collect();
    rows.sort();
    match rows.is_empty() {
        true => "The diary holds no note.\n".to_string(),
        false => {
            format!("{}  {}  {}photos\n", right("line", 4), column("written (UTC)", 20), column("stage", 32))
                + &rows.into_iter().map(|r| r.1).collect::<String>()
        }
    }
}

/// What was just noted; `before` is the diary as it was.
pub fn noted(note: &Note, before: &Diary) -> String {
    let mut out = format!("Stage \"{}\", dial \"{}\".\n\n", shown(&note.stage), shown(&note.dial.name));
    let width = 2 + note.photos.iter().map(|p| shown(&p.file).chars().count()).max().unwrap_or(5).min(40);
    for p in &note.photos {
        let said = match (&p.record.outcome, p.record.counted()) {
            (Outcome::Reading(r), _) => {
                let own = Banded::of(&r.temperature, r.unit);
                format!("{}{}", column(&own.headline(), 19), own.other_headline())
            }
            (_, Err(why)) => format!("not read: {}", why_left_out(&why)),
            _ => String::new(),
        };
        out.push_str(&format!("{}{said}\n", column(&shown(&p.file), width)));
    }
    out + &mind(note, before)
}

fn mind(note: &Note, before: &Diary) -> String {
    let mut out = String::new();
    let stages: Vec<&str> = before.notes.iter().map(|n| n.stage.as_str()).collect();
    let alike = stages.iter().find(|s| s.to_lowercase() == note.stage.to_lowercase());
    if let Some(other) = alike.filter(|_| !stages.contains(&note.stage.as_str())) {
        out.push_str(&format!(
            "Mind: this begins a new stage \"{}\"; there is one called \"{}\". For the same stage use the same letters.\n",
            shown(&note.stage),
            shown(other)
        ));
    }
    let mut seen: Vec<&str> = Vec::new();
    for p in &note.photos {
        let file = shown(&p.file);
        let there = before.notes.iter().find(|n| n.photos.iter().any(|q| q.sha256 == p.sha256));
        match there {
            Some(n) if n.stage == note.stage => {
                out.push_str(&format!("Mind: {file} is in this stage already; it counts once.\n"));
            }
            Some(n) => out.push_str(&format!("Mind: {file} is also in the stage \"{}\".\n", shown(&n.stage))),
            None if seen.contains(&p.sha256.as_str()) => out.push_str(&format!("Mind: {file} was given twice; it counts once.\n")),
            None => {}
        }
        seen.push(&p.sha256);
    }
    if note.warm_up && note.photos.iter().any(|p| p.seconds.is_none()) {
        out.push_str("Mind: photos without a time do not count in a run over time; give --every or --times.\n");
    }
    out
}
