//! Published values: every link of the chain against its source, to the printed digits.
//!
//! The values lie in `tests/published/data/`, each file with its source in `#` lines. A test reads
//! one with [`Check::open`], compares with [`Check::compare`] and ends with [`Check::report`],
//! which prints one line, fails if the largest error is above the tolerance, and holds the table of checks to it.

mod plant_battery_pump;
mod plant_links;
mod sky_1_sun;
mod sky_2_clear;
mod sky_3_plane;
mod sky_4_seek;
mod sky_5_gain;
mod sky_radiance;
mod tally_11_statistics;
mod tally_7_cycles;
mod weather_10_markov;
mod weather_10_sampler;
mod weather_10_typical_years;
mod weather_1_fit;
mod weather_4_left_out_record;

use std::collections::HashMap;
use std::path::PathBuf;
use std::sync::Mutex;

/// A file of published values, and how far the results lie from them.
pub struct Check {
    name: String,
    part: String,
    columns: HashMap<String, usize>,
    rows: Vec<Vec<String>>,
    compared: usize,
    worst: f64,
    worst_at: String,
}

/// One row of a check.
#[derive(Clone, Copy)]
pub struct Line<'a> {
    check: &'a str,
    columns: &'a HashMap<String, usize>,
    cells: &'a [String],
}

impl Check {
    /// Reads `tests/published/data/NAME`: `#` lines are left out, then one header, then rows of as many
    /// cells. Anything else fails the test.
    pub fn open(name: &str) -> Check {
        let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/published/data").join(name);
        let text = std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
        assert!(text.starts_with('#'), "{name}: no source in its first line");
        let mut lines = text.lines().enumerate().filter(|(_, l)| !l.starts_with('#') && !l.trim().is_empty());
        let (_, header) = lines.next().unwrap_or_else(|| panic!("{name}: no header"));
        let split = |l: &str| -> Vec<String> { l.split(',').map(|c| c.trim().to_owned()).collect() };
        let columns: HashMap<String, usize> =
            split(header).into_iter().enumerate().map(|(i, c)| (c, i)).collect();
        let rows: Vec<Vec<String>> = lines
            .map(|(i, l)| {
                let row = split(l);
                assert_eq!(row.len(), columns.len(), "{name}, line {}: {l}", i + 1);
                row
            })
            .collect();
        assert!(!rows.is_empty(), "{name}: no rows");
        Check {
            name: name.to_owned(),
            part: String::new(),
            columns,
            rows,
            compared: 0,
            worst: 0.0,
            worst_at: String::new(),
        }
    }

    /// Says which part of the file is compared, and in what measure, where one file serves several tests.
    pub fn part(mut self, part: &str) -> Check {
        self.part = format!("({part})").replace(' ', "_");
        self
    }

    /// Its rows.
    pub fn lines(&self) -> Vec<Line<'_>> {
        self.rows.iter().map(|cells| Line { check: &self.name, columns: &self.columns, cells }).collect()
    }

    /// Compares each row: `errors` gives the names and errors (any sign) of what it compared, none for
    /// a row that says nothing on this link. Errors in whatever measure the tolerance is in.
    pub fn compare(&mut self, mut errors: impl FnMut(Line<'_>) -> Vec<(String, f64)>) -> &mut Self {
        let found: Vec<_> = self.lines().into_iter().map(&mut errors).collect();
        for errors in found {
            self.compared += usize::from(!errors.is_empty());
            for (what, error) in errors {
                assert!(!error.is_nan(), "{}: {what} cannot be compared", self.name);
                if error.abs() >= self.worst {
                    (self.worst, self.worst_at) = (error.abs(), what);
                }
            }
        }
        self
    }

    /// Prints `published FILE rows=N tol=T worst=W` (the part after the file name, in brackets) and fails if nothing was compared or W is above T.
    pub fn report(&self, tolerance: f64) {
        assert!(self.compared > 0, "{}: nothing was compared", self.name);
        assert!(self.worst <= tolerance, "{}: {} is off by {:e}", self.name, self.worst_at, self.worst);
        in_table(&self.name, &self.part, self.compared, tolerance, self.worst);
    }
}

impl<'a> Line<'a> {
    /// A cell as text. Fails on an unknown column.
    pub fn text(&self, column: &str) -> &'a str {
        let i = self.columns.get(column).unwrap_or_else(|| panic!("{}: no column {column}", self.check));
        &self.cells[*i]
    }
    /// A cell as a number (`nan` is one). Fails on anything else.
    pub fn number(&self, column: &str) -> f64 {
        let text = self.text(column);
        text.parse().unwrap_or_else(|_| panic!("{}: {column} is not a number: {text}", self.check))
    }
}

/// Difference relative to the published value.
pub fn relative(ours: f64, published: f64) -> f64 {
    if ours == published { 0.0 } else { (ours - published) / published.abs().max(f64::MIN_POSITIVE) }
}

/// A JSON file of published values; `_comment` names their source.
pub fn open_json(name: &str) -> serde_json::Value {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/published/data").join(name);
    let text = std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    let json: serde_json::Value = serde_json::from_str(&text).unwrap_or_else(|e| panic!("{name}: {e}"));
    assert!(json["_comment"].is_string(), "{name}: no source");
    json
}

/// Prints and checks values from [`open_json`] as [`Check::report`] does.
pub fn report_json(name: &str, errors: &[f64], tolerance: f64) {
    let worst = errors.iter().fold(0.0f64, |w, e| w.max(e.abs()));
    assert!(!errors.is_empty() && errors.iter().all(|e| e.abs() <= tolerance), "{name}: off by {worst:e}");
    in_table(name, "", errors.len(), tolerance, worst);
}

/// Prints what a check came to, and holds the line of its file in the table of checks to it;
/// with `STILLDAYS_RENEW=1` it writes it there instead.
fn in_table(name: &str, part: &str, rows: usize, tolerance: f64, worst: f64) {
    static TABLE: Mutex<()> = Mutex::new(());
    let entry =
        format!("{part}{}{rows} rows, {tolerance:e}, {worst:.3e}", if part.is_empty() { "" } else { " " });
    println!("published {name} {entry}");
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/published/README.md");
    let _one_at_a_time = TABLE.lock().unwrap_or_else(|e| e.into_inner());
    let table = std::fs::read_to_string(&path).unwrap();
    let line = table
        .lines()
        .find(|l| l.starts_with(&format!("| `{name}` |")))
        .unwrap_or_else(|| panic!("tests/published/README.md has no line for {name}"));
    let (head, cell) = line.trim_end_matches(" |").rsplit_once(" | ").expect("a row of three cells");
    let entries: Vec<&str> = cell.split("; ").collect();
    if entries.contains(&entry.as_str()) {
        return;
    }
    if std::env::var_os("STILLDAYS_RENEW").is_none() {
        panic!(
            "tests/published/README.md says of {name}: {cell}\nit is now: {entry}\nSTILLDAYS_RENEW=1 renews it"
        );
    }
    // Another part of the same file keeps its entry.
    let others =
        entries.into_iter().filter(|e| !part.is_empty() && e.starts_with('(') && !e.starts_with(part));
    let mut entries: Vec<String> = others.map(str::to_owned).chain([entry]).collect();
    entries.sort();
    std::fs::write(&path, table.replace(line, &format!("{head} | {} |", entries.join("; ")))).unwrap();
}

/// The table of checks names every file there is, and no other.
#[test]
fn the_table_of_checks_is_complete() {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/published");
    let table = std::fs::read_to_string(folder.join("README.md")).unwrap();
    let mut listed: Vec<&str> =
        table.lines().filter_map(|l| l.strip_prefix("| `")?.split('`').next()).collect();
    let mut there: Vec<String> = std::fs::read_dir(folder.join("data"))
        .unwrap()
        .map(|e| e.unwrap().file_name().into_string().unwrap())
        .filter(|n| n.ends_with(".csv") || n.ends_with(".json"))
        .collect();
    listed.sort_unstable();
    there.sort_unstable();
    assert!(!there.is_empty());
    assert_eq!(listed, there);
}
