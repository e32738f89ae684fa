//! A calibration as it is wanted, made and saved: the same for the command line and for the page.
use super::args::{CalibrateArgs, Known};
use super::failure::Failure;
use super::files::{self, Encoding, dial_file, refuse_existing, told, write_whole};
use super::needle_check;
use super::open::{named_photos, whole};
use crate::calibrate::{Calibration, KnownPhoto, Request, Warning, calibrate_known, calibrate_several};
use crate::dial::Declared;
use crate::maths::point::PhotoPoint;
use crate::maths::units::Unit;
use crate::output::picture::check_picture;
use crate::photo::Photo;
use crate::reading::{Outcome, Reader};
use std::path::{Path, PathBuf};

/// What is to be calibrated: places count in px from the picture's top-left corner.
#[derive(Clone, Debug)]
pub struct Wanted {
    /// Unit of the dial.
    pub unit: Unit,
    /// Its name.
    pub name: String,
    /// Value and place of each mark.
    pub marks: Vec<(f64, [f64; 2])>,
    /// Value and needle angle, in place of marks.
    pub angles: Vec<(f64, f64)>,
    /// The pivot.
    pub pivot: Option<[f64; 2]>,
    /// With angles, the outer end of any tick.
    pub rim: Option<[f64; 2]>,
    /// The step in value from one unlabelled tick to the next, where it is told.
    pub tick_step: Option<f64>,
}

/// The photos beside the reference photo.
pub struct Further {
    also: Vec<(String, Photo)>,
    known: Vec<KnownPhoto>,
}

impl Further {
    /// Opens them all.
    pub fn of(args: &CalibrateArgs) -> Result<Self, Failure> {
        Ok(Self { also: named_photos(&args.also)?, known: known(args)? })
    }
}

/// The calibration of what is wanted, with the further photos, and the declarations that were typed.
pub fn made(photo: &Photo, wanted: &Wanted, further: &Further, args: &CalibrateArgs) -> Result<Calibration, Failure> {
    let learned = match further.known.is_empty() {
        true => calibrate_several(photo, &further.also, &request(wanted)),
        false => calibrate_known(photo, &further.known, &further.also, &request(wanted)),
    };
    let done = learned.map_err(|e| Failure::trouble(format!("{}: {e}", told(args.photo()))))?;
    let declared = args.declared.over(&Declared::default(), done.dial.unit).map_err(Failure::trouble)?;
    done.declare(declared).map(Calibration::questioned).map(|c| as_read(photo, c)).map_err(|e| Failure::trouble(e.to_string()))
}

/// A calibration with what the needle of its reference photo reads, just as `read` says it of that photo; where that is refused, a warning says so.
fn as_read(photo: &Photo, mut done: Calibration) -> Calibration {
    done.needle_reads = match Reader::new(done.dial.clone()).read(photo).outcome {
        Outcome::Reading(r) => Some(r.temperature.value()),
        Outcome::Refused(reason, _) => {
            done.warnings.push(Warning::OwnNotRead(reason));
            None
        }
        _ => None,
    };
    done
}

/// What must be answered before the file is written; nothing when there is nothing, or the person has said to write it all the same.
fn unanswered(done: &Calibration, anyway: bool) -> Option<String> {
    if anyway || done.questions.is_empty() {
        return None;
    }
    let asked: Vec<&str> = done.questions.iter().map(|q| q.text.as_str()).collect();
    Some(format!(
        "{}\nNo dial file was written. Correct the entries; or, if they are as the dial has them, add --anyway: then the file is written and says so.",
        asked.join("\n")
    ))
}

/// What was written.
#[derive(Debug)]
pub struct Saved {
    /// Which files, in words.
    pub said: String,
    /// Trouble with the picture; the dial file is written.
    pub trouble: Option<String>,
}

/// Writes the dial file, and its check picture beside it; refused where something is asked of the entries that nobody has answered, and
/// where the person sees the needle elsewhere.
pub fn save(args: &CalibrateArgs, photo: &Photo, done: &Calibration, picture: &Path) -> Result<Saved, Failure> {
    if let Some(seen) = &args.needle_reads {
        needle_check::agrees(photo, &done.dial, seen)?;
    }
    if let Some(asked) = unanswered(done, args.anyway) {
        return Err(Failure::trouble(asked));
    }
    let encoding = Encoding::of(picture)?;
    let bytes = dial_file(&done.dial).map_err(|e| Failure::trouble(format!("{}: {e}", told(&args.out))))?;
    write_whole(&args.out, &bytes, args.force)?;
    let mut said = format!("Dial file: {}", told(&args.out));
    let trouble = match draw(photo, done, encoding).and_then(|bytes| write_whole(picture, &bytes, args.force)) {
        Ok(()) => {
            said += &format!("\nLook at {}: every blue tick must lie on a printed mark and carry its value.", told(picture));
            None
        }
        Err(failure) => Some(failure.message.unwrap_or_default()),
    };
    Ok(Saved { said, trouble })
}

/// Where the check picture goes. Both files are checked before any work is done.
pub fn targets_of(args: &CalibrateArgs) -> Result<PathBuf, Failure> {
    let picture = args.picture.clone().unwrap_or_else(|| beside(&args.out));
    Encoding::of(&picture)?;
    targets(args, &picture)?;
    Ok(picture)
}

/// "oil-check.png" beside "oil.json".
pub fn beside(out: &Path) -> PathBuf {
    let stem = out.file_stem().unwrap_or_default().to_string_lossy();
    out.with_file_name(format!("{stem}-check.png"))
}

/// Checks where the two files go before any work is done.
fn targets(args: &CalibrateArgs, picture: &Path) -> Result<(), Failure> {
    for target in [args.out.as_path(), picture] {
        if files::same(target, args.photo()) {
            return Err(Failure::trouble(format!(
                "{} is the reference photo itself, so it is not written over. Choose another name.",
                told(target)
            )));
        }
    }
    refuse_existing(&args.out, args.force)?;
    refuse_existing(picture, args.force)?;
    if args.out == picture {
        return Err(Failure::trouble("The dial file and the check picture have the same name. Give the picture another."));
    }
    Ok(())
}

/// The photos at known temperatures.
fn known(args: &CalibrateArgs) -> Result<Vec<KnownPhoto>, Failure> {
    let open = |k: &Known| {
        let (name, photo) = (told(&k.photo), whole(&k.photo)?);
        Ok(KnownPhoto { name, photo, value: k.value, limit: k.limit })
    };
    args.known.iter().map(open).collect()
}

/// The request in the library's frame: what was typed counts from the corner of the picture, the library from the centre of
/// its first pixel, half a pixel further in.
fn request(wanted: &Wanted) -> Request {
    let point = |[x, y]: [f64; 2]| PhotoPoint::new(x - 0.5, y - 0.5);
    Request {
        unit: wanted.unit,
        name: wanted.name.clone(),
        marks: wanted.marks.iter().map(|(value, at)| (*value, point(*at))).collect(),
        angles: wanted.angles.clone(),
        pivot: wanted.pivot.map(point),
        rim: wanted.rim.map(point),
        tick_step: wanted.tick_step,
    }
}

/// The check picture.
pub fn draw(photo: &Photo, done: &Calibration, encoding: Encoding) -> Result<Vec<u8>, Failure> {
    let picture = check_picture(photo, &done.dial);
    picture.and_then(|p| encoding.bytes(&p)).map_err(|e| Failure::trouble(format!("The check picture: {e}.")))
}
