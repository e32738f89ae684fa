//! Names that others chose, as they may be shown: nothing in them steers a terminal or turns the reading direction. JSON keeps them
//! as they are.
use crate::diary::{Conditions, Damage, Diary, Note, Project, Stage, TakenBack, Wrong};
use crate::reading::Why;

/// A name with control characters, line separators and the bidirectional controls (Unicode property `Bidi_Control`, UAX #9) written
/// as `\u{1b}`.
pub fn shown(name: &str) -> String {
    name.chars().flat_map(|c| if steers(c) { c.escape_unicode().collect::<Vec<_>>() } else { vec![c] }).collect()
}

/// The same for a text of several lines.
pub fn shown_lines(text: &str) -> String {
    text.split('\n').map(shown).collect::<Vec<_>>().join("\n")
}

/// A name as a word of a command that is suggested: in quotes where the shell would take a part of it for something else (POSIX, Shell
/// Command Language, 2.2).
pub fn word(name: &str) -> String {
    let name = shown(name);
    let plain = |c: char| c.is_alphanumeric() || "_-./,:@%+=".contains(c);
    match !name.is_empty() && name.chars().all(plain) {
        true => name,
        false if cfg!(windows) => format!("\"{name}\""),
        false => format!("'{}'", name.replace('\'', "'\\''")),
    }
}

fn steers(c: char) -> bool {
    let bidi = matches!(c, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    c.is_control() || bidi || matches!(c, '\u{2028}' | '\u{2029}')
}

/// A project with all its names and words so.
pub(super) fn project(p: &Project) -> Project {
    let others = p.others.iter().map(|(k, name)| (*k, shown(name))).collect();
    Project { gauge: shown(&p.gauge), stages: p.stages.iter().map(stage).collect(), others, ..p.clone() }
}

fn stage(s: &Stage) -> Stage {
    let mut s = s.clone();
    s.name = shown(&s.name);
    for n in &mut s.not_counted {
        (n.file, n.why) = (shown(&n.file), why(&n.why));
    }
    s.remarks.iter_mut().for_each(|r| *r = shown(r));
    s.taken = s.taken.map(|(a, b)| (shown(&a), shown(&b)));
    s
}

/// What was seen in a photo may quote the file.
fn why(w: &Why) -> Why {
    match w {
        Why::Refused(refusal, seen) => Why::Refused(*refusal, shown(seen)),
        other => other.clone(),
    }
}

/// A diary with all its names and words so.
pub(super) fn diary(d: &Diary) -> Diary {
    let damaged = d.damaged.iter().map(|x| match &x.what {
        Wrong::Shape(what) => Damage { line: x.line, what: Wrong::Shape(shown(what)) },
        _ => x.clone(),
    });
    Diary {
        notes: d.notes.iter().map(note).collect(),
        damaged: damaged.collect(),
        note_lines: d.note_lines.clone(),
        taken_back: d.taken_back.iter().map(|t| TakenBack { note: note(&t.note), ..*t }).collect(),
        renamed: d.renamed.iter().map(|(line, from, to)| (*line, shown(from), shown(to))).collect(),
        ..*d
    }
}

fn note(n: &Note) -> Note {
    let mut n = n.clone();
    (n.written_at, n.stage) = (shown(&n.written_at), shown(&n.stage));
    (n.dial.id, n.dial.name) = (shown(&n.dial.id), shown(&n.dial.name));
    let c = n.conditions;
    let words = |t: Option<String>| t.map(|t| shown(&t));
    n.conditions = Conditions { speed: words(c.speed), load: words(c.load), text: words(c.text), ..c };
    for p in &mut n.photos {
        (p.file, p.sha256) = (shown(&p.file), shown(&p.sha256));
        p.record.taken_at = p.record.taken_at.take().map(|t| shown(&t));
    }
    n
}

#[cfg(test)]
mod tests {
    use super::{shown, shown_lines};

    /// POSIX, Shell Command Language, 2.2.
    #[cfg(not(windows))]
    #[test]
    fn words_of_a_command_are_quoted_where_a_shell_would_part_them() {
        assert_eq!(super::word("a/b-1.jpg"), "a/b-1.jpg");
        assert_eq!(super::word("my dial.jpg"), "'my dial.jpg'");
        assert_eq!(super::word("it's $HOME;`x`.jpg"), "'it'\\''s $HOME;`x`.jpg'");
        assert_eq!(super::word(""), "''");
    }

    #[test]
    fn what_steers_is_written_out_and_the_rest_stays() {
        assert_eq!(shown("a\u{1b}[2Jb.jpg"), r"a\u{1b}[2Jb.jpg");
        assert_eq!(shown("x\r\n\t\u{7f}\u{9b}"), r"x\u{d}\u{a}\u{9}\u{7f}\u{9b}");
        // the twelve of Bidi_Control (Unicode Character Database, PropList.txt), and the two separators
        let bidi = "\u{61c}\u{200e}\u{200f}\u{202a}\u{202b}\u{202c}\u{202d}\u{202e}\u{2066}\u{2067}\u{2068}\u{2069}";
        for c in bidi.chars().chain(['\u{2028}', '\u{2029}']) {
            assert_eq!(shown(&c.to_string()), format!("\\u{{{:x}}}", u32::from(c)));
        }
        for name in ["IMG 0001.jpg", "Öl – größer", "שמן", "油", "👍🏽", r"back\slash"] {
            assert_eq!(shown(name), name);
        }
        assert_eq!(shown_lines("one\u{1b}\ntwo"), "one\\u{1b}\ntwo");
    }
}
