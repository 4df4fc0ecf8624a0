//! The commands as a user sees them: files, output, exit codes.
//!
//! Demo designs and weather are invented; no check here depends on their numbers.

use crate::batch::Said;
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::Command;

/// `stilldays` in a folder of its own.
pub struct Desk(tempfile::TempDir);

impl Desk {
    pub fn new() -> Desk {
        Desk(tempfile::tempdir().unwrap())
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    pub fn say(&self, args: &[&str]) -> Said {
        let mut command = Command::new(env!("CARGO_BIN_EXE_stilldays"));
        command.args(args).current_dir(self.0.path()).env("NO_COLOR", "1").env("LC_ALL", "C.UTF-8");
        Said::of(command.output().unwrap())
    }

    /// The same; it must succeed.
    pub fn well(&self, args: &[&str]) -> Said {
        let said = self.say(args);
        assert_eq!(said.code, Some(0), "{args:?}: {said:?}");
        said
    }

    fn is_empty(&self) -> bool {
        self.0.path().read_dir().unwrap().next().is_none()
    }
}

fn project(name: &str) -> String {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(name).display().to_string()
}

/// No colour codes and at most 80 columns. A path cannot be wrapped and temporary folders have long names, so lines with a
/// path are skipped; there must be others.
fn assert_fits(text: &str, what: &str) {
    assert!(!text.contains('\u{1b}'), "{what}: colour in spite of NO_COLOR");
    let lines: Vec<&str> = text.lines().filter(|l| !l.contains(std::path::MAIN_SEPARATOR)).collect();
    assert!(lines.iter().any(|l| !l.trim().is_empty()), "{what} says nothing:\n{text}");
    for line in lines {
        assert!(line.chars().count() <= 80, "{what}: {} columns: {line}", line.chars().count());
    }
}

/// A value of a summary by its path; it must be there and, unless `null` is allowed, known.
fn at<'v>(value: &'v Value, path: &str) -> &'v Value {
    value.pointer(path).filter(|v| !v.is_null()).unwrap_or_else(|| panic!("no {path}"))
}

const DAY_COUNT: [&str; 9] =
    ["mean", "se", "p10", "p50", "p90", "at_least/1", "at_least/3", "at_least/7", "histogram"];
const DUSK_RUN: [&str; 6] = ["mean", "se", "p10", "p50", "p90", "meets_wish"];

#[test]
fn a_run_writes_the_page_and_all_its_numbers() {
    let desk = Desk::new();
    let design = project("scenarios/mill-3-seeking-small-battery.toml");
    let said =
        desk.well(&["run", &design, "--trials", "32", "--seed", "7", "--threads", "2", "--out", "here"]);
    assert_fits(&said.out, "run");
    let opening: String = said.out.lines().take(12).collect::<Vec<_>>().join("\n").to_lowercase();
    assert!(opening.contains("still days"), "the answer does not come first:\n{}", said.out);

    let folder = desk.path("here/mill-3-seeking-small-battery");
    let mut names: Vec<String> =
        folder.read_dir().unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    assert_eq!(
        names,
        ["days.html", "distributions.csv", "months.csv", "report.html", "summary.json", "tally"]
    );
    let text = |name: &str| std::fs::read_to_string(folder.join(name)).unwrap();
    assert!(text("report.html").starts_with("<!DOCTYPE html>") && text("report.html").contains("</html>"));
    let again =
        desk.well(&["run", &design, "--trials", "32", "--seed", "7", "--threads", "1", "--out", "again"]);
    assert!(again.out.contains("days a second"), "the terminal says what it took:\n{}", again.out);
    for name in &names {
        let other = desk.path("again/mill-3-seeking-small-battery").join(name);
        let (first, second) = (std::fs::read(folder.join(name)).unwrap(), std::fs::read(other).unwrap());
        assert!(first == second, "{name} differs from run to run or on fewer threads");
    }
    let tally = stilldays::tally::Tally::from_bytes(&std::fs::read(folder.join("tally")).unwrap());
    assert_eq!(tally.unwrap_or_else(|_| panic!("the tally does not read back")).trials(), 32);

    let summary: Value = serde_json::from_str(&text("summary.json")).unwrap();
    assert_eq!(at(&summary, "/schema"), "stilldays.summary/1");
    assert_eq!((at(&summary, "/run/trials"), at(&summary, "/run/seed")), (&32.into(), &7.into()));
    has_the_tables_of_a_run(&summary);
    let months = at(&summary, "/months").as_array().unwrap();
    has_the_months_of_a_run(months);
    the_long_form_holds_the_same(months, &text("months.csv"), &text("distributions.csv"));
}

/// The keys that occur once.
fn has_the_tables_of_a_run(summary: &Value) {
    for (table, keys) in [
        ("run", &["days", "version"][..]),
        ("design", &["title", "file", "sha256"]),
        ("weather", &["file", "sha256", "latitude_deg", "longitude_deg", "ghi_kwh_m2", "dni_kwh_m2"]),
        ("season", &["days", "still_days_per_month/mean", "still_days_per_month/se"]),
        ("season/dusk_run_min", &DUSK_RUN),
        ("season/longest_still_spell", &DAY_COUNT),
        (
            "battery",
            &[
                "daily_depth/p10",
                "daily_depth/p50",
                "daily_depth/p90",
                "daily_depth/histogram",
                "cycles_per_year",
                "equivalent_full_cycles_per_year",
                "cycle_depth_histogram",
            ],
        ),
        ("ledger", &["worst_residual_wh"]),
    ] {
        for key in keys {
            at(summary, &format!("/{table}/{key}"));
        }
    }
    assert!(at(summary, "/warnings").is_array());
}

/// The keys of each month, April to October.
fn has_the_months_of_a_run(months: &[Value]) {
    assert_eq!(
        months.iter().map(|m| m["month"].as_u64().unwrap()).collect::<Vec<_>>(),
        [4, 5, 6, 7, 8, 9, 10]
    );
    for month in months {
        for (table, keys) in
            [("still_days", &DAY_COUNT[..]), ("short_days", &DAY_COUNT), ("dusk_run_min", &DUSK_RUN)]
        {
            for key in keys {
                at(month, &format!("/{table}/{key}"));
            }
        }
        let histogram = at(month, "/still_days/histogram").as_array().unwrap();
        assert_eq!(histogram.len(), 32);
        assert_eq!(histogram.iter().map(|n| n.as_u64().unwrap()).sum::<u64>(), 32, "one count a trial");
        assert!(at(month, "/causes").as_object().is_some_and(|c| !c.is_empty()));
        at(month, "/days");
    }
}

/// `months.csv` and `distributions.csv` against the months of `summary.json`.
fn the_long_form_holds_the_same(months: &[Value], monthly: &str, counts: &str) {
    let rows = |text: &str| -> Vec<Vec<String>> {
        assert!(text.starts_with("# stilldays "), "it does not say where it comes from");
        let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
        reader.records().map(|r| r.unwrap().iter().map(str::to_owned).collect()).collect()
    };
    let monthly = rows(monthly);
    let counts = rows(counts);
    for month in months {
        let scope = format!("{:02}", month["month"].as_u64().unwrap());
        let mean = monthly.iter().find(|r| r[0] == scope && r[1] == "still_days" && r[2] == "mean").unwrap();
        assert_eq!(mean[3].parse::<f64>().unwrap(), month["still_days"]["mean"].as_f64().unwrap());
        let histogram: Vec<u64> = counts
            .iter()
            .filter(|r| r[0] == scope && r[1] == "still_days")
            .map(|r| r[5].parse().unwrap())
            .collect();
        assert_eq!(Value::from(histogram), month["still_days"]["histogram"]);
    }
}

#[test]
fn without_a_battery_its_numbers_are_null() {
    let desk = Desk::new();
    let design = project("scenarios/mill-1-fixed-direct.toml");
    let said = desk.well(&["run", &design, "--trials", "1", "--out", "here", "--quiet"]);
    assert_eq!((said.out.as_str(), said.err.as_str()), ("", ""), "--quiet");
    let text = std::fs::read_to_string(desk.path("here/mill-1-fixed-direct/summary.json")).unwrap();
    let summary: Value = serde_json::from_str(&text).unwrap();
    assert_eq!(summary.get("battery"), Some(&Value::Null));
    // One trial has no standard error.
    assert_eq!(summary.pointer("/season/still_days_per_month/se"), Some(&Value::Null));
}

#[test]
fn a_refused_design_writes_nothing_and_is_pointed_at() {
    let desk = Desk::new();
    let good = std::fs::read_to_string(project("scenarios/mill-1-fixed-direct.toml")).unwrap();
    let bad = good
        .replace("../weather/", &project("weather/"))
        .replace("rated_power = \"5 W ± 5 %\"", "rated_powr = \"5 W ± 5 %\"")
        .replace("still_below = \"60 min\"", "still_below = \"60\"");
    let designs = Desk::new();
    let path = designs.path("bad.toml");
    std::fs::write(&path, &bad).unwrap();
    let name = path.display().to_string();
    let line = |key: &str| 1 + bad.lines().position(|l| l.starts_with(key)).unwrap();
    for args in [&["run", &name, "--trials", "16", "--out", "here"][..], &["check", &name], &["day", &name]] {
        let said = desk.say(args);
        assert_eq!(said.code, Some(1), "{args:?}: {said:?}");
        assert_eq!(said.out, "", "{args:?}");
        // Both errors at once: each with its place, a caret, and the word that was meant.
        for key in ["rated_powr", "still_below"] {
            assert!(said.err.contains(&format!("bad.toml:{}:", line(key))), "{args:?}: {}", said.err);
        }
        assert!(said.err.contains('^') && said.err.contains("rated_power`"), "{args:?}: {}", said.err);
        assert!(desk.is_empty(), "{args:?} wrote something");
    }
}

#[test]
fn an_invalid_command_line_exits_with_2() {
    let desk = Desk::new();
    let design = project("scenarios/mill-1-fixed-direct.toml");
    for args in [
        &["run"][..],
        &["rnu", &design],
        &["run", &design, "--trials", "0"],
        &["run", &design, "--trials", "many"],
        &["run", &design, "--until", "-1"],
        &["run", &design, "--until", "1", "--trials", "5"],
        &["day", &design, "--date", "02-30"],
        &["day", &design, "--pick", "nice"],
    ] {
        let said = desk.say(args);
        assert_eq!((said.code, said.out.as_str()), (Some(2), ""), "{args:?}: {said:?}");
        assert!(said.err.starts_with("error:"), "{args:?}: {}", said.err);
    }
    assert!(desk.is_empty());
}

/// Every problem ends with a line end, the last one as well, so that the next prompt starts on a line of its own.
#[test]
fn stderr_ends_with_one_line_end() {
    let desk = Desk::new();
    let missing = std::fs::File::open(desk.path("a.toml")).unwrap_err();
    let both =
        format!("error: a.toml: cannot be opened: {missing}\nerror: b.toml: cannot be opened: {missing}\n");
    for command in ["run", "check"] {
        assert_eq!(desk.say(&[command, "a.toml", "b.toml"]).err, both, "{command}");
    }
    std::fs::write(desk.path("bad.toml"), "colour = 1\n").unwrap();
    let design = project("scenarios/mill-1-fixed-direct.toml");
    for args in [
        &["run", "bad.toml"][..],
        &["compare", "bad.toml", "a.toml"],
        &["grid", &design, "--x", "nonsense=1"],
        &["batch", "nowhere"],
        &["batch", &design, "--part", "1/2", "--until", "0.1"],
        &["invent", "nowhere.toml"],
        &["weather", "nowhere.epw", "nowhere.csv"],
        &["gather", "nowhere"],
        &["rnu"],
    ] {
        let err = desk.say(args).err;
        assert!(
            err.starts_with("error: ") && err.ends_with('\n') && !err.ends_with("\n\n"),
            "{args:?}: {err:?}"
        );
        assert!(!err.lines().any(|l| l.rfind("error: ").is_some_and(|at| at > 0)), "{args:?}: {err:?}");
    }
}

/// Figures that a builder can hold against the labels, and warnings that need the place or a few simulated seasons.
#[test]
fn check_shows_figures_and_what_looks_odd() {
    let desk = Desk::new();
    let said = desk.well(&["check", &project("scenarios/mill-3-seeking-small-battery.toml")]);
    for part in [
        "by eye: highest jet ",
        "by eye: water lost ",
        "by eye: worst month ",
        "by eye: full battery without sun: ",
    ] {
        assert!(said.out.contains(part), "{part} in {}", said.out);
    }
    assert_fits(&said.out, "check");
    let design = |more: &str| {
        format!(
            "[site]\nweather = {:?}\n[wish]\nseason = \"06-01 to 06-30\"\n[panel]\nrated_power = \"10 W\"\n\
             open_circuit_voltage = \"10.8 V\"\n[pump]\nbench = [[\"6 V\", \"290 mA\", \"430 mm\"]]\n{more}\n",
            project("weather/fenholm.csv.gz")
        )
    };
    let words = |said: &Said| said.out.split_whitespace().collect::<Vec<_>>().join(" ");
    for (more, odd) in [
        ("[mount]\nazimuth = \"0 deg\"", "the panel faces 0 deg, away from the equator"),
        ("[water]\nusable = \"0.5 L\"\ntop_up = \"every 20 days\"", "the basin is at low water in"),
        ("[mount]\nkind = \"sun-following\"\nmotor_current = \"1.2 A\"", "the mount hardly ever turns"),
    ] {
        std::fs::write(desk.path("odd.toml"), design(more)).unwrap();
        let said = desk.well(&["check", "odd.toml"]);
        assert!(words(&said).contains(odd), "{odd} in {said:?}");
    }
    // What cannot work is refused by every command that reads a design.
    std::fs::write(
        desk.path("never.toml"),
        design("[mount]\nkind = \"sun-following\"\nlowest_voltage = \"12 V\""),
    )
    .unwrap();
    for command in ["check", "run", "day", "grid", "remedies"] {
        let said = desk.say(&[command, "never.toml"]);
        assert_eq!(said.code, Some(1), "{command}: {said:?}");
        assert!(said.err.contains("the mount needs 100 mA at 12.0 V or more"), "{command}: {}", said.err);
    }
}

#[test]
fn the_starter_is_accepted_and_never_written_over() {
    let desk = Desk::new();
    desk.well(&["new", "mine.toml", "--weather", &project("weather/marrowdale.csv.gz")]);
    let written = std::fs::read(desk.path("mine.toml")).unwrap();
    let said = desk.well(&["check", "mine.toml"]);
    assert!(said.out.contains("mine.toml: valid: "), "{}", said.out);
    assert_fits(&said.out, "check");
    let again = desk.say(&["new", "mine.toml"]);
    assert_eq!(again.code, Some(1), "{again:?}");
    assert!(again.err.contains("already exists"), "{}", again.err);
    assert_eq!(std::fs::read(desk.path("mine.toml")).unwrap(), written);
    // With a weather file that is not there, it is the weather file that is named.
    desk.well(&["new", "far.toml", "--weather", "nowhere.epw"]);
    let far = desk.say(&["check", "far.toml"]);
    assert!(far.code == Some(1) && far.err.contains("nowhere.epw"), "{far:?}");
}

#[test]
fn a_day_is_shown_and_written_minute_by_minute() {
    let desk = Desk::new();
    let design = project("scenarios/mill-3-seeking-small-battery.toml");
    let said = desk.well(&["day", &design, "--date", "06-21", "--trial", "3", "--out", "here"]);
    assert_fits(&said.out, "day");
    let file = desk.path("here/mill-3-seeking-small-battery/day-06-21-trial-3.csv");
    let text = std::fs::read_to_string(&file).unwrap();
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
    let columns = reader.headers().unwrap().len();
    let minutes = reader.records().map(|r| assert_eq!(r.unwrap().len(), columns)).count();
    // The longest day near 55° N has the sun up for some 17 hours.
    assert!(columns > 5 && (17 * 60..=1440).contains(&minutes), "{columns} columns, {minutes} minutes");
    let again = desk.well(&["day", &design, "--date", "06-21", "--trial", "3", "--out", "here"]);
    assert_eq!((again.out, std::fs::read_to_string(&file).unwrap()), (said.out, text), "the same day again");
    let winter = desk.say(&["day", &design, "--date", "12-21", "--out", "there"]);
    assert_eq!(winter.code, Some(1), "{winter:?}");
    assert!(winter.err.contains("season") && !desk.path("there").exists(), "{winter:?}");
}

#[test]
fn every_demo_design_checks_clean() {
    let desk = Desk::new();
    let mut designs: Vec<String> = Path::new(&project("scenarios"))
        .read_dir()
        .unwrap()
        .map(|e| e.unwrap().path())
        .filter(|p| p.extension().is_some_and(|e| e == "toml") && !p.ends_with("shelf.toml"))
        .map(|p| p.display().to_string())
        .collect();
    designs.sort();
    assert!(designs.len() >= 7, "{designs:?}");
    let mut args = vec!["check"];
    args.extend(designs.iter().map(String::as_str));
    let said = desk.well(&args);
    assert_eq!(said.out.matches(": valid: ").count(), designs.len(), "{}", said.out);
    assert!(said.err.is_empty() && !said.out.contains("note:"), "{said:?}");
    assert_fits(&said.out, "check");
}
