//! What commands share: how long to run, on how many threads, how to show it.

use indicatif::{ProgressBar, ProgressStyle};
use std::io::{IsTerminal, Write};
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;
use stilldays::lanes::Isa;
use stilldays::report::{self, Style};
use stilldays::source::Problems;
use stilldays::study::default_trials;
use stilldays::study::run::Until;
use stilldays::study::{Engine, Progress};
use stilldays::units::System;

/// Why a command did not do what was asked.
pub enum Failure {
    /// Input was refused; its problems are shown as they are.
    Refused(Problems),
    /// Something else, in words.
    Message(String),
    /// The command itself was off.
    Usage(String),
    /// A flag's text was off; its problems are shown as they are.
    Flag(Problems),
    /// All has been said already.
    Reported,
    /// The reader of our output went away: not worth a word.
    BrokenPipe,
}

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

/// Shows a failure on stderr and gives its exit code.
pub fn report_failure(failure: Failure) -> ExitCode {
    let code = if matches!(failure, Failure::Usage(_) | Failure::Flag(_)) { 2 } else { 1 };
    match failure {
        Failure::Refused(problems) | Failure::Flag(problems) => {
            anstream::eprint!("{}", problems.render_styled())
        }
        Failure::Message(words) | Failure::Usage(words) => {
            // Paths in it may be anything.
            let lines: Vec<_> = words.lines().map(report::words::escaped).collect();
            anstream::eprintln!("error: {}", lines.join("\n"));
        }
        Failure::Reported => {}
        Failure::BrokenPipe => return ExitCode::SUCCESS,
    }
    ExitCode::from(code)
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

/// How much to simulate, and how.
#[derive(clap::Args, Clone)]
pub struct Effort {
    #[arg(long, help = format!("Trials (simulated seasons); default {}", default_trials::RUN), value_name = "N", value_parser = clap::value_parser!(u64).range(1..=10_000_000))]
    pub trials: Option<u64>,
    /// Go on until the 95 % interval of still days a month is at most ± DAYS
    #[arg(long, value_name = "DAYS", conflicts_with = "trials", value_parser = positive)]
    pub until: Option<f64>,
    /// Seed of all chance; the same seed gives the same bytes
    #[arg(long, value_name = "S", default_value_t = 1)]
    pub seed: u64,
    /// Threads; default: one for each core. Results do not depend on it
    #[arg(long, value_name = "T", value_parser = clap::value_parser!(u16).range(1..=1024))]
    pub threads: Option<u16>,
    /// No progress, no summary on the terminal
    #[arg(long)]
    pub quiet: bool,
}

impl Effort {
    /// When to stop.
    pub fn until(&self) -> Until {
        match (self.until, self.trials) {
            (Some(days), _) => Until::HalfWidth(days),
            (None, n) => Until::Trials(n.unwrap_or(default_trials::RUN)),
        }
    }

    /// The same with its most trials, for what ends by itself and takes no `--until`; `why` says so.
    pub fn budgeted(&self, default: u64, why: &str) -> Result<(Effort, u64), Failure> {
        if self.until.is_some() {
            return Err(Failure::Usage(why.to_owned()));
        }
        let budget = self.trials.unwrap_or(default);
        Ok((Effort { trials: Some(budget), ..self.clone() }, budget))
    }

    /// The flags that make the same numbers again.
    pub fn as_flags(&self) -> String {
        format!("{} --seed {}", self.until().as_flag(), self.seed)
    }

    /// Threads to compute with.
    pub fn pool(&self) -> Result<Arc<rayon::ThreadPool>, Failure> {
        let mut builder = rayon::ThreadPoolBuilder::new();
        if let Some(n) = self.threads {
            builder = builder.num_threads(n.into());
        }
        builder
            .build()
            .map(Arc::new)
            .map_err(|e| Failure::Message(format!("cannot start the threads: {e}; try --threads 1")))
    }

    /// An engine that tells `progress` of every block.
    pub fn engine<'a>(
        &self,
        pool: &Arc<rayon::ThreadPool>,
        progress: &'a (dyn Fn(Progress) + Sync),
        stop: &'a AtomicBool,
    ) -> Engine<'a> {
        Engine { seed: self.seed, isa: Isa::detect(), pool: Arc::clone(pool), progress, stop }
    }

    /// A bar over the trials to come, on stderr; silent when that is no terminal or `--quiet`.
    pub fn bar(&self, trials: u64, what: &str) -> ProgressBar {
        if self.quiet || !std::io::stderr().is_terminal() {
            return ProgressBar::hidden();
        }
        let bar = match self.until() {
            Until::Trials(_) => ProgressBar::new(trials)
                .with_style(bar_style("{msg:24!} {bar:28} {pos:>6} of {len} trials, {eta} to go")),
            Until::HalfWidth(_) => ProgressBar::new_spinner()
                .with_style(bar_style("{msg:24!} {spinner} {pos} trials, {elapsed}")),
        };
        bar.set_message(report::words::escaped(what).into_owned());
        bar
    }
}

/// A style of bar.
pub fn bar_style(template: &str) -> ProgressStyle {
    ProgressStyle::with_template(template).unwrap_or_else(|_| ProgressStyle::default_bar())
}

fn positive(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(x) if x > 0.0 && x.is_finite() => Ok(x),
        _ => Err(format!("`{text}` is not a positive number of days, such as 0.1")),
    }
}

/// How to show numbers.
#[derive(clap::Args, Clone)]
pub struct Show {
    /// Units on screen and page
    #[arg(long, value_enum, default_value_t = UnitsArg::Si)]
    pub units: UnitsArg,
    /// Open the page when done, where there is a desktop
    #[arg(long)]
    pub open: bool,
}

/// Units on screen and page.
#[derive(clap::ValueEnum, Clone, Copy, PartialEq, Eq)]
pub enum UnitsArg {
    /// Metres, litres, °C
    Si,
    /// Inches, gallons, °F
    Us,
}

impl UnitsArg {
    /// As the report wants it.
    pub fn system(self) -> System {
        match self {
            UnitsArg::Si => System::Si,
            UnitsArg::Us => System::Us,
        }
    }
}

impl Show {
    /// What this terminal can show.
    pub fn style(&self) -> Style {
        terminal(self.units.system())
    }

    /// Opens a page where a desktop exists; elsewhere does nothing.
    pub fn open(&self, page: &Path) {
        let desktop = cfg!(any(windows, target_os = "macos"))
            || std::env::var_os("DISPLAY").is_some()
            || std::env::var_os("WAYLAND_DISPLAY").is_some();
        if !self.open || !desktop {
            return;
        }
        let (program, first): (&str, &[&str]) = if cfg!(windows) {
            ("cmd", &["/C", "start", ""])
        } else if cfg!(target_os = "macos") {
            ("open", &[])
        } else {
            ("xdg-open", &[])
        };
        // A page that does not open is no reason to fail: its path is on the screen.
        let _ = std::process::Command::new(program).args(first).arg(page).spawn();
    }
}

/// Writes the results, the page first among them; unless it is to be quiet, shows them in words, says where the page
/// lies, and opens it if asked.
pub fn hand_over(
    effort: &Effort,
    show: &Show,
    folder: &Path,
    files: &[report::write::File<'_>],
    words: impl FnOnce(Style) -> String,
) -> Result<(), Failure> {
    report::write::all(folder, files)?;
    if effort.quiet {
        return Ok(());
    }
    print(&words(show.style()))?;
    if let Some((page, _)) = files.first() {
        let page = folder.join(page);
        print(&format!("\nPage and numbers: {}\n", page.display()))?;
        show.open(&page);
    }
    Ok(())
}

/// What this terminal can show: 80 columns, colour and Unicode where they will do.
pub fn terminal(units: System) -> Style {
    let plain = std::env::var_os("TERM").is_some_and(|t| t == "dumb");
    let no_colour = std::env::var_os("NO_COLOR").is_some_and(|v| !v.is_empty());
    Style {
        width: 80,
        colour: std::io::stdout().is_terminal() && !plain && !no_colour,
        unicode: !plain && unicode_locale(),
        units,
    }
}

fn unicode_locale() -> bool {
    if cfg!(windows) {
        return false;
    }
    ["LC_ALL", "LC_CTYPE", "LANG"]
        .iter()
        .find_map(|name| std::env::var(name).ok().filter(|v| !v.is_empty()))
        .is_none_or(|v| v.to_ascii_lowercase().replace('-', "").contains("utf8"))
}

/// Folder for the results of a file: `results/<its name>` unless told otherwise.
pub fn results_folder(out: Option<&Path>, file: &Path) -> PathBuf {
    let name = file.file_stem().unwrap_or(file.as_os_str());
    out.unwrap_or(Path::new("results")).join(name)
}

/// A marked paragraph, wrapped at 78 columns with a hanging indent.
pub fn item(mark: &str, text: &str) -> String {
    let indent = mark.len() + 3;
    let text = report::words::escaped(text);
    let mut out = String::new();
    for (i, line) in report::text::wrap::wrap(&text, 78 - indent).iter().enumerate() {
        let lead = if i == 0 { format!("  {mark} ") } else { " ".repeat(indent) };
        out += &format!("{lead}{line}\n");
    }
    out
}
