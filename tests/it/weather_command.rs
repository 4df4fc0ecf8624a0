//! `stilldays weather`, end to end, on published typical years and on files that are refused.

use crate::weather_files::data;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use stilldays::design::{self, WeatherYears, YearSpread};
use stilldays::study::plan::{CHAIN_START, RUN_IN_DAYS};
use stilldays::study::{Plan, SiteModel, Sites};
use stilldays::weather::file::formats::plain_write;
use stilldays::weather::{YearKind, load};

fn weather(args: &[&Path]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_stilldays"));
    command.arg("weather").args(args).env("LC_ALL", "C.UTF-8").env_remove("TERM");
    command.output().expect("it starts")
}

fn out(o: &Output) -> &str {
    std::str::from_utf8(&o.stdout).expect("UTF-8")
}

fn err(o: &Output) -> &str {
    std::str::from_utf8(&o.stderr).expect("UTF-8")
}

fn port_angeles() -> PathBuf {
    data().join("port-angeles-wa.epw.gz")
}

/// Chicago with only the hours for which `keep` (day of the year, hour of the day) is true, as plain CSV in `dir`.
fn chicago_with(dir: &Path, keep: impl Fn(usize, usize) -> bool) -> PathBuf {
    let mut year = load(&data().join("chicago-il.epw.gz")).unwrap_or_else(|p| panic!("{p}"));
    for (slot, hour) in year.hours.iter_mut().enumerate() {
        if !keep(slot / 24, slot % 24) {
            *hour = None;
        }
    }
    let path = dir.join("part.csv");
    std::fs::write(&path, plain_write::write(&year)).unwrap();
    path
}

#[test]
fn text_fits_80_columns_and_says_what_the_file_is() {
    for (locale, ascii) in [("C.UTF-8", false), ("C", true)] {
        let o = Command::new(env!("CARGO_BIN_EXE_stilldays"))
            .arg("weather")
            .args([port_angeles(), Path::new(env!("CARGO_MANIFEST_DIR")).join("weather/fenholm.csv.gz")])
            .env("LC_ALL", locale)
            .output()
            .expect("it starts");
        assert_eq!((o.status.code(), err(&o)), (Some(0), ""));
        let text = out(&o);
        for line in text.lines() {
            assert!(line.chars().count() <= 80, "{line:?}");
            assert_eq!(line.trim_end(), line);
            assert!(!ascii || line.is_ascii(), "{line:?}");
        }
        // The sums are those published for the file (`tests/data/README.md`).
        for part in
            ["a year: 1262 on", "1165 direct", "365 of 365 days whole", "UTC-8", "the middle of the hour"]
        {
            assert!(text.contains(part), "{part} in\n{text}");
        }
        assert_eq!(text.matches("This weather is invented").count(), 1, "only the second is:\n{text}");
        assert_eq!(text.matches("\nDec ").count(), 4, "two tables for each file");
    }
}

#[test]
fn json_is_one_document_and_csv_one_table_with_the_same_numbers() {
    let tampa = data().join("tampa-fl.epw.gz");
    let o = weather(&[&port_angeles(), &tampa, Path::new("--json")]);
    assert_eq!(o.status.code(), Some(0), "{}", err(&o));
    let json: serde_json::Value = serde_json::from_str(out(&o)).expect("one document");
    assert_eq!(json["schema"], "stilldays.weather/1");
    let files = json["files"].as_array().expect("a list");
    assert_eq!(files.len(), 2);
    assert_eq!(files[0]["file"]["ghi_kwh_m2"].as_f64().unwrap().round(), 1262.0);
    assert_eq!(files[1]["file"]["ghi_kwh_m2"].as_f64().unwrap().round(), 1811.0);

    let o = weather(&[&port_angeles(), &tampa, Path::new("--csv")]);
    assert_eq!(o.status.code(), Some(0), "{}", err(&o));
    let mut table = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(&o.stdout[..]);
    let rows: Vec<csv::StringRecord> = table.records().map(|r| r.expect("rows of one length")).collect();
    let value = |k: usize, scope: &str, quantity: &str| -> f64 {
        let mut found = rows.iter().filter(|r| {
            files[k]["file"]["path"] == r[0] && &r[1] == "sampled" && &r[2] == scope && &r[3] == quantity
        });
        let value = found.next().unwrap_or_else(|| panic!("{scope} {quantity}"))[4].parse().unwrap();
        assert!(found.next().is_none(), "{scope} {quantity} twice");
        value
    };
    for (k, of) in files.iter().enumerate() {
        let sampled = &of["sampled"];
        assert_eq!(value(k, "year", "daily_index_ks"), sampled["daily_index_ks"].as_f64().unwrap());
        assert_eq!(value(k, "03", "variation"), sampled["months"][2]["variation"].as_f64().unwrap());
        assert_eq!(
            value(k, "clearness_below_0.2", "longest_run_p90"),
            sampled["spells"][0]["p90"].as_f64().unwrap()
        );
    }
}

#[test]
fn a_bad_file_is_refused_with_exit_code_1_and_the_others_are_described() {
    let bad = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/weather/bad/web-page.epw");
    let o = weather(&[&bad, &port_angeles()]);
    assert_eq!(o.status.code(), Some(1));
    assert!(err(&o).contains("web-page.epw"), "{}", err(&o));
    assert!(out(&o).contains("port-angeles-wa.epw.gz"), "{}", out(&o));
    assert_eq!(weather(&[Path::new("no-such-file.csv")]).status.code(), Some(1));
    assert_eq!(weather(&[]).status.code(), Some(2));
    let both = [port_angeles().as_path(), Path::new("--json"), Path::new("--csv")].map(Path::to_owned);
    assert_eq!(weather(&both.each_ref().map(PathBuf::as_path)).status.code(), Some(2));
}

#[test]
fn a_file_without_a_whole_day_is_refused_not_met_with_a_panic() {
    let dir = tempfile::tempdir().unwrap();
    let path = chicago_with(dir.path(), |_, hour| hour != 12);
    let o = weather(&[&path]);
    assert_eq!(o.status.code(), Some(1));
    assert!(err(&o).contains("part.csv") && err(&o).contains("no whole day"), "{}", err(&o));
    assert!(!err(&o).contains("panicked") && out(&o).is_empty());
}

#[test]
fn missing_days_are_shown() {
    let dir = tempfile::tempdir().unwrap();
    let path = chicago_with(dir.path(), |day, _| !(100..150).contains(&day));
    let o = weather(&[&path]);
    assert_eq!(o.status.code(), Some(0), "{}", err(&o));
    let words = out(&o).split_whitespace().collect::<Vec<_>>().join(" ");
    for part in ["7560 of 8760 hours usable, 315 of 365 days whole", "11 April 01:00 to 30 May 24:00"] {
        assert!(words.contains(part), "{part} in\n{}", out(&o));
    }
    assert!(out(&o).lines().all(|l| l.chars().count() <= 80));
}

#[test]
fn a_season_that_the_file_does_not_have_is_warned_of() {
    let dir = tempfile::tempdir().unwrap();
    // Without June to August; 1 July to 31 July lies more than 15 days from any day there is.
    chicago_with(dir.path(), |day, _| !(151..243).contains(&day));
    let plan = |season: &str| {
        let path = dir.path().join("design.toml");
        let text = format!(
            "title = \"a trough\"\n[site]\nweather = \"part.csv\"\n[wish]\nseason = \"{season}\"\n\
             hours = \"10:00 to sunset\"\njet = \"20 cm\"\n[panel]\nrated_power = \"3 W\"\n\
             open_circuit_voltage = \"10.8 V\"\n[pump]\nbench = [[\"6 V\", \"290 mA\", \"430 mm\"]]\n"
        );
        std::fs::write(&path, text).unwrap();
        let file = design::read(&path).unwrap_or_else(|p| panic!("{p}"));
        Plan::new(file, &Sites::new()).unwrap_or_else(|p| panic!("{p}"))
    };
    let said = |season: &str| plan(season).warnings().into_iter().find(|w| w.contains("another season"));
    let warning = said("07-01 to 07-31").expect("a warning");
    assert!(warning.starts_with("for 31 of the 31 days"), "{warning}");
    assert_eq!(said("04-01 to 04-30"), None);
}

#[test]
fn written_minutes_are_a_year_that_keeps_its_sums() {
    let dir = tempfile::tempdir().unwrap();
    let args = ["--write-minutes", "17", "--out"].map(PathBuf::from);
    let [flag, trial, to] = args.each_ref().map(PathBuf::as_path);
    let o = weather(&[&port_angeles(), flag, trial, to, dir.path()]);
    assert_eq!(o.status.code(), Some(0), "{}", err(&o));
    let path = dir.path().join("port-angeles-wa-minutes-trial-17.csv");
    let text = std::fs::read_to_string(&path).unwrap();
    assert!(text.starts_with("# stilldays ") && text.lines().next().unwrap().contains("trial 17"));
    let mut table = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
    let (mut n, mut ghi_wh, mut last, mut days) = (0, 0.0, (0, 0), std::collections::BTreeSet::new());
    for row in table.records() {
        let row = row.unwrap();
        let at: (u32, u32) = (row[0].parse().unwrap(), row[1].parse().unwrap());
        assert!(at > last, "in order: {row:?}");
        last = at;
        days.insert(at.0);
        let [ghi, dni, dhi] = [4, 5, 6].map(|k| row[k].parse::<f64>().unwrap());
        // GHI is beam on the level and diffuse, so it lies between diffuse and their sum.
        assert!(ghi >= dhi - 0.002 && ghi <= dni + dhi + 0.002, "{row:?}");
        ghi_wh += ghi / 60.0;
        n += 1;
    }
    println!("{n} minutes, {:.0} kWh/m²", ghi_wh / 1000.0);
    assert_eq!((days.len(), last.0), (365, 365));
    // Half of a year's minutes have the sun up, a few more by refraction; a year lies within five times
    // the annual spread of 4 % of the file's 1262 kWh/m².
    assert!((0.49..0.53).contains(&(f64::from(n) / 525_600.0)), "{n}");
    assert!((ghi_wh / 1000.0 / 1262.0 - 1.0).abs() < 0.2, "{ghi_wh}");

    // They are the same however often they are asked for, and two files are not written over one another.
    weather(&[&port_angeles(), flag, trial, to, dir.path()]);
    assert_eq!(std::fs::read_to_string(&path).unwrap(), text);
    let o = weather(&[&port_angeles(), &port_angeles(), flag, trial, to, dir.path()]);
    assert_eq!(o.status.code(), Some(2), "{}", err(&o));
}

/// Three years of one place: their sampled days are those that a run draws, and come from all three.
#[test]
fn days_of_a_pool_come_from_all_its_files() {
    let dir = tempfile::tempdir().unwrap();
    let demo = |name: &str| Path::new(env!("CARGO_MANIFEST_DIR")).join("weather").join(name);
    let files = ["fenholm.csv.gz", "fenholm-2.csv.gz", "fenholm-3.csv.gz"].map(demo);
    let args = ["--pool", "--days", "20", "--out"].map(PathBuf::from);
    let all: Vec<&Path> =
        files.iter().chain(&args).map(PathBuf::as_path).chain(std::iter::once(dir.path())).collect();
    let o = weather(&all);
    assert_eq!(o.status.code(), Some(0), "{}", err(&o));
    let said = String::from_utf8_lossy(&o.stdout).into_owned();
    assert!(said.contains("Years sampled from all 3 files together"), "{said}");

    let path = dir.path().join("fenholm-pool-of-3-days.csv");
    let mut table = csv::ReaderBuilder::new().comment(Some(b'#')).from_path(&path).unwrap();
    let rows: Vec<csv::StringRecord> = table.records().map(Result::unwrap).collect();
    assert_eq!(rows.len(), 20 * 365);
    let donors: std::collections::BTreeSet<&str> = rows.iter().map(|r| &r[7]).collect();
    assert_eq!(donors.into_iter().collect::<Vec<_>>(), ["1", "2", "3"]);
    let site = SiteModel::load(&files, WeatherYears::ByFile, YearSpread::ByClimate).unwrap();
    let chain = site.sampler.chain(1, 7, CHAIN_START, RUN_IN_DAYS + 365);
    for (row, day) in rows[7 * 365..8 * 365].iter().zip(&chain[RUN_IN_DAYS..]) {
        let [ghi, clear, index] = [3, 4, 5].map(|k| row[k].parse::<f64>().unwrap());
        assert_eq!(&row[0], "7");
        assert!((index - f64::from(day.index)).abs() < 1e-4 && (ghi - index * clear).abs() < 1.0, "{row:?}");
    }
}

/// The design's word on what its files are goes before what they show: the sampler and the error of one file follow it.
#[test]
fn a_design_says_what_its_files_are() {
    let file = [data().join("chicago-il.epw.gz")];
    let kind = |said: WeatherYears| {
        let site = SiteModel::load(&file, said, YearSpread::ByClimate).unwrap();
        let light: f64 = site.sampler.chain(1, 0, CHAIN_START, 400).iter().map(|d| f64::from(d.index)).sum();
        (site.years[0].kind, light)
    };
    let [found, typical, measured] =
        [WeatherYears::ByFile, WeatherYears::Typical, WeatherYears::Measured].map(kind);
    assert_eq!(found, typical);
    assert_eq!((typical.0, measured.0), (YearKind::Typical, YearKind::Real));
    assert!((typical.1 - measured.1).abs() > 1e-6);
}

#[test]
fn a_site_without_donors_is_a_problem_of_its_file() {
    let dir = tempfile::tempdir().unwrap();
    let path = chicago_with(dir.path(), |_, hour| hour != 3);
    let problems =
        SiteModel::load(&[path], WeatherYears::ByFile, YearSpread::ByClimate).err().expect("refused");
    assert!(problems.any_error() && problems.to_string().contains("part.csv"), "{problems}");
}
