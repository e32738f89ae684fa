//! The numbered ticks of a photo's dials.
use super::right;
use crate::calibrate::{FoundDial, NumberedTick, named_by};
use crate::output::names::{shown, word};
use crate::output::words::number;

/// One table a dial, and what to do next. `size`: width and height of the photo, px. `within`: the circle that was searched (middle and radius, px from the corner), where it was not the whole photo.
pub fn ticks(photo: &str, size: (usize, usize), dials: &[FoundDial], within: Option<[f64; 3]>) -> String {
    let (photo, typed) = (shown(photo), word(photo));
    let several = dials.len() > 1;
    let count = if several { format!("{} dials", dials.len()) } else { "1 dial".to_string() };
    let mut out = format!("{photo}: {count}. Places are px from the picture's top-left corner.\n");
    for (k, dial) in dials.iter().enumerate() {
        let [x, y] = [dial.pivot.x + 0.5, dial.pivot.y + 0.5];
        let letter = letter(k);
        out.push_str(&format!(
            "\nDial {letter}: pivot {},{}, radius {} px, seen {}° off straight on, {} ticks\n",
            number(x, 1),
            number(y, 1),
            number(dial.radius, 0),
            number(dial.tilt, 0),
            dial.ticks.len()
        ));
        out.push_str(&format!("{}  {}  {}  {}\n", right("tick", 6), right("angle °", 8), right("x", 8), right("y", 8)));
        dial.ticks.iter().for_each(|t| out.push_str(&row(t)));
    }
    out.push_str("\nNumbers run clockwise from the gap of the scale. Next, with the values of three or more of them:\n");
    let first = dials.iter().position(|d| whole(d, size)).unwrap_or(0);
    let places = places(dials);
    let at = places.get(first).filter(|_| several).map_or(String::new(), |p| format!("{p} "));
    let circle = within.map_or(String::new(), |[x, y, radius]| format!("--within {x},{y},{radius} "));
    out.push_str(&format!(
        "  needleband calibrate {typed} {circle}{at}--unit C --tick NUMBER=VALUE --tick NUMBER=VALUE ... --out dial.json\n"
    ));
    if several {
        out.push_str(&others(&places, first));
    }
    if dials.iter().flat_map(|d| &d.ticks).any(|t| t.doubt.is_some()) {
        out.push_str("Mind: a doubtful stroke may be no tick of the scale. Look at it in the picture before its number is used.\n");
    }
    out
}

/// What names each dial in a command.
fn places(dials: &[FoundDial]) -> Vec<String> {
    named_by(dials).iter().map(|[x, y]| format!("--dial-at {x:.0},{y:.0}")).collect()
}

/// Which dial the command is for, and what names the others.
fn others(places: &[String], first: usize) -> String {
    let named = |(k, p): (usize, &String)| (k != first).then(|| format!("{} {p}", letter(k)));
    let all: Vec<String> = places.iter().enumerate().filter_map(named).collect();
    let the = if all.len() == 1 { "the other" } else { "the others" };
    format!("That is dial {}; {the}: {}.\n", letter(first), all.join(", "))
}

/// Whether the ring of its marks lies in the photo (width, height): the dial next to the one that is meant is often cut off.
fn whole(d: &FoundDial, (width, height): (usize, usize)) -> bool {
    let fits = |at: f64, end: usize| at >= d.radius && at + d.radius <= end as f64;
    let [x, y] = d.pivot_place();
    fits(x, width) && fits(y, height)
}

/// "A" for the first dial.
pub(in crate::output) fn letter(k: usize) -> char {
    char::from(b'A' + (k % 26) as u8)
}

fn row(t: &NumberedTick) -> String {
    let cells = [
        right(&t.number.to_string(), 6),
        right(&number(t.angle, 1), 8),
        right(&number(t.outer.x + 0.5, 1), 8),
        right(&number(t.outer.y + 0.5, 1), 8),
    ];
    let mut notes = Vec::new();
    if t.long {
        notes.push("long".to_string());
    }
    if let Some(doubt) = t.doubt {
        notes.push(format!("doubtful: {}", doubt.words()));
    }
    format!("{}  {}", cells.join("  "), notes.join(", ")).trim_end().to_string() + "\n"
}
