//! What every format becomes: a head and rows of eight quantities, not yet compared with the sun.

use super::fields::{Field, TextLine};
use crate::sky::Place;
use crate::source::{Problem, Problems};

/// Errors after which reading stops.
const ERRORS_MAX: usize = 100;

/// An hourly quantity of a weather file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Quantity {
    /// Global horizontal irradiance, W/m².
    Ghi,
    /// Beam normal irradiance, W/m².
    Dni,
    /// Diffuse horizontal irradiance, W/m².
    Dhi,
    /// Air temperature, °C.
    Air,
    /// Relative humidity, share.
    Humidity,
    /// Wind speed, m/s.
    Wind,
    /// Sky cover, share.
    SkyCover,
    /// Rain, mm in the hour.
    Rain,
}

/// How many quantities there are.
pub(crate) const QUANTITIES: usize = 8;

impl Quantity {
    /// Name in messages.
    pub(crate) fn name(self) -> &'static str {
        match self {
            Quantity::Ghi => "GHI",
            Quantity::Dni => "DNI",
            Quantity::Dhi => "DHI",
            Quantity::Air => "air temperature",
            Quantity::Humidity => "relative humidity",
            Quantity::Wind => "wind speed",
            Quantity::SkyCover => "sky cover",
            Quantity::Rain => "rain",
        }
    }

    /// Range of plausible values, base unit. Irradiance may be a little below zero at night (a
    /// pyranometer cools to the sky) and above the solar constant at cloud edges; temperature and
    /// wind span the records of the WMO archive of extremes (from memory).
    fn plausible(self) -> (f64, f64) {
        match self {
            Quantity::Ghi => (-40.0, 1800.0),
            Quantity::Dni => (-40.0, 1500.0),
            Quantity::Dhi => (-40.0, 1200.0),
            Quantity::Air => (-90.0, 60.0),
            // Fog and worn sensors read a little above saturation.
            Quantity::Humidity => (0.0, 1.1),
            Quantity::Wind => (0.0, 110.0),
            Quantity::SkyCover => (0.0, 1.0),
            // Some files hold tenths of mm: see `checks::gaps`.
            Quantity::Rain => (0.0, 3000.0),
        }
    }
}

impl Quantity {
    /// What brings a value that is out of range, in the base unit, into it: the likely other unit and its factor.
    fn cure(self, value: f64) -> Option<&'static str> {
        match self {
            Quantity::Humidity if (1.1..=100.0).contains(&value) => {
                Some("per cent, where shares of 1 are wanted? divide by 100")
            }
            Quantity::SkyCover if (1.0..=10.0).contains(&value) => {
                Some("tenths, where shares of 1 are wanted? divide by 10")
            }
            Quantity::SkyCover if (10.0..=100.0).contains(&value) => {
                Some("per cent, where shares of 1 are wanted? divide by 100")
            }
            Quantity::Air if (183.0..=333.0).contains(&value) => Some("kelvin? subtract 273.15"),
            Quantity::Air if (60.0..=140.0).contains(&value) => {
                Some("degrees Fahrenheit? subtract 32 and divide by 1.8")
            }
            Quantity::Wind if (110.0..=400.0).contains(&value) => Some("km/h? divide by 3.6"),
            Quantity::Ghi | Quantity::Dni | Quantity::Dhi if value > 1200.0 && value < 6500.0 => {
                Some("kJ/m² in the hour? divide by 3.6")
            }
            Quantity::Humidity
            | Quantity::SkyCover
            | Quantity::Air
            | Quantity::Wind
            | Quantity::Ghi
            | Quantity::Dni
            | Quantity::Dhi
            | Quantity::Rain => None,
        }
    }
}

/// How to make a file readable whose columns something else than commas separates.
pub(crate) fn with_commas(separator: &str) -> String {
    format!(
        "the columns are separated by {separator}: save the file with commas between them, and with decimal points"
    )
}

/// `1 field`, `35 fields`.
pub(crate) fn fields_text(n: usize) -> String {
    format!("{n} field{}", if n == 1 { "" } else { "s" })
}

/// Codes for "no value", whatever the format says: none is a plausible value.
const MISSING_CODES: [f64; 8] = [-9999.0, 9999.0, 99990.0, 99999.0, -9900.0, 9900.0, -99990.0, 999_999.0];

/// Years for which the formula of the sun holds; others are ignored.
pub(crate) const SUN_YEARS: std::ops::RangeInclusive<i32> = 1950..=2050;

/// Where a quantity stands in a row and how to read it.
#[derive(Clone, Debug)]
pub(crate) struct Column {
    /// What it is.
    pub quantity: Quantity,
    /// Index of the field.
    pub index: usize,
    /// Factor to the base unit.
    pub scale: f64,
    /// Further code of the format for "no value".
    pub missing: Option<f64>,
}

/// One row.
#[derive(Clone, Copy, Debug)]
pub(crate) struct FileRow {
    /// Line of the file, 1-based.
    pub line: usize,
    /// Year the row was taken from, if the file says so. Only the sun's exact place depends on it.
    pub year: Option<i32>,
    /// 1..=12.
    pub month: u8,
    /// 1..=31.
    pub day: u8,
    /// End of the hour, 1..=24.
    pub hour: u8,
    /// By [`Quantity`], base units.
    pub values: [Option<f64>; QUANTITIES],
}

/// A file, read but not yet checked.
#[derive(Debug)]
pub(crate) struct Table {
    /// "EPW", "TMY3 CSV", "plain CSV".
    pub format: &'static str,
    /// Where the values come from, as the file says.
    pub origin: String,
    /// Whether it says it is invented or synthesised.
    pub invented: bool,
    /// Place and clock.
    pub place: Place,
    /// In file order.
    pub rows: Vec<FileRow>,
    /// Quantities for which the file has a column.
    pub columns: [bool; QUANTITIES],
    /// Mean pressure of the air at the place, kPa, if the file gives it.
    pub pressure_kpa: Option<f64>,
    /// What the user should know.
    pub notes: Vec<String>,
}

/// The mean of a column that is no more than that.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct MeanOf {
    sum: f64,
    count: u32,
}

impl MeanOf {
    /// Takes a field in, times a factor, if it is a number within limits; else it counts as missing.
    pub(crate) fn take(&mut self, field: Option<&Field>, factor: f64, (lo, hi): (f64, f64)) {
        let value = field.and_then(|f| f.text.parse::<f64>().ok()).map(|v| v * factor);
        if let Some(value) = value.filter(|v| (lo..=hi).contains(v)) {
            self.sum += value;
            self.count += 1;
        }
    }

    /// The mean; `None` of fewer than 500.
    pub(crate) fn get(self) -> Option<f64> {
        (self.count >= 500).then(|| self.sum / f64::from(self.count))
    }
}

/// Pressures of the air that there are where people live, kPa.
pub(crate) const PRESSURES_KPA: (f64, f64) = (40.0, 110.0);

/// Path for messages and the problems found so far.
pub(crate) struct Reading<'p> {
    /// As the user named the file.
    pub path: &'p str,
    /// Found so far.
    pub problems: Problems,
}

impl Reading<'_> {
    /// Whether there are so many errors that more would not help.
    pub(crate) fn too_many_errors(&self) -> bool {
        self.problems.list.len() >= ERRORS_MAX
    }

    /// Notes an error at a field of a line.
    pub(crate) fn refuse(
        &mut self,
        line: TextLine,
        field: &Field,
        title: impl Into<String>,
        help: impl Into<String>,
    ) {
        let problem =
            Problem::error(title).at_line(self.path, line.number, line.text, field.span.clone(), "");
        self.problems.push(problem.help(help));
    }

    /// Notes an error about a whole line.
    pub(crate) fn refuse_line(&mut self, line: TextLine, title: impl Into<String>, help: impl Into<String>) {
        let span = 0..line.text.len().min(80);
        self.problems
            .push(Problem::error(title).at_line(self.path, line.number, line.text, span, "").help(help));
    }

    /// A finite number, or an error noted.
    pub(crate) fn number(&mut self, line: TextLine, field: &Field, what: &str) -> Option<f64> {
        match field.text.parse::<f64>() {
            Ok(v) if v.is_finite() => Some(v),
            _ => {
                let title = format!("{what}: `{}` is not a number", shortened(&field.text));
                let pointed = field.text.replace(',', ".");
                let help = match pointed.parse::<f64>() {
                    Ok(_) if pointed != field.text => {
                        format!("a decimal comma? write {pointed}, with a decimal point")
                    }
                    _ => "write a number such as 12 or -3.5: decimal point, no unit".to_owned(),
                };
                self.refuse(line, field, title, help);
                None
            }
        }
    }

    /// A number within a range, or an error noted.
    pub(crate) fn number_within(
        &mut self,
        (line, field): (TextLine, &Field),
        what: &str,
        lo: f64,
        hi: f64,
    ) -> Option<f64> {
        let v = self.number(line, field, what)?;
        if (lo..=hi).contains(&v) {
            return Some(v);
        }
        self.refuse(line, field, format!("{what} {v} is out of range"), format!("allowed: {lo} to {hi}"));
        None
    }

    /// A whole number within a range, or an error noted.
    pub(crate) fn whole(&mut self, line: TextLine, field: &Field, what: &str, lo: u8, hi: u8) -> Option<u8> {
        match field.text.parse::<u8>() {
            Ok(v) if (lo..=hi).contains(&v) => Some(v),
            _ => {
                let title = format!("{what} `{}` is out of range", shortened(&field.text));
                self.refuse(line, field, title, format!("allowed: whole numbers from {lo} to {hi}"));
                None
            }
        }
    }

    /// The quantities of a row. A field without a value is `None`; an implausible value is an error.
    pub(crate) fn values(
        &mut self,
        line: TextLine,
        fields: &[Field],
        columns: &[Column],
    ) -> [Option<f64>; QUANTITIES] {
        let mut values = [None; QUANTITIES];
        for column in columns {
            let Some(field) = fields.get(column.index) else { continue };
            if field.text.is_empty() {
                continue;
            }
            let Some(v) = self.number(line, field, column.quantity.name()) else { continue };
            if MISSING_CODES.contains(&v) || column.missing == Some(v) {
                continue;
            }
            let (lo, hi) = column.quantity.plausible();
            let base = v * column.scale;
            if (lo..=hi).contains(&base) {
                values[column.quantity as usize] = Some(base);
            } else {
                let title = format!("{} {} is out of range", column.quantity.name(), shortened(&field.text));
                let in_column = |limit: f64| (limit / column.scale).round();
                let limits = if column.scale == 1.0 { (lo, hi) } else { (in_column(lo), in_column(hi)) };
                let cure = column.quantity.cure(base).map_or(String::new(), |cure| format!("{cure}; "));
                let help = format!(
                    "{cure}allowed in this column: {} to {}; leave the field empty if there is no value",
                    limits.0, limits.1
                );
                self.refuse(line, field, title, help);
            }
        }
        values
    }

    /// Place and clock from four fields: latitude, longitude, hours from UTC, height.
    pub(crate) fn place(&mut self, fields: [(TextLine, &Field); 4]) -> Option<Place> {
        let [latitude, longitude, offset, height] = fields;
        let latitude_deg = self.number_within(latitude, "latitude", -90.0, 90.0);
        let longitude_deg = self.number_within(longitude, "longitude", -180.0, 180.0);
        let utc_offset_h = self.number_within(offset, "hours from UTC", -12.0, 14.0);
        let elevation_m = self.number_within(height, "height above the sea in m", -500.0, 9000.0);
        Some(Place {
            latitude_deg: latitude_deg?,
            longitude_deg: longitude_deg?,
            utc_offset_h: utc_offset_h?,
            elevation_m: elevation_m?,
        })
    }
}

/// Text from a file, short enough for a message.
pub(crate) fn shortened(text: &str) -> String {
    match text.char_indices().nth(40) {
        Some((at, _)) => format!("{}…", &text[..at]),
        None => text.to_owned(),
    }
}

/// Whether a text says that what follows was made up.
pub(crate) fn says_invented(text: &str) -> bool {
    let text = text.to_lowercase();
    ["invented", "synthesised", "synthesized", "synthetic"].iter().any(|word| text.contains(word))
}
