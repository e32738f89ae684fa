//! A diary as one page: all in one file, no script, nothing fetched. It reads without colour, prints on A4 and follows light and dark.
mod about;
mod parts;
mod sheet;
mod tables;
use super::limit::both_units;
use super::markdown::alt;
use super::names;
use super::picture::{PictureError, stages_inline};
use super::shown::shown;
use super::story;
use crate::diary::{Diary, Project};
use about::about;
use maud::{DOCTYPE, Markup, PreEscaped, html};
#[cfg(feature = "page")]
pub(crate) use sheet::sheet_style;
pub use sheet::{Served, SheetPhoto, sheet};

const STYLE: &str = include_str!("page/page.css");

/// The page.
///
/// # Errors
/// When a picture cannot be drawn.
pub fn page(p: &Project, d: &Diary) -> Result<String, PictureError> {
    let (p, d) = (&names::project(p), &names::diary(d));
    let pictures = shown(p, d)?;
    let said = story::answer(p);
    let body = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                (about(&said, true))
                style { (PreEscaped(STYLE)) }
            }
            body { main {
                header { h1 { (said) } (lead(p, d)) }
                figure.wide {
                    (PreEscaped(stages_inline(p, &alt(p))))
                    figcaption {
                        "Each stage with its 95 % band (green; at least two pixels wide, so that a narrow one is seen). The dashed line joins the stages."
                        @if let Some(limit) = p.limit { " The upright line is the limit of " (both_units(limit, p.unit)) "." }
                    }
                }
                (parts::pictures(p, &pictures))
                (tables::levels(p))
                (parts::against(p))
                (tables::changes(p))
                (parts::runs(p))
                (parts::minds(p, d))
                (parts::conditions(p, d))
                (parts::points("How it was worked out", &story::method(p)))
                (parts::points("What it cannot say", &story::limits(p)))
                section.caution { h2 { "Cautions" } p { (story::CAUTIONS) } }
                (tables::photos(p, d))
            } }
        }
    };
    Ok(body.into_string())
}

/// Below the answer: each step, and what may be said of all of them.
fn lead(p: &Project, d: &Diary) -> Markup {
    let days = p.stages.iter().filter_map(story::when).collect::<Vec<_>>();
    let span = match (days.first(), days.last()) {
        (Some(a), Some(b)) if a != b => format!(", {a} to {b}"),
        (Some(a), _) => format!(", {a}"),
        _ => String::new(),
    };
    let (n, notes) = (p.stages.len(), d.notes.len());
    html! {
        p.lead { (n) @if n == 1 { " stage" } @else { " stages" } ", " (notes) @if notes == 1 { " note" } @else { " notes" } (span) }
        @if let Some(all) = story::family(p) { p { (all) } }
    }
}
