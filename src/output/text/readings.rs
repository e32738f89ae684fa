//! The table of `read`: a row a photo as it comes, then what the remarks mean.
use super::{column, left, tail};
use crate::diagnostics::Flag;
use crate::dial::Dial;
use crate::output::limit::{LIMIT_CAUTION, photo_against};
use crate::output::names::shown;
use crate::output::words::{Banded, CAUTION, amount, outcome_sentence, plain};
use crate::reading::{Outcome, Reading, Record};
use std::collections::BTreeSet;

const LONGEST_PATH: usize = 30;
/// Holds "−185.6 ± 12.1 °F" and two spaces.
const TEMPERATURE: usize = 19;

/// The table, printed row by row; it keeps count for its end.
#[derive(Clone, Debug)]
pub struct ReadTable {
    name_width: usize,
    flags: BTreeSet<Flag>,
    read: usize,
    below: usize,
    above: usize,
    refused: usize,
    unopened: usize,
    limit: Option<f64>,
    explain: bool,
}

impl ReadTable {
    /// For the photos to come, by the paths given.
    pub fn new(paths: &[String]) -> Self {
        let longest = paths.iter().map(|p| shown(p).chars().count()).max().unwrap_or(0);
        let name_width = longest.clamp("photo".len(), LONGEST_PATH);
        Self { name_width, flags: BTreeSet::new(), read: 0, below: 0, above: 0, refused: 0, unopened: 0, limit: None, explain: false }
    }
    /// With each temperature judged against a limit (dial unit).
    pub fn against(self, limit: Option<f64>) -> Self {
        Self { limit, ..self }
    }
    /// With all digits and the band below each row.
    pub fn explained(self, explain: bool) -> Self {
        Self { explain, ..self }
    }
    /// The lines above the first row.
    pub fn head(&self, dial: &Dial) -> String {
        let (low, high) = dial.span();
        let unit = dial.unit.symbol();
        let columns =
            [column(if dial.unit.is_temperature() { "temperature" } else { "value" }, 2 * TEMPERATURE), "remarks".to_string()].concat();
        let counted = match dial.declared.gauge_accuracy {
            None => "how well the dial was read, not how right the gauge is".to_string(),
            Some(a) => format!("how well the dial was read and how right the gauge is, declared as {}", amount(a, dial)),
        };
        format!(
            "Dial \"{}\", {} to {} {unit}.\n± reaches the farther end of the 95 % band: {counted}.\n\n{}  {columns}\n",
            shown(&dial.name),
            plain(low),
            plain(high),
            left("photo", self.name_width)
        )
    }
    /// The row (or rows) of a photo.
    pub fn row(&mut self, path: &str, dial: &Dial, record: &Record) -> String {
        let against = self.limit.and_then(|l| photo_against(dial, &record.outcome, l));
        let below = against.map_or(String::new(), |words| format!("{}  {words}\n", " ".repeat(self.name_width)));
        self.first_row(path, dial, record) + &below
    }
    fn first_row(&mut self, path: &str, dial: &Dial, record: &Record) -> String {
        let name = left(&tail(path, LONGEST_PATH), self.name_width);
        match &record.outcome {
            Outcome::Reading(reading) => {
                self.read += 1;
                self.flags.extend(reading.flags.iter().copied());
                let all = if self.explain { all_digits(reading, self.name_width) } else { String::new() };
                format!("{name}  {}\n{all}", number(reading))
            }
            Outcome::BelowScale => {
                self.below += 1;
                format!("{name}  {}\n", beyond("below", dial, dial.span().0))
            }
            Outcome::AboveScale => {
                self.above += 1;
                format!("{name}  {}\n", beyond("above", dial, dial.span().1))
            }
            Outcome::Refused(refusal, _) => {
                self.refused += 1;
                let sentence = outcome_sentence(dial, &record.outcome);
                format!("{name}  not read: {sentence}\n{}  {}\n", " ".repeat(self.name_width), refusal.advice())
            }
        }
    }
    /// Counts a file that could not be opened (its message goes to the error stream).
    pub fn unopened(&mut self) {
        self.unopened += 1;
    }
    /// The lines below the last row.
    pub fn foot(&self) -> String {
        let mut out = String::new();
        if !self.flags.is_empty() {
            out.push_str("\nRemarks\n");
            let width = self.flags.iter().map(|f| f.code().len()).max().unwrap_or(0);
            for f in &self.flags {
                out.push_str(&format!("  {}  {} {}\n", left(&words(*f), width), f.sentence(), f.advice()));
            }
        }
        let kinds = [
            (self.read, "read"),
            (self.below, "below the scale"),
            (self.above, "above the scale"),
            (self.refused, "not read"),
            (self.unopened, "not opened"),
        ];
        let parts: Vec<String> = kinds.iter().filter(|(n, _)| *n > 0).map(|(n, what)| format!("{n} {what}")).collect();
        let limit = if self.limit.is_some() { format!("{LIMIT_CAUTION}\n") } else { String::new() };
        let more = if self.explain || self.read == 0 { "" } else { " --explain shows all digits and the bands." };
        out.push_str(&format!("\n{}.{more}\n{limit}{CAUTION}\n", parts.join(", ")));
        out
    }
}

fn number(reading: &Reading) -> String {
    let own = Banded::of(&reading.temperature, reading.unit);
    let remarks: Vec<String> = reading.flags.iter().map(|f| words(*f)).collect();
    let line = [column(&own.headline(), TEMPERATURE), column(&own.other_headline(), TEMPERATURE), remarks.join(", ")];
    line.concat().trim_end().to_string()
}

fn all_digits(reading: &Reading, indent: usize) -> String {
    let own = Banded::of(&reading.temperature, reading.unit);
    let pad = " ".repeat(indent);
    format!("{pad}  {}\n{pad}  95 % band {}\n", own.both(), own.range())
}

/// "below 40 °C    below 104 °F"
fn beyond(word: &str, dial: &Dial, end: f64) -> String {
    let text = |v: f64, unit: &str| format!("{word} {} {unit}", plain(v));
    let converted = dial.unit.other().map_or(String::new(), |o| text(dial.unit.convert(end, o), o.symbol()));
    format!("{}{converted}", column(&text(end, dial.unit.symbol()), TEMPERATURE))
}

/// A flag's code as words.
fn words(flag: Flag) -> String {
    flag.code().replace('_', " ")
}
