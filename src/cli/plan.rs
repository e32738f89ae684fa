//! `plan`: how many photos, how near, after how long.
use super::args::PlanArgs;
use super::failure::{ALL_READ, Failure};
use super::files::load_dial;
use super::which_dial::chosen;
use crate::output::{json, text};
use crate::plan::{Request, plan};
use std::io::Write;

/// Runs the command; the answer is the exit status.
pub fn run(args: &PlanArgs, out: &mut dyn Write) -> Result<u8, Failure> {
    let dial = load_dial(&chosen(args.dial.as_deref())?)?;
    let request = Request {
        drop: args.drop.difference(dial.unit)?,
        scatter: args.scatter.map(|s| s.difference(dial.unit)).transpose()?,
        at: args.at.map(|t| t.at(dial.unit)).transpose()?,
    };
    let planned = plan(&dial, &request).map_err(|e| Failure::trouble(e.to_string()))?;
    if args.json {
        writeln!(out, "{}", json::planned(&planned, args.time_constant)?)?;
    } else {
        write!(out, "{}", text::wrapped(&text::planned(&planned, &dial, args.time_constant)))?;
    }
    Ok(ALL_READ)
}
