//! How good a dial file is.
use super::right;
use crate::assess::{Assessment, NoiseFrom, Repeats, USUAL_TIP, USUAL_WIDTH, Worry};
use crate::dial::{Dial, MarkKind};
use crate::maths::units::Unit;
use crate::output::names::shown;
use crate::output::words::{also, number, plain, sigma_text};
use crate::scale::BetweenMarks;

/// The whole answer. `photos`: how many were given.
pub fn check(dial: &Dial, a: &Assessment, photos: usize) -> String {
    let unit = dial.unit.symbol();
    let (low, high) = dial.span();
    let mut out = format!("Dial \"{}\" ({}), {} to {} {unit}\n\n", shown(&dial.name), dial.id, plain(low), plain(high));
    out.push_str(&marks(dial, a));
    out.push_str(&resolution(dial, a));
    out.push_str(&change(dial, a));
    out.push_str(&a.repeats.map_or_else(|| none_read(photos), |r| repeats(dial, &r, photos)));
    if a.worries.is_empty() {
        out.push_str("\nNothing to worry about was found.\n");
    } else {
        out.push('\n');
        a.worries.iter().for_each(|w| out.push_str(&format!("Mind: {}\n", sentence(w, dial))));
    }
    out
}

fn marks(dial: &Dial, a: &Assessment) -> String {
    let unit = dial.unit.symbol();
    let heads =
        [right(&format!("mark {unit}"), 8), right("angle °", 9), right("± σ °", 7), right(&format!("± σ {unit}"), 8), right("click px", 9)];
    let mut out = heads.join("  ") + "\n";
    for m in a.marks.iter().filter(|m| m.kind != MarkKind::Counted) {
        let click = m.residual.map_or(String::new(), |r| number(r, 1));
        let cells = [
            right(&plain(m.value), 8),
            right(&number(m.angle, 2), 9),
            right(&number(m.sigma, 2), 7),
            right(&sigma_text(m.sigma_value), 8),
            right(&click, 9),
        ];
        out.push_str(&format!("{}\n", cells.join("  ").trim_end()));
    }
    let counted = a.marks.iter().filter(|m| m.kind == MarkKind::Counted).count();
    if counted > 0 {
        out.push_str(&format!("and {counted} tick{} between them, counted\n", if counted == 1 { "" } else { "s" }));
    }
    if let Some(r) = a.residual {
        out.push_str(&format!("Clicks beside their ticks: {} px, root mean square.\n", number(r, 1)));
    }
    let blur = a.blur.map_or(String::new(), |b| format!(", its print is blurred by {} px (one sigma)", number(b, 1)));
    out.push_str(&format!(
        "The reference photo shows the dial {} px across, {}° off straight on{blur}.\n",
        number(2.0 * dial.face.scale, 0),
        number(dial.face.tilt, 1)
    ));
    out
}

fn resolution(dial: &Dial, a: &Assessment) -> String {
    let unit = dial.unit.symbol();
    let mut out = format!("\nA degree of needle is {} {unit}:\n", sigma_text(a.per_degree));
    for s in &a.stretches {
        out.push_str(&format!(
            "  {} to {} {unit}: {} {unit} a degree ({}° of needle)\n",
            plain(s.from),
            plain(s.to),
            sigma_text(s.per_degree),
            number(s.angle, 1)
        ));
    }
    out.push_str("A pixel at the needle's tip is, by the width of the dial in the photo:\n");
    for s in &a.sizes {
        let own = if (s.across - 2.0 * dial.face.scale).abs() < 1e-9 { " (the reference)" } else { "" };
        out.push_str(&format!("  {} px across: {}°, {} {unit}{own}\n", number(s.across, 0), sigma_text(s.degrees), sigma_text(s.value)));
    }
    out
}

fn change(dial: &Dial, a: &Assessment) -> String {
    let unit = dial.unit.symbol();
    let from = match a.noise.from {
        NoiseFrom::Seen => "photos as far apart as those given".to_string(),
        NoiseFrom::Explained => "photos like the one given".to_string(),
        NoiseFrom::Assumed => {
            format!("photos {} px across that fix the needle's tip to {} px (one sigma)", number(USUAL_WIDTH, 0), number(USUAL_TIP, 1))
        }
    };
    let flat = !dial.declared.flats.is_empty();
    let place = if flat { "nearest to the middle of the scale where the needle moves" } else { "in the middle of the scale" };
    let mut out = format!("\nThe smallest change that is called real in 95 of 100 cases, {place}, with {from}:\n");
    for s in &a.smallest {
        let photos = if s.photos == 1 { "photo" } else { "photos" };
        let said = s.change.map_or("none that fits on the scale".to_string(), |c| {
            let by = |u: Unit| format!("{} {}", sigma_text(dial.unit.convert_difference(c.size, u)), u.symbol());
            let place = if flat { format!(", from {} {unit} downwards", number(c.at, 0)) } else { String::new() };
            format!("{}{place}", also(&by(dial.unit), dial.unit.other().map(by)))
        });
        // one photo a side shows no scatter, and compare calls nothing real then
        let when = if s.photos == 1 && s.change.is_some() { ", when the scatter is known (compare --scatter)" } else { "" };
        out.push_str(&format!("  {} {photos} a side: {said}{when}\n", s.photos));
    }
    if a.noise.from != NoiseFrom::Seen {
        out.push_str("How far the needle wanders from photo to photo is not in it: give some photos of one temperature to see that.\n");
    }
    out
}

fn none_read(photos: usize) -> String {
    match photos {
        0 => String::new(),
        1 => "\nThe photo gave no number that could be repeated.\n".to_string(),
        n => format!("\nNone of the {n} photos gave a number that could be repeated.\n"),
    }
}

fn repeats(dial: &Dial, r: &Repeats, photos: usize) -> String {
    let unit = dial.unit.symbol();
    let mut out = format!("\n{} of {photos} photo{} read, taken to be of one temperature:\n", r.count, if photos == 1 { "" } else { "s" });
    out.push_str(&format!("  mean {} {unit}, from {} to {}\n", number(r.mean, 2), number(r.range.0, 2), number(r.range.1, 2)));
    match r.sd {
        Some(sd) => {
            out.push_str(&format!("  standard deviation {} {unit}; each photo explains {} of it\n", sigma_text(sd), sigma_text(r.expected)))
        }
        None => out.push_str("  One photo shows no spread: give three or more.\n"),
    }
    out
}

/// How well the scale is known between its marks.
pub(super) fn between_marks(b: &BetweenMarks, dial: &Dial) -> String {
    let unit = dial.unit.symbol();
    format!(
        "Between its marks the scale is known to ± {} {unit} at worst (near {}); with the value of a tick in each step it would be ± {}.",
        sigma_text(b.half),
        number(b.near, 0),
        sigma_text(b.with_more)
    )
}

/// What is to be minded, as a sentence with advice.
fn sentence(w: &Worry, dial: &Dial) -> String {
    let unit = dial.unit.symbol();
    match *w {
        Worry::Questioned(i) => {
            let asked = dial.questions.get(i).map_or("", String::as_str);
            format!("When this file was written, its entries were questioned: {}", shown(asked))
        }
        Worry::FewMarks(n, between) => {
            format!("Only {n} marks are known. {} Give the values of the ticks between them.", between_marks(&between, dial))
        }
        Worry::Flat(a, b, s) => format!(
            "From {} to {} {unit} the needle hardly moves: a degree of it is {} {unit}. Some gauges are made to stand still when all is \
             well; if this one does there, declare it: refine --flat {}..{}.",
            plain(a),
            plain(b),
            sigma_text(s),
            plain(a),
            plain(b)
        ),
        Worry::FlatZone(a, b) => format!(
            "From {} to {} {unit} the needle stands still, as declared: a photo there gives the whole range and no number, and a change \
             within it is not shown. Compare at temperatures outside.",
            plain(a),
            plain(b)
        ),
        Worry::Tilted(t) => {
            format!("The reference was taken {}° off straight on, so its far side is known less well. Take it from in front.", number(t, 0))
        }
        Worry::Blurred(b) => {
            format!(
                "The reference is blurred by {} % of the dial's radius. Take a sharper one: hold still, more light.",
                number(100.0 * b, 1)
            )
        }
        Worry::Small(r) => format!("The dial is only {} px across in the reference. Take it from nearer.", number(2.0 * r, 0)),
        Worry::FarClick(v, r) => {
            format!("The click on {} is {} px beside the tick it was snapped to. See that it is the right one.", plain(v), number(r, 1))
        }
        Worry::NoTick(v) => {
            format!("At the click on {} no printed tick was found, so the click itself is used. Give its place again.", plain(v))
        }
        Worry::Askew => {
            "The printed ticks do not point at the pivot, so only their middles are used. With few ticks a pivot given by hand, \
                         or a reference taken straight on, makes that surer."
                .to_string()
        }
        Worry::Wander => {
            "The readings lie further apart than each of them explains: the temperature moved, or the needle sticks. Take them \
                          again within a minute, and tap the dash before each."
                .to_string()
        }
    }
}
