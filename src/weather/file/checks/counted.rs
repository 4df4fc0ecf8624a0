//! Rows with the same problem, as one sentence.

/// Rows named one by one.
const NAMED_MAX: usize = 3;

/// Rows with the same problem.
#[derive(Clone, Debug, Default)]
pub(super) struct Counted {
    lines: Vec<usize>,
    count: usize,
    worst: Option<(f64, usize)>,
}

impl Counted {
    /// Adds a row by its line.
    pub(crate) fn add(&mut self, line: usize) {
        if self.lines.len() < NAMED_MAX {
            self.lines.push(line);
        }
        self.count += 1;
    }

    /// Adds a row with the value that is wrong; the one furthest from zero is named.
    pub(crate) fn add_value(&mut self, line: usize, value: f64) {
        self.add(line);
        if self.worst.is_none_or(|(w, _)| value.abs() > w.abs()) {
            self.worst = Some((value, line));
        }
    }

    /// How many rows.
    pub fn count(&self) -> usize {
        self.count
    }

    /// "lines 9, 10, 11 and 309 more: WHAT (worst -9 W/m² in line 10)"; `None` if there are none.
    pub(crate) fn sentence(&self, what: &str, unit: &str) -> Option<String> {
        let lines: Vec<String> = self.lines.iter().map(usize::to_string).collect();
        let (last, init) = lines.split_last()?;
        let rows = match (self.count, init) {
            (1, _) => format!("line {last}"),
            (n, _) if n > NAMED_MAX => {
                format!("lines {}, {last} and {} more", init.join(", "), n - NAMED_MAX)
            }
            (_, init) => format!("lines {} and {last}", init.join(", ")),
        };
        let worst = match self.worst {
            Some((value, line)) => {
                format!(" (worst: {} {unit} in line {line})", (value * 10.0).round() / 10.0)
            }
            None => String::new(),
        };
        Some(format!("{rows}: {what}{worst}"))
    }
}
