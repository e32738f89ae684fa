//! The `needleband` command.
fn main() -> std::process::ExitCode {
    needleband::cli::main()
}
