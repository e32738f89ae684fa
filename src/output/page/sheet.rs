//! Readings as one page: each photo with what was found in it, its value with the band on a time axis, and what was not read with the
//! reason. All in one file, no script, nothing fetched.
use super::about::about;
use crate::diagnostics::Refusal;
use crate::dial::Dial;
use crate::maths::range::range;
use crate::output::limit::{LIMIT_CAUTION, both_units, shown_against};
use crate::output::names;
use crate::output::picture::{TimePlot, times_inline};
use crate::output::sentence_case;
use crate::output::words::{Banded, CAUTION, amount, number, outcome_sentence, plain};
use crate::reading::{Outcome, Record};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use maud::{DOCTYPE, Markup, PreEscaped, html};

const STYLE: [&str; 2] = [include_str!("page.css"), include_str!("sheet.css")];

/// A photo of the sheet.
#[derive(Clone, Debug)]
pub struct SheetPhoto {
    /// Its name.
    pub name: String,
    /// What it gave; the system's words where it could not be opened.
    pub record: Result<Record, String>,
    /// The small picture with what was found, JPEG; `None` where there is none to show.
    pub jpeg: Option<Vec<u8>>,
}

impl SheetPhoto {
    fn outcome(&self) -> Option<&Outcome> {
        self.record.as_ref().ok().map(|r| &r.outcome)
    }
    /// Why it was left out by hand.
    fn by_hand(&self) -> Option<&str> {
        match self.outcome() {
            Some(Outcome::Refused(Refusal::LeftOut, seen)) => Some(seen),
            _ => None,
        }
    }
}

/// Where a page that is served has its script and its style: whoever serves it lets nothing else run.
#[derive(Clone, Copy, Debug)]
pub struct Served<'a> {
    /// The script.
    pub script: &'a str,
    /// The style, see `sheet_style`.
    pub style: &'a str,
}

/// The page's style.
#[cfg(feature = "page")]
pub fn sheet_style() -> String {
    STYLE.concat()
}

/// The page. `limit`: dial unit. `served`: not as a file, but with buttons to leave photos out.
pub fn sheet(dial: &Dial, photos: &[SheetPhoto], limit: Option<f64>, served: Option<Served>) -> String {
    let said = headline(dial, photos);
    let plot = TimePlot::of(dial.unit, photos.iter().map(|p| p.record.as_ref().ok()), limit);
    let body = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                (about(&said, served.is_none()))
                @if let Some(s) = served {
                    link rel="icon" href="data:,"; link rel="stylesheet" href=(s.style); script type="module" src=(s.script) {}
                } @else { style { @for part in STYLE { (PreEscaped(part)) } } }
            }
            body { main {
                header { h1 { (said) } p.lead { (counted(dial)) } }
                @if let Some(plot) = &plot {
                    figure.wide { (PreEscaped(times_inline(plot, &said))) figcaption { (caption(plot, limit, dial)) } }
                }
                section.cards { @for (k, p) in photos.iter().enumerate() { (card(dial, (k, p), limit, served.is_some())) } }
                section.caution {
                    h2 { "Cautions" }
                    p { (CAUTION) @if limit.is_some() { " " (LIMIT_CAUTION) } }
                    @if served.is_none() {
                        p.small { "A photo that should not count is left out with its reason: needleband leave-out PHOTO --reason \"...\". Leave out what went wrong with the photo, never a number that is not liked." }
                    }
                }
            } }
        }
    };
    body.into_string()
}

/// "12 photos, 10 read: 84.1 to 91.2 °C"
fn headline(dial: &Dial, photos: &[SheetPhoto]) -> String {
    let values: Vec<f64> = photos
        .iter()
        .filter_map(|p| match p.outcome() {
            Some(Outcome::Reading(r)) => Some(r.temperature.value()),
            _ => None,
        })
        .collect();
    let hand = photos.iter().filter(|p| p.by_hand().is_some()).count();
    let unit = dial.unit.symbol();
    let one = |v: f64| number(v, 1);
    let (low, high) = range(values.iter().copied());
    let range = match values.len() {
        0 => String::new(),
        _ if one(low) == one(high) => format!(": {} {unit}", one(low)),
        _ => format!(": {} to {} {unit}", one(low), one(high)),
    };
    let n = photos.len();
    let left = if hand > 0 { format!(", {hand} left out by hand") } else { String::new() };
    format!("{n} photo{}, {} read{range}{left}", if n == 1 { "" } else { "s" }, values.len())
}

fn counted(dial: &Dial) -> String {
    let (low, high) = dial.span();
    let what = match dial.declared.gauge_accuracy {
        None => "how well the dial was read, not how right the gauge is".to_string(),
        Some(a) => format!("how well the dial was read and how right the gauge is, declared as {}", amount(a, dial)),
    };
    format!(
        "“{}”, {} to {} {}. ± reaches the farther end of the 95 % band: {what}.",
        names::shown(&dial.name),
        plain(low),
        plain(high),
        dial.unit.symbol()
    )
}

fn caption(plot: &TimePlot, limit: Option<f64>, dial: &Dial) -> Markup {
    html! {
        "Each reading with its 95 % band. "
        @if plot.by_time() { "Time as the camera's clock had it. " } @else { "In the order given: not every photo says when it was taken. " }
        @if plot.without() > 0 { "A cross at the lower edge: no number. " }
        @if let Some(limit) = limit { "Dashed: the limit of " (both_units(limit, dial.unit)) "." }
    }
}

fn card(dial: &Dial, (k, p): (usize, &SheetPhoto), limit: Option<f64>, served: bool) -> Markup {
    let none = !matches!(p.outcome(), Some(Outcome::Reading(_)));
    html! {
        article.card.not[none] id=(format!("photo-{}", k + 1)) {
            @if let Some(jpeg) = &p.jpeg {
                img src=(format!("data:image/jpeg;base64,{}", STANDARD.encode(jpeg))) alt=(format!("The dial in {}, with what was found", names::shown(&p.name)));
            }
            h3 { (k + 1) " · " (names::shown(&p.name)) }
            (result(dial, p, limit))
            @if served && p.record.is_ok() {
                p { button type="button" data-photo=(k) data-back[p.by_hand().is_some()] { @if p.by_hand().is_some() { "Count it again" } @else { "Leave out …" } } }
            }
        }
    }
}

fn result(dial: &Dial, p: &SheetPhoto, limit: Option<f64>) -> Markup {
    let record = match &p.record {
        Ok(record) => record,
        Err(error) => return html! { p.why { "Could not be opened: " (error) "." } },
    };
    let against = limit.and_then(|l| shown_against(dial, &record.outcome, l));
    html! {
        @match &record.outcome {
            Outcome::Reading(r) => {
                p.value { (Banded::of(&r.temperature, r.unit).headline()) }
                @let other = Banded::of(&r.temperature, r.unit).other_headline();
                p.small { (other) @if let Some(t) = &record.taken_at { @if !other.is_empty() { " · " } (t) } }
                @for flag in &r.flags { p.small { (flag.sentence()) " " (flag.advice()) } }
            }
            Outcome::Refused(Refusal::LeftOut, seen) => { p.why { (names::shown(seen)) } }
            Outcome::Refused(refusal, _) => {
                p.why { "Not read" }
                p.small { (outcome_sentence(dial, &record.outcome)) " " (refusal.advice()) }
            }
            beyond => { p.why { (outcome_sentence(dial, beyond)) } }
        }
        @if !matches!(record.outcome, Outcome::Reading(_)) { @if let Some(t) = &record.taken_at { p.small { (t) } } }
        @if let Some(against) = against { p.small { (sentence_case(&against)) "." } }
    }
}
