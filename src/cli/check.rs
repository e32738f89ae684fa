//! `check`: how good a dial file is, with photos of one temperature or without.
use super::args::CheckArgs;
use super::failure::{ALL_READ, Failure};
use super::files::{Encoding, load_dial, photos, refuse_existing, refuse_read, told, write_whole};
use super::gather::read_all;
use super::which_dial::chosen;
use crate::assess::{Given, assess};
use crate::calibrate::edge_blur;
use crate::output::picture::scale_picture;
use crate::output::{json, text};
use crate::reading::Reader;
use std::io::Write;
use std::path::PathBuf;

/// Runs the command; the answer is the exit status.
pub fn run(args: &CheckArgs, out: &mut dyn Write) -> Result<u8, Failure> {
    args.jobs.set()?;
    let encoding = args.picture.as_deref().map(Encoding::of).transpose()?;
    let (file, names) = args.given();
    let file = &chosen(file)?;
    let files = photos(names)?;
    if let Some(path) = &args.picture {
        refuse_read("picture", path, files.iter().map(PathBuf::as_path).chain([file.as_path()]))?;
        refuse_existing(path, args.force)?;
    }
    let dial = &load_dial(file)?;
    let (records, status) = if files.is_empty() { (Vec::new(), ALL_READ) } else { read_all(&files, &Reader::new(dial.clone()))? };
    let found = assess(dial, Given { repeated: &records, blur: edge_blur(dial) });
    if args.json {
        writeln!(out, "{}", json::check(dial, &found)?)?;
    } else {
        write!(out, "{}", text::wrapped(&text::check(dial, &found, files.len())))?;
    }
    if let (Some(path), Some(encoding)) = (&args.picture, encoding) {
        let drawn = scale_picture(dial).and_then(|p| encoding.bytes(&p)).map_err(|e| Failure::trouble(format!("The picture: {e}.")))?;
        write_whole(path, &drawn, args.force)?;
        if !args.json {
            writeln!(out, "The scale is drawn in {}.", told(path))?;
        }
    }
    Ok(status)
}
