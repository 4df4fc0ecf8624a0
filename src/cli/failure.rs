//! How a command fails: why, how stderr says it, and with which exit code. Also the one way to write to stdout.

use std::io::Write;
use std::process::ExitCode;
use stilldays::report::{self, words::escaped};
use stilldays::source::Problems;

/// Why a command did not do what was asked.
pub enum Failure {
    /// Input was refused; its problems are shown as they are.
    Refused(Problems),
    /// Something else went wrong.
    Message(String),
    /// The command line is invalid.
    Usage(String),
    /// The text of a flag is invalid; its problems are shown as they are.
    Flag(Problems),
    /// Everything has been reported already.
    Reported,
    /// The reader of stdout has gone away: not worth a message.
    BrokenPipe,
}

/// What a command gives back.
pub type Outcome = Result<(), Failure>;

impl From<Problems> for Failure {
    fn from(problems: Problems) -> Self {
        Failure::Refused(problems)
    }
}

impl From<report::write::WriteError> for Failure {
    fn from(error: report::write::WriteError) -> Self {
        Failure::Message(error.to_string())
    }
}

impl From<stilldays::disk::FolderError> for Failure {
    fn from(error: stilldays::disk::FolderError) -> Self {
        Failure::Message(error.to_string())
    }
}

/// Ctrl-C cannot be listened for.
pub fn deaf_to_ctrl_c(error: ctrlc::Error) -> Failure {
    Failure::Message(format!(
        "cannot listen for Ctrl-C: {error}; another thread may be more than a limit of memory or processes allows (ulimit -v, ulimit -u)"
    ))
}

/// There is nothing to show: it was stopped too early.
pub fn no_trial() -> Failure {
    Failure::Message("stopped before the first trial".to_owned())
}

/// Writes a failure to stderr, ending with a line end, and gives its exit code.
pub fn report_failure(failure: Failure) -> ExitCode {
    let code = if matches!(failure, Failure::Usage(_) | Failure::Flag(_)) { 2 } else { 1 };
    match failure {
        Failure::Refused(problems) | Failure::Flag(problems) => {
            anstream::eprintln!("{}", problems.render_styled());
        }
        Failure::Message(message) | Failure::Usage(message) => {
            // Paths in it may be anything.
            let lines: Vec<_> = message.lines().map(escaped).collect();
            anstream::eprintln!("error: {}", lines.join("\n"));
        }
        Failure::Reported => {}
        Failure::BrokenPipe => return ExitCode::SUCCESS,
    }
    ExitCode::from(code)
}

/// Lets a write beyond the largest file that is allowed be an error like others. Otherwise the system ends the program by a signal, without
/// a word.
pub fn told_of_file_limits() {
    #[cfg(unix)]
    {
        let flag = std::sync::Arc::default();
        // Where it cannot be had, all is as before.
        let _ = signal_hook::flag::register(signal_hook::consts::SIGXFSZ, flag);
    }
}

/// Writes to stdout; a closed pipe ends the command quietly.
pub fn print(text: &str) -> Result<(), Failure> {
    let mut out = anstream::stdout();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Ok(()) => Ok(()),
        Err(e) if e.kind() == std::io::ErrorKind::BrokenPipe => Err(Failure::BrokenPipe),
        Err(e) => Err(Failure::Message(format!("cannot write to the terminal: {e}"))),
    }
}
