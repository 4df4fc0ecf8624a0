//! The library's front door gives the same results as the command line, and refuses the same inputs.
//!
//! Demo designs and weather are invented; no check here depends on their numbers.

use std::ops::ControlFlow;
use std::path::{Path, PathBuf};
use std::process::Command;
use stilldays::fountain::{Change, Pick};
use stilldays::units::System;
use stilldays::{Effort, Error, Fountain};

const DESIGN: &str = "mill-3-seeking-small-battery";

fn path() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("scenarios/{DESIGN}.toml"))
}

/// The demo design with a short season.
fn short() -> Fountain {
    let fountain = Fountain::read(path()).unwrap_or_else(|e| panic!("{e}"));
    fountain.with("wish.season", "09-25 to 10-04").unwrap_or_else(|e| panic!("{e}"))
}

/// The words of a refusal.
fn refusal<T>(result: Result<T, Error>) -> String {
    match result {
        Err(Error::Refused(problems)) if problems.any_error() => problems.to_string(),
        Err(other) => panic!("not refused but: {other}"),
        Ok(_) => panic!("not refused"),
    }
}

#[test]
fn the_files_are_those_of_the_command_line() {
    let folder = tempfile::tempdir().unwrap();
    // A changed design, handed on as a file, is the same design.
    let design = folder.path().join("short.toml");
    std::fs::write(&design, short().to_toml().unwrap()).unwrap();
    let fountain = Fountain::read(&design).unwrap_or_else(|e| panic!("{e}"));
    let args = ["--trials", "40", "--seed", "7", "--threads", "2", "--quiet", "--out"];
    let status = Command::new(env!("CARGO_BIN_EXE_stilldays"))
        .arg("run")
        .arg(&design)
        .args(args)
        .arg(folder.path().join("told"))
        .status()
        .unwrap();
    assert!(status.success());

    let simulation = fountain.simulate(Effort::trials(40).seed(7)).unwrap();
    let paths = simulation.write(folder.path().join("called"), System::Si).unwrap();
    let names: Vec<_> = paths.iter().map(|p| p.file_name().unwrap().to_str().unwrap()).collect();
    assert_eq!(names, ["report.html", "summary.json", "months.csv", "distributions.csv", "tally"]);
    for name in names {
        let read = |folder_name: &str| std::fs::read(folder.path().join(folder_name).join(name)).unwrap();
        // The command line writes days to watch beside the page, and links to them.
        let link = "<a href=\"days.html\">Watch these days, and the worst of each cause</a>. ";
        let (called, told) = (read("called"), read("told/short"));
        match name {
            "report.html" => {
                let told = String::from_utf8(told).unwrap();
                assert_eq!(told.matches(link).count(), 1);
                assert!(String::from_utf8(called).unwrap() == told.replace(link, ""), "{name} differs");
            }
            _ => assert!(called == told, "{name} differs"),
        }
    }
    let page = std::fs::read_to_string(&paths[0]).unwrap();
    assert_eq!(page, simulation.page(System::Si).unwrap());
    assert!(page.contains("--trials 40 --seed 7"));

    // The change made in memory comes to the same.
    let changed = short().simulate(Effort::trials(40).seed(7).threads(1)).unwrap();
    assert!(changed.tally().to_bytes() == simulation.tally().to_bytes());
    let other = short().simulate(Effort::trials(40).seed(8)).unwrap();
    assert!(other.tally().to_bytes() != simulation.tally().to_bytes());
}

#[test]
fn figures_and_text_are_those_of_the_summary() {
    let simulation = short().simulate(Effort::trials(20)).unwrap();
    let summary = simulation.summary();
    assert_eq!((summary.run.trials, summary.run.seed), (20, 1));
    let (still, same) = (simulation.still_days_a_month(), summary.season.still_days_per_month);
    assert_eq!((still.mean, still.se), (same.mean, same.se));
    assert!(still.se.is_some_and(|se| se > 0.0), "{still:?}");
    assert_eq!(simulation.months().iter().map(|m| m.month).collect::<Vec<_>>(), [9, 10]);
    assert!(simulation.dusk_run_min().is_some() && simulation.battery_life_years().is_some());
    assert!(summary.run.command.contains("wish.season = 09-25 to 10-04"), "{}", summary.run.command);
    assert!(simulation.to_string().contains(&summary.design.title));
}

#[test]
fn what_is_wrong_is_refused_and_named() {
    assert!(refusal(Fountain::read("no/such/design.toml")).contains("no/such/design.toml"));
    assert!(refusal(Fountain::parse("x.toml", "title = 3")).contains("x.toml:1"));
    let fountain = short();
    for (result, words) in [
        (fountain.with("battery.capacity", "0 Ah"), "battery.capacity"),
        (fountain.with("battery.capacity", "6 V"), "battery.capacity = 6 V"),
        (fountain.with("battery.capcity", "6 Ah"), "did you mean `capacity`"),
        (fountain.with("site.weather", "no-such-weather.csv"), "no-such-weather.csv"),
        (fountain.scaled("battery.chemistry", 2.0), "cannot be changed"),
        (fountain.scaled("battery.capacity", -1.0), "cannot be changed"),
    ] {
        let told = refusal(result);
        assert!(told.contains(words), "{words} in {told}");
    }
    for (effort, words) in [
        (Effort::trials(0), "0 trials"),
        (Effort::half_width(f64::NAN), "NaN days"),
        (Effort::trials(1).threads(0), "0 threads"),
    ] {
        let Err(error @ Error::Effort(_)) = fountain.simulate(effort) else {
            panic!("{effort:?} is allowed")
        };
        assert!(error.to_string().contains(words), "{error}");
    }
}

#[test]
fn changes_add_up_and_leave_the_design_as_it_was() {
    let fountain = short();
    let capacity = |f: &Fountain| f.file().quantity("battery.capacity").map(|q| q.nominal);
    let before = capacity(&fountain).unwrap();
    let doubled = fountain.scaled("battery.capacity", 2.0).unwrap().with("water.usable", "50 L").unwrap();
    assert!((capacity(&doubled).unwrap() - 2.0 * before).abs() < 1e-9 * before);
    assert_eq!(capacity(&fountain), Some(before));
    let changes = ["wish.season = ", "battery.capacity × 2", "water.usable = 50 L"];
    let told = doubled.file().variant.as_deref().unwrap();
    assert!(changes.iter().all(|c| told.contains(c)), "{told}");
    assert!(fountain.without("battery").unwrap().file().design.battery.is_none());
    let remove = |key: &str| (key.to_owned(), Change::Remove);
    let bare = fountain.changed(&[remove("battery"), remove("prices")]).unwrap();
    assert!(bare.file().design.battery.is_none() && bare.file().design.price().is_none());
    // Another place is read; the same place is not read again.
    let elsewhere = fountain.with("site.weather", "../weather/marrowdale.csv.gz").unwrap();
    assert!(elsewhere.plan().site.sha256 != fountain.plan().site.sha256);
    assert!(std::sync::Arc::ptr_eq(&doubled.plan().site, &fountain.plan().site));
}

#[test]
fn days_are_traced_and_a_simulation_can_be_ended_early() {
    let fountain = short();
    let mut told = Vec::new();
    let effort = Effort::trials(100_000).threads(1);
    let simulation = fountain
        .simulate_watched(effort, |trials| {
            told.push(trials);
            if told.len() < 2 { ControlFlow::Continue(()) } else { ControlFlow::Break(()) }
        })
        .unwrap();
    assert_eq!(simulation.summary().run.trials, told[1]);
    assert!(told.len() == 2 && told[0] < told[1]);

    let day_of_year = stilldays::units::dates::day_of_year("10-02").unwrap();
    let day = simulation.trace(17, Pick::Date(day_of_year)).unwrap();
    assert_eq!((day.trial, day.day_of_year), (17, day_of_year));
    assert!(day.minutes.iter().any(|m| m.counted || m.cause.is_some()));
    let Err(error) = simulation.trace(0, Pick::Date(180)) else { panic!("30 June is not in the season") };
    assert_eq!(error.to_string(), "the season does not have 06-30");
}
