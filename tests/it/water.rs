//! Water over whole runs. The demo designs and their weather are invented; the checks compare runs with one another.

use crate::common::{altered, summed_up};
use stilldays::lanes::Isa;
use stilldays::study::Sites;
use stilldays::study::key_figures::KeyFigures;
use stilldays::tally::summary::{FullBasin, Summary};

const SEASON: &str = "06-01 to 07-31";

/// A small basin in the wind: most of what it loses is drift.
fn basin(top_up: &str, wind_share: &str, sites: &Sites) -> stilldays::study::Plan {
    let top_up = format!("wind_share = \"{wind_share}\"\ntop_up = \"{top_up}\"");
    let lines = [("usable = ", "usable = \"12 L\""), ("rim = ", "rim = \"70 cm\""), ("top_up = ", &top_up)];
    altered("mill-3-seeking-small-battery", SEASON, &lines, sites)
}

fn run(top_up: &str, sites: &Sites) -> Summary {
    summed_up(&basin(top_up, "35 %", sites), 32, 1, 2, Isa::detect()).1
}

/// How long a full basin lasts says nothing about how it is filled: whoever asks has not filled it.
#[test]
fn how_long_a_full_basin_lasts_does_not_depend_on_how_it_is_filled() {
    let sites = Sites::new();
    let days = |full: &FullBasin| -> Vec<[Option<u32>; 3]> {
        full.months.iter().map(|m| [m.p10.day, m.p50.day, m.p90.day]).collect()
    };
    let runs = ["always", "every 1 day", "every 3 days", "rain"].map(|top_up| run(top_up, &sites));
    let full: Vec<&FullBasin> = runs.iter().map(|s| s.water.full_basin.as_ref().expect("followed")).collect();
    println!("{:?}", full.iter().map(|f| (days(f), f.litres_per_week.mean)).collect::<Vec<_>>());
    for other in &full[1..] {
        assert_eq!(days(other), days(full[0]));
        assert!((other.litres_per_week.mean / full[0].litres_per_week.mean - 1.0).abs() < 1e-4);
    }
    // The basin runs low: a shortened season, and what was lost, would say that it lasts longer.
    let low = |s: &Summary| s.season.causes_min["low_water"] / s.season.wanted_min;
    assert!(low(&runs[2]) > 0.2 && low(&runs[0]) == 0.0, "{} {}", low(&runs[2]), low(&runs[0]));
    assert!(runs[2].water.litres_per_week.mean < 0.9 * runs[0].water.litres_per_week.mean);
}

/// The litres a day that `check` shows are those of a run, at large drift too.
#[test]
fn litres_a_day_of_a_check_are_those_of_a_run() {
    let sites = Sites::new();
    for top_up in ["always", "every 3 days"] {
        let plan = basin(top_up, "50 %", &sites);
        let few = summed_up(&plan, stilldays::study::key_figures::TRIALS, 1, 2, Isa::detect()).1;
        let many = summed_up(&plan, 128, 2, 2, Isa::detect()).1;
        let (shown, of_run) = (KeyFigures::of(&plan, &few).lost_l_day, many.water.litres_per_week.mean / 7.0);
        let error = few.water.litres_per_week.se.expect("16 trials") / 7.0;
        println!("{top_up}: check {shown:.2} L a day, run {of_run:.2}, error {error:.2}");
        assert!((shown - of_run).abs() < 3.5 * error, "{shown} {of_run} {error}");
        // Drift is most of what a basin that is never low loses.
        assert!(top_up != "always" || many.water.drifted_l_per_week > 0.5 * many.water.litres_per_week.mean);
    }
}
