//! Rows and cells of a CSV file, kept in memory.

use crate::report::words;
use crate::study::paired::Difference;
use crate::tally::Summary;

/// A CSV file under way. Memory refuses no record and no flush: only rows of differing length could fail, and every table
/// here has rows of one length.
pub(super) struct Rows(csv::Writer<Vec<u8>>);

impl Rows {
    /// Begins with comment lines, each with its `#` and its end; or with none.
    pub(crate) fn with_comment(comment: String) -> Rows {
        Rows(csv::Writer::from_writer(comment.into_bytes()))
    }

    /// Adds a row.
    pub(crate) fn row(&mut self, fields: impl IntoIterator<Item: AsRef<[u8]>>) {
        self.0.write_record(fields).expect("memory takes every record of one length");
    }

    /// The file's bytes.
    pub(crate) fn bytes(self) -> Vec<u8> {
        self.0.into_inner().expect("memory does not refuse to be flushed")
    }
}

/// Yes or no in a cell.
pub(super) fn yes_no(is: bool) -> &'static str {
    if is { "yes" } else { "no" }
}

/// Shortest text that reads back as the same number; empty for what is no number.
pub(super) fn number_cell(value: Option<f64>) -> String {
    value.filter(|v| v.is_finite()).map(|v| v.to_string()).unwrap_or_default()
}

/// The comment lines every CSV starts with.
pub(super) fn provenance(s: &Summary) -> String {
    head(&Origin {
        version: &s.run.version,
        seed: s.run.seed,
        trials: &format!("{} trials", s.run.trials),
        design_sha256: &s.design.sha256,
        weather_sha256: &s.weather.sha256,
        invented: s.weather.invented,
    }) + &prices_in(s.design.currency.as_deref())
}

/// The comment line that names the currency of prices; none where the design names none.
fn prices_in(currency: Option<&str>) -> String {
    currency.map_or(String::new(), |c| format!("# prices and costs are in {c}\n"))
}

/// What the numbers of a CSV come from.
pub struct Origin<'a> {
    /// Of the program.
    pub version: &'a str,
    /// Seed.
    pub seed: u64,
    /// `400 trials`, `trial 3`.
    pub trials: &'a str,
    /// Of the design's text, hex.
    pub design_sha256: &'a str,
    /// Of the weather files, hex.
    pub weather_sha256: &'a str,
    /// Whether the weather is invented.
    pub invented: bool,
}

/// The comment lines that say so.
pub(super) fn head(o: &Origin<'_>) -> String {
    let invented =
        if o.invented { "# the weather is invented: the figures describe no real place\n" } else { "" };
    format!(
        "# stilldays {} · seed {} · {} · design sha256 {} · weather sha256 {}\n{invented}",
        text_cell(o.version),
        o.seed,
        o.trials,
        text_cell(o.design_sha256),
        text_cell(o.weather_sha256)
    )
}

/// Text from outside as a cell. A spreadsheet takes what begins with one of these signs for a formula and
/// runs it: an apostrophe before it marks it as text (OWASP, "CSV Injection"). Numbers go through
/// [`number_cell`] and keep their sign.
pub(super) fn text_cell(text: &str) -> String {
    let shown = words::escaped(text);
    // Tab and carriage return, which have the same power, are made visible already.
    let formula = shown.trim_start().starts_with(['=', '+', '-', '@', '＝', '＋', '－', '＠']);
    if formula { format!("'{shown}") } else { shown.into_owned() }
}

/// Mean, error, interval and chances of a difference.
pub(super) fn difference_cells(d: Option<&Difference>) -> [String; 7] {
    let of = |f: fn(&Difference) -> Option<f64>| number_cell(d.and_then(f));
    [
        of(|d| Some(d.mean)),
        of(|d| d.se),
        of(|d| d.low),
        of(|d| d.high),
        of(|d| d.chance_lower),
        of(|d| d.chance_same),
        of(|d| d.chance_higher),
    ]
}
