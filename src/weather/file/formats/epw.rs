//! Reads EPW: eight head lines, then 8760 rows of 35 fields.
//!
//! Columns and codes after the format's public description (EnergyPlus, Auxiliary Programs, chapter
//! on weather data; from memory, checked on four real files).

use super::fields::{TextLine, lines, other_separator, split, unwrap_quotes};
use super::rows::{
    Column, FileRow, MeanOf, PRESSURES_KPA, QUANTITIES, Quantity, Reading, SUN_YEARS, Table, fields_text,
    says_invented, with_commas,
};
use crate::sky::Place;
use crate::source::Problem;

/// Most head lines after LOCATION.
const HEAD_LINES_MAX: usize = 40;
/// Index of the air's pressure.
const PRESSURE: usize = 9;
/// Fewest fields of a row: up to wind speed; later ones may be left out.
const FIELDS_MIN: usize = 22;

const COLUMNS: [Column; QUANTITIES] = [
    column(Quantity::Air, 6, 1.0, 99.9),
    column(Quantity::Humidity, 8, 0.01, 999.0),
    column(Quantity::Ghi, 13, 1.0, 9999.0),
    column(Quantity::Dni, 14, 1.0, 9999.0),
    column(Quantity::Dhi, 15, 1.0, 9999.0),
    column(Quantity::Wind, 21, 1.0, 999.0),
    column(Quantity::SkyCover, 22, 0.1, 99.0),
    column(Quantity::Rain, 33, 1.0, 999.0),
];

const fn column(quantity: Quantity, index: usize, scale: f64, missing: f64) -> Column {
    Column { quantity, index, scale, missing: Some(missing) }
}

/// Whether the text is EPW: its first line is LOCATION.
pub(crate) fn recognise(text: &str) -> bool {
    let start = text.trim_start().trim_start_matches('"').get(..9);
    start.is_some_and(|s| s.eq_ignore_ascii_case("LOCATION,"))
}

/// Reads it; what is wrong goes to `reading`.
pub fn read(reading: &mut Reading, text: &str) -> Option<Table> {
    let mut lines = lines(text);
    let mut head = read_location(reading, lines.next()?)?;
    read_head_lines(reading, &mut lines, &mut head)?;
    let (mut rows, mut pressure) = (Vec::with_capacity(8784), MeanOf::default());
    for line in lines {
        if reading.too_many_errors() {
            break;
        }
        rows.extend(read_row(reading, line, &mut pressure));
    }
    let Head { origin, invented, place, notes } = head;
    Some(Table {
        format: "EPW",
        invented,
        origin,
        place: place?,
        rows,
        columns: [true; QUANTITIES],
        pressure_kpa: pressure.get(),
        notes,
    })
}

/// What the head lines say.
struct Head {
    origin: String,
    invented: bool,
    /// `None` if it is refused; the rows are read all the same, so that their errors are shown, too.
    place: Option<Place>,
    notes: Vec<String>,
}

/// Reads the first line, LOCATION.
fn read_location(reading: &mut Reading, first: TextLine) -> Option<Head> {
    let unwrapped = unwrap_quotes(first);
    let mut notes = Vec::new();
    if unwrapped.text.len() < first.text.len() {
        notes.push(format!("line {}: the whole head line is in quotes, which were ignored", first.number));
    }
    let fields = split(unwrapped.text).unwrap_or_default();
    let [name, region, country, source, _station, latitude, longitude, offset, height] =
        [1, 2, 3, 4, 5, 6, 7, 8, 9].map(|k| fields.get(k));
    let (Some(latitude), Some(longitude), Some(offset), Some(height)) = (latitude, longitude, offset, height)
    else {
        let title = format!("LOCATION has {} fields, not 10", fields.len());
        let help =
            "LOCATION,place,region,country,source,station,latitude,longitude,hours from UTC,height in m";
        reading.refuse_line(first, title, help);
        return None;
    };
    let place = reading.place([latitude, longitude, offset, height].map(|field| (unwrapped, field)));
    let named: Vec<&str> = [name, region, country]
        .into_iter()
        .flatten()
        .map(|f| f.text.as_ref())
        .filter(|t| !t.is_empty())
        .collect();
    let mut origin = named.join(", ");
    if let Some(source) = source.filter(|f| !f.text.is_empty()) {
        origin = format!("{origin} ({})", source.text);
    }
    Some(Head { invented: says_invented(&origin), origin, place, notes })
}

/// Reads the other head lines up to DATA PERIODS, the last of them; `None` if the file is refused.
fn read_head_lines<'t>(
    reading: &mut Reading,
    lines: &mut impl Iterator<Item = TextLine<'t>>,
    head: &mut Head,
) -> Option<()> {
    for line in lines.take(HEAD_LINES_MAX) {
        let fields = split(line.text).unwrap_or_default();
        let word = fields.first().map(|f| f.text.to_uppercase()).unwrap_or_default();
        match word.as_str() {
            "COMMENTS 1" | "COMMENTS 2" => {
                let comment = line.text.split_once(',').map_or("", |(_, rest)| rest).trim();
                head.invented |= says_invented(comment);
                if word == "COMMENTS 1" && !comment.is_empty() {
                    head.origin = format!("{}; {comment}", head.origin);
                }
            }
            "HOLIDAYS/DAYLIGHT SAVINGS" => {
                let start = fields.get(2).map_or("", |f| f.text.as_ref());
                if !matches!(start, "" | "0") {
                    head.notes.push(format!(
                        "line {}: daylight saving is declared from {start}; the hours are read as standard time",
                        line.number
                    ));
                }
            }
            "DATA PERIODS" => {
                if let Some(field) = fields.get(2).filter(|f| f.text != "1") {
                    let title = format!("{} records per hour: one is needed", field.text);
                    reading.refuse(line, field, title, "average the records over each hour first");
                    return None;
                }
                return Some(());
            }
            _ => {}
        }
    }
    let problem = Problem::error("there is no DATA PERIODS line before the rows").in_file(reading.path);
    reading.problems.push(problem.help("an EPW file has eight head lines; DATA PERIODS is the last of them"));
    None
}

fn read_row(reading: &mut Reading, line: TextLine, pressure: &mut MeanOf) -> Option<FileRow> {
    let fields = split(line.text).unwrap_or_default();
    if fields.len() < FIELDS_MIN {
        let title = format!("the row has {}; an EPW row has 35", fields_text(fields.len()));
        let help = other_separator(line.text)
            .map_or("was the file cut short, or changed by a spreadsheet?".to_owned(), with_commas);
        reading.refuse_line(line, title, help);
        return None;
    }
    let month = reading.whole(line, &fields[1], "month", 1, 12);
    let day = reading.whole(line, &fields[2], "day", 1, 31);
    let hour = reading.whole(line, &fields[3], "hour", 1, 24);
    // 0 and 60 both stand for the whole hour.
    let minute = reading.whole(line, &fields[4], "minute", 0, 60);
    if minute.is_some_and(|m| m != 0 && m != 60) {
        reading.refuse(
            line,
            &fields[4],
            "the row does not end on a full hour",
            "average the rows over each hour first",
        );
    }
    let values = reading.values(line, &fields, &COLUMNS);
    // In Pa.
    pressure.take(fields.get(PRESSURE), 1e-3, PRESSURES_KPA);
    let year = fields[0].text.parse().ok().filter(|year| SUN_YEARS.contains(year));
    Some(FileRow { line: line.number, year, month: month?, day: day?, hour: hour?, values })
}
