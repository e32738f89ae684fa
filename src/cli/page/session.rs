//! What the page works on: one photo, its found ticks, and where the dial file goes. The photo may be sent later.
use super::super::args::{CalibrateArgs, NeedleReads};
use super::super::calibrated::{Further, Wanted, draw, made, save, targets_of};
use super::super::failure::Failure;
use super::super::files::{Encoding, refuse_existing, told, write_whole};
use super::super::needle_check;
use super::super::open::whole;
use super::super::ticks::sought;
use crate::calibrate::{Calibration, FoundDial, find_dials};
use crate::dial::{Amount, Declared};
use crate::output::picture::whole_jpeg;
use crate::output::text;
use crate::photo::{Photo, decode};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, OnceLock};
use tokio::sync::watch;

const BROKEN: &str = "The page broke while it wrote. Start it again.";
/// Endings of photos that a phone sends, as their files keep them.
const SENT: [&str; 6] = ["jpg", "jpeg", "heic", "heif", "png", "webp"];

/// "oil-photo.jpg" beside "oil.json".
fn photo_beside(out: &Path, ending: &str) -> PathBuf {
    let stem = out.file_stem().unwrap_or_default().to_string_lossy();
    out.with_file_name(format!("{stem}-photo.{ending}"))
}

fn told_why(failure: Failure) -> String {
    failure.message.unwrap_or_default()
}

/// The photo.
pub struct Shot {
    /// As it was decoded.
    pub photo: Photo,
    /// The same for the browser, upright.
    pub jpeg: Vec<u8>,
    /// The name of its file.
    pub name: String,
}

impl Shot {
    fn of(photo: Photo, path: &Path) -> Result<Self, Failure> {
        let jpeg = whole_jpeg(&photo).map_err(|e| Failure::trouble(format!("The photo cannot be shown: {e}.")))?;
        Ok(Self { photo, jpeg, name: path.file_name().unwrap_or_default().to_string_lossy().into_owned() })
    }
}

/// One run of the page.
pub struct Session {
    /// What was typed.
    pub args: CalibrateArgs,
    further: Further,
    shot: OnceLock<Shot>,
    dials: OnceLock<Vec<FoundDial>>,
    picture: PathBuf,
    said: Mutex<Option<String>>,
    written: watch::Sender<bool>,
}

impl Session {
    /// Opens the photos. Files that are there already are refused before any work.
    pub fn new(args: &CalibrateArgs) -> Result<Self, Failure> {
        let picture = targets_of(args)?;
        let shot = OnceLock::new();
        if let Some(path) = &args.photo {
            let given = Shot::of(whole(path)?, path)?;
            shot.get_or_init(|| given);
        } else {
            for path in SENT.map(|ending| photo_beside(&args.out, ending)) {
                if path == picture {
                    return Err(Failure::trouble(format!(
                        "The photo that is sent is kept as {}, which is the name of the check picture. Give the picture another.",
                        told(&path)
                    )));
                }
                refuse_existing(&path, args.force)?;
            }
        }
        Ok(Self {
            args: args.clone(),
            further: Further::of(args)?,
            shot,
            dials: OnceLock::new(),
            picture,
            said: Mutex::new(None),
            written: watch::Sender::new(false),
        })
    }
    /// The photo; nothing as long as none was sent.
    pub fn shot(&self) -> Option<&Shot> {
        self.shot.get()
    }
    /// The dials in the photo, once there is one; the first to ask looks for them, which takes up to a second.
    pub fn dials(&self) -> Option<&[FoundDial]> {
        let shot = self.shot()?;
        Some(self.dials.get_or_init(|| find_dials(&shot.photo)))
    }
    /// Takes the photo that a phone sends, and keeps it as it came in a file beside the dial file. `named`: its name there, for its ending.
    pub fn take(&self, bytes: &[u8], named: &str) -> Result<(), String> {
        let _one_at_a_time = self.said.lock().map_err(|_| BROKEN.to_string())?;
        if self.shot().is_some() {
            return Err("The photo is here already. For another one start the page again.".to_string());
        }
        let photo = decode(bytes).map_err(|e| e.to_string())?;
        let ending = Path::new(named).extension().map(|e| e.to_string_lossy().to_lowercase());
        let path = photo_beside(&self.args.out, ending.as_deref().filter(|e| SENT.contains(e)).unwrap_or("jpg"));
        let shot = Shot::of(photo, &path).map_err(told_why)?;
        write_whole(&path, bytes, self.args.force).map_err(told_why)?;
        self.shot.get_or_init(|| shot);
        Ok(())
    }
    fn photo(&self) -> Result<&Photo, String> {
        self.shot().map(|s| &s.photo).ok_or_else(|| "Send the photo first.".to_string())
    }
    /// The dials inside a circle: middle and radius, px from the picture's corner. Not kept.
    pub fn dials_in(&self, circle: [f64; 3]) -> Vec<FoundDial> {
        self.shot().map_or(Vec::new(), |s| sought(&s.photo, Some(circle)))
    }
    /// Why what the person sees the needle read is not what a calibration reads there; `None` when it is.
    pub fn disagrees(&self, done: &Calibration, value: f64) -> Option<String> {
        let seen = NeedleReads { value, limit: None };
        needle_check::difference(&self.shot()?.photo, &done.dial, &seen)
    }
    /// The name of the dial unless another is given.
    pub fn name(&self) -> String {
        self.args.dial_name()
    }
    /// Calibrates; writes nothing.
    /// `accuracy`: the gauge is right to within this, degrees of needle; it comes before what was typed on the command line.
    pub fn fit(&self, wanted: &Wanted, accuracy: Option<f64>) -> Result<Calibration, String> {
        let done = made(self.photo()?, wanted, &self.further, &self.args).map_err(told_why)?;
        let Some(limit) = accuracy else { return Ok(done) };
        let declared = Declared { gauge_accuracy: Some(Amount::Degrees(limit)), ..done.dial.declared.clone() };
        done.declare(declared).map_err(|e| e.to_string())
    }
    /// The check picture of a calibration that is not written yet.
    pub fn check(&self, wanted: &Wanted) -> Result<Vec<u8>, String> {
        let done = self.fit(wanted, None)?;
        draw(self.photo()?, &done, Encoding::Jpeg).map_err(told_why)
    }
    /// Calibrates and writes the files as `calibrate` does; what it prints. Once only.
    pub fn save(&self, wanted: &Wanted, accuracy: Option<f64>, seen: Option<f64>, anyway: bool) -> Result<String, String> {
        let mut said = self.said.lock().map_err(|_| BROKEN.to_string())?;
        if said.is_some() {
            return Err(format!("{} is written already. Start the page again for another.", told(&self.args.out)));
        }
        let done = self.fit(wanted, accuracy)?;
        let needle_reads = seen.map(|value| NeedleReads { value, limit: None }).or(self.args.needle_reads);
        let args = CalibrateArgs { anyway: anyway || self.args.anyway, needle_reads, ..self.args.clone() };
        let saved = save(&args, self.photo()?, &done, &self.picture).map_err(told_why)?;
        let trouble = saved.trouble.map_or(String::new(), |t| format!("{t}\n"));
        let text = format!("{}\n{trouble}\n{}", saved.said, text::wrapped(&text::calibration(&done)));
        *said = Some(text.clone());
        Ok(text)
    }
    /// What was printed when the file was written.
    pub fn said(&self) -> Option<String> {
        self.said.lock().ok().and_then(|s| s.clone())
    }
    /// The answer to the save is on its way: the page may end.
    pub fn end(&self) {
        self.written.send_replace(true);
    }
    /// Waits until the file is written.
    pub async fn written(&self) {
        let mut seen = self.written.subscribe();
        // the sender lives as long as the session: waiting cannot fail
        let _ = seen.wait_for(|done| *done).await;
    }
}
