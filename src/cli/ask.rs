//! Questions in a terminal, and their answers.
use super::args::parsed;
use super::failure::Failure;
use crate::output::text::wrapped;
use std::ffi::OsString;
use std::io::{self, BufRead, IsTerminal, Write};

/// Asks a question; nothing where the answer is empty or there is nobody to give one.
pub fn ask(question: &str, out: &mut dyn Write) -> Result<Option<String>, Failure> {
    Ok(answer(question, out)?.filter(|a| !a.is_empty()))
}

/// Asks a question; nothing where there is nobody to answer it.
pub fn answer(question: &str, out: &mut dyn Write) -> Result<Option<String>, Failure> {
    write!(out, "{question} ")?;
    out.flush()?;
    let mut line = String::new();
    let n = io::stdin().lock().read_line(&mut line)?;
    if n == 0 || !io::stdin().is_terminal() {
        // what is typed shows itself on a terminal alone
        writeln!(out, "{}", line.trim_end())?;
    }
    Ok((n > 0).then(|| line.trim().to_string()))
}

/// Asks until the answer makes words that a command takes together with those it has; nothing where there is none.
pub fn taken(
    question: &str,
    words: impl Fn(&str) -> Vec<OsString>,
    command: impl Fn(&[OsString]) -> Vec<OsString>,
    out: &mut dyn Write,
) -> Result<Option<Vec<OsString>>, Failure> {
    while let Some(answer) = ask(question, out)? {
        let new = words(&answer);
        match parsed(command(&new)) {
            Ok(_) => return Ok(Some(new)),
            Err(failure) => {
                let message = failure.message.unwrap_or_default();
                // without the option's name, which nobody has typed here
                let bare = message.split_once(">': ").map_or(message.as_str(), |(_, bare)| bare);
                write!(out, "{}", wrapped(&format!("   {bare}\n")))?;
            }
        }
    }
    Ok(None)
}
