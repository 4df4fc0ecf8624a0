//! Reads TMY3 CSV: a line of facts, a line of column names, then 8760 rows.
//!
//! Wilcox & Marion 2008, User's Manual for TMY3 Data Sets, NREL/TP-581-43156, tables 2-1 to 2-3.

use super::fields::{Field, TextLine, lines, split, unwrap_quotes};
use super::rows::{
    Column, FileRow, MeanOf, PRESSURES_KPA, QUANTITIES, Quantity, Reading, SUN_YEARS, Table, says_invented,
    shortened,
};
use crate::units::dates::days_of_month;

/// Its name for people.
pub(in crate::weather::file) const FORMAT: &str = "TMY3 CSV";

/// Column, unit as the manual writes it, what it is, factor to the base unit.
const COLUMNS: [(&str, &str, Quantity, f64); QUANTITIES] = [
    ("ghi", "w/m^2", Quantity::Ghi, 1.0),
    ("dni", "w/m^2", Quantity::Dni, 1.0),
    ("dhi", "w/m^2", Quantity::Dhi, 1.0),
    ("dry-bulb", "c", Quantity::Air, 1.0),
    ("rhum", "%", Quantity::Humidity, 0.01),
    ("wspd", "m/s", Quantity::Wind, 1.0),
    ("totcld", "tenths", Quantity::SkyCover, 0.1),
    ("lprecip depth", "mm", Quantity::Rain, 1.0),
];

/// Where things stand in a row.
struct Layout {
    date: usize,
    time: usize,
    pressure: Option<usize>,
    columns: Vec<Column>,
    present: [bool; QUANTITIES],
    width: usize,
}

/// Whether the text is TMY3 CSV: its second line names the columns, date and time first.
pub(crate) fn recognise(text: &str) -> bool {
    let second = lines(text).nth(1).map_or("", |line| line.text).trim_start().trim_start_matches('"');
    second.get(..5).is_some_and(|s| s.eq_ignore_ascii_case("date "))
        && second.to_lowercase().contains("time (")
}

/// Reads it; what is wrong goes to `reading`.
pub fn read(reading: &mut Reading, text: &str) -> Option<Table> {
    let mut lines = lines(text);
    let first = lines.next()?;
    let facts_line = unwrap_quotes(first);
    let mut notes = Vec::new();
    if facts_line.text.len() < first.text.len() {
        notes.push(format!("line {}: the whole head line is in quotes, which were ignored", first.number));
    }
    // Quotes within a quoted line are doubled; the place's name is all that has any.
    let facts_text = if facts_line.text.len() < first.text.len() {
        facts_line.text.replace("\"\"", "\"")
    } else {
        facts_line.text.to_owned()
    };
    let facts_line = TextLine { text: &facts_text, ..facts_line };
    let facts = split(facts_line.text).unwrap_or_default();
    let [_, name, region, offset, latitude, longitude, height, ..] = &facts[..] else {
        let title = format!("the first line has {} fields, not 7", facts.len());
        let help = "station,\"place\",state,hours from UTC,latitude,longitude,height in m";
        reading.refuse_line(first, title, help);
        return None;
    };
    let place = reading.place([latitude, longitude, offset, height].map(|field| (facts_line, field)));
    let header = lines.next()?;
    let layout = read_header(reading, unwrap_quotes(header))?;
    let (mut rows, mut pressure) = (Vec::with_capacity(8784), MeanOf::default());
    for line in lines {
        if reading.too_many_errors() {
            break;
        }
        rows.extend(read_row(reading, line, &layout, &mut pressure));
    }
    let origin = format!("{}, {} (TMY3)", name.text, region.text);
    Some(Table {
        format: FORMAT,
        invented: says_invented(&origin),
        origin,
        place: place?,
        rows,
        columns: layout.present,
        pressure_kpa: pressure.get(),
        notes,
    })
}

fn read_header(reading: &mut Reading, line: TextLine) -> Option<Layout> {
    let fields = split(line.text).unwrap_or_default();
    let mut layout = Layout {
        date: usize::MAX,
        time: usize::MAX,
        pressure: None,
        columns: Vec::new(),
        present: [false; QUANTITIES],
        width: fields.len(),
    };
    for (index, field) in fields.iter().enumerate() {
        let lower = field.text.to_lowercase();
        let (name, unit) = lower.split_once('(').unwrap_or((&lower, ""));
        let (name, unit) = (name.trim(), unit.trim_end_matches(')').trim());
        match name {
            "date" => layout.date = index,
            "time" => layout.time = index,
            "pressure" if unit == "mbar" => layout.pressure = Some(index),
            _ => {}
        }
        let Some((_, expected, quantity, scale)) = COLUMNS.iter().find(|c| c.0 == name) else { continue };
        if unit != *expected {
            let title = format!("unexpected unit in `{}`", shortened(&field.text));
            reading.refuse(line, field, title, format!("expected: {expected}"));
        } else if std::mem::replace(&mut layout.present[*quantity as usize], true) {
            reading.refuse(line, field, format!("duplicate column `{name}`"), "keep one of them");
        } else {
            layout.columns.push(Column { quantity: *quantity, index, scale: *scale, missing: Some(-9900.0) });
        }
    }
    for (name, there) in [
        ("Date", layout.date != usize::MAX),
        ("Time", layout.time != usize::MAX),
        ("GHI", layout.present[Quantity::Ghi as usize]),
        ("Dry-bulb", layout.present[Quantity::Air as usize]),
    ] {
        if !there {
            reading.refuse_line(
                line,
                format!("the column `{name}` is missing"),
                "it cannot be derived from the others",
            );
        }
    }
    (layout.date != usize::MAX && layout.time != usize::MAX).then_some(layout)
}

fn read_row(
    reading: &mut Reading,
    line: TextLine,
    layout: &Layout,
    pressure: &mut MeanOf,
) -> Option<FileRow> {
    let fields = split(line.text).unwrap_or_default();
    if fields.len() != layout.width {
        let title = format!("the row has {} fields, not {}", fields.len(), layout.width);
        reading.refuse_line(line, title, "was the file cut short, or changed by a spreadsheet?");
        return None;
    }
    let date = read_date(reading, line, &fields[layout.date]);
    let hour = read_time(reading, line, &fields[layout.time]);
    let values = reading.values(line, &fields, &layout.columns);
    pressure.take(layout.pressure.and_then(|k| fields.get(k)), 0.1, PRESSURES_KPA);
    let ((year, month, day), hour) = (date?, hour?);
    let (month, day, hour) = match (hour, day, month) {
        // 00:00 is the end of the last hour of the day before.
        (0, 1, 1) => (12, 31, 24),
        (0, 1, month) => (month - 1, days_of_month(year, month - 1), 24),
        (0, day, month) => (month, day - 1, 24),
        (hour, day, month) => (month, day, hour),
    };
    let year = Some(i32::from(year)).filter(|year| SUN_YEARS.contains(year));
    Some(FileRow { line: line.number, year, month, day, hour, values })
}

/// `MM/DD/YYYY`.
fn read_date(reading: &mut Reading, line: TextLine, field: &Field) -> Option<(u16, u8, u8)> {
    let parts: Vec<&str> = field.text.split('/').collect();
    let date = match parts[..] {
        [month, day, year] => {
            year.parse::<u16>().ok().zip(month.parse::<u8>().ok()).zip(day.parse::<u8>().ok())
        }
        _ => None,
    };
    match date {
        Some(((year, month), day)) if (1..=12).contains(&month) && (1..=31).contains(&day) => {
            Some((year, month, day))
        }
        _ => {
            let title = format!("`{}` is not a date", shortened(&field.text));
            reading.refuse(line, field, title, "dates are MM/DD/YYYY, such as 03/25/1990");
            None
        }
    }
}

/// `HH:MM`, 00 to 24.
fn read_time(reading: &mut Reading, line: TextLine, field: &Field) -> Option<u8> {
    let parsed = field.text.split_once(':').map(|(h, m)| (h.parse::<u8>(), m.parse::<u8>()));
    match parsed {
        Some((Ok(hour), Ok(0))) if hour <= 24 => Some(hour),
        Some((Ok(hour), Ok(minute))) if hour < 24 && minute < 60 => {
            let title = format!("{} is not a whole hour", field.text);
            reading.refuse(line, field, title, "average the rows over each hour first");
            None
        }
        _ => {
            let title = format!("`{}` is not a time", shortened(&field.text));
            reading.refuse(line, field, title, "times are 01:00 to 24:00, the end of the hour");
            None
        }
    }
}
