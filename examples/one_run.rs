//! One design: how many still days a month, which months are worst, and what a dull day looks like.
//!
//! `cargo run --release --example one_run [DESIGN.toml]`

use std::process::ExitCode;
use stilldays::fountain::Pick;
use stilldays::report::{Style, number, text};
use stilldays::{Effort, Error, Fountain};

fn main() -> ExitCode {
    match run() {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("{error}");
            ExitCode::FAILURE
        }
    }
}

fn run() -> Result<(), Error> {
    let path =
        std::env::args().nth(1).unwrap_or_else(|| "scenarios/mill-3-seeking-small-battery.toml".to_owned());
    let fountain = Fountain::read(path)?;
    let simulation = fountain.simulate(Effort::trials(64).seed(1))?;

    println!("{}", fountain.file().design.title);
    println!("still days a month: {}", number::estimate(simulation.still_days_a_month(), 2, "±"));
    for month in simulation.months() {
        println!(
            "  month {:2}: {:4.1}, in nine years of ten at most {}",
            month.month, month.still_days.mean, month.still_days.p90
        );
    }

    let dull = simulation.trace(0, Pick::Dull)?;
    println!(
        "\n{}",
        text::day(&dull, &simulation.summary().cautions, Style { unicode: true, ..Style::PLAIN })
    );
    Ok(())
}
