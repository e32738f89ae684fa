//! Parts of the page: pictures, runs, lists.
use crate::diary::{Diary, From, Project};
use crate::output::limit::{LIMIT_CAUTION, both_units};
use crate::output::markdown::mind;
use crate::output::picture::run_inline;
use crate::output::shown::{Earlier, Shown, other_dial};
use crate::output::story;
use crate::output::words::{sentence_case, typeset};
use crate::settle::Answer;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use maud::{Markup, PreEscaped, html};

/// A picture of each stage, turned straight and at one size.
pub fn pictures(p: &Project, all: &[Shown]) -> Markup {
    let place = |k: usize| match k {
        0 => "before",
        k if k + 1 == all.len() => "after",
        _ => "between",
    };
    let dashed = all.iter().find_map(|s| if let Earlier::Dashed(k) = s.earlier { Some(p.name(k)) } else { None });
    html! { @if !all.is_empty() {
        section {
            h2 { "The dial" }
            div.pair.even[all.len().is_multiple_of(2)] { @for (k, s) in all.iter().enumerate() {
                figure {
                    img src=(format!("data:image/jpeg;base64,{}", STANDARD.encode(&s.jpeg))) width=(s.size[0]) height=(s.size[1]) alt=(s.alt);
                    figcaption {
                        b { (p.name(s.stage)) }
                        @if all.len() > 1 { " · " (place(k)) }
                        br; span.small { (s.photo) }
                        @if let Earlier::OtherDial(k) = s.earlier { br; span.small { (sentence_case(&other_dial(p.name(k)))) "." } }
                    }
                }
            } }
            p.small {
                "One photo of each stage, turned straight for showing. Yellow: where the needle points."
                @if let Some(stage) = dashed { " Dashed: where it stood in “" (stage) "”." }
            }
        }
    } }
}

/// The stages against a limit.
pub fn against(p: &Project) -> Markup {
    let all = story::against(p);
    html! { @if !all.is_empty() {
        section {
            h2 { "Limit" }
            ul { @for t in all { li { (t) } } }
            p.small { (LIMIT_CAUTION) }
        }
    } }
}

/// The runs over time.
pub fn runs(p: &Project) -> Markup {
    let all = p.stages.iter().flat_map(|s| s.runs.iter().enumerate().filter_map(move |(k, r)| Some((s, k, r.answer.as_ref().ok()?))));
    let all: Vec<_> = all.collect();
    html! { @if !all.is_empty() {
        section {
            h2 { "Over time" }
            @for (s, k, a) in all {
                figure.wide {
                    (PreEscaped(run_inline(a)))
                    figcaption {
                        b { (s.name) } ": " (typeset(&a.headline())) ". " (tau(a))
                        @if s.level.as_ref().is_some_and(|l| l.from != From::Run(k)) { "This run does not give the stage its temperature. " }
                        span.small {
                            "Rings: readings with the 95 % of their own photo. Line: the fitted curve. Green: the settled level with its 95 % band."
                            @if let Some(limit) = a.limit { " Dashed: the limit of " (both_units(limit, a.unit)) "." }
                        }
                    }
                }
            }
        }
    } }
}

fn tau(a: &Answer) -> String {
    let minutes = |s: f64| crate::maths::rounding::significant(s / 60.0, 2);
    a.tau.map_or(String::new(), |t| format!("Time constant {} min. ", minutes(t.value)))
}

/// What does not count, and what to mind.
pub fn minds(p: &Project, d: &Diary) -> Markup {
    let all = mind(p, d);
    html! { @if !all.is_empty() { (points("To mind", &all)) } }
}

/// What was noted, note by note.
pub fn conditions(p: &Project, d: &Diary) -> Markup {
    html! {
        section {
            h2 { "Conditions" }
            @for s in &p.stages {
                @for n in s.notes.iter().filter_map(|k| d.notes.get(*k)) {
                    div.note {
                        h3 { (s.name) span.small { " · " (story::note_line(n)) } }
                        dl { @for (k, v) in story::conditions(&n.conditions) { div { dt { (sentence_case(k)) } dd { (v) } } } }
                    }
                }
            }
        }
    }
}

/// A headed list.
pub fn points(head: &str, all: &[String]) -> Markup {
    html! { section { h2 { (head) } ul { @for t in all { li { (t) } } } } }
}
