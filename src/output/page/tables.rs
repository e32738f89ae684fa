//! Tables of the page. On a phone each row becomes a block with its headings beside the numbers; the roles keep it a table for those
//! who hear it.
use crate::diary::{Diary, Project};
use crate::maths::rounding::band;
use crate::output::story;
use crate::output::words::{Banded, none_of, outcome_short, typeset};
use maud::{Markup, html};

fn table(heads: &[&str], rows: &[Vec<String>]) -> Markup {
    html! {
        table role="table" {
            thead role="rowgroup" { tr role="row" { @for h in heads { th role="columnheader" scope="col" { (h) } } } }
            tbody role="rowgroup" { @for row in rows {
                tr role="row" { @for (cell, head) in row.iter().zip(heads) {
                    @if !cell.is_empty() { td.fixed[numeric(cell)] role="cell" data-head=(head) { (cell) } } @else { td.none role="cell" {} }
                } }
            } }
        }
    }
}

/// Numbers stay on one line; words may break.
fn numeric(cell: &str) -> bool {
    cell.chars().count() < 24 && cell.starts_with(|c: char| c.is_ascii_digit() || "−<".contains(c))
}

/// The stages.
pub fn levels(p: &Project) -> Markup {
    let own = p.unit.symbol();
    let other = p.unit.other().map(crate::maths::units::Unit::symbol);
    let row = |s: &crate::diary::Stage| {
        let cells = s.level.as_ref().map(|l| {
            let b = Banded::of(&l.temperature, p.unit);
            [Some(bare(b)), b.other().map(bare), Some(b.band_text())]
        });
        let none = [Some(none_of(p.unit).to_string()), other.map(|_| String::new()), Some(String::new())];
        let mut row = vec![s.name.clone()];
        row.extend(cells.unwrap_or(none).into_iter().flatten());
        row.extend([story::photos(s), story::when(s).unwrap_or("no time known".to_string())]);
        row
    };
    let rows: Vec<Vec<String>> = p.stages.iter().map(row).collect();
    let band = format!("95 % band, {own}");
    let heads: Vec<&str> = ["stage", own].into_iter().chain(other).chain([band.as_str(), "photos", "taken"]).collect();
    html! {
        section {
            h2 { "Stages" }
            (table(&heads, &rows))
            p.small { "± reaches the farther end of the 95 % band." }
        }
    }
}

/// A temperature without its unit, which the head of its column has.
fn bare(b: Banded) -> String {
    if b.is_range() { b.band_text() } else { format!("{} ± {}", b.value_text(), b.half_text()) }
}

/// The changes.
pub fn changes(p: &Project) -> Markup {
    let (own, other) = (p.unit, p.unit.other());
    let heads = |band: &str| -> Vec<String> {
        let units = [Some(own), other].into_iter().flatten().map(|u| u.symbol().to_string());
        ["change".to_string(), "verdict".to_string()].into_iter().chain(units).chain([band.to_string(), "chance".to_string()]).collect()
    };
    let rows: Vec<Vec<String>> = p
        .changes
        .iter()
        .map(|c| {
            let numbers = [Some(own), other].into_iter().flatten().map(|u| story::change_number(c, own, u));
            [format!("{} → {}", p.name(c.from), p.name(c.to)), story::standing(c).to_string()]
                .into_iter()
                .chain(numbers)
                .chain([typeset(&band(c.delta.band().0, c.delta.band().1).to_string()), story::probability(c.adjusted)])
                .collect()
        })
        .collect();
    let together: Vec<String> =
        p.changes.iter().map(|c| format!("{} → {}: {}", p.name(c.from), p.name(c.to), story::ends(c.together, own))).collect();
    html! { @if !rows.is_empty() {
        section {
            h2 { "Changes" }
            (table(&heads(&format!("95 % band, {}", own.symbol())).iter().map(String::as_str).collect::<Vec<_>>(), &rows))
            p.small {
                "Chance: how often a change as large would show where there is none"
                @if rows.len() > 1 { ", all " (rows.len()) " changes counted together" } ". "
                @if rows.len() > 1 { "Bands that hold all of them at once in 95 % of cases: " (together.join("; ")) "." }
            }
        }
    } }
}

/// Every photo with its digest.
pub fn photos(p: &Project, d: &Diary) -> Markup {
    let rows: Vec<Vec<String>> = p
        .stages
        .iter()
        .flat_map(|s| s.notes.iter().filter_map(|k| d.notes.get(*k)).flat_map(move |n| n.photos.iter().map(move |x| (s, n, x))))
        .map(|(s, n, x)| {
            let digest: String = x.sha256.chars().take(12).collect();
            let time = x.record.taken_at.clone().unwrap_or("no time known".to_string());
            vec![s.name.clone(), x.file.clone(), outcome_short(&x.record.outcome), time, digest, n.dial.id.clone()]
        })
        .collect();
    html! {
        details {
            summary { "All " (rows.len()) " photos" }
            (table(&["stage", "photo", "reading", "taken", "SHA-256 begins", "dial file"], &rows))
        }
    }
}
