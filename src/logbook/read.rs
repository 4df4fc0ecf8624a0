//! A logbook file: head, columns, rows. Everything that is wrong is reported at once, with line and caret.

use super::clock::Clock;
use super::contradictions::contradictions;
use super::date::Date;
use super::entry::{Entry, Logbook, Sky, Test, What};
use super::handwriting::{self, SlashOrder, clock_days, plain, quantity};
use super::kinds::{Kind, Needs, QUANTITY_SD, TIME_SD_MIN, kinds, possible};
use crate::design::{dimension_of, nearest_word};
use crate::source::{Problem, Problems};
use crate::units::{Dimension, QuantityError, Uncertain};
use crate::weather::file::formats::fields::{Field, TextLine, lines, split_by};
use sha2::{Digest, Sha256};
use std::io::Read as _;
use std::path::Path;

/// Entries that a logbook may have.
pub const ENTRIES_MAX: usize = 1000;
/// Largest file that is read, bytes.
const SIZE_MAX: u64 = 1_000_000;
/// Pairs of entries that are warned about one by one.
const PAIRS_MAX: usize = 20;
/// The columns; only date and what must be there.
const COLUMNS: [&str; 7] = ["date", "time", "what", "value", "sky", "test", "remark"];
/// Other names that people give them.
const OTHER_NAMES: [(&str, &str); 5] = [
    ("remarks", "remark"),
    ("note", "remark"),
    ("notes", "remark"),
    ("comment", "remark"),
    ("tests", "test"),
];
/// The words of the column `test`.
const TESTS: [Test; 4] =
    [Test::PumpUnplugged, Test::PanelToSun, Test::BatteryDisconnected, Test::FreshlyCharged];
/// How the clock is told.
const CLOCK_HELP: &str = "write `# clock: standard` or `# clock: daylight saving` (or `# clock: daylight saving from 03-29 to 10-25`) above the columns";

/// Reads and checks a logbook.
///
/// # Errors
/// Everything that is wrong with it, at once.
pub fn read(path: &Path) -> Result<Logbook, Problems> {
    let name = path.display().to_string();
    let fail = |title: String| Problems::from(Problem::error(title).in_file(&name));
    let mut bytes = Vec::new();
    let file = crate::disk::read::open(path).map_err(|e| fail(format!("cannot be opened: {e}")))?;
    file.take(SIZE_MAX + 1).read_to_end(&mut bytes).map_err(|e| fail(format!("cannot be read: {e}")))?;
    if bytes.len() as u64 > SIZE_MAX {
        return Err(fail(format!("larger than {} kB: this is not a logbook", SIZE_MAX / 1000)));
    }
    parse(path, &bytes)
}

/// Checks the bytes of a logbook; `path` is named in messages.
///
/// # Errors
/// As [`read`].
pub fn parse(path: &Path, bytes: &[u8]) -> Result<Logbook, Problems> {
    let name = path.display().to_string();
    let body = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let text = std::str::from_utf8(body).map_err(|e| {
        let line = body[..e.valid_up_to()].iter().filter(|b| **b == b'\n').count() + 1;
        Problems::from(
            Problem::error(format!("line {line} is not UTF-8 text"))
                .in_file(&name)
                .help("save the file as CSV in UTF-8"),
        )
    })?;
    // Old machines end lines with a carriage return alone.
    let text =
        if text.contains('\n') { std::borrow::Cow::from(text) } else { text.replace('\r', "\n").into() };
    let mut reader = Reader { path: &name, problems: Problems::new(), clock: None, slashes: None };
    let entries = reader.table(&text);
    let mut problems = reader.problems;
    if problems.any_error() {
        problems.sort();
        return Err(problems);
    }
    let sha256 = Sha256::digest(bytes).iter().map(|b| format!("{b:02x}")).collect();
    let warnings = problems.list.iter().map(Problem::one_line).collect();
    Ok(Logbook { path: path.to_owned(), sha256, entries, warnings })
}

struct Reader<'a> {
    path: &'a str,
    problems: Problems,
    clock: Option<Clock>,
    /// Order of day and month in dates like 3/6/2026, if the file shows it.
    slashes: Option<SlashOrder>,
}

/// Where each column stands in a row.
struct Columns {
    at: [Option<usize>; COLUMNS.len()],
    separator: u8,
}

/// A row laid open.
struct Row<'t> {
    line: TextLine<'t>,
    fields: Vec<Field<'t>>,
    columns: &'t Columns,
}

impl<'t> Row<'t> {
    /// The field of a column; empty at the end of the line if the row does not have it.
    fn field(&self, column: &str) -> Field<'t> {
        let at = COLUMNS.iter().position(|c| *c == column).and_then(|k| self.columns.at[k]);
        let end = self.line.text.len();
        at.and_then(|k| self.fields.get(k).cloned()).unwrap_or(Field { text: "".into(), span: end..end })
    }
}

impl Reader<'_> {
    fn fault(
        &mut self,
        line: TextLine<'_>,
        span: std::ops::Range<usize>,
        title: impl Into<String>,
        (label, help): (&str, &str),
    ) {
        let problem = Problem::error(title).at_line(self.path, line.number, line.text, span, label);
        self.problems.push(if help.is_empty() { problem } else { problem.help(help) });
    }

    fn table(&mut self, text: &str) -> Vec<Entry> {
        let mut columns: Option<Columns> = None;
        let mut entries: Vec<Entry> = Vec::new();
        for line in lines(text) {
            // A spreadsheet may quote a comment, and fill it up with separators to the width of the table.
            let bare =
                line.text.trim_start().trim_start_matches('"').trim_end_matches([',', ';', '\t', '"', ' ']);
            if let Some(comment) = bare.strip_prefix('#') {
                self.head(line, comment);
                continue;
            }
            let Some(known) = &columns else {
                match self.columns(line) {
                    Some(found) => {
                        self.slashes = slash_order(text, &found);
                        columns = Some(found);
                    }
                    // Without columns no row means anything.
                    None => return Vec::new(),
                }
                continue;
            };
            let Some(fields) = split_by(line.text, known.separator) else {
                self.fault(
                    line,
                    0..line.text.len(),
                    "a quote is not closed",
                    ("", "close it on the same line"),
                );
                continue;
            };
            if fields.iter().all(|f| f.text.is_empty()) {
                continue;
            }
            if entries.len() == ENTRIES_MAX {
                let title = format!("more than {ENTRIES_MAX} entries");
                self.fault(line, 0..line.text.len(), title, ("", "keep the days that tell most"));
                break;
            }
            entries.extend(self.row(&Row { line, fields, columns: known }));
        }
        if columns.is_none() {
            let problem = Problem::error("no line with the names of the columns").in_file(self.path);
            self.problems.push(problem.help(format!("the first line is: {}", COLUMNS.join(","))));
        } else if entries.is_empty() && !self.problems.any_error() {
            let problem = Problem::error("no entries: there is nothing to learn from").in_file(self.path);
            self.problems.push(problem.help("one line for each thing seen: 2026-06-03,21:40,stopped,,clear"));
        }
        entries.sort_by(|a, b| {
            (a.date, a.minute.unwrap_or(-1e4))
                .partial_cmp(&(b.date, b.minute.unwrap_or(-1e4)))
                .unwrap_or(std::cmp::Ordering::Equal)
        });
        // Among many warnings an error would not be seen.
        if !self.problems.any_error() {
            self.warn_of_pairs(&entries);
        }
        entries
    }

    /// Entries that stand there twice, and those that cannot both be right.
    fn warn_of_pairs(&mut self, entries: &[Entry]) {
        let mut said = Vec::new();
        for (k, entry) in entries.iter().enumerate() {
            // They come by date.
            let mut of_day = entries[..k].iter().rev().take_while(|e| e.date == entry.date);
            let twin = of_day.find(|e| {
                (e.minute, &e.what, e.value, &e.tests)
                    == (entry.minute, &entry.what, entry.value, &entry.tests)
            });
            if let Some(twin) = twin {
                let (first, second) = if twin.line < entry.line { (twin, entry) } else { (entry, twin) };
                said.push((second, format!("the same as line {}: it counts twice", first.line)));
            }
        }
        for (a, b, why) in contradictions(entries) {
            let (a, b) = (&entries[a], &entries[b]);
            let (first, second) = if a.line < b.line { (a, b) } else { (b, a) };
            said.push((second, format!("contradicts line {}: {why}", first.line)));
        }
        let more = said.len().saturating_sub(PAIRS_MAX);
        for (entry, title) in said.into_iter().take(PAIRS_MAX) {
            let span = 0..entry.text.len();
            self.problems.push(Problem::warning(title).at_line(self.path, entry.line, &entry.text, span, ""));
        }
        if more > 0 {
            let title = format!("{more} more pairs of entries are alike or contradict each other");
            self.problems.push(Problem::warning(title).in_file(self.path));
        }
    }

    /// A comment: the clock may stand in it.
    fn head(&mut self, line: TextLine<'_>, comment: &str) {
        let Some((name, told)) = comment.split_once(':') else { return };
        if plain(name) != "clock" {
            return;
        }
        let told = told.trim();
        let words = told.to_lowercase().replace("daylight-saving", "daylight saving");
        let words = words.split_whitespace().collect::<Vec<_>>().join(" ").replace("saving time", "saving");
        let between = words.strip_prefix("daylight saving from ").and_then(clock_days);
        let clock = match words.as_str() {
            "standard" | "standard time" | "winter time" => Some(Clock::Standard),
            "daylight saving" | "summer time" | "dst" => Some(Clock::DaylightSaving),
            _ => between.map(|(from, to)| Clock::Between(from, to)),
        };
        match clock {
            Some(_) if self.clock.is_some_and(|c| Some(c) != clock) => {
                self.fault(line, 0..line.text.len(), "a second clock", ("", "one logbook has one clock"));
            }
            Some(clock) => self.clock = Some(clock),
            None => {
                let at = line.text.find(told).unwrap_or(0);
                let title = format!("`{told}` is not a clock");
                self.fault(line, at..at + told.len(), title, ("unknown", CLOCK_HELP));
            }
        }
    }

    fn columns(&mut self, line: TextLine<'_>) -> Option<Columns> {
        // Spreadsheets with a decimal comma write semicolons.
        let separator =
            [b',', b';', b'\t'].into_iter().max_by_key(|s| line.text.bytes().filter(|b| b == s).count());
        let separator = separator.unwrap_or(b',');
        let fields = split_by(line.text, separator).unwrap_or_default();
        let mut at = [None; COLUMNS.len()];
        for (k, field) in fields.iter().enumerate() {
            let name = field.text.to_lowercase();
            let other = OTHER_NAMES.iter().find(|(other, _)| *other == name);
            let name = other.map_or(name, |(_, column)| (*column).to_owned());
            match COLUMNS.iter().position(|c| *c == name) {
                Some(column) if at[column].is_some() => {
                    let title = format!("the column `{name}` occurs twice");
                    self.fault(line, field.span.clone(), title, ("", "name each column once"));
                }
                Some(column) => at[column] = Some(k),
                None if name.is_empty() => {}
                None => {
                    let meant = nearest_word(&name, COLUMNS.into_iter());
                    let meant = meant.map_or(String::new(), |m| format!("did you mean `{m}`? "));
                    let help = format!("{meant}the columns are: {}", COLUMNS.join(","));
                    self.fault(
                        line,
                        field.span.clone(),
                        format!("`{name}` is not a column"),
                        ("unknown", &help),
                    );
                }
            }
        }
        for column in ["date", "what"] {
            let k = COLUMNS.iter().position(|c| *c == column).unwrap_or_default();
            if at[k].is_none() {
                let help =
                    format!("the first line that is no comment names the columns: {}", COLUMNS.join(","));
                self.fault(
                    line,
                    0..line.text.len(),
                    format!("the column `{column}` is missing"),
                    ("", &help),
                );
            }
        }
        (!self.problems.any_error()).then_some(Columns { at, separator })
    }

    fn row(&mut self, row: &Row<'_>) -> Option<Entry> {
        let (date, behind) = self.date(row).unzip();
        let time = self.time(row, behind.flatten());
        let what = self.what(row);
        let sky = self.sky(row);
        let tests = self.tests(row);
        let (date, time, (what, kind), sky, tests) = (date?, time?, what?, sky?, tests?);
        let (value, stated) = self.value(row, &what, kind)?;
        self.needs(row, kind, time.is_some(), &tests)?;
        self.tests_fit(row, &what, &tests)?;
        let (clock, day) = (self.clock.unwrap_or(Clock::Standard), date.day_of_year());
        let minute = time.map(|shown| shown - f64::from(clock.ahead_min(day, shown)));
        if time.is_some_and(|shown| clock.shows_twice(day, shown)) {
            let (at, title) = (row.field("time").span, "the clock may have shown this time twice that night");
            let label = if clock.ahead_min(day, time.unwrap_or(0.0)) > 0 {
                "read as daylight-saving time"
            } else {
                "read as standard time"
            };
            self.problems.push(Problem::warning(title).at_line(
                self.path,
                row.line.number,
                row.line.text,
                at,
                label,
            ));
        }
        let sd = match (kind, value) {
            (None, Some(value)) => stated.unwrap_or(QUANTITY_SD * value.abs()),
            (Some(kind), Some(value)) => stated.unwrap_or_else(|| kind.usual.sd(value)),
            (_, None) => stated.unwrap_or(TIME_SD_MIN),
        };
        // A jet's height is off by a share of it.
        let sd = match (&what, value) {
            (What::JetHeight, Some(height)) if height > 0.0 => sd / height,
            _ => sd,
        };
        Some(Entry {
            line: row.line.number,
            text: row.line.text.trim().to_owned(),
            date,
            minute,
            clock_minute: time,
            what,
            value,
            sd,
            sky,
            tests,
            remark: row.field("remark").text.into_owned(),
        })
    }

    /// The day, and the time if one stands behind it.
    fn date(&mut self, row: &Row<'_>) -> Option<(Date, Option<f64>)> {
        let field = row.field("date");
        let (day, minute) = handwriting::split_time(&field.text);
        if let Some(date) = handwriting::date(&day, self.slashes) {
            return Some((date, minute));
        }
        let mut help = "year-month-day, like 2026-06-03";
        let title = match field.text.is_empty() {
            true => "no date".to_owned(),
            false
                if [SlashOrder::DayFirst, SlashOrder::MonthFirst]
                    .iter()
                    .any(|o| handwriting::date(&day, Some(*o)).is_some()) =>
            {
                help = "no date of the file shows whether day or month comes first: write year-month-day, like 2026-06-03";
                format!("`{}` can mean two days", field.text)
            }
            false => format!("`{}` is not a day of the calendar", field.text),
        };
        self.fault(row.line, field.span, title, ("", help));
        None
    }

    /// Minutes after midnight as the clock showed, if there is a time; `behind`: the one that stood behind the date.
    fn time(&mut self, row: &Row<'_>, behind: Option<f64>) -> Option<Option<f64>> {
        let field = row.field("time");
        if field.text.is_empty() && behind.is_none() {
            return Some(None);
        }
        let read = if field.text.is_empty() { behind } else { handwriting::minute(&field.text) };
        let Some(minute) = read else {
            let title = format!("`{}` is not a time of day", field.text);
            self.fault(row.line, field.span, title, ("", "hours and minutes, like 21:40 or 9:40 pm"));
            return None;
        };
        if self.clock.is_none() {
            let title = "the times cannot be understood: nothing says which clock they were read from";
            self.fault(row.line, field.span, title, ("summer or standard time?", CLOCK_HELP));
            // Once is enough.
            self.clock = Some(Clock::Standard);
            return None;
        }
        Some(Some(minute))
    }

    fn what(&mut self, row: &Row<'_>) -> Option<(What, Option<&'static Kind>)> {
        let field = row.field("what");
        if let Some(kind) = Kind::named(&field.text) {
            return Some((kind.what.clone(), Some(kind)));
        }
        let key = field.text.to_lowercase();
        if dimension_of(&key).is_some() {
            return Some((What::Quantity(key), None));
        }
        let words = || kinds().iter().flat_map(|k| k.words.iter().copied());
        let meant = nearest_word(&field.text, words());
        let help = match meant {
            Some(meant) => format!("did you mean `{meant}`? "),
            None => String::new(),
        };
        let all: Vec<&str> = kinds().iter().map(|k| k.words[0]).collect();
        let help = format!(
            "{help}what can be noted: {}; or a quantity of the design, like battery.capacity",
            all.join(", ")
        );
        let title = match field.text.is_empty() {
            true => "nothing says what was seen".to_owned(),
            false => format!("`{}` is not something to note", field.text),
        };
        self.fault(row.line, field.span, title, ("unknown", &help));
        None
    }

    fn sky(&mut self, row: &Row<'_>) -> Option<Option<Sky>> {
        let field = row.field("sky");
        if let Some(sky) = handwriting::sky(&field.text) {
            return Some(sky);
        }
        let help = "the sky is clear, broken (sun and clouds), overcast, or unknown";
        self.fault(row.line, field.span, format!("`{}` is not a sky", field.text), ("unknown", help));
        None
    }

    fn tests(&mut self, row: &Row<'_>) -> Option<Vec<Test>> {
        let field = row.field("test");
        let mut tests = Vec::new();
        for word in field.text.split(['+', '&', ';']).map(str::trim).filter(|w| !w.is_empty()) {
            if let Some(test) = TESTS.iter().find(|t| t.words() == plain(word)) {
                tests.push(*test);
                continue;
            }
            match handwriting::supply_v(word) {
                Some(volts) => tests.push(Test::OnSupply(volts)),
                _ => {
                    let names: Vec<String> = TESTS.iter().map(|t| t.words()).collect();
                    let help = format!("tests are: {}, on 6 V (a supply); join two with +", names.join(", "));
                    self.fault(row.line, field.span, format!("`{word}` is not a test"), ("unknown", &help));
                    return None;
                }
            }
        }
        Some(tests)
    }

    /// The value and its stated standard deviation, in base units.
    fn value(
        &mut self,
        row: &Row<'_>,
        what: &What,
        kind: Option<&'static Kind>,
    ) -> Option<(Option<f64>, Option<f64>)> {
        let field = row.field("value");
        let dimension = match (kind, what) {
            (Some(kind), _) => kind.value,
            (None, What::Quantity(key)) => dimension_of(key),
            (None, _) => None,
        };
        let refuse = |this: &mut Self, e: QuantityError| {
            let at = field.span.start + usize::from(row.line.text[field.span.clone()].starts_with('"'));
            this.fault(row.line, at + e.span.start..at + e.span.end, e.title, (&e.label, &e.help));
        };
        let Some(dimension) = dimension else {
            // A time may say how sure it is.
            let timed = matches!(what, What::Stopped | What::Started);
            let bare = field.text.trim_start_matches(['±', '+', '-', '/']).trim();
            return match quantity(bare, Dimension::Duration) {
                _ if bare.is_empty() => Some((None, None)),
                // As everywhere, ± is twice the standard deviation.
                Ok(half) if timed && half.nominal > 0.0 => Some((None, Some(0.5 * half.nominal))),
                _ if timed => {
                    let help = "leave it empty, or write how sure the time is: ± 20 min";
                    self.fault(
                        row.line,
                        field.span.clone(),
                        "this is not the uncertainty of a time",
                        ("", help),
                    );
                    None
                }
                _ => {
                    self.fault(
                        row.line,
                        field.span.clone(),
                        "this kind of entry has no value",
                        ("", "leave the value empty"),
                    );
                    None
                }
            };
        };
        if field.text.is_empty() {
            let example = kind.map_or(dimension.example(), |k| k.example);
            self.fault(
                row.line,
                field.span,
                "the value is missing",
                ("", &format!("write, for example, {example}")),
            );
            return None;
        }
        match quantity(&field.text, dimension) {
            Ok(value) => {
                self.plausible(row, what, &value)?;
                Some((Some(value.nominal), Entry::sd_of(&value)))
            }
            Err(e) => {
                refuse(self, e);
                None
            }
        }
    }

    /// Refuses values that no reading of the kind can have.
    fn plausible(&mut self, row: &Row<'_>, what: &What, value: &Uncertain) -> Option<()> {
        let Some((least, most)) = possible(what) else { return Some(()) };
        if (least..=most).contains(&value.nominal) {
            return Some(());
        }
        let field = row.field("value");
        let unit = Kind::of(what).and_then(|k| k.value).map_or("", Dimension::base_unit);
        let help = match what {
            What::JetHeight if value.nominal < least => {
                "a jet that was not there is noted as `no jet`".to_owned()
            }
            _ => format!("from {least} to {most} {unit}"),
        };
        self.fault(row.line, field.span, "no such reading is possible", ("out of range", &help));
        None
    }

    /// Whether a time is there where one is needed, and none where it means nothing.
    fn needs(&mut self, row: &Row<'_>, kind: Option<&Kind>, timed: bool, tests: &[Test]) -> Option<()> {
        let Some(kind) = kind else { return Some(()) };
        let bench = tests.iter().any(|t| matches!(t, Test::OnSupply(_)));
        let field = row.field("time");
        let words = kind.words[0];
        let asks = match kind.needs {
            Needs::Time => true,
            // On a supply the hour does not matter; what the sun drives needs one.
            Needs::Any => !bench && kind.what != What::StandbyCurrent,
            Needs::Day => false,
        };
        if asks && !timed {
            let mut help = "add the time it was seen".to_owned();
            if kind.needs == Needs::Any {
                help += ", or the voltage of the supply as a test: on 6 V";
            }
            self.fault(row.line, field.span, format!("`{words}` needs a time"), ("missing", &help));
            return None;
        }
        if kind.needs == Needs::Day && timed {
            let title = format!("`{words}` speaks of a whole day, not of a time");
            self.fault(
                row.line,
                field.span,
                title,
                ("", "leave the time empty, or note `runs` or `no jet` with a time"),
            );
            return None;
        }
        Some(())
    }

    /// Whether each test can be made with this reading.
    fn tests_fit(&mut self, row: &Row<'_>, what: &What, tests: &[Test]) -> Option<()> {
        for test in tests {
            let fits = test.fits(what, tests);
            if !fits {
                let field = row.field("test");
                let title = "this test says nothing about this reading";
                let help = "battery disconnected goes with jet height, flow, runs, no jet, pump voltage and pump current; pump unplugged with voltages and currents of battery and panel; panel to the sun with short-circuit current and open-circuit voltage, or beside battery disconnected; freshly charged with stopped, did not stop, ran hours and battery voltage; a supply with jet height, flow and pump current";
                self.fault(row.line, field.span, title, ("", help));
                return None;
            }
        }
        Some(())
    }
}

/// The order of day and month in the dates of a file.
fn slash_order(text: &str, columns: &Columns) -> Option<SlashOrder> {
    let at = columns.at[0]?;
    let dates = lines(text)
        .filter_map(|line| split_by(line.text, columns.separator)?.get(at).map(|field| field.text.clone()));
    handwriting::slash_order(dates)
}
