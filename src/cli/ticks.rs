//! `ticks`: the dials of a photo, their printed ticks numbered; and the numbers that `calibrate` takes.
use super::args::TicksArgs;
use super::failure::{ALL_READ, Failure};
use super::files::{self, Encoding, named, told, worded, write_whole};
use super::open::whole;
use super::progress;
use crate::calibrate::{FoundDial, Region, find_dials, find_dials_in, named as named_dial, named_by};
use crate::maths::point::PhotoPoint;
use crate::output::picture::ticks_picture;
use crate::output::{json, text};
use crate::photo::Photo;
use std::io::Write;
use std::path::Path;

/// Runs the command; the answer is the exit status.
pub fn run(args: &TicksArgs, out: &mut dyn Write) -> Result<u8, Failure> {
    let encoding = args.picture.as_deref().map(Encoding::of).transpose()?;
    if let Some(picture) = args.picture.as_deref().filter(|p| files::same(p, &args.photo)) {
        return Err(Failure::trouble(format!("{} is the photo itself, so it is not written over. Choose another name.", told(picture))));
    }
    args.picture.iter().try_for_each(|p| files::refuse_existing(p, args.force))?;
    let photo = whole(&args.photo)?;
    let mut dials = sought(&photo, args.within);
    let shown = named(&args.photo);
    if dials.is_empty() {
        return Err(none(&args.photo, args.within.is_some()));
    }
    if let Some(at) = args.dial_at {
        dials = named_dial(dials, at).into_iter().collect();
    }
    if args.json {
        writeln!(out, "{}", json::ticks(&shown, &dials)?)?;
    } else {
        write!(out, "{}", text::wrapped(&text::ticks(&shown, (photo.width, photo.height), &dials, args.within)))?;
    }
    if let (Some(path), Some(encoding)) = (&args.picture, encoding) {
        let drawn = ticks_picture(&photo, &dials).and_then(|p| encoding.bytes(&p));
        write_whole(path, &drawn.map_err(|e| Failure::trouble(format!("The picture: {e}.")))?, args.force)?;
        if !args.json {
            writeln!(out, "The numbers are drawn in {}.", told(path))?;
        }
    }
    Ok(ALL_READ)
}

/// The dials of a photo, or of a circle in it (middle and radius, px from the corner).
pub fn sought(photo: &Photo, within: Option<[f64; 3]>) -> Vec<FoundDial> {
    progress::told("looking for dials", || match within {
        Some([x, y, radius]) => find_dials_in(photo, Region { centre: PhotoPoint::new(x - 0.5, y - 0.5), radius }),
        None => find_dials(photo),
    })
}

/// That no dial was found. `within`: only a circle was searched.
pub fn none(path: &Path, within: bool) -> Failure {
    let closer = match within {
        true => "",
        false => "draw round the dial, which is then searched closer and for fainter strokes: ticks --within X,Y,RADIUS; or ",
    };
    Failure::not_read(format!(
        "{}: no dial was found: nowhere do five or more printed strokes point at one place and end on one ring about it, nor four and more marks stand evenly about one. Use a sharp \
         photo in which the dial is some 400 px wide or more, taken nearly straight on, without glare on the scale; or {closer}give the \
         places of the marks yourself: calibrate --mark VALUE@X,Y, or calibrate --page.",
        told(path)
    ))
}

/// The dial on which a place lies; a place on none is more likely a mistyped one than near enough.
fn on(dials: Vec<FoundDial>, at: [f64; 2], names: &[String]) -> Result<FoundDial, Failure> {
    let [x, y] = at;
    let place = PhotoPoint::new(x - 0.5, y - 0.5);
    named_dial(dials, at).filter(|d| d.pivot.distance(place) < ON_DIAL * d.radius).ok_or_else(|| {
        Failure::trouble(format!(
            "No dial that was found has the place {x},{y} on its face, so it is not clear whose ticks are meant. Use one of: --dial-at {}.",
            names.join(" or --dial-at ")
        ))
    })
}

/// A place on a dial lies within so many radii of its marks' circle from the pivot (numerals may stand outside of it).
const ON_DIAL: f64 = 1.3;

/// What `--tick NUMBER=VALUE` stands for: each value with its tick's place, and the dial's pivot where the ticks tell it, px from the
/// picture's corner.
pub struct Picked {
    /// Value and place.
    pub marks: Vec<(f64, [f64; 2])>,
    /// Where the ticks' lines meet.
    pub pivot: Option<[f64; 2]>,
}

/// The marks behind `--tick NUMBER=VALUE`. With several dials in the photo `at` (px from the corner) must tell which one is meant.
/// `within`: the circle in which the numbers were given.
pub fn picked(
    path: &Path,
    photo: &Photo,
    ticks: &[(usize, f64)],
    (at, within): (Option<[f64; 2]>, Option<[f64; 3]>),
) -> Result<Picked, Failure> {
    let dials = sought(photo, within);
    let names: Vec<String> = named_by(&dials).iter().map(|[x, y]| format!("{x:.0},{y:.0}")).collect();
    let dial = match (dials.len(), at) {
        (0, _) => return Err(none(path, within.is_some())),
        (1, None) => dials.into_iter().next(),
        (_, Some(at)) => Some(on(dials, at, &names)?),
        (n, None) => {
            return Err(Failure::trouble(format!(
                "{}: {n} dials were found, so it is not clear whose ticks are meant. Add one of: --dial-at {}.",
                told(path),
                names.join(" or --dial-at ")
            )));
        }
    };
    let Some(dial) = dial else { return Err(none(path, within.is_some())) };
    let place = |number: usize| {
        dial.place(number).ok_or_else(|| {
            Failure::trouble(format!(
                "There is no tick {number}: this dial's ticks have the numbers 1 to {}. Look at the picture that needleband ticks {} \
                 --picture ticks.png draws.",
                dial.ticks.len(),
                worded(path)
            ))
        })
    };
    let marks = ticks.iter().map(|&(number, value)| Ok((value, place(number)?))).collect::<Result<_, Failure>>()?;
    Ok(Picked { marks, pivot: dial.tells_pivot().then(|| dial.pivot_place()) })
}
