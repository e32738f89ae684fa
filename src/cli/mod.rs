//! The command line: files in, files out.
/// Entry point of the command.
pub fn main() -> std::process::ExitCode {
    std::process::ExitCode::from(2)
}
