//! A diary as Markdown with its pictures in a folder beside it, for a forum or a repository.
use super::limit::{LIMIT_CAUTION, both_units};
use super::names;
use super::picture::{PictureError, stages_png};
use super::shown::shown;
use super::story;
use super::words::{Banded, typeset, why_left_out};
use crate::diary::{Diary, Project, Stage};

/// The text, and the pictures it names.
#[derive(Clone, Debug)]
pub struct Markdown {
    /// The text.
    pub text: String,
    /// Paths from the text's folder ("oil.pictures/1.jpg") and bytes.
    pub pictures: Vec<(String, Vec<u8>)>,
}

/// The answer, the plot, pictures, tables, conditions, method, limits, cautions. The pictures lie in `folder`, a name beside the text.
///
/// # Errors
/// When a picture cannot be drawn.
pub fn markdown(p: &Project, d: &Diary, folder: &str) -> Result<Markdown, PictureError> {
    let (p, d) = (&names::project(p), &names::diary(d));
    let mut text = format!("# {}\n\n", plain(&story::answer(p)));
    let mut pictures = vec![(format!("{folder}/stages.png"), stages_png(p)?)];
    text += &format!("![{}]({})\n\n", plain(&alt(p)), link(&pictures[0].0));
    for s in shown(p, d)? {
        let name = format!("{folder}/{}.jpg", s.stage + 1);
        text += &format!("![{}]({})\n\n", plain(&s.alt), link(&name));
        pictures.push((name, s.jpeg));
    }
    text += &levels(p);
    text += &against(p);
    text += &changes(p);
    text += &runs(p);
    text += &minds(p, d);
    text += &conditions(p, d);
    text += &list("How it was worked out", &story::method(p));
    text += &list("What it cannot say", &story::limits(p));
    text += &format!("## Cautions\n\n{}\n", story::CAUTIONS);
    Ok(Markdown { text, pictures })
}

/// What the plot of the stages shows, in words.
pub fn alt(p: &Project) -> String {
    let row = |s: &Stage| {
        let said = s.level.as_ref().map_or("no temperature".to_string(), |l| Banded::of(&l.temperature, p.unit).headline());
        format!("{}: {said}", s.name)
    };
    let limit = p.limit.map_or(String::new(), |l| format!(" Limit: {}.", both_units(l, p.unit)));
    format!("Plot of the stages. {}.{limit}", p.stages.iter().map(row).collect::<Vec<_>>().join("; "))
}

/// Words in which nothing is taken for a sign of the format.
fn plain(words: &str) -> String {
    let signs = ['\\', '`', '*', '_', '[', ']', '<', '>', '|', '#', '!', '&', '~'];
    words.chars().flat_map(|c| signs.contains(&c).then_some('\\').into_iter().chain([c])).collect()
}

/// An item whose first sign would begin a list of its own: "- x", "+ x", "1. x", "1) x".
fn begun(item: &str) -> String {
    let rest = item.trim_start_matches(|c: char| c.is_ascii_digit());
    let (number, signs) = (item.len() - rest.len(), if rest.len() < item.len() { ['.', ')'] } else { ['-', '+'] });
    if rest.starts_with(signs) { format!("{}\\{rest}", &item[..number]) } else { item.to_string() }
}

/// A path as the target of a link.
fn link(name: &str) -> String {
    let safe = |c: u8| c.is_ascii_alphanumeric() || b"-_./".contains(&c);
    name.bytes().map(|c| if safe(c) { char::from(c).to_string() } else { format!("%{c:02X}") }).collect()
}

fn levels(p: &Project) -> String {
    let mut out = "## Stages\n\n| stage | temperature | | 95 % band | photos |\n|---|---|---|---|---|\n".to_string();
    for s in &p.stages {
        let cells = s.level.as_ref().map(|l| {
            let own = Banded::of(&l.temperature, p.unit);
            format!("{} | {} | {}", own.plus_minus(), own.other().map_or(String::new(), Banded::plus_minus), own.range())
        });
        let cells = cells.unwrap_or("no temperature | | ".to_string());
        out += &format!("| {} | {cells} | {} |\n", plain(&s.name), story::photos(s));
    }
    out + "\n± reaches the farther end of the 95 % band.\n\n"
}

fn against(p: &Project) -> String {
    let all: Vec<String> = story::against(p).iter().map(|t| plain(t)).collect();
    if all.is_empty() { String::new() } else { format!("{}{LIMIT_CAUTION}\n\n", list("Limit", &all)) }
}

fn changes(p: &Project) -> String {
    if p.changes.is_empty() {
        return String::new();
    }
    let name = |k: usize| plain(p.name(k));
    let mut out = "## Changes\n\n| from | to | change | | 95 % band | chance, all counted | |\n|---|---|---|---|---|---|---|\n".to_string();
    for c in &p.changes {
        out += &format!(
            "| {} | {} | {} | {} | {} | {} | {} |\n",
            name(c.from),
            name(c.to),
            story::change_in(c, p.unit, p.unit),
            p.unit.other().map_or(String::new(), |u| story::change_in(c, p.unit, u)),
            story::ends(c.delta.band(), p.unit),
            plain(&story::probability(c.adjusted)),
            story::standing(c)
        );
    }
    out + &story::family(p).map_or("\n".to_string(), |f| format!("\n{f}\n\n"))
}

fn runs(p: &Project) -> String {
    let said = |s: &Stage| {
        let answers: Vec<String> = s.runs.iter().filter_map(|r| r.answer.as_ref().ok()).map(|a| typeset(&a.headline())).collect();
        answers.into_iter().map(|t| format!("{}: {t}.", plain(&s.name))).collect::<Vec<_>>()
    };
    let all: Vec<String> = p.stages.iter().flat_map(said).collect();
    if all.is_empty() { String::new() } else { list("Over time", &all) }
}

/// What does not count, and what to mind.
pub fn mind(p: &Project, d: &Diary) -> Vec<String> {
    let mut all = Vec::new();
    for s in &p.stages {
        all.extend(s.not_counted.iter().map(|n| format!("{}, {}: left out; {}", s.name, n.file, why_left_out(&n.why))));
        all.extend(s.remarks.iter().map(|r| format!("{}: {r}", s.name)));
    }
    for c in &p.changes {
        all.extend(c.notes.iter().map(|n| format!("{} to {}: {}", p.name(c.from), p.name(c.to), typeset(n))));
    }
    all.extend(story::lost(p, d));
    all
}

fn minds(p: &Project, d: &Diary) -> String {
    let all = mind(p, d);
    if all.is_empty() { String::new() } else { list("To mind", &all.iter().map(|m| plain(m)).collect::<Vec<_>>()) }
}

fn conditions(p: &Project, d: &Diary) -> String {
    let mut out = "## Conditions\n\n".to_string();
    for s in &p.stages {
        for n in s.notes.iter().filter_map(|k| d.notes.get(*k)) {
            let told: Vec<String> = story::conditions(&n.conditions).iter().map(|(k, v)| format!("{k}: {}", plain(v))).collect();
            out += &format!("* **{}** ({}): {}\n", plain(&s.name), story::note_line(n), told.join("; "));
        }
    }
    out + "\n"
}

fn list(head: &str, items: &[String]) -> String {
    let rows: String = items.iter().map(|t| format!("* {}\n", begun(t))).collect();
    format!("## {head}\n\n{rows}\n")
}
