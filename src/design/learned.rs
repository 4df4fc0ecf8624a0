//! Files of learned units: equally likely units that agree with a logbook, row by row, so that what was learned about one part stays
//! tied to what was learned about another.
//!
//! A file is CSV: comments with its origin and with what was believed of each key before (`# belief battery.capacity = normal 3 sd 0.15`),
//! the keys, and a row of values for each unit in base units. A design whose belief in a key is another draws that key by itself: another
//! part has been put in. So it is with all keys of a part whose size or make is another.

use super::keys;
use crate::source::{Problem, Problems};
use crate::units::{Spread, Uncertain};
use sha2::{Digest, Sha256};
use std::fmt::Write as _;
use std::io::Read as _;
use std::path::{Path, PathBuf};

/// Largest file that is read, bytes.
const SIZE_MAX: u64 = 16_000_000;
/// Units that a file may hold.
pub const UNITS_MAX: usize = 16_384;
/// The first line of a file.
const FIRST_LINE: &str = "# stilldays learned units";
/// Keys that make a part another one: if the belief in one of them changes, all keys of its table go.
const MAKES_ANOTHER: [&str; 5] = [
    "battery.capacity",
    "panel.rated_power",
    "panel.open_circuit_voltage",
    "panel.max_power_voltage",
    "pump.winding",
];

/// Equally likely units of a design, learned from a logbook.
#[derive(Clone, Debug, PartialEq)]
pub struct LearnedUnits {
    /// File as given.
    pub path: PathBuf,
    /// SHA-256 of its bytes, hex.
    pub sha256: String,
    /// Its keys, and what was believed of each before.
    pub beliefs: Vec<(String, Uncertain)>,
    /// Values of each unit, in the order of the keys, in base units.
    pub units: Vec<Vec<f64>>,
    /// Origin, one comment line each, without `# `.
    pub origin: Vec<String>,
}

impl LearnedUnits {
    /// The file.
    pub fn to_csv(&self) -> String {
        let mut out = format!("{FIRST_LINE}\n");
        for line in &self.origin {
            let _ = writeln!(out, "# {line}");
        }
        for (key, belief) in &self.beliefs {
            let _ = writeln!(out, "# belief {key} = {}", written(belief));
        }
        let keys: Vec<&str> = self.beliefs.iter().map(|(key, _)| key.as_str()).collect();
        let _ = writeln!(out, "{}", keys.join(","));
        for unit in &self.units {
            let values: Vec<String> = unit.iter().map(f64::to_string).collect();
            let _ = writeln!(out, "{}", values.join(","));
        }
        out
    }

    /// Reads a file.
    ///
    /// # Errors
    /// Whatever is wrong with it: no such file, not of this kind, a key or a number that is none, rows of different length.
    pub fn read(path: &Path) -> Result<LearnedUnits, Problems> {
        let name = path.display().to_string();
        let fail = |title: String| Problems::from(Problem::error(title).in_file(&name));
        let mut bytes = Vec::new();
        let file = crate::disk::read::open(path).map_err(|e| fail(format!("cannot be opened: {e}")))?;
        file.take(SIZE_MAX + 1).read_to_end(&mut bytes).map_err(|e| fail(format!("cannot be read: {e}")))?;
        if bytes.len() as u64 > SIZE_MAX {
            return Err(fail(format!(
                "larger than {} MB: this is not a file of learned units",
                SIZE_MAX / 1_000_000
            )));
        }
        LearnedUnits::parse(path, &bytes)
    }

    /// Checks the bytes of a file; `path` is named in messages.
    ///
    /// # Errors
    /// As [`LearnedUnits::read`].
    pub fn parse(path: &Path, bytes: &[u8]) -> Result<LearnedUnits, Problems> {
        let name = path.display().to_string();
        let text = std::str::from_utf8(bytes)
            .map_err(|_| Problems::from(Problem::error("this is not a text file").in_file(&name)))?;
        if text.lines().next().map(str::trim_end) != Some(FIRST_LINE) {
            let problem = Problem::error("this is not a file of learned units").in_file(&name);
            return Err(problem.help("`stilldays learn DESIGN LOGBOOK` writes one: units.csv").into());
        }
        let mut reader =
            Reader { name: &name, beliefs: Vec::new(), origin: Vec::new(), order: None, units: Vec::new() };
        for (k, line) in text.lines().enumerate().skip(1) {
            reader.line(k + 1, line)?;
        }
        if reader.units.is_empty() {
            return Err(Problem::error("there are no units in it").in_file(&name).into());
        }
        let sha256 = Sha256::digest(bytes).iter().map(|b| format!("{b:02x}")).collect();
        let Reader { beliefs, origin, units, .. } = reader;
        Ok(LearnedUnits { path: path.to_owned(), sha256, beliefs, units, origin })
    }

    /// For each of these keys of a design the column that holds for it; `None` where the design believes something else.
    pub(crate) fn columns(&self, design: &[(String, Uncertain)]) -> Vec<Option<usize>> {
        let belief = |key: &str| design.iter().find(|(k, _)| k == key).map(|(_, q)| *q);
        let table = |key: &str| key.split('.').next().unwrap_or_default().to_owned();
        let others: Vec<String> = self
            .beliefs
            .iter()
            .filter(|(key, q)| MAKES_ANOTHER.contains(&key.as_str()) && belief(key) != Some(*q))
            .map(|(key, _)| table(key))
            .collect();
        design
            .iter()
            .map(|(key, q)| {
                let at = self.beliefs.iter().position(|(k, b)| k == key && b == q)?;
                (!others.contains(&table(key))).then_some(at)
            })
            .collect()
    }
}

struct Reader<'a> {
    name: &'a str,
    beliefs: Vec<(String, Uncertain)>,
    origin: Vec<String>,
    /// Number of columns, once they are known.
    order: Option<usize>,
    units: Vec<Vec<f64>>,
}

impl Reader<'_> {
    fn line(&mut self, number: usize, line: &str) -> Result<(), Problems> {
        let fault = |span: std::ops::Range<usize>, title: String, help: &str| -> Problems {
            Problem::error(title).at_line(self.name, number, line, span, "").help(help).into()
        };
        if line.trim().is_empty() {
            return Ok(());
        }
        if let Some(comment) = line.strip_prefix('#') {
            let comment = comment.trim();
            let Some(belief) = comment.strip_prefix("belief ") else {
                self.origin.push(comment.to_owned());
                return Ok(());
            };
            let found = belief.split_once('=').and_then(|(key, text)| Some((key.trim(), read_belief(text)?)));
            return match found {
                Some((key, belief)) if is_quantity(key) => {
                    self.beliefs.push((key.to_owned(), belief));
                    Ok(())
                }
                _ => {
                    Err(fault(0..line.len(), "this is not a belief in a key".into(), "learn the units anew"))
                }
            };
        }
        let Some(columns) = self.order else {
            let keys: Vec<&str> = line.split(',').map(str::trim).collect();
            let known: Vec<&str> = self.beliefs.iter().map(|(k, _)| k.as_str()).collect();
            if keys != known {
                let title = "the keys are not those of the beliefs above".to_owned();
                return Err(fault(0..line.len(), title, "learn the units anew"));
            }
            self.order = Some(keys.len());
            return Ok(());
        };
        if self.units.len() == UNITS_MAX {
            return Err(fault(0..line.len(), format!("more than {UNITS_MAX} units"), "keep fewer rows"));
        }
        let mut values = Vec::with_capacity(columns);
        let mut at = 0;
        for field in line.split(',') {
            let value = field.trim().parse::<f64>().ok().filter(|v| v.is_finite());
            let Some(value) = value else {
                let title = format!("`{}` is not a number", field.trim());
                return Err(fault(at..at + field.len(), title, "learn the units anew"));
            };
            let range = self.beliefs.get(values.len()).map(|(_, b)| (b.lowest(), b.highest()));
            let slack = 1e-9 * range.map_or(0.0, |(lo, hi)| lo.abs().max(hi.abs()));
            if range.is_some_and(|(lo, hi)| !(lo - slack..=hi + slack).contains(&value)) {
                let title = format!("{value} lies outside of what was believed possible");
                return Err(fault(at..at + field.len(), title, "learn the units anew"));
            }
            values.push(value);
            at += field.len() + 1;
        }
        if values.len() != columns {
            let title = format!("{} values for {columns} keys", values.len());
            return Err(fault(0..line.len(), title, "learn the units anew"));
        }
        self.units.push(values);
        Ok(())
    }
}

/// Whether a design can have this quantity; rows of the bench have keys of their own.
fn is_quantity(key: &str) -> bool {
    key.starts_with("pump.bench[") || keys::key(key).is_some_and(|k| k.quantity().is_some())
}

/// A belief as a file has it; every bit of it comes back.
fn written(belief: &Uncertain) -> String {
    let n = belief.nominal;
    match belief.spread {
        Spread::Exact => format!("exact {n}"),
        Spread::Normal { sd } => format!("normal {n} sd {sd}"),
        Spread::Rectangular { lo, hi } => format!("even {n} from {lo} to {hi}"),
        Spread::Triangular { lo, mode, hi } => format!("likely {n} from {lo} over {mode} to {hi}"),
    }
}

fn read_belief(text: &str) -> Option<Uncertain> {
    let words: Vec<&str> = text.split_whitespace().collect();
    let number = |word: &str| word.parse::<f64>().ok().filter(|x| x.is_finite());
    let (nominal, spread) = match words[..] {
        ["normal", n, "sd", sd] => (n, Spread::Normal { sd: number(sd).filter(|sd| *sd > 0.0)? }),
        ["even", n, "from", lo, "to", hi] => (n, Spread::Rectangular { lo: number(lo)?, hi: number(hi)? }),
        ["likely", n, "from", lo, "over", mode, "to", hi] => {
            (n, Spread::Triangular { lo: number(lo)?, mode: number(mode)?, hi: number(hi)? })
        }
        _ => return None,
    };
    Some(Uncertain { nominal: number(nominal)?, spread })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn units() -> LearnedUnits {
        let even = Uncertain { nominal: 0.03, spread: Spread::Rectangular { lo: 0.0, hi: 0.06 } };
        LearnedUnits {
            path: "units.csv".into(),
            sha256: String::new(),
            beliefs: vec![
                (
                    "battery.capacity".into(),
                    Uncertain { nominal: 3.0, spread: Spread::Normal { sd: 0.1 + 0.2 } },
                ),
                (
                    "battery.resistance".into(),
                    Uncertain { nominal: 0.1, spread: Spread::Normal { sd: 0.01 } },
                ),
                (
                    "panel.soiling".into(),
                    Uncertain { nominal: 0.02, spread: Spread::Triangular { lo: 0.0, mode: 0.02, hi: 0.06 } },
                ),
                ("site.albedo".into(), even),
            ],
            units: vec![vec![2.7, 0.11, 0.05, 1.0 / 30.0], vec![3.3, 0.09, 0.01, 0.001]],
            origin: vec!["design: mill.toml".into()],
        }
    }

    #[test]
    fn every_bit_comes_back() {
        let text = units().to_csv();
        let read =
            LearnedUnits::parse(Path::new("units.csv"), text.as_bytes()).unwrap_or_else(|p| panic!("{p}"));
        assert_eq!(LearnedUnits { sha256: String::new(), ..read }, units());
    }

    #[test]
    fn a_key_believed_otherwise_is_dropped_and_a_new_battery_drops_all_of_it() {
        let units = units();
        let mut design = units.beliefs.clone();
        assert_eq!(units.columns(&design), [Some(0), Some(1), Some(2), Some(3)]);
        design[2].1.nominal = 0.03;
        assert_eq!(units.columns(&design), [Some(0), Some(1), None, Some(3)]);
        design[0].1 = Uncertain { nominal: 6.0, spread: Spread::Normal { sd: 0.3 } };
        assert_eq!(units.columns(&design), [None, None, None, Some(3)]);
    }

    #[test]
    fn damaged_files_are_refused_with_place() {
        let text = units().to_csv();
        for (from, to, said) in [
            ("learned units", "weather", "not a file of learned units"),
            ("2.7,", "x,", "`x` is not a number"),
            ("2.7,", "27,", "outside of what was believed"),
            (",0.001\n", "\n", "3 values for 4 keys"),
            ("normal 3", "normal y", "not a belief"),
            ("\nbattery.capacity,", "\nbattery.volume,", "not those of the beliefs"),
        ] {
            assert!(text.contains(from), "{from}");
            let damaged = text.replacen(from, to, 1);
            let problems =
                LearnedUnits::parse(Path::new("units.csv"), damaged.as_bytes()).expect_err(said).to_string();
            assert!(problems.contains(said) && problems.contains("units.csv"), "{problems}");
        }
    }
}
