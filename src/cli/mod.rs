//! Flags and commands. One file per command; each reads as what it does.

mod batch;
mod batch_progress;
mod check;
mod choose;
mod common;
mod compare;
mod day;
mod gather;
mod grid;
mod remedies;
mod run;
mod weather;

use clap::{Parser, Subcommand};
use common::Failure;
use std::process::ExitCode;

/// On how many days a month will a small sun-powered jet of water stand still, how long does it
/// go on after sunset, how hard is its battery worked, and what would help most?
#[derive(Parser)]
#[command(name = "stilldays", version, max_term_width = 80)]
#[command(
    after_help = "Exit code: 0 all well, 1 something was refused or failed, 2 the command itself was off."
)]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Simulate designs and report
    Run(run::Args),
    /// Designs side by side, under the same weather
    Compare(compare::Args),
    /// What single changes to a design would be worth, best first
    Remedies(remedies::Args),
    /// A map over two quantities of a design: still days, dusk run, price
    Grid(grid::Args),
    /// The cheapest build from a shelf of parts that meets the wish
    Choose(choose::Args),
    /// One day of one trial, minute by minute
    Day(day::Args),
    /// Describe weather files in numbers (JSON), and hold sampled years against them
    Weather(weather::Args),
    /// Make a typical year from twelve monthly means
    Invent(weather::InventArgs),
    /// Run every design of a folder
    Batch(batch::Args),
    /// Put together what `batch --part` made on several machines
    Gather(gather::Args),
    /// Validate designs only, and print the cautions that fit them
    Check(check::Args),
    /// Write a commented starter design
    New(check::NewArgs),
}

/// Parses, runs, and turns the outcome into an exit code.
pub fn main() -> ExitCode {
    let outcome = match Cli::parse().command {
        Command::Run(args) => run::run(&args),
        Command::Compare(args) => compare::run(&args),
        Command::Remedies(args) => remedies::run(&args),
        Command::Grid(args) => grid::run(&args),
        Command::Choose(args) => choose::run(&args),
        Command::Day(args) => day::run(&args),
        Command::Weather(args) => weather::run(&args),
        Command::Invent(args) => weather::invent(&args),
        Command::Batch(args) => batch::run(&args),
        Command::Gather(args) => gather::run(&args),
        Command::Check(args) => check::run(&args),
        Command::New(args) => check::new(&args),
    };
    match outcome {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => common::report_failure(failure),
    }
}

/// What a command gives back.
type Outcome = Result<(), Failure>;
