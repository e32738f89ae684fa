//! What `manual` takes, and the pages and completions themselves, made from the definitions of the arguments.
use super::{Typed, VERSION};
use clap::{Args, Command, CommandFactory};
use clap_complete::Shell;
use std::io::{self, Write};
use std::path::PathBuf;

/// What `manual` takes.
#[derive(Args, Debug)]
#[command(after_help = "Examples:
  needleband manual docs/
  man -l docs/man/needleband-read.1
  source <(needleband manual --completions bash)     (Tab completes, in this shell)")]
pub struct ManualArgs {
    /// The folder to write to
    #[arg(value_name = "FOLDER", required_unless_present = "completions")]
    pub folder: Option<PathBuf>,
    /// Write over the files of an earlier run
    #[arg(long, requires = "folder")]
    pub force: bool,
    /// Print the completions for a shell, and write nothing
    #[arg(long, value_name = "SHELL", conflicts_with = "folder")]
    pub completions: Option<Shell>,
}

/// The completions for a shell.
pub fn completions(shell: Shell) -> Vec<u8> {
    let mut text = Vec::new();
    clap_complete::generate(shell, &mut Typed::command(), "needleband", &mut text);
    text
}

/// All files, with their places in the folder.
///
/// # Errors
/// None that a page in memory could have.
pub fn pages() -> io::Result<Vec<(PathBuf, Vec<u8>)>> {
    let mut whole = Typed::command();
    whole.build();
    let mut files = vec![page(&whole, "needleband")?];
    for command in whole.get_subcommands().filter(|c| c.get_name() != "help") {
        files.push(page(command, &format!("needleband-{}", command.get_name()))?);
    }
    for shell in [Shell::Bash, Shell::Zsh, Shell::Fish, Shell::Elvish, Shell::PowerShell] {
        let mut text = Vec::new();
        clap_complete::generate(shell, &mut whole, "needleband", &mut text);
        let name = match shell {
            Shell::Bash => "needleband.bash",
            Shell::Zsh => "_needleband",
            Shell::Fish => "needleband.fish",
            Shell::Elvish => "needleband.elv",
            _ => "_needleband.ps1",
        };
        files.push((PathBuf::from("completions").join(name), text));
    }
    Ok(files)
}

fn page(command: &Command, name: &str) -> io::Result<(PathBuf, Vec<u8>)> {
    let page = clap_mangen::Man::new(command.clone()).title(name).source(VERSION.as_str()).manual("needleband");
    let mut text = Vec::new();
    page.render_title(&mut text)?;
    page.render_name_section(&mut text)?;
    page.render_synopsis_section(&mut text)?;
    page.render_description_section(&mut text)?;
    page.render_options_section(&mut text)?;
    if command.get_subcommands().next().is_some() {
        page.render_subcommands_section(&mut text)?;
    }
    // the generator's own section would run the lines of an example together
    let after = command.get_after_help().map(|t| t.to_string()).unwrap_or_default();
    let example = after.split_once('\n').map_or("", |(_, lines)| lines);
    writeln!(text, ".SH EXAMPLES\n.nf\n{}\n.fi", literal(example))?;
    Ok((PathBuf::from("man").join(format!("{name}.1")), text))
}

/// Text that the formatter takes as it stands.
fn literal(text: &str) -> String {
    let escaped = text.replace('\\', "\\e").replace('-', "\\-");
    escaped.lines().map(|l| if l.starts_with(['.', '\'']) { format!("\\&{l}") } else { l.to_string() }).collect::<Vec<_>>().join("\n")
}
