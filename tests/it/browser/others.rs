//! Pages that need a command to be made: of weather files, invented years, a replayed season, a logbook, a field card. They hold like the
//! others, and their print is short and whole.

use super::holds_on;
use std::path::{Path, PathBuf};
use std::process::Command;

fn demo(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(name)
}

/// Runs the program in a folder and gives the page it made, whatever it answers.
fn made(folder: &Path, args: &[&str], page: &str) -> PathBuf {
    let out = Command::new(env!("CARGO_BIN_EXE_stilldays")).args(args).current_dir(folder).output().unwrap();
    let path = folder.join(page);
    assert!(path.exists(), "{args:?} made no {page}: {}", String::from_utf8_lossy(&out.stderr));
    path
}

#[test]
fn pages_of_weather_hold() {
    let folder = tempfile::tempdir().unwrap();
    let files = ["weather/fenholm.csv.gz", "weather/fenholm-2.csv.gz"].map(|f| demo(f).display().to_string());
    let args = ["weather", &files[0], &files[1], "--page", "--out", "two"];
    holds_on(&made(folder.path(), &args, "two/weather.html"), 2);
    let args = ["weather", &files[0], &files[1], "--pool", "--page", "--out", "pool"];
    holds_on(&made(folder.path(), &args, "pool/weather.html"), 2);
    let climate = demo("weather/marrowdale.toml").display().to_string();
    let args = ["invent", &climate, "--years", "2", "--out", "dale.csv", "--page"];
    let page = made(folder.path(), &args, "dale-weather.html");
    holds_on(&page, 2);
    let text = std::fs::read_to_string(page).unwrap();
    assert!(text.contains("nobody measured it"), "the page does not say that the years are invented");
}

#[test]
fn pages_of_seasons_and_logbooks_hold() {
    let folder = tempfile::tempdir().unwrap();
    let name = "mill-3-seeking-small-battery";
    let design = demo(&format!("scenarios/{name}.toml")).display().to_string();
    let days = demo("weather/fenholm-2.csv.gz").display().to_string();
    let page = |html: &str| format!("results/{name}/{html}");
    let args = ["replay", &design, "--weather", &days, "--trials", "16", "--quiet"];
    holds_on(&made(folder.path(), &args, &page("replay.html")), 1);
    let log = "# clock: standard\ndate,time,what,value,sky,test\n2026-06-07,,standby current,10 mA,,pump unplugged\n";
    std::fs::write(folder.path().join("log.csv"), log).unwrap();
    // So few rows that the result may be refused: the page says so, then.
    let args = ["learn", &design, "log.csv", "--rows", "16", "--paths", "16", "--quiet"];
    holds_on(&made(folder.path(), &args, &page("learned.html")), 2);
    let args = ["measure", &design, "--quiet"];
    holds_on(&made(folder.path(), &args, &page("field-card.html")), 3);
}

/// A page of many designs is still small enough to be sent about, and short on paper.
#[test]
fn pages_of_all_demo_designs_hold() {
    let folder = tempfile::tempdir().unwrap();
    let scenarios = demo("scenarios").display().to_string();
    let designs: Vec<String> = std::fs::read_dir(&scenarios)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "toml") && !path.ends_with("shelf.toml"))
        .map(|path| path.display().to_string())
        .collect();
    assert!(designs.len() > 10, "{designs:?}");
    let all: Vec<&str> = designs.iter().map(String::as_str).collect();
    let args = [&["compare"], &all[..], &["--trials", "16", "--quiet", "--out", "side"]].concat();
    holds_on(&made(folder.path(), &args, "side/compare.html"), 4);
    let args = ["batch", &scenarios, "--trials", "16", "--quiet", "--out", "all"];
    holds_on(&made(folder.path(), &args, "all/index.html"), 3);
}
