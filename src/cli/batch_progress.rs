//! What a batch shows while it runs: two progress bars on a terminal, plain lines elsewhere.

use super::effort::{Effort, LINE_EVERY, bar_style, name_in_bar};
use super::failure::print;
use super::output::terminal;
use indicatif::{MultiProgress, ProgressBar, ProgressDrawTarget};
use std::io::IsTerminal;
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, AtomicU64, AtomicUsize, Ordering};
use std::time::Instant;
use stilldays::report::{number, words};
use stilldays::study::batch::Event;
use stilldays::study::run::Until;
use stilldays::units::System;

/// Shows the events of a batch.
pub struct BatchProgress {
    bars: MultiProgress,
    /// Everything to be done: trials, or designs where their number of trials is not known in advance.
    all: ProgressBar,
    /// The design that is being simulated.
    one: ProgressBar,
    counts_trials: bool,
    quiet: bool,
    on_terminal: bool,
    /// `±` or its stand-in.
    pm: &'static str,
    to_do: AtomicU64,
    ended: AtomicUsize,
    /// Whether a design finished whose weather is invented.
    invented: AtomicBool,
    /// When the last line on trials was written.
    last_line: Mutex<Instant>,
}

impl BatchProgress {
    /// Nothing shown yet.
    pub fn new(effort: &Effort) -> BatchProgress {
        let on_terminal = std::io::stderr().is_terminal() && !effort.quiet;
        let target = if on_terminal { ProgressDrawTarget::stderr() } else { ProgressDrawTarget::hidden() };
        let bars = MultiProgress::with_draw_target(target);
        let counts_trials = matches!(effort.until(), Until::Trials(_));
        let one = bars.add(ProgressBar::new(0));
        one.set_style(bar_style(if counts_trials {
            "{msg:24!} {bar:28} {pos:>6} of {len} trials"
        } else {
            "{msg:24!} {spinner} {pos} trials, {elapsed}"
        }));
        let all = bars.add(ProgressBar::new(0));
        all.set_style(bar_style("{msg:24!} {bar:28} {percent:>3} %, {eta} to go"));
        BatchProgress {
            bars,
            all,
            one,
            counts_trials,
            quiet: effort.quiet,
            on_terminal,
            pm: terminal(System::Si).pm(),
            invented: AtomicBool::new(false),
            to_do: AtomicU64::new(0),
            ended: AtomicUsize::new(0),
            last_line: Instant::now().into(),
        }
    }

    /// So many more trials are done.
    pub fn trials(&self, n: u64) {
        self.one.inc(n);
        if self.counts_trials {
            self.all.inc(n);
        }
        if !self.on_terminal && !self.quiet {
            self.now_and_then();
        }
    }

    /// Where there are no bars: how far the design is, in a line every [`LINE_EVERY`].
    fn now_and_then(&self) {
        // Another thread that is at it will do.
        let Ok(mut last) = self.last_line.try_lock() else { return };
        if last.elapsed() < LINE_EVERY {
            return;
        }
        *last = Instant::now();
        let (done, of) = (number::grouped(self.one.position()), self.one.length().unwrap_or_default());
        let of = if self.counts_trials { format!(" of {}", number::grouped(of)) } else { String::new() };
        self.line(&format!("{}: {done}{of} trials", self.one.message()));
    }

    /// Clears the bars.
    pub fn finish(&self) {
        self.one.finish_and_clear();
        self.all.finish_and_clear();
    }

    /// A line that says so where some of the weather of what was finished is invented; else empty.
    pub fn on_invented_weather(&self) -> &'static str {
        match self.invented.load(Ordering::Relaxed) {
            true => "Some of the weather is invented: those figures describe no real place.\n",
            false => "",
        }
    }

    /// Shows an event.
    pub fn on_event(&self, event: &Event<'_>) {
        match *event {
            Event::PassedOver(passed) => {
                self.line(&format!("{}: skipped: {}", words::escaped(&passed.file), passed.reason));
            }
            Event::Refused { file, problems } => {
                self.ended();
                let file = words::escaped(file);
                self.error(&format!(
                    "{file}: refused; continuing with the other designs:\n{}\n",
                    problems.render_styled()
                ));
            }
            Event::Looking { at, of } => {
                self.all.set_length(of);
                self.all.set_position(at);
                self.all.set_message("looking at designs");
                // Some milliseconds each: worth a word only if there are many.
                if at == 0 && of >= 1000 {
                    self.line(&format!("looking at {} designs", number::grouped(of)));
                }
            }
            Event::Looked { to_do, finished, refused, trials } => {
                self.to_do.store(to_do as u64, Ordering::Relaxed);
                self.ended.store(0, Ordering::Relaxed);
                self.all.reset();
                self.all.set_length(if self.counts_trials { trials } else { to_do as u64 });
                self.all.set_message("all designs");
                let mut text = format!("{to_do} to do");
                if finished > 0 {
                    text += &format!(", {finished} already finished");
                }
                if refused > 0 {
                    text += &format!(", {refused} refused");
                }
                self.line(&text);
            }
            Event::Begun { file, trials, done } => {
                self.one.reset();
                self.one.set_length(trials);
                self.one.set_position(done);
                self.one.set_message(name_in_bar(file));
                if done > 0 {
                    self.line(&format!("{}: resumed after {}", words::escaped(file), words::trials(done)));
                }
            }
            Event::Noted { file, words: note } => {
                self.error(&format!("note: {}: {}\n", words::escaped(file), words::escaped(note)));
            }
            Event::Finished { file, row } => {
                let place = self.ended();
                let file = words::escaped(file);
                self.line(&match row {
                    Some(row) => {
                        self.invented.fetch_or(row.weather_invented, Ordering::Relaxed);
                        let still = number::estimate(row.still_days_per_month, 2, self.pm);
                        format!("{place} {file}: {still} still days a month")
                    }
                    None => format!("{place} {file}: part finished"),
                });
            }
            Event::Failed { file, reason } => {
                let place = self.ended();
                let reason: Vec<_> = reason.lines().map(words::escaped).collect();
                self.error(&format!(
                    "error: {place} {}: failed; continuing with the other designs:\n  {}\n",
                    words::escaped(file),
                    reason.join("\n  ")
                ));
            }
        }
    }

    /// Counts a design, and says which of how many it is: `2 of 5:`.
    fn ended(&self) -> String {
        let ended = self.ended.fetch_add(1, Ordering::Relaxed) + 1;
        if !self.counts_trials {
            self.all.inc(1);
        }
        format!("{ended} of {}:", self.to_do.load(Ordering::Relaxed))
    }

    fn line(&self, text: &str) {
        if !self.quiet {
            // A batch continues when the reader of stdout has gone away.
            let _ = self.bars.suspend(|| print(&format!("{text}\n")));
        }
    }

    fn error(&self, text: &str) {
        let show = || anstream::eprint!("{text}");
        if self.on_terminal { self.bars.suspend(show) } else { show() }
    }
}
