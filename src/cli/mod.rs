//! The command line: one file per command, named after it.
//!
//! What commands share: [`effort`] (how much to simulate), [`output`] (where results go and how they look),
//! [`failure`] (errors and exit codes). What a command computes is in `study`, what it shows in `report`.

mod batch;
mod batch_progress;
mod check;
mod choose;
mod compare;
mod day;
mod effort;
mod failure;
mod gather;
mod grid;
mod interview;
mod learn;
mod manual;
mod measure;
mod memory;
mod new;
mod output;
mod remedies;
mod replay;
mod run;
mod weather;
mod years;

use clap::{CommandFactory, FromArgMatches, Parser, Subcommand};
use failure::report_failure;
use std::process::ExitCode;
use std::sync::LazyLock;
use stilldays::lanes::Isa;

/// On how many days a month will a small solar fountain stand still, how long will it run after
/// sunset, how fast will its battery wear, and what would help most?
#[derive(Parser)]
#[command(name = "stilldays", version, long_version = long_version(), max_term_width = 80)]
#[command(
    after_help = "Exit codes: 0 success, 1 an input was refused or something failed, 2 invalid command line."
)]
struct Cli {
    /// Instruction set to compute with, for tests: results do not depend on it
    #[arg(long, global = true, hide = true, value_name = "NAME", value_parser = Isa::named)]
    isa: Option<Isa>,
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Simulate designs and report the results
    Run(run::Args),
    /// Compare designs under the same weather
    Compare(compare::Args),
    /// Rank single changes to a design by what they improve
    Remedies(remedies::Args),
    /// Map still days, dusk run and price over two quantities of a design
    Grid(grid::Args),
    /// Find the cheapest build from a shelf of parts that meets the wish
    Choose(choose::Args),
    /// Learn from a logbook which units of a design agree with what was seen
    Learn(learn::Args),
    /// Print the field card: which readings would tell most about a fountain
    Measure(measure::Args),
    /// Step a design through the actual days of a season
    Replay(replay::Args),
    /// Show one day of one trial, minute by minute
    Day(day::Args),
    /// Describe weather files, and compare sampled years with them
    Weather(weather::Args),
    /// Make up a typical year from twelve monthly means
    Invent(weather::InventArgs),
    /// Let a design age: still days, wish and money year by year, and what can be promised
    Years(years::Args),
    /// Run every design in a folder
    Batch(batch::Args),
    /// Combine the parts that `batch --part` or `years --part` made on several machines
    Gather(gather::Args),
    /// Check designs, and print figures to verify by eye and the cautions that apply
    Check(check::Args),
    /// Write a starter design, one made from your answers to some questions, or a logbook
    New(new::Args),
    /// Show the guide, the page on weather files, or what a key of a design means
    Manual(manual::Args),
}

/// What `--version` says: the version, and which instruction set this processor computes with.
fn long_version() -> &'static str {
    static TEXT: LazyLock<String> = LazyLock::new(|| {
        let names: Vec<_> = Isa::available().map(Isa::name).collect();
        let (version, widest) = (stilldays::VERSION, Isa::detect().name());
        format!("{version}\ncomputes with {widest} (this processor has {})", names.join(", "))
    });
    &TEXT
}

/// Parses, runs, and turns the outcome into an exit code.
pub fn main() -> ExitCode {
    memory::kept_together_where_limited();
    failure::told_of_file_limits();
    let matches = Cli::command().get_matches();
    let cli = Cli::from_arg_matches(&matches).unwrap_or_else(|error| error.exit());
    if let Some(isa) = cli.isa {
        effort::force(isa);
    }
    // Commands that take no number of threads start none here.
    if let Some((_, flags)) = matches.subcommand()
        && let Ok(threads) = flags.try_get_one::<u16>("threads")
        && let Err(failure) = effort::keep_to_threads(threads.copied())
    {
        return report_failure(failure);
    }
    let outcome = match cli.command {
        Command::Run(args) => run::run(&args),
        Command::Compare(args) => compare::run(&args),
        Command::Remedies(args) => remedies::run(&args),
        Command::Grid(args) => grid::run(&args),
        Command::Choose(args) => choose::run(&args),
        Command::Learn(args) => learn::run(&args),
        Command::Measure(args) => measure::run(&args),
        Command::Replay(args) => replay::run(&args),
        Command::Day(args) => day::run(&args),
        Command::Weather(args) => weather::run(&args),
        Command::Invent(args) => weather::invent(&args),
        Command::Years(args) => years::run(&args),
        Command::Batch(args) => batch::run(&args),
        Command::Gather(args) => gather::run(&args),
        Command::Check(args) => check::run(&args),
        Command::New(args) => new::run(&args),
        Command::Manual(args) => manual::run(&args),
    };
    match outcome {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => report_failure(failure),
    }
}
