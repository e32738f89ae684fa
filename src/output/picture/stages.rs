//! The stages of a project as a plot: a row a stage, temperature across in both units, 95 % bands.
use super::axes::ticks;
use super::banner::{bold_type, plain_type};
use super::canvas::{Picture, blank};
use super::error::PictureError;
use super::look::{Look, PAGE, PICTURE};
use super::svg::{Anchor, Stroke, Svg, Type, rough_width};
use crate::diary::{Level, Project};
use crate::maths::range::range;
use crate::output::words::{Banded, plain};

/// Width, in units of which a letter is 12 high.
const WIDTH: f64 = 360.0;
/// Height of a row, and of what is above and below the rows.
const ROW: f64 = 52.0;
const ENDS: (f64, f64) = (34.0, 42.0);
/// From where to where in a row its words stand.
const WORDS: [f64; 2] = [5.0, 25.0];
/// How many times larger the picture is.
const LARGER: f64 = 3.0;

/// The plot as an element of a page; `alt` says in words what it shows.
pub fn stages_inline(project: &Project, alt: &str) -> String {
    let mut svg = Svg::new();
    let size = draw(&mut svg, project, PAGE);
    svg.inline(size, alt)
}

/// The plot as PNG, 1080 px wide.
///
/// # Errors
/// When the drawing fails.
pub fn stages_png(project: &Project) -> Result<Vec<u8>, PictureError> {
    let mut svg = Svg::new();
    let [w, h] = draw(&mut svg, project, Look { size: 12.0 * LARGER, ..PICTURE });
    Picture::new(svg.over(blank(w as u32, h as u32))?).png()
}

/// Where temperatures lie across.
struct Across {
    range: (f64, f64),
    left: f64,
    width: f64,
}

impl Across {
    fn over(levels: &[&Level], limit: Option<f64>, k: f64) -> Self {
        let ends = levels
            .iter()
            .flat_map(|l| [l.temperature.band().0, l.temperature.band().1, l.temperature.value()])
            .chain(limit)
            .filter(|v| v.is_finite());
        let (low, high) = range(ends);
        let room = (0.12 * (high - low)).max(0.5);
        Self { range: (low - room, high + room), left: 14.0 * k, width: (WIDTH - 28.0) * k }
    }
    fn x(&self, v: f64) -> f64 {
        self.left + self.width * ((v - self.range.0) / (self.range.1 - self.range.0)).clamp(0.0, 1.0)
    }
}

fn draw(svg: &mut Svg, project: &Project, look: Look) -> [f64; 2] {
    let k = look.size / 12.0;
    let levels: Vec<&Level> = project.stages.iter().filter_map(|s| s.level.as_ref()).collect();
    let bottom = (ENDS.0 + ROW * project.stages.len() as f64) * k;
    if !levels.is_empty() {
        let across = Across::over(&levels, project.limit, k);
        axes(svg, &across, project, [ENDS.0 * k, bottom], look);
        let levels = project.stages.iter().enumerate().filter_map(|(n, s)| Some((n, s.level.as_ref()?)));
        let dots: Vec<[f64; 2]> = levels.map(|(n, l)| [across.x(l.temperature.value()), middle(n, k)]).collect();
        limit(svg, &across, project, look);
        joined(svg, &dots, look);
        for (n, stage) in project.stages.iter().enumerate() {
            if let Some(level) = &stage.level {
                dot(svg, &across, level, middle(n, k), look);
            }
        }
    }
    let across = (!levels.is_empty()).then(|| Across::over(&levels, project.limit, k));
    for n in 0..project.stages.len() {
        name(svg, project, n, (across.as_ref(), look));
    }
    [WIDTH * k, bottom + ENDS.1 * k]
}

/// The dashed line from dot to dot; words are written over it.
fn joined(svg: &mut Svg, dots: &[[f64; 2]], look: Look) {
    let k = look.size / 12.0;
    for pair in dots.windows(2) {
        svg.line(pair, Stroke::solid(look.quiet, 1.2 * k).dashed(4.0 * k));
    }
}

/// The limit: an upright line beside the dots, broken where a row's words stand.
fn limit(svg: &mut Svg, across: &Across, project: &Project, look: Look) {
    let k = look.size / 12.0;
    let Some(x) = project.limit.map(|l| across.x(l)) else { return };
    for row in 0..project.stages.len() {
        let at = |d: f64| [x, (ENDS.0 + ROW * row as f64 + d) * k];
        svg.line(&[at(WORDS[1]), at(ROW)], Stroke::solid(look.warn, 1.8 * k));
    }
}

/// Where the row's dot is.
fn middle(row: usize, k: f64) -> f64 {
    (ENDS.0 + ROW * row as f64 + 36.0) * k
}

/// A row's name, cut to its room, and its temperature.
fn words(project: &Project, row: usize, look: Look) -> (String, String) {
    let stage = project.stages.get(row);
    let level = stage.and_then(|s| s.level.as_ref());
    let said = level.map_or("no temperature".to_string(), |l| Banded::of(&l.temperature, project.unit).headline());
    let room = (WIDTH - 40.0) * look.size / 12.0 - rough_width(&said, look.size, false);
    let most = (room / (0.62 * look.size)) as usize;
    (super::banner::shortened(stage.map_or("", |s| s.name.as_str()), most.max(4)), said)
}

/// The row's name at the left, its temperature above its dot, or as near to it as the name lets.
fn name(svg: &mut Svg, project: &Project, row: usize, (across, look): (Option<&Across>, Look)) {
    let (k, size) = (look.size / 12.0, look.size);
    let y = (ENDS.0 + ROW * row as f64 + 19.0) * k;
    let (stage, said) = words(project, row, look);
    svg.text([14.0 * k, y], Type { halo: Some(look.paper), ..bold_type(size, look.ink) }, &stage);
    let (half, right) = (0.5 * rough_width(&said, size, false), (WIDTH - 14.0) * k);
    let first = 14.0 * k + rough_width(&stage, size, true) + 8.0 * k + half;
    let level = project.stages.get(row).and_then(|s| s.level.as_ref());
    let at = across.zip(level).map_or(right, |(a, l)| a.x(l.temperature.value())).max(first).min(right - half);
    svg.text([at, y], Type { anchor: Anchor::Middle, halo: Some(look.paper), ..plain_type(size, look.ink) }, &said);
}

fn dot(svg: &mut Svg, across: &Across, level: &Level, y: f64, look: Look) {
    let k = look.size / 12.0;
    let band = level.temperature.band();
    let (low, high, at) = (across.x(band.0), across.x(band.1), across.x(level.temperature.value()));
    // at least two px wide, so that a narrow band is seen
    let (low, high) = (low.min((low + high) / 2.0 - k), high.max((low + high) / 2.0 + k));
    let half = 8.0 * k;
    svg.area(&[[low, y - half], [high, y - half], [high, y + half], [low, y + half]], look.band, 0.7);
    if level.temperature.interval().is_none() && band.0.is_finite() && band.1.is_finite() {
        svg.ring([at, y], 3.6 * k, Stroke::solid(look.mark, 1.8 * k));
    }
}

/// The unit of the dial below, the other above.
fn axes(svg: &mut Svg, across: &Across, project: &Project, [top, bottom]: [f64; 2], look: Look) {
    let (k, size) = (look.size / 12.0, 0.92 * look.size);
    let (own, other) = (project.unit, project.unit.other());
    let hair = Stroke::solid(look.quiet, k.max(1.0));
    // a number at an end stays over the axis
    let within = |x: f64, words: &str| {
        let half = 0.5 * rough_width(words, size, false);
        x.min(across.left + across.width - half).max(across.left + half)
    };
    for v in thin(ticks(across.range.0, across.range.1)) {
        let x = across.x(v);
        svg.line(&[[x, top], [x, bottom]], Stroke::solid(look.quiet, 1.0).faded(0.28));
        svg.text([within(x, &plain(v)), bottom + 16.0 * k], Type { anchor: Anchor::Middle, ..plain_type(size, look.ink) }, &plain(v));
    }
    let above = other.map_or(Vec::new(), |o| {
        let to = |v: f64| own.convert(v, o);
        thin(ticks(to(across.range.0), to(across.range.1))).into_iter().map(|v| (v, o.convert(v, own))).collect()
    });
    for (v, at) in above {
        let x = across.x(at);
        svg.line(&[[x, top], [x, top + 5.0 * k]], hair);
        svg.text([within(x, &plain(v)), top - 6.0 * k], Type { anchor: Anchor::Middle, ..plain_type(size, look.quiet) }, &plain(v));
    }
    let [left, right] = [across.left, across.left + across.width];
    svg.line(&[[left, top], [right, top]], hair);
    svg.line(&[[left, bottom], [right, bottom]], hair);
    let limit = project.limit.map_or(String::new(), |l| format!("; limit {} {}", plain(l), own.symbol()));
    let said = other
        .map_or(format!("in {}{limit}", own.symbol()), |o| format!("temperature, {} below and {} above{limit}", own.symbol(), o.symbol()));
    svg.text([(left + right) / 2.0, bottom + 34.0 * k], Type { anchor: Anchor::Middle, ..plain_type(size, look.quiet) }, &said);
}

/// Not more than seven: numbers with decimals need room.
fn thin(ticks: Vec<f64>) -> Vec<f64> {
    let every = ticks.len().div_ceil(7).max(1);
    ticks.into_iter().step_by(every).collect()
}
