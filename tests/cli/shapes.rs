//! The JSON of the command, written down anew: a field too many or too few is an error.
#![allow(dead_code)]
use serde::Deserialize;

/// A line of `read --json`.
#[derive(Deserialize, Debug)]
#[serde(deny_unknown_fields)]
pub struct Line {
    pub format_version: u32,
    pub photo: String,
    pub outcome: String,
    pub value: Option<f64>,
    pub sigma: Option<f64>,
    pub low: Option<f64>,
    pub high: Option<f64>,
    pub unit: String,
    pub value_c: Option<f64>,
    pub value_f: Option<f64>,
    pub angle_deg: Option<f64>,
    pub sigma_angle_deg: Option<f64>,
    pub dial: Name,
    pub flags: Vec<String>,
    pub reason: Option<String>,
    pub sentence: String,
    pub advice: Option<String>,
    pub taken_at: Option<String>,
    pub tilt_deg: Option<f64>,
    pub dial_px: Option<f64>,
    pub budget: Option<Vec<Term>>,
}

#[derive(Deserialize, Debug)]
#[serde(deny_unknown_fields)]
pub struct Name {
    pub name: String,
    pub id: String,
    pub declared: Vec<String>,
}

#[derive(Deserialize, Debug)]
#[serde(deny_unknown_fields)]
pub struct Term {
    pub source: String,
    pub contribution: f64,
}

/// The object of `compare --json`.
#[derive(Deserialize, Debug)]
#[serde(deny_unknown_fields)]
pub struct Change {
    pub format_version: u32,
    pub delta: f64,
    pub sigma: f64,
    pub low: f64,
    pub high: f64,
    pub unit: String,
    pub dof: Option<f64>,
    pub verdict: String,
    pub detectable: f64,
    pub before: SideOf,
    pub after: SideOf,
    pub shared: SharedPart,
    pub notes: Vec<String>,
}

#[derive(Deserialize, Debug)]
#[serde(deny_unknown_fields)]
pub struct SideOf {
    pub mean: f64,
    pub low: f64,
    pub high: f64,
    pub n: usize,
    pub scatter: Option<f64>,
    pub scatter_extra: Option<f64>,
    pub photos: Vec<String>,
    pub left_out: Vec<Left>,
}

#[derive(Deserialize, Debug)]
#[serde(deny_unknown_fields)]
pub struct Left {
    pub photo: String,
    pub outcome: String,
    pub reason: Option<String>,
}

#[derive(Deserialize, Debug)]
#[serde(deny_unknown_fields)]
pub struct SharedPart {
    pub before: f64,
    pub after: f64,
    pub left: f64,
}

/// The object of `settle --json`.
#[derive(Deserialize, Debug)]
#[serde(deny_unknown_fields)]
pub struct Run {
    pub format_version: u32,
    pub verdict: String,
    pub sentence: String,
    pub unit: String,
    pub level: Option<f64>,
    pub sigma: Option<f64>,
    pub low: Option<f64>,
    pub high: Option<f64>,
    pub dof: Option<f64>,
    pub sigma_scatter: Option<f64>,
    pub time_constant_s: Option<Ends>,
    pub within_1c_s: Option<Ends>,
    pub span_s: f64,
    pub overshoot: Option<f64>,
    pub drift_per_min: Option<f64>,
    pub drift_half: Option<f64>,
    pub correlation: f64,
    pub wander: f64,
    pub dial: DialOf,
    pub readings: Vec<ReadingOf>,
    pub left_out: Vec<Left>,
    pub budget: Option<Vec<Term>>,
    pub notes: Vec<String>,
}

#[derive(Deserialize, Debug)]
#[serde(deny_unknown_fields)]
pub struct Ends {
    pub value: f64,
    pub low: Option<f64>,
    pub high: Option<f64>,
}

#[derive(Deserialize, Debug)]
#[serde(deny_unknown_fields)]
pub struct DialOf {
    pub name: String,
    pub id: String,
}

#[derive(Deserialize, Debug)]
#[serde(deny_unknown_fields)]
pub struct ReadingOf {
    pub photo: String,
    pub seconds: f64,
    pub value: f64,
    pub sigma: f64,
    pub fitted: Option<f64>,
    pub bad: bool,
}
