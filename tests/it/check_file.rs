//! Files of values that results are compared with.
//!
//! Two folders hold them: `tests/published/` what was printed in a source or recorded by an instrument,
//! `tests/computed/` what was computed for the check by a general library or from the formula. Each file names its source in
//! `#` lines (in JSON: `_comment`). A test reads one with [`Check::open`], compares with [`Check::compare`] and ends with
//! [`Check::report`], which fails if the largest error is above the tolerance, and holds the line of the file in
//! the folder's README to what was compared.

use std::collections::HashMap;
use std::path::PathBuf;

/// A file of values, and how far the results are from them.
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
    /// Reads a file by its folder and name, `computed/01b_….csv`: `#` lines are left out, then one header, then
    /// rows of as many cells. Anything else fails the test.
    pub fn open(name: &str) -> Check {
        let path = path_of(name);
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

    /// Says which part of the file is compared, where one file serves several tests.
    pub fn part(mut self, part: &str) -> Check {
        self.part = format!("{part}: ");
        self
    }

    /// Its rows.
    pub fn lines(&self) -> Vec<Line<'_>> {
        self.rows.iter().map(|cells| Line { check: &self.name, columns: &self.columns, cells }).collect()
    }

    /// Compares each row: `errors` returns names and errors (of any sign, in the unit of the tolerance) of what it compared,
    /// nothing for a row that it skips.
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

    /// Fails if nothing was compared or the largest error is above the tolerance (both in `unit`), and holds the table
    /// of the folder to what was compared.
    pub fn report(&self, tolerance: f64, unit: &str) {
        assert!(self.compared > 0, "{}: nothing was compared", self.name);
        assert!(
            self.worst <= tolerance,
            "{}: {} is off by {:e} {unit}",
            self.name,
            self.worst_at,
            self.worst
        );
        in_table(&self.name, &self.part, self.compared, tolerance, self.worst, unit);
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

/// The path of `FOLDER/NAME`.
fn path_of(name: &str) -> PathBuf {
    let (folder, file) = name.split_once('/').expect("a folder and a file");
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests").join(folder).join("data").join(file)
}

/// Difference relative to the value of the file.
pub fn relative(ours: f64, published: f64) -> f64 {
    if ours == published { 0.0 } else { (ours - published) / published.abs().max(f64::MIN_POSITIVE) }
}

/// A JSON file of values; `_comment` names their source.
pub fn open_json(name: &str) -> serde_json::Value {
    let path = path_of(name);
    let text = std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    let json: serde_json::Value = serde_json::from_str(&text).unwrap_or_else(|e| panic!("{name}: {e}"));
    assert!(json["_comment"].is_string(), "{name}: no source");
    json
}

/// Checks values from [`open_json`] as [`Check::report`] does.
pub fn report_json(name: &str, errors: &[f64], tolerance: f64, unit: &str) {
    let worst = errors.iter().fold(0.0f64, |w, e| w.max(e.abs()));
    assert!(!errors.is_empty() && errors.iter().all(|e| e.abs() <= tolerance), "{name}: off by {worst:e}");
    in_table(name, "", errors.len(), tolerance, worst, unit);
}

/// Prints the result of a check and compares it with the file's line in the folder's table. Rows and tolerance must agree
/// exactly. The largest error, stated to one digit, may be smaller; it may be larger only while it is small compared with
/// the tolerance.
fn in_table(name: &str, part: &str, rows: usize, tolerance: f64, worst: f64, unit: &str) {
    let rows = if rows == 1 { "1 row".to_owned() } else { format!("{rows} rows") };
    let begin = format!("{part}{rows}, allowed {} {unit}, largest ", figure(tolerance));
    let entry = format!("{begin}{}", figure(format!("{worst:.0e}").parse().unwrap()));
    println!("{name} | {entry}");
    let (folder, file) = name.split_once('/').expect("a folder and a file");
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests").join(folder).join("README.md");
    let table = std::fs::read_to_string(&path).unwrap();
    let line = table
        .lines()
        .find(|l| l.starts_with(&format!("| `{file}` |")))
        .unwrap_or_else(|| panic!("{} has no line for {file}", path.display()));
    let (_, cell) = line.trim_end_matches(" |").rsplit_once(" | ").expect("a row of cells");
    let stated = cell
        .split("; ")
        .find_map(|e| e.strip_prefix(&begin)?.parse::<f64>().ok())
        .unwrap_or_else(|| panic!("{} says of {file}: {cell}\nit is now: {entry}", path.display()));
    assert!(
        worst <= 2.0 * stated || worst <= 0.1 * tolerance,
        "{name}: off by {worst:.0e}, the table says {stated:e}: worse than it was, though within {tolerance:e}"
    );
}

/// A number as a reader wants it: small ones with an exponent.
fn figure(value: f64) -> String {
    if value == 0.0 || value >= 1e-4 { format!("{value}") } else { format!("{value:e}") }
}

/// Checks the folder's README against its data: the table names every file and no other; the head of each file begins with
/// how its values were made (`origins`); and the table repeats that, and whether any of it is from memory.
pub fn folder_is_in_order(folder: &str, origins: &[&str]) {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests").join(folder);
    let table = std::fs::read_to_string(folder.join("README.md")).unwrap();
    let rows: Vec<Vec<&str>> = table
        .lines()
        .filter_map(|l| l.strip_prefix("| `")?.strip_suffix(" |"))
        .map(|l| l.split(" | ").collect())
        .collect();
    let mut there: Vec<String> = std::fs::read_dir(folder.join("data"))
        .unwrap()
        .map(|e| e.unwrap().file_name().into_string().unwrap())
        .filter(|n| n.ends_with(".csv") || n.ends_with(".json"))
        .collect();
    there.sort_unstable();
    assert!(!there.is_empty());
    let listed: Vec<&str> = rows.iter().map(|r| r[0].trim_end_matches('`')).collect();
    assert_eq!(listed, there, "{}: files of the table, in order", folder.display());
    for (file, row) in there.iter().zip(rows) {
        assert_eq!(row.len(), 4, "{file}: a row of four cells");
        let text = std::fs::read_to_string(folder.join("data").join(file)).unwrap();
        let head: String = match file.ends_with(".json") {
            true => open_json(&format!("{}/{file}", folder.file_name().unwrap().display()))["_comment"]
                .as_str()
                .unwrap()
                .to_owned(),
            false => {
                text.lines().map_while(|l| l.strip_prefix('#')).map(str::trim).collect::<Vec<_>>().join("\n")
            }
        };
        let origin = origins
            .iter()
            .find(|o| head.starts_with(**o))
            .unwrap_or_else(|| panic!("{file}: the head begins with none of {origins:?}: {head}"));
        assert!(
            row[2].starts_with(&origin.to_lowercase()),
            "{file}: {} in the table, {origin} in the file",
            row[2]
        );
        let memory = |text: &str| text.to_lowercase().contains("from memory");
        assert_eq!(memory(row[2]), memory(&head), "{file}: from memory or not");
        // Letters in brackets would need a key.
        for tag in ["(L)", "(S)", "(M)", "(P)", "(L,"] {
            assert!(!head.contains(tag), "{file}: {tag} in its head");
        }
    }
}
