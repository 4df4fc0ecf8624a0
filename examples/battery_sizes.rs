//! One design with batteries of several sizes: still days a month, evenings that meet the wish, life of the battery.
//!
//! All sizes meet the same weather and the same luck with parts, so that they differ by the battery alone.
//!
//! `cargo run --release --example battery_sizes [DESIGN.toml]`

use std::process::ExitCode;
use stilldays::report::number;
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
    let effort = Effort::trials(64).seed(1);

    println!("capacity   still days a month   evenings that meet the wish   years of life");
    for capacity_ah in [1.0, 1.5, 2.0, 3.0, 4.0, 6.0] {
        let simulation =
            fountain.with("battery.capacity", format!("{capacity_ah} Ah ± 10 %"))?.simulate(effort)?;
        let still = number::estimate(simulation.still_days_a_month(), 2, "±");
        let evenings =
            simulation.dusk_run_min().map_or("-".to_owned(), |m| format!("{:.0} %", 100.0 * m.meets_wish));
        let life = simulation
            .battery_life_years()
            .map_or("-".to_owned(), |[p10, p50, p90]| format!("{p50:.0} ({p10:.0} to {p90:.0})"));
        println!("{capacity_ah:5.1} Ah {still:>20} {evenings:>29} {life:>15}");
    }
    Ok(())
}
