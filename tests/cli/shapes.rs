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
    pub limit: Option<LimitOf>,
    pub budget: Option<Vec<Term>>,
    pub metrics: Option<serde_json::Value>,
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
    pub limit_side: Option<String>,
    pub unit: String,
    pub dof: Option<f64>,
    pub verdict: String,
    pub detectable: f64,
    pub detection_limit: f64,
    pub adjusted: Option<AdjustedOf>,
    pub coverage: CoverageOf,
    pub before: SideOf,
    pub after: SideOf,
    pub shared: SharedPart,
    pub notes: Vec<String>,
}

#[derive(Deserialize, Debug)]
#[serde(deny_unknown_fields)]
pub struct SideOf {
    pub origin: String,
    pub mean: f64,
    pub sigma: f64,
    pub dof: Option<f64>,
    pub low: f64,
    pub high: f64,
    pub limit_side: Option<String>,
    pub n: usize,
    pub scatter: Option<f64>,
    pub scatter_extra: Option<f64>,
    pub photos: Vec<String>,
    pub left_out: Vec<Left>,
    pub ambient: Option<AmbientOf>,
    pub rise: Option<RiseOf>,
    pub load: Option<String>,
    pub limit: Option<LimitOf>,
}

#[derive(Deserialize, Debug)]
#[serde(deny_unknown_fields)]
pub struct AmbientOf {
    pub value: f64,
    pub half: f64,
    pub assumed: bool,
}

#[derive(Deserialize, Debug)]
#[serde(deny_unknown_fields)]
pub struct RiseOf {
    pub value: f64,
    pub low: f64,
    pub high: f64,
}

#[derive(Deserialize, Debug)]
#[serde(deny_unknown_fields)]
pub struct AdjustedOf {
    pub delta: f64,
    pub low: f64,
    pub high: f64,
    pub verdict: String,
    pub slope_low: f64,
    pub slope_high: f64,
    pub delta_at_low: f64,
    pub delta_at_high: f64,
    pub ambient_change: f64,
    pub ambient_sigma: f64,
}

#[derive(Deserialize, Debug)]
#[serde(deny_unknown_fields)]
pub struct CoverageOf {
    pub probability: f64,
    pub counted: Vec<String>,
    pub not_counted: Vec<String>,
}

/// A temperature against a limit.
#[derive(Deserialize, Debug)]
#[serde(deny_unknown_fields)]
pub struct LimitOf {
    pub limit: f64,
    pub stands: String,
    pub margin: Option<f64>,
    pub low: Option<f64>,
    pub high: Option<f64>,
    pub probability_low: Option<f64>,
    pub probability_high: Option<f64>,
    pub caution: String,
}

/// The object of `plan --json`.
#[derive(Deserialize, Debug)]
#[serde(deny_unknown_fields)]
pub struct PlanOf {
    pub format_version: u32,
    pub unit: String,
    pub drop: f64,
    pub at: f64,
    pub scatter: f64,
    pub scatter_assumed: bool,
    pub sigma_dial: f64,
    pub smallest: f64,
    pub photos: Option<usize>,
    pub dial_px: Option<u32>,
    pub sizes: Vec<SizeOf>,
    pub wait_time_constants: f64,
    pub wait_s: Option<f64>,
    pub wait_left: f64,
}

#[derive(Deserialize, Debug)]
#[serde(deny_unknown_fields)]
pub struct SizeOf {
    pub dial_px: u32,
    pub sigma_reading: f64,
    pub photos: Option<usize>,
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
    pub dof_scatter: Option<f64>,
    pub time_constant_s: Option<Ends>,
    pub within_1c_s: Option<Ends>,
    pub span_s: f64,
    pub taken_first: Option<String>,
    pub taken_last: Option<String>,
    pub overshoot: Option<f64>,
    pub drift_per_min: Option<f64>,
    pub drift_half: Option<f64>,
    pub correlation: f64,
    pub wander: f64,
    pub wander_dof: Option<f64>,
    pub may_follow: Option<f64>,
    pub may_follow_next: Option<f64>,
    pub at_scale_end: bool,
    pub limit: Option<LimitOf>,
    pub dial: DialOf,
    pub readings: Vec<ReadingOf>,
    pub left_out: Vec<Left>,
    pub budget: Option<Vec<Term>>,
    pub notes: Vec<String>,
    pub check: String,
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
    pub low: f64,
    pub high: f64,
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
