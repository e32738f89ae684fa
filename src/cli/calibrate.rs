//! `calibrate`: one photo and the places of its marks to a dial file and a check picture.
use super::args::CalibrateArgs;
use super::failure::{ALL_READ, Failure, TROUBLE, say};
use super::files::{self, Encoding, refuse_existing, write_whole};
use super::open::{named_photos, whole};
use super::ticks;
use crate::base::point::PhotoPoint;
use crate::calibrate::{Calibration, Request, calibrate_several};
use crate::dial::{Declared, to_bytes};
use crate::output::picture::check_picture;
use crate::output::text;
use crate::photo::Photo;
use std::io::Write;
use std::path::{Path, PathBuf};

/// Runs the command; the answer is the exit status.
pub fn run(args: &CalibrateArgs, out: &mut dyn Write) -> Result<u8, Failure> {
    let picture = args.picture.clone().unwrap_or_else(|| beside(&args.out));
    let encoding = Encoding::of(&picture)?;
    targets(args, &picture)?;
    let photo = whole(&args.photo)?;
    let also = named_photos(&args.also)?;
    let request = request(args, &photo)?;
    let done = calibrate_several(&photo, &also, &request).map_err(|e| Failure::trouble(format!("{}: {e}", args.photo.display())))?;
    let declared = args.declared.over(&Declared::default(), done.dial.unit);
    let done = done.declare(declared).map_err(|e| Failure::trouble(e.to_string()))?;
    let bytes = to_bytes(&done.dial).map_err(|e| Failure::trouble(format!("{}: {e}", args.out.display())))?;
    write_whole(&args.out, &bytes, args.force)?;
    // the picture beside the dial file is this command's own drawing and follows the file; one that the user named does not
    let redraw = args.force || args.picture.is_none();
    let drawn = draw(&photo, &done, encoding).and_then(|bytes| write_whole(&picture, &bytes, redraw));
    write!(out, "{}", text::calibration(&done))?;
    writeln!(out, "\nDial file: {}", args.out.display())?;
    match drawn {
        Ok(()) => {
            writeln!(out, "Look at {}: every blue tick must lie on a printed mark and carry its value.", picture.display())?;
            Ok(ALL_READ)
        }
        Err(failure) => {
            say(&failure.message.unwrap_or_default());
            Ok(TROUBLE)
        }
    }
}

/// "oil-check.png" beside "oil.json".
fn beside(out: &Path) -> PathBuf {
    let stem = out.file_stem().unwrap_or_default().to_string_lossy();
    out.with_file_name(format!("{stem}-check.png"))
}

/// Checks where the two files go before any work is done.
fn targets(args: &CalibrateArgs, picture: &Path) -> Result<(), Failure> {
    for target in [args.out.as_path(), picture] {
        if files::same(target, &args.photo) {
            return Err(Failure::trouble(format!(
                "{} is the reference photo itself, so it is not written over. Choose another name.",
                target.display()
            )));
        }
    }
    refuse_existing(&args.out, args.force)?;
    if let Some(named) = &args.picture {
        refuse_existing(named, args.force)?;
    }
    if args.out == picture {
        return Err(Failure::trouble("The dial file and the check picture have the same name. Give the picture another."));
    }
    Ok(())
}

/// The request in the library's frame: what was typed counts from the corner of the picture, the library from the centre of
/// its first pixel, half a pixel further in.
fn request(args: &CalibrateArgs, photo: &Photo) -> Result<Request, Failure> {
    let point = |[x, y]: [f64; 2]| PhotoPoint::new(x - 0.5, y - 0.5);
    let stem = args.out.file_stem().unwrap_or_default().to_string_lossy().to_string();
    let (mut marks, mut pivot) = (args.marks.clone(), args.pivot);
    if !args.ticks.is_empty() {
        let picked = ticks::picked(&args.photo, photo, &args.ticks, args.dial_at)?;
        marks.extend(picked.marks);
        pivot = pivot.or(Some(picked.pivot));
    }
    Ok(Request {
        unit: args.unit.into(),
        name: args.name.clone().unwrap_or(stem),
        marks: marks.iter().map(|(value, at)| (*value, point(*at))).collect(),
        angles: args.angles.clone(),
        pivot: pivot.map(point),
        rim: args.rim.map(point),
    })
}

fn draw(photo: &Photo, done: &Calibration, encoding: Encoding) -> Result<Vec<u8>, Failure> {
    let picture = check_picture(photo, &done.dial);
    picture.and_then(|p| encoding.bytes(&p)).map_err(|e| Failure::trouble(format!("The check picture: {e}.")))
}
