//! Reads our plain CSV (`weather/README.md`).

use super::fields::{Field, TextLine, lines, other_separator, split};
use super::plain_words::{COLUMNS, FIRST_LINE, KEYS, WHEN};
use super::rows::{
    Column, FileRow, QUANTITIES, Quantity, Reading, Table, fields_text, shortened, with_commas,
};
use crate::source::Problem;

/// Similarity (Jaro-Winkler) above which a word counts as a misspelling of another.
const SIMILARITY_MIN: f64 = 0.8;

/// Whether the text is a plain CSV: its first line begins with `#`.
pub(crate) fn recognise(text: &str) -> bool {
    text.trim_start().starts_with('#')
}

/// Reads it; what is wrong goes to `reading`.
pub fn read(reading: &mut Reading, text: &str) -> Option<Table> {
    let mut lines = lines(text).peekable();
    let mut head: [Option<(TextLine, Field)>; KEYS.len()] = Default::default();
    let first = *lines.peek()?;
    if first.text.trim() != FIRST_LINE {
        let help = format!("the first line of a plain weather file is `{FIRST_LINE}`");
        reading.refuse_line(first, "unknown format version", help);
        return None;
    }
    lines.next();
    while let Some(line) = lines.next_if(|line| line.text.trim_start().starts_with('#')) {
        read_key(reading, line, &mut head);
    }
    for (key, found) in KEYS.iter().zip(&head) {
        if found.is_none() {
            let problem = Problem::error(format!("missing key `{key}` in the head")).in_file(reading.path);
            reading.problems.push(problem.help(format!("add a line `# {key} = …` above the column names")));
        }
    }
    let layout = match lines.next() {
        Some(line) => read_columns(reading, line)?,
        None => {
            reading.problems.push(Problem::error("there are no data rows").in_file(reading.path));
            return None;
        }
    };
    let [latitude, longitude, elevation, offset, origin, invented] = head;
    let (latitude, longitude, offset, elevation) = (latitude?, longitude?, offset?, elevation?);
    let place = [&latitude, &longitude, &offset, &elevation].map(|(line, field)| (*line, field));
    let place = reading.place(place);
    let (line, invented) = invented?;
    let invented = match invented.text.as_ref() {
        "yes" => Some(true),
        "no" => Some(false),
        _ => {
            reading.refuse(
                line,
                &invented,
                "`invented` must be yes or no",
                "write yes if nobody measured the values",
            );
            None
        }
    };
    let mut rows = Vec::with_capacity(8784);
    for line in lines {
        if reading.too_many_errors() {
            break;
        }
        rows.extend(read_row(reading, line, &layout));
    }
    Some(Table {
        format: "plain CSV",
        origin: origin?.1.text.into_owned(),
        invented: invented?,
        place: place?,
        rows,
        columns: layout.present,
        pressure_kpa: None,
        notes: Vec::new(),
    })
}

/// `# key = value`; a line without `=` is a comment.
fn read_key<'t>(
    reading: &mut Reading,
    line: TextLine<'t>,
    head: &mut [Option<(TextLine<'t>, Field<'t>)>; KEYS.len()],
) {
    let Some(equals) = line.text.find('=') else { return };
    let hash = line.text.find('#').map_or(0, |at| at + 1);
    let key = trimmed_field(line.text, hash, equals);
    let value = trimmed_field(line.text, equals + 1, line.text.len());
    match KEYS.iter().position(|k| *k == key.text) {
        Some(k) if head[k].is_some() => {
            reading.refuse(line, &key, format!("duplicate key `{}`", key.text), "keep one of them")
        }
        Some(k) => head[k] = Some((line, value)),
        None => {
            let title = format!("unknown key `{}`", shortened(&key.text));
            let help = did_you_mean(&key.text, &KEYS)
                .unwrap_or_else(|| format!("known keys: {}; a comment has no `=`", KEYS.join(", ")));
            reading.refuse(line, &key, title, help);
        }
    }
}

fn trimmed_field(line: &str, start: usize, end: usize) -> Field<'_> {
    let raw = line.get(start..end).unwrap_or_default();
    let text = raw.trim();
    let lead = start + raw.len() - raw.trim_start().len();
    Field { text: text.into(), span: lead..lead + text.len() }
}

fn did_you_mean(word: &str, known: &[&str]) -> Option<String> {
    known
        .iter()
        .map(|k| (strsim::jaro_winkler(word, k), k))
        .filter(|(similarity, _)| *similarity > SIMILARITY_MIN)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, k)| format!("did you mean `{k}`?"))
}

/// Where things stand in a row.
struct Layout {
    /// Indices of month, day and hour.
    when: [usize; 3],
    columns: Vec<Column>,
    present: [bool; QUANTITIES],
    width: usize,
}

fn read_columns(reading: &mut Reading, line: TextLine) -> Option<Layout> {
    if let Some(separator) = other_separator(line.text) {
        reading.refuse_line(
            line,
            format!("the columns are separated by {separator}"),
            with_commas(separator),
        );
        return None;
    }
    let Some(fields) = split(line.text) else {
        reading.refuse_line(line, "unclosed quote", "add the missing quote");
        return None;
    };
    let mut when = [None; 3];
    let mut columns = Vec::new();
    let mut present = [false; QUANTITIES];
    for (index, field) in fields.iter().enumerate() {
        let name = field.text.as_ref();
        let taken = if let Some(k) = WHEN.iter().position(|w| *w == name) {
            when[k].replace(index).is_some()
        } else if let Some((_, quantity)) = COLUMNS.iter().find(|(n, _)| *n == name) {
            columns.push(Column { quantity: *quantity, index, scale: 1.0, missing: None });
            std::mem::replace(&mut present[*quantity as usize], true)
        } else {
            let known: Vec<&str> = WHEN.iter().copied().chain(COLUMNS.iter().map(|(n, _)| *n)).collect();
            let help =
                did_you_mean(name, &known).unwrap_or_else(|| format!("known columns: {}", known.join(", ")));
            reading.refuse(line, field, format!("unknown column `{}`", shortened(name)), help);
            false
        };
        if taken {
            reading.refuse(line, field, format!("duplicate column `{name}`"), "keep one of them");
        }
    }
    for (name, k) in [("ghi_w_m2", Quantity::Ghi), ("air_c", Quantity::Air)] {
        if !present[k as usize] {
            reading.refuse_line(
                line,
                format!("the column `{name}` is missing"),
                "it cannot be derived from the others",
            );
        }
    }
    for (name, index) in WHEN.iter().zip(when) {
        if index.is_none() {
            reading.refuse_line(
                line,
                format!("the column `{name}` is missing"),
                "each row says when its hour ends",
            );
        }
    }
    let [Some(month), Some(day), Some(hour)] = when else { return None };
    Some(Layout { when: [month, day, hour], columns, present, width: fields.len() })
}

fn read_row(reading: &mut Reading, line: TextLine, layout: &Layout) -> Option<FileRow> {
    let Some(fields) = split(line.text) else {
        reading.refuse_line(line, "unclosed quote", "add the missing quote");
        return None;
    };
    if fields.len() != layout.width {
        let title = format!("the row has {}, not {}", fields_text(fields.len()), layout.width);
        let help = match (other_separator(line.text), fields.len() > layout.width) {
            (Some(separator), _) => with_commas(separator),
            (None, true) => {
                "each row has as many fields as there are column names; decimal commas cut a number in two: \
                             write decimal points"
                    .to_owned()
            }
            (None, false) => "each row has as many fields as there are column names".to_owned(),
        };
        reading.refuse_line(line, title, help);
        return None;
    }
    let [month, day, hour] = layout.when;
    let month = reading.whole(line, &fields[month], "month", 1, 12);
    let day = reading.whole(line, &fields[day], "day", 1, 31);
    let hour = reading.whole(line, &fields[hour], "hour", 1, 24);
    let values = reading.values(line, &fields, &layout.columns);
    Some(FileRow { line: line.number, year: None, month: month?, day: day?, hour: hour?, values })
}
