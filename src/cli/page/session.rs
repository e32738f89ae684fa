//! What the page works on: one photo, its found ticks, and where the dial file goes.
use super::super::args::CalibrateArgs;
use super::super::calibrate::{Further, Wanted, made, save, targets_of};
use super::super::failure::Failure;
use super::super::files::told;
use super::super::open::whole;
use crate::calibrate::{Calibration, FoundDial, find_dials};
use crate::output::picture::whole_jpeg;
use crate::output::text;
use crate::photo::Photo;
use std::path::PathBuf;
use std::sync::Mutex;
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
    /// The dials found in it.
    pub dials: Vec<FoundDial>,
    picture: PathBuf,
    said: Mutex<Option<String>>,
    written: watch::Sender<bool>,
}

impl Session {
    /// Opens the photos and looks for dials. Files that are there already are refused before any work.
    pub fn new(args: &CalibrateArgs) -> Result<Self, Failure> {
        let picture = targets_of(args)?;
        let photo = whole(&args.photo)?;
        let further = Further::of(args)?;
        let jpeg = whole_jpeg(&photo).map_err(|e| Failure::trouble(format!("The photo cannot be shown: {e}.")))?;
        let dials = find_dials(&photo);
        Ok(Self { args: args.clone(), photo, further, jpeg, dials, picture, said: Mutex::new(None), written: watch::Sender::new(false) })
    }
    /// The name of the dial unless another is given.
    pub fn name(&self) -> String {
        self.args.dial_name()
    }
    /// Calibrates; writes nothing.
    pub fn fit(&self, wanted: &Wanted) -> Result<Calibration, String> {
        made(&self.photo, wanted, &self.further, &self.args).map_err(|f| f.message.unwrap_or_default())
    }
    /// Calibrates and writes the files as `calibrate` does; what it prints. Once only.
    pub fn save(&self, wanted: &Wanted) -> Result<String, String> {
        let mut said = self.said.lock().map_err(|_| "The page broke while it wrote. Start it again.".to_string())?;
        if said.is_some() {
            return Err(format!("{} is written already. Start the page again for another.", told(&self.args.out)));
        }
        let done = self.fit(wanted)?;
        let saved = save(&self.args, &self.photo, &done, &self.picture).map_err(|f| f.message.unwrap_or_default())?;
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
