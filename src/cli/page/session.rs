//! What the page works on: one photo, its found ticks, and where the dial file goes.
use super::super::args::CalibrateArgs;
use super::super::calibrate::{Further, Wanted, made, save, targets_of};
use super::super::failure::Failure;
use super::super::files::told;
use super::super::open::whole;
use crate::calibrate::{Calibration, FoundDial, find_dials};
use crate::dial::{Amount, Declared};
use crate::output::picture::whole_jpeg;
use crate::output::text;
use crate::photo::Photo;
use std::path::PathBuf;
use std::sync::{Mutex, OnceLock};
use tokio::sync::watch;

/// One run of the page.
pub struct Session {
    /// What was typed.
    pub args: CalibrateArgs,
    /// The photo.
    pub photo: Photo,
    further: Further,
    /// The same for the browser, upright.
    pub jpeg: Vec<u8>,
    dials: OnceLock<Vec<FoundDial>>,
    picture: PathBuf,
    said: Mutex<Option<String>>,
    written: watch::Sender<bool>,
}

impl Session {
    /// Opens the photos. Files that are there already are refused before any work.
    pub fn new(args: &CalibrateArgs) -> Result<Self, Failure> {
        let picture = targets_of(args)?;
        let photo = whole(&args.photo)?;
        let further = Further::of(args)?;
        let jpeg = whole_jpeg(&photo).map_err(|e| Failure::trouble(format!("The photo cannot be shown: {e}.")))?;
        Ok(Self {
            args: args.clone(),
            photo,
            further,
            jpeg,
            dials: OnceLock::new(),
            picture,
            said: Mutex::new(None),
            written: watch::Sender::new(false),
        })
    }
    /// The dials in the photo; the first to ask looks for them, and that may take half a minute.
    pub fn dials(&self) -> &[FoundDial] {
        self.dials.get_or_init(|| find_dials(&self.photo))
    }
    /// The name of the dial unless another is given.
    pub fn name(&self) -> String {
        self.args.dial_name()
    }
    /// Calibrates; writes nothing.
    /// `accuracy`: the gauge is right to within this, degrees of needle; it comes before what was typed on the command line.
    pub fn fit(&self, wanted: &Wanted, accuracy: Option<f64>) -> Result<Calibration, String> {
        let done = made(&self.photo, wanted, &self.further, &self.args).map_err(|f| f.message.unwrap_or_default())?;
        let Some(limit) = accuracy else { return Ok(done) };
        let declared = Declared { gauge_accuracy: Some(Amount::Degrees(limit)), ..done.dial.declared.clone() };
        done.declare(declared).map_err(|e| e.to_string())
    }
    /// Calibrates and writes the files as `calibrate` does; what it prints. Once only.
    pub fn save(&self, wanted: &Wanted, accuracy: Option<f64>, anyway: bool) -> Result<String, String> {
        let mut said = self.said.lock().map_err(|_| "The page broke while it wrote. Start it again.".to_string())?;
        if said.is_some() {
            return Err(format!("{} is written already. Start the page again for another.", told(&self.args.out)));
        }
        let done = self.fit(wanted, accuracy)?;
        let args = CalibrateArgs { anyway: anyway || self.args.anyway, ..self.args.clone() };
        let saved = save(&args, &self.photo, &done, &self.picture).map_err(|f| f.message.unwrap_or_default())?;
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
