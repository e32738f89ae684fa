//! Whether a dial can be right at all. The same check guards writing and reading.
use super::declare;
use super::error::DialFileError;
use super::model::{Dial, FIRST_VERSION, FORMAT_VERSION, Face, Mark, NeedleLook};
use crate::maths::source::Cause;

const MAX_MARKS: usize = 1000;
const MAX_TERMS: usize = 1000;
const MAX_RADII: usize = 100_000;
const MAX_NAME: usize = 200;
/// Most questions that a file tells, and most characters of one.
pub(super) const MAX_QUESTIONS: usize = 20;
/// See [`MAX_QUESTIONS`].
pub(super) const MAX_QUESTION: usize = 500;
/// Determinant of a homography over the cube of its largest entry, below which it maps the dial onto a line.
const FLAT: f64 = 1e-13;

/// Radius of what is looked at in any dial, units.
const DIAL_RADIUS: f64 = 1.12;
/// Least side of a picture of a face, px.
const LEAST_SIDE: usize = 16;

type Check = Result<(), DialFileError>;

/// Refuses what no calibration gives. Not checked here: the identity, and that the picture holds the pixels.
pub(super) fn check(dial: &Dial) -> Check {
    require(dial.name.chars().count() <= MAX_NAME, || format!("its name is longer than {MAX_NAME} characters"))?;
    require(dial.focal_ratio.is_none_or(|f| f.is_finite() && f > 0.0), || "the focal length is not above 0".to_string())?;
    require(dial.reference.len() == 64 && is_hex(&dial.reference), || "the hash of the reference photo is not 64 hex digits".to_string())?;
    marks(&dial.marks)?;
    version(dial)?;
    declare::check(&dial.declared, &dial.marks).map_err(|e| DialFileError::Content(e.seen))?;
    questions(&dial.questions)?;
    face(&dial.face)?;
    needle(&dial.needle)
}

/// Nothing can be declared in a file of the first version.
fn version(dial: &Dial) -> Check {
    require((FIRST_VERSION..=FORMAT_VERSION).contains(&dial.version), || format!("its format version {} is not known", dial.version))?;
    let room = dial.version > FIRST_VERSION || dial.declared.is_empty();
    let early = dial.version <= 2 && dial.prepared.is_some();
    let asked = dial.version <= 2 && !dial.questions.is_empty();
    require(!asked, || "it tells of questions, which a file of version 1 or 2 does not do".to_string())?;
    require(!early, || "it keeps something prepared, which a file of version 1 or 2 does not do".to_string())?;
    require(room, || format!("it declares the gauge's errors, which a file of version {FIRST_VERSION} does not do"))
}

/// Plain text of a bounded length: it is shown on terminals.
fn questions(all: &[String]) -> Check {
    require(all.len() <= MAX_QUESTIONS, || format!("it tells of more than {MAX_QUESTIONS} questions"))?;
    let plain = |q: &String| !q.is_empty() && q.chars().count() <= MAX_QUESTION && !q.chars().any(char::is_control);
    require(all.iter().all(plain), || format!("a question it tells of is empty, longer than {MAX_QUESTION} characters or no plain text"))
}

fn marks(marks: &[Mark]) -> Check {
    require(marks.len() >= 2, || format!("a scale needs two marks, and it has {}", marks.len()))?;
    require(marks.len() <= MAX_MARKS, || format!("it has more than {MAX_MARKS} marks"))?;
    for (i, m) in marks.iter().enumerate() {
        mark(i, m)?;
        let doubled = marks.iter().skip(i + 1).any(|other| other.value == m.value);
        require(!doubled, || format!("two marks have the same value {}", m.value))?;
    }
    let steps = || marks.iter().zip(marks.iter().skip(1));
    for (a, b) in steps() {
        require(b.value > a.value, || format!("the values of the marks do not rise: {} stands after {}", b.value, a.value))?;
    }
    let rising = steps().all(|(a, b)| b.angle > a.angle);
    let falling = steps().all(|(a, b)| b.angle < a.angle);
    require(rising || falling, || "the angles of the marks do not go one way round".to_string())?;
    let sweep = steps().map(|(a, b)| (b.angle - a.angle).abs()).sum::<f64>();
    require(sweep < 360.0, || format!("the marks sweep {sweep:.1}°, more than a full turn"))
}

fn mark(i: usize, m: &Mark) -> Check {
    let n = i + 1;
    finite(&[m.value, m.angle], || format!("value or angle of mark {n}"))?;
    require(m.terms.len() <= MAX_TERMS, || format!("mark {n} has more than {MAX_TERMS} terms"))?;
    require(!m.terms.contains_key(&Cause::Other(String::new())), || format!("a term of mark {n} has no name"))?;
    finite(&m.terms.values().copied().collect::<Vec<_>>(), || format!("a term of mark {n}"))?;
    require(m.value_terms.len() <= MAX_TERMS, || format!("the value of mark {n} has more than {MAX_TERMS} terms"))?;
    finite(&m.value_terms.values().copied().collect::<Vec<_>>(), || format!("a term of the value of mark {n}"))?;
    let Some(c) = m.click else { return Ok(()) };
    finite(&[c.given[0], c.given[1], c.snapped[0], c.snapped[1], c.residual.unwrap_or(0.0)], || format!("the click of mark {n}"))
}

fn face(f: &Face) -> Check {
    let plane = f.plane.matrix();
    finite(plane.as_slice(), || "the place of the dial in its picture".to_string())?;
    finite(&[f.scale, f.tilt, f.print_radius, f.cover_radius], || "a size of the face".to_string())?;
    let largest = plane.amax();
    let invertible = plane.determinant().abs() > FLAT * largest.powi(3) && f.plane.inverse().is_some();
    require(invertible, || "the place of the dial in its picture maps the dial onto a line".to_string())?;
    require(in_front(f), || "the place of the dial in its picture lies partly behind the camera".to_string())?;
    require(f.width >= LEAST_SIDE && f.height >= LEAST_SIDE, || format!("its picture of {} x {} px shows no dial", f.width, f.height))?;
    require(f.plane_terms.len() <= MAX_TERMS, || format!("the plane has more than {MAX_TERMS} terms"))?;
    for t in &f.plane_terms {
        finite(t.matrix().as_slice(), || "a term of the dial's plane".to_string())?;
    }
    require(f.uncovered.len() <= MAX_RADII, || format!("the face was uncovered in {} places", f.uncovered.len()))?;
    finite(f.camera.as_slice().as_flattened(), || "the place of the reference photo's camera".to_string())?;
    require(f.camera.is_none_or(|c| c[2] > 0.0), || "the reference photo's camera stood behind the face".to_string())?;
    finite(f.uncovered.as_flattened(), || "a place where the face was uncovered".to_string())?;
    let rising = f.uncovered.as_flattened().is_sorted_by(|a, b| a < b);
    require(rising, || "the places where the face was uncovered do not rise".to_string())?;
    require(f.scale > 0.0, || "the scale of the face is not above 0".to_string())?;
    require((0.0..90.0).contains(&f.tilt), || format!("a tilt of {}° is not between 0 and 90", f.tilt))?;
    require(f.print_radius > 0.0, || "the radius of the print is not above 0".to_string())?;
    let cover = 0.0..f.print_radius;
    require(cover.contains(&f.cover_radius), || "the cover over the pivot does not lie within the print".to_string())
}

/// Whether the whole dial lies before the camera: the third coordinate keeps its sign.
fn in_front(f: &Face) -> bool {
    let p = f.plane.matrix();
    p[(2, 2)].abs() > DIAL_RADIUS * p[(2, 0)].hypot(p[(2, 1)])
}

fn needle(n: &NeedleLook) -> Check {
    finite(&[n.angle, n.offset, n.tail_shift, n.span[0], n.span[1]], || "the place of the needle".to_string())?;
    finite(&n.contrast, || "the contrast of the needle".to_string())?;
    finite(&n.axis, || "the colour axis of the needle".to_string())?;
    finite(&n.half_width, || "a width of the needle".to_string())?;
    finite(&n.radii, || "a radius along the needle".to_string())?;
    let s = n.stand;
    finite(&[s.height, s.height_sigma, s.axis, s.axis_sigma], || "how the needle stands over the face".to_string())?;
    let sizes = s.height > 0.0 && s.height < 1.0 && s.height_sigma > 0.0 && s.axis.abs() < 0.2 && s.axis_sigma > 0.0;
    require(sizes, || "the needle's height or axis is not a possible one".to_string())?;
    let (widths, radii) = (n.half_width.len(), n.radii.len());
    require(widths == radii, || format!("the needle has {widths} widths for {radii} radii"))?;
    require((2..=MAX_RADII).contains(&radii), || format!("the needle is described at {radii} radii"))?;
    require(n.half_width.iter().all(|w| *w >= 0.0), || "a width of the needle is below 0".to_string())?;
    let rising = n.radii.iter().zip(n.radii.iter().skip(1)).all(|(a, b)| b > a);
    require(rising, || "the radii along the needle do not rise".to_string())?;
    require(n.span[1] > n.span[0], || "the visible span of the needle is empty".to_string())
}

/// Lower-case hex digits only.
pub(super) fn is_hex(text: &str) -> bool {
    text.bytes().all(|b| matches!(b, b'0'..=b'9' | b'a'..=b'f'))
}

fn finite(values: &[f64], what: impl Fn() -> String) -> Check {
    require(values.iter().all(|v| v.is_finite()), || format!("{} is not a number", what()))
}

fn require(holds: bool, what: impl Fn() -> String) -> Check {
    if holds { Ok(()) } else { Err(DialFileError::Content(what())) }
}
