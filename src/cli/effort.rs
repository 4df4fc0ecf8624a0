//! How much to simulate, with which seed, on how many threads; the engine and the progress bar that follow.

use super::failure::{Failure, Outcome, deaf_to_ctrl_c};
use super::memory;
use indicatif::{HumanDuration, ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::io::IsTerminal;
use std::sync::atomic::AtomicBool;
use std::sync::{Arc, OnceLock};
use std::time::Duration;
use stilldays::disk::Folder;
use stilldays::lanes::Isa;
use stilldays::report::number;
use stilldays::report::words::escaped;
use stilldays::study::batch::scheduler;
use stilldays::study::default_trials;
use stilldays::study::run::Until;
use stilldays::study::{Engine, Journal, Plan, Progress};

/// The instruction set of this process, once it is decided.
static ISA: OnceLock<Isa> = OnceLock::new();

/// The instruction set to compute with: the widest that this processor has, unless another was asked for.
pub fn isa() -> Isa {
    *ISA.get_or_init(Isa::detect)
}

/// Computes with this one from now on.
pub fn force(isa: Isa) {
    // Nothing has been computed yet: this is the first call.
    let _ = ISA.set(isa);
}

/// Threads to compute with, where so many were asked for: else what the system lets this process have (processors it is bound to, limits of its
/// group), and what a scheduler gave it.
fn threads(asked: Option<u16>) -> usize {
    let has = processors();
    let given = scheduler::threads(&|name| std::env::var(name).ok()).unwrap_or(has);
    asked.map_or(has.min(given), usize::from)
}

/// Processors that the system lets this process have.
fn processors() -> usize {
    std::thread::available_parallelism().map_or(1, usize::from)
}

/// Lets what comes before the trials (weather is read and fitted) keep to the threads asked for, too. Only before anything is computed.
pub fn keep_to_threads(asked: Option<u16>) -> Result<(), Failure> {
    let threads = threads(asked).min(processors());
    let pool = rayon::ThreadPoolBuilder::new().num_threads(threads);
    // One thread is there already.
    let pool = if threads == 1 { pool.use_current_thread() } else { pool };
    pool.build_global().map_err(no_threads)
}

fn no_threads(error: rayon::ThreadPoolBuildError) -> Failure {
    Failure::Message(format!("cannot start the threads: {error}; try --threads 1"))
}

/// How much to simulate, and how.
#[derive(clap::Args, Clone)]
pub struct Effort {
    #[arg(long, help = format!("Trials (simulated seasons); default {}", default_trials::RUN), value_name = "N", value_parser = clap::value_parser!(u64).range(1..=10_000_000))]
    pub trials: Option<u64>,
    /// Continue until still days a month are known to ± DAYS (95 %); where none occur, until there are surely fewer than DAYS
    #[arg(long, value_name = "DAYS", conflicts_with = "trials", value_parser = positive)]
    pub until: Option<f64>,
    /// Random seed; the same seed gives the same numbers
    #[arg(long, value_name = "S", default_value_t = 1)]
    pub seed: u64,
    /// Threads; default: one for each core that this process was given. Results do not depend on it
    #[arg(long, value_name = "T", value_parser = clap::value_parser!(u16).range(1..=1024))]
    pub threads: Option<u16>,
    /// No progress bar and no summary on the terminal
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

    /// The same with its maximum number of trials, for a command that decides itself when to stop and takes no
    /// `--until`; `why` says so.
    pub fn budgeted(&self, default: u64, why: &str) -> Result<(Effort, u64), Failure> {
        if self.until.is_some() {
            return Err(Failure::Usage(why.to_owned()));
        }
        let budget = self.trials.unwrap_or(default);
        Ok((Effort { trials: Some(budget), ..self.clone() }, budget))
    }

    /// The flags that reproduce the same numbers.
    pub fn as_flags(&self) -> String {
        format!("{} --seed {}", self.until().as_flag(), self.seed)
    }

    /// With `--quiet`: the warnings of design and weather, on stderr. Otherwise the results on the terminal hold them.
    pub fn tell_warnings(&self, plan: &Plan) {
        if !self.quiet {
            return;
        }
        let path = plan.file.path.display().to_string();
        for warning in plan.file.warning_lines().into_iter().chain(plan.warnings()) {
            anstream::eprintln!("warning: {}: {}", escaped(&path), escaped(&warning));
        }
    }

    /// Threads to compute with.
    pub fn pool(&self) -> Result<Arc<rayon::ThreadPool>, Failure> {
        let threads = threads(self.threads);
        if let Some(warning) = memory::shortage(threads) {
            anstream::eprintln!("warning: {warning}");
        }
        rayon::ThreadPoolBuilder::new().num_threads(threads).build().map(Arc::new).map_err(no_threads)
    }

    /// An engine that tells `progress` of every block.
    pub fn engine<'a>(
        &self,
        pool: &Arc<rayon::ThreadPool>,
        progress: &'a (dyn Fn(Progress) + Sync),
        stop: &'a AtomicBool,
    ) -> Engine<'a> {
        Engine { seed: self.seed, isa: isa(), pool: Arc::clone(pool), progress, journal: None, stop }
    }

    /// What `work` gives on an engine whose trials move `bar` along; the bar is cleared at the end.
    pub fn simulate<T>(&self, bar: &ProgressBar, work: impl FnOnce(&Engine<'_>) -> T) -> Result<T, Failure> {
        self.simulate_with(None, bar, work)
    }

    fn simulate_with<T>(
        &self,
        journal: Option<&Journal>,
        bar: &ProgressBar,
        work: impl FnOnce(&Engine<'_>) -> T,
    ) -> Result<T, Failure> {
        let tick = |p: Progress| advance(bar, p.trials);
        let never = AtomicBool::new(false);
        let engine = Engine { journal, ..self.engine(&self.pool()?, &tick, &never) };
        let result = work(&engine);
        bar.finish_and_clear();
        Ok(result)
    }

    /// As [`simulate`](Effort::simulate); what is done is kept in the folder until `work` has succeeded and `written` its files: the
    /// same command goes on from there after a stop or a kill.
    pub fn simulate_on<T>(
        &self,
        folder: &Folder,
        bar: &ProgressBar,
        work: impl FnOnce(&Engine<'_>) -> Result<T, Failure>,
        written: impl FnOnce(T) -> Outcome,
    ) -> Outcome {
        let journal = self.journal(folder, bar)?;
        let outcome = match self.simulate_with(Some(&journal), bar, work)? {
            Ok(done) => {
                let outcome = written(done);
                if outcome.is_err() && !journal.is_empty() {
                    // The files cannot be written, but the work is not lost.
                    return outcome;
                }
                outcome
            }
            Err(failure) => Err(failure),
        };
        journal.remove();
        outcome
    }

    /// What `work` simulates is kept in a file of this name in the folder. Once all is there `describe` writes what it is.
    pub fn simulate_into(
        &self,
        folder: &Folder,
        bar: &ProgressBar,
        name: &str,
        work: impl FnOnce(&Engine<'_>) -> Outcome,
        describe: impl FnOnce() -> Outcome,
    ) -> Outcome {
        let journal = self.journal(folder, bar)?;
        self.simulate_with(Some(&journal), bar, work)??;
        // Whoever finds both files can use them: the description comes first, and does not do alone.
        describe()?;
        journal
            .finish(name)
            .map_err(|e| Failure::Message(format!("{}: cannot be renamed: {e}", folder.path().display())))
    }

    /// The journal of a folder. From now on Ctrl-C ends the program, and the same command goes on from there.
    fn journal(&self, folder: &Folder, bar: &ProgressBar) -> Result<Journal, Failure> {
        let journal = Journal::open(folder.path(), self.seed).map_err(|e| {
            let path = folder.path().join(Journal::FILE);
            Failure::Message(format!("{}: cannot keep what is done: {e}", path.display()))
        })?;
        if journal.blocks() > 0 && !self.quiet {
            bar.suspend(|| anstream::eprintln!("going on from where it was stopped"));
        }
        // The journal is complete at any time: there is nothing to wait for. One handler serves all designs of a command.
        let stopped = || {
            anstream::eprintln!("error: stopped; run the same command again to continue");
            std::process::exit(130);
        };
        match ctrlc::set_handler(stopped) {
            Ok(()) | Err(ctrlc::Error::MultipleHandlers) => {}
            Err(e) => return Err(deaf_to_ctrl_c(e)),
        }
        Ok(journal)
    }

    /// A bar over the trials to come, on stderr; hidden if that is no terminal or with `--quiet`.
    pub fn bar(&self, trials: u64, what: &str) -> ProgressBar {
        match self.until() {
            Until::Trials(_) => self.visible(
                ProgressBar::new(trials),
                "{msg:24!} {bar:28} {pos:>6} of {len} trials, {eta} to go",
                what,
            ),
            Until::HalfWidth(_) => self.spinner("{pos} trials", what),
        }
    }

    /// The same where the number of trials is not known in advance; `count` is the template of what is counted.
    pub fn spinner(&self, count: &str, what: &str) -> ProgressBar {
        let template = format!("{{msg:24!}} {{spinner}} {count}, {{elapsed}}");
        self.visible(ProgressBar::new_spinner(), &template, what)
    }

    fn visible(&self, bar: ProgressBar, template: &str, what: &str) -> ProgressBar {
        if self.quiet {
            return ProgressBar::hidden();
        }
        if !std::io::stderr().is_terminal() {
            bar.set_draw_target(ProgressDrawTarget::hidden());
            bar.set_message(escaped(what).into_owned());
            tell_in_lines(&bar);
            return bar;
        }
        let bar = bar.with_style(bar_style(template));
        bar.set_message(name_in_bar(what));
        bar
    }
}

/// Moves a bar along. Work that turns out longer than was thought makes the bar longer.
fn advance(bar: &ProgressBar, trials: u64) {
    bar.inc(trials);
    if bar.length().is_some_and(|of| of > 0 && of < bar.position()) {
        bar.set_length(bar.position());
    }
}

/// How often a line tells how far the work is, where there is no terminal.
pub const LINE_EVERY: Duration = Duration::from_secs(60);

/// Tells how far a hidden bar is, in a line every [`LINE_EVERY`], until it is finished or dropped.
fn tell_in_lines(bar: &ProgressBar) {
    let bar = bar.downgrade();
    let tell = move || {
        loop {
            std::thread::sleep(LINE_EVERY);
            match bar.upgrade().filter(|bar| !bar.is_finished()) {
                Some(bar) => anstream::eprintln!("{}", how_far(&bar)),
                None => return,
            }
        }
    };
    // Where the system forbids another thread the work goes on without these lines.
    let _ = std::thread::Builder::new().spawn(tell);
}

/// `NAME: 1,200 of 2,000 trials, 40 s to go`; without the end where it is not known.
fn how_far(bar: &ProgressBar) -> String {
    let (name, done) = (bar.message(), number::grouped(bar.position()));
    match bar.length().filter(|of| *of > 0) {
        Some(of) => {
            let to_go = HumanDuration(bar.eta());
            format!("{name}: {done} of {} trials, {to_go} to go", number::grouped(of))
        }
        None => format!("{name}: {done} trials"),
    }
}

/// Columns for a name before a bar.
const NAME: usize = 24;

/// A name as far as it fits before a bar. It is cut in the middle: names of a batch often begin alike, and differ at their end.
pub fn name_in_bar(name: &str) -> String {
    let name = escaped(name);
    let letters: Vec<char> = name.chars().collect();
    if letters.len() <= NAME {
        return name.into_owned();
    }
    let (head, tail) = ((NAME - 2) / 2, NAME - 2 - (NAME - 2) / 2);
    letters[..head].iter().chain(&['.', '.']).chain(&letters[letters.len() - tail..]).collect()
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn where_there_is_no_terminal_a_line_says_how_far_it_is() {
        let bar = ProgressBar::with_draw_target(Some(2000), ProgressDrawTarget::hidden());
        bar.set_message("Mill yard");
        bar.inc(1200);
        let line = how_far(&bar);
        assert!(
            line.starts_with("Mill yard: 1,200 of 2,000 trials, ") && line.ends_with("s to go"),
            "{line}"
        );
        let open = ProgressBar::with_draw_target(None, ProgressDrawTarget::hidden());
        open.set_message("builds of the shelf");
        open.inc(32);
        assert_eq!(how_far(&open), "builds of the shelf: 32 trials");
    }

    #[test]
    fn long_names_keep_both_ends() {
        assert_eq!(name_in_bar("mill-3.toml"), "mill-3.toml");
        assert_eq!(name_in_bar("gardens/north/mill-yard-3-seeking.toml"), "gardens/nor..eeking.toml");
        assert_eq!(name_in_bar(&"ü".repeat(30)).chars().count(), NAME);
    }
}
