//! The `stilldays` command: flags, progress, exit codes. Everything else is in the library.

mod cli;

fn main() -> std::process::ExitCode {
    cli::main()
}
