//! What each criterion of trust does: over photos whose truth is known, how many answers are gross and how many photos are refused, with
//! the criterion moved and all others as they are. `cargo run --release --example retune -- OUT SET...` writes OUT.csv and OUT.svg.
//!
//! A set is a folder with pictures, and with truth.csv and clicks.csv (a row a photo: file, gauge, kind, unit, value, marks; a row a click:
//! gauge, kind, value, x, y) or with index.csv (a row a dial in a photo: file, dial, marks, pivot, reading, pm). A dial is calibrated from
//! its reference photo, or from each photo that is labelled; every photo of it is read with it, and some photos of other dials, which
//! must be refused. Each photo is measured once; then `decide` is asked again with other criteria.
use needleband::calibrate::{Request, calibrate};
use needleband::dial::{from_bytes, to_bytes};
use needleband::maths::point::PhotoPoint;
use needleband::maths::units::Unit;
use needleband::photo::{Photo, decode};
use needleband::reading::{Criteria, Decision, Metrics, Reader, decide};
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::error::Error;
use std::fmt::Write;
use std::path::Path;

type Row = BTreeMap<String, String>;

/// What the right answer is.
#[derive(Clone, Copy, Debug)]
enum Want {
    /// This value; off by more than the second number is gross. The scale's ends.
    Value { value: f64, gross: f64, ends: (f64, f64) },
    /// The needle stands off the scale.
    Off,
    /// No needle or no such dial: any answer is gross.
    Nothing,
}

struct Case {
    set: String,
    metrics: Metrics,
    want: Want,
}

/// Answers and refusals of one set under some criteria.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Count {
    asked: usize,
    answered: usize,
    gross: usize,
    /// Of photos that have an answer.
    refused: usize,
}

/// A criterion by name, how it is moved, and its value by default.
struct Knob {
    name: &'static str,
    set: fn(&mut Criteria, f64),
    get: fn(&Criteria) -> f64,
}

macro_rules! knobs {
    ($($field:ident$(.$inner:ident)?: $kind:ty),* $(,)?) => {
        [$(Knob {
            name: concat!(stringify!($field) $(, ".", stringify!($inner))?),
            set: |c, v| c.$field$(.$inner)? = v as $kind,
            get: |c| c.$field$(.$inner)? as f64,
        }),*]
    };
}

/// All that `decide` may refuse for.
fn knobs() -> Vec<Knob> {
    Vec::from(knobs![
        many_matches: usize,
        print_match: f64,
        print_match_many: f64,
        print_match_proved: f64,
        print_match_proved_many: f64,
        proving_glyphs: usize,
        not_proving: f64,
        outdoing_glyphs: usize,
        contradicted: f64,
        glyph.differs: f64,
        glyph.in_both: f64,
        other_glyphs: usize,
        other_share: f64,
        other_likeness: f64,
        less_alike: f64,
        own_likeness: f64,
        other_ink: f64,
        unlike: f64,
        unlike_share: f64,
        unlike_glyphs: usize,
        line_score: f64,
        needle_step: f64,
        needle_step_clear: f64,
        needle_step_noise: f64,
        needle_seen: f64,
        needle_seen_plain: f64,
        plain_score: f64,
        plain_step: f64,
        needle_px: f64,
        runner_up: f64,
        alone_seen: f64,
        runner_up_seen: f64,
        alone_outline: f64,
        outline: f64,
        needle_sigma_deg: f64,
        needle_off_line: f64,
        off_pivot: f64,
        off_pivot_unproved: f64,
        off_scale: f64,
        off_scale_deg: f64,
        off_scale_most: f64,
    ])
}

/// What a criterion is multiplied by.
const FACTORS: [f64; 17] = [0.0, 0.25, 0.4, 0.5, 0.63, 0.71, 0.8, 0.9, 1.0, 1.12, 1.25, 1.4, 1.6, 2.0, 2.5, 4.0, 1000.0];

fn main() -> Result<(), Box<dyn Error>> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let [out, sets @ ..] = args.as_slice() else { return Err("give a name for the results and the folders of the sets".into()) };
    let mut cases = Vec::new();
    for set in sets {
        let folder = Path::new(set);
        cases.extend(if folder.join("index.csv").exists() { labelled(folder)? } else { rendered(folder)? });
        eprintln!("{set}: {} photos measured so far", cases.len());
    }
    let curves = curves(&cases);
    std::fs::write(format!("{out}.csv"), table(&curves))?;
    std::fs::write(format!("{out}.svg"), picture(&curves))?;
    let now = count(&cases, &Criteria::default());
    now.iter().for_each(|(set, c)| println!("{set}: {c:?}"));
    Ok(())
}

// --- sets ---------------------------------------------------------------------------------------------------------------------------

/// Rows of a CSV file by the names in its head; quotes as in RFC 4180, no line breaks inside them.
fn rows(path: &Path) -> Result<Vec<Row>, Box<dyn Error>> {
    let text = std::fs::read_to_string(path).map_err(|e| format!("{}: {e}", path.display()))?;
    let cells = |line: &str| {
        let mut cells = vec![String::new()];
        let mut quoted = false;
        for c in line.chars() {
            match c {
                '"' => quoted = !quoted,
                ',' if !quoted => cells.push(String::new()),
                c => cells.last_mut().into_iter().for_each(|l| l.push(c)),
            }
        }
        cells
    };
    let mut lines = text.lines().map(cells);
    let head = lines.next().unwrap_or_default();
    Ok(lines.map(|l| head.iter().cloned().zip(l).collect()).collect())
}

fn field<'a>(row: &'a Row, name: &str) -> &'a str {
    row.get(name).map_or("", String::as_str)
}

fn number(text: &str) -> Result<f64, Box<dyn Error>> {
    text.trim().parse().map_err(|_| format!("{text:?} is no number").into())
}

fn photo(path: &Path) -> Result<Photo, Box<dyn Error>> {
    Ok(decode(&std::fs::read(path).map_err(|e| format!("{}: {e}", path.display()))?)?)
}

/// A place counted from the picture's corner, in the library's frame: from the centre of the first pixel.
fn point(x: &str, y: &str) -> Result<PhotoPoint, Box<dyn Error>> {
    Ok(PhotoPoint::new(number(x)? - 0.5, number(y)? - 0.5))
}

fn marks(text: &str) -> Result<Vec<(f64, PhotoPoint)>, Box<dyn Error>> {
    let one = |q: &str| -> Result<_, Box<dyn Error>> {
        let (value, at) = q.split_once(':').ok_or("a mark is VALUE:X,Y")?;
        let (x, y) = at.split_once([',', ' ']).ok_or("a place is X,Y")?;
        Ok((number(value)?, point(x, y)?))
    };
    text.split(';').filter(|q| !q.is_empty()).map(one).collect()
}

fn ends(marks: &[(f64, PhotoPoint)]) -> (f64, f64) {
    marks.iter().fold((f64::MAX, f64::MIN), |e, m| (e.0.min(m.0), e.1.max(m.0)))
}

fn reader(
    folder: &Path,
    file: &str,
    marks: Vec<(f64, PhotoPoint)>,
    pivot: Option<PhotoPoint>,
    unit: Unit,
) -> Result<Reader, Box<dyn Error>> {
    let request = Request { unit, name: "dial".to_string(), marks, angles: Vec::new(), pivot, rim: None, tick_step: None };
    // by way of its file, whose checks the command makes too
    let file = to_bytes(&calibrate(&photo(&folder.join(file))?, &request)?.dial)?;
    Ok(Reader::new(from_bytes(&file)?))
}

fn measured(set: &str, folder: &Path, reader: &Reader, wanted: Vec<(String, Want)>) -> Vec<Case> {
    let one = |(file, want): &(String, Want)| {
        let metrics = reader.measure(&photo(&folder.join(file)).ok()?, None).1;
        Some(Case { set: set.to_string(), metrics, want: *want })
    };
    wanted.par_iter().filter_map(one).collect()
}

fn name_of(folder: &Path) -> String {
    folder.file_name().map_or_else(|| "set".to_string(), |n| n.to_string_lossy().into_owned())
}

/// Renderings: exact truth, one reference photo for each gauge.
fn rendered(folder: &Path) -> Result<Vec<Case>, Box<dyn Error>> {
    let (truth, clicks, set) = (rows(&folder.join("truth.csv"))?, rows(&folder.join("clicks.csv"))?, name_of(folder));
    let mut cases = Vec::new();
    for reference in truth.iter().filter(|t| field(t, "kind") == "reference") {
        let gauge = field(reference, "gauge");
        let of = |kind: &'static str| clicks.iter().filter(move |c| field(c, "gauge") == gauge && field(c, "kind") == kind);
        let clicked = of("mark")
            .map(|c| Ok((number(field(c, "value"))?, point(field(c, "x"), field(c, "y"))?)))
            .collect::<Result<Vec<_>, Box<dyn Error>>>()?;
        let pivot = of("pivot").next().map(|c| point(field(c, "x"), field(c, "y"))).transpose()?;
        let unit = if field(reference, "unit") == "F" { Unit::F } else { Unit::C };
        let ends = ends(&marks(field(reference, "marks"))?);
        let reader = reader(folder, field(reference, "file"), clicked, pivot, unit)?;
        let mut wanted = Vec::new();
        let mut others = 0;
        for t in truth.iter().filter(|t| field(t, "kind") != "reference") {
            let want = match field(t, "kind") {
                "reading" if field(t, "gauge") == gauge => {
                    Want::Value { value: number(field(t, "value"))?, gross: 0.03 * (ends.1 - ends.0), ends }
                }
                "below" if field(t, "gauge") == gauge => Want::Off,
                "absent" if field(t, "gauge") == gauge => Want::Nothing,
                "reading" => {
                    // every fourth photo of another gauge
                    others += 1;
                    if others % 4 != 0 {
                        continue;
                    }
                    Want::Nothing
                }
                _ => continue,
            };
            wanted.push((field(t, "file").to_string(), want));
        }
        cases.extend(measured(&set, folder, &reader, wanted));
    }
    Ok(cases)
}

/// Photographs with labels by eye: every labelled photo calibrates its dial.
fn labelled(folder: &Path) -> Result<Vec<Case>, Box<dyn Error>> {
    let (index, set) = (rows(&folder.join("index.csv"))?, name_of(folder));
    let index: Vec<Row> = index.into_iter().filter(|r| folder.join(field(r, "file")).exists()).collect();
    let same = |a: &Row, b: &Row| field(a, "dial") == field(b, "dial") && field(a, "repo") == field(b, "repo");
    let mut cases = Vec::new();
    for (i, row) in index.iter().enumerate() {
        let at = marks(field(row, "marks"))?;
        let ends = ends(&at);
        let seen = !field(row, "pivot_how").starts_with("inferred");
        let pivot = field(row, "pivot").split_once(',').filter(|_| seen).map(|(x, y)| point(x, y)).transpose()?;
        // a photo from which no dial is learned is none of this example's
        let Ok(reader) = reader(folder, field(row, "file"), at, pivot, Unit::C) else { continue };
        let mut wanted = Vec::new();
        for (k, other) in index.iter().enumerate() {
            let (value, pm) = (number(field(other, "reading"))?, number(field(other, "pm"))?);
            let off = value + pm < ends.0 || value - pm > ends.1 || pm == 0.0 && value < ends.0;
            let want = match same(row, other) {
                true if off => Want::Off,
                true => Want::Value { value, gross: (3.0 * pm).max(0.03 * (ends.1 - ends.0)), ends },
                // photos that show this dial nowhere
                false if k % 8 == i % 8 && !index.iter().any(|o| field(o, "file") == field(other, "file") && same(o, row)) => Want::Nothing,
                false => continue,
            };
            wanted.push((field(other, "file").to_string(), want));
        }
        cases.extend(measured(&set, folder, &reader, wanted));
    }
    Ok(cases)
}

// --- curves -------------------------------------------------------------------------------------------------------------------------

fn count(cases: &[Case], criteria: &Criteria) -> BTreeMap<String, Count> {
    let mut all: BTreeMap<String, Count> = BTreeMap::new();
    for case in cases {
        let c = all.entry(case.set.clone()).or_default();
        c.asked += 1;
        let answer = decide(&case.metrics, criteria);
        if matches!(answer, Decision::Refused { .. } | Decision::Open) {
            c.refused += usize::from(!matches!(case.want, Want::Nothing));
            continue;
        }
        c.answered += 1;
        c.gross += usize::from(is_gross(&answer, case));
    }
    all
}

fn is_gross(answer: &Decision, case: &Case) -> bool {
    let read = case.metrics.scale.taken().map_or(f64::NAN, |s| s.value);
    match (answer, case.want) {
        (_, Want::Nothing) => true,
        (Decision::Reading(_), Want::Value { value, gross, .. }) => (read - value).abs() > gross,
        (Decision::BelowScale, Want::Value { value, gross, ends }) => value - gross / 3.0 > ends.0 + 0.01 * (ends.1 - ends.0),
        (Decision::AboveScale, Want::Value { value, gross, ends }) => value + gross / 3.0 < ends.1 - 0.01 * (ends.1 - ends.0),
        // off the scale: a reading is gross only where it is not at an end, which `beyond_deg` tells
        (Decision::Reading(flags), Want::Off) => !flags.contains(&needleband::diagnostics::Flag::AtScaleEnd),
        _ => false,
    }
}

/// For each criterion: (its value, what comes of it by set) for each factor.
type Curve = (&'static str, f64, Vec<(f64, f64, BTreeMap<String, Count>)>);

fn curves(cases: &[Case]) -> Vec<Curve> {
    let of = |knob: Knob| {
        let now = (knob.get)(&Criteria::default());
        let at = |factor: f64| {
            let mut criteria = Criteria::default();
            (knob.set)(&mut criteria, factor * now);
            (factor, (knob.get)(&criteria), count(cases, &criteria))
        };
        (knob.name, now, FACTORS.map(at).to_vec())
    };
    knobs().into_iter().map(of).collect()
}

fn table(curves: &[Curve]) -> String {
    let mut out = "criterion,default,factor,value,set,asked,answered,gross,refused\r\n".to_string();
    for (name, now, points) in curves {
        for (factor, value, sets) in points {
            for (set, c) in sets {
                let _ = write!(out, "{name},{now},{factor},{value},{set},{},{},{},{}\r\n", c.asked, c.answered, c.gross, c.refused);
            }
        }
    }
    out
}

// --- picture ------------------------------------------------------------------------------------------------------------------------

const PANEL: (f64, f64) = (330.0, 190.0);
const ACROSS: usize = 4;

/// A panel a criterion: gross answers and refusals of all sets together against the factor, each on its own height.
fn picture(curves: &[Curve]) -> String {
    let down = curves.len().div_ceil(ACROSS);
    let (w, h) = (PANEL.0 * ACROSS as f64, PANEL.1 * down as f64 + 30.0);
    let mut svg = format!(
        r##"<svg xmlns="http://www.w3.org/2000/svg" width="{w}" height="{h}" font-family="sans-serif" font-size="11"><rect width="{w}" height="{h}" fill="#fff"/>"##
    );
    svg += r##"<text x="12" y="20" font-size="13">Red: gross answers. Blue: photos refused that have an answer. Across: the criterion over its default (0 to 1000 times). Line: default.</text>"##;
    for (i, curve) in curves.iter().enumerate() {
        let corner = (PANEL.0 * (i % ACROSS) as f64, 30.0 + PANEL.1 * (i / ACROSS) as f64);
        svg += &panel(curve, corner);
    }
    svg + "</svg>\n"
}

fn panel((name, now, points): &Curve, (x, y): (f64, f64)) -> String {
    let (left, top, wide, high) = (x + 40.0, y + 26.0, PANEL.0 - 80.0, PANEL.1 - 60.0);
    let sum = |of: fn(&Count) -> usize| points.iter().map(|p| p.2.values().map(of).sum::<usize>()).collect::<Vec<_>>();
    let at = |i: usize| left + wide * i as f64 / (points.len() - 1) as f64;
    let mut out = format!(
        r##"<text x="{left}" y="{}" font-size="12">{name} = {now}</text><rect x="{left}" y="{top}" width="{wide}" height="{high}" fill="none" stroke="#bbb"/>"##,
        y + 18.0
    );
    if let Some(i) = points.iter().position(|p| p.0 == 1.0) {
        let _ = write!(out, r##"<path d="M{0} {top}V{1}" stroke="#888"/>"##, at(i), top + high);
    }
    for (counts, colour, side, anchor) in
        [(sum(|c| c.gross), "#c0392b", left - 5.0, "end"), (sum(|c| c.refused), "#2563a8", left + wide + 5.0, "start")]
    {
        let most = counts.iter().max().copied().unwrap_or(0).max(1);
        let line: Vec<String> =
            counts.iter().enumerate().map(|(i, n)| format!("{:.1},{:.1}", at(i), top + high * (1.0 - *n as f64 / most as f64))).collect();
        let _ = write!(out, r##"<polyline points="{}" fill="none" stroke="{colour}" stroke-width="1.6"/>"##, line.join(" "));
        let _ = write!(out, r##"<text x="{side}" y="{}" text-anchor="{anchor}" fill="{colour}">{most}</text>"##, top + 8.0);
        let _ = write!(out, r##"<text x="{side}" y="{}" text-anchor="{anchor}" fill="{colour}">0</text>"##, top + high);
    }
    for (i, words) in [(0, "0"), (3, "0.5"), (8, "1"), (13, "2"), (points.len() - 1, "1000")] {
        let _ = write!(out, r##"<text x="{}" y="{}" text-anchor="middle" fill="#666">{words}</text>"##, at(i), top + high + 14.0);
    }
    out
}
