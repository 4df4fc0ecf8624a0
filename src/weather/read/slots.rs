//! Rows onto the 8760 hours of a year: order, gaps, doubles, leap days.

use super::rows::{Reading, Row, Table};
use crate::sky::calendar::HOURS;
use crate::source::Problem;
use crate::units::dates::{MONTH_STARTS, MONTHS, month_and_day};

/// Fewest usable rows; below this there is nothing to sample from.
const ROWS_MIN: usize = 24;
/// Gaps named one by one in a warning; the rest is counted.
const GAPS_NAMED: usize = 6;

/// Days of the months of a leap year.
const DAYS_LEAP: [u8; 12] = [31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];

/// Days of a month (1..=12) of the Gregorian calendar.
pub fn days_of_month(year: u16, month: u8) -> u8 {
    let leap = year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400));
    match month {
        2 if !leap => 28,
        month => DAYS_LEAP[usize::from(month.clamp(1, 12)) - 1],
    }
}

/// "3 March 14:00": the end of an hour of the year.
pub fn label(slot: usize) -> String {
    let (month, day) = month_and_day((slot / 24) as u16);
    format!("{day} {} {:02}:00", MONTHS[month - 1], slot % 24 + 1)
}

/// Puts each row in its hour; `None` if the file is refused. The warnings go to `table.notes`.
pub fn place_rows(reading: &mut Reading, table: &mut Table) -> Option<Vec<Option<Row>>> {
    let refuse = |reading: &mut Reading, row: &Row, title: String, help: &str| {
        let problem = Problem::error(format!("line {}: {title}", row.line)).in_file(reading.path);
        reading.problems.push(problem.help(help));
    };
    settle_leading_row(reading, table)?;
    let mut hours: Vec<Option<Row>> = vec![None; HOURS];
    let mut last: Option<(usize, Row)> = None;
    let mut leap_rows = 0;
    let doubles = table.rows.windows(2).filter(|pair| same_hour(&pair[0], &pair[1])).count();
    if doubles > table.rows.len() / 4 {
        let title = format!("{} rows for a year: this file has several rows an hour", table.rows.len());
        let problem = Problem::error(title).in_file(reading.path);
        reading.problems.push(problem.help("average them over each hour first"));
        return None;
    }
    let errors_before = reading.problems.list.len();
    for row in &table.rows {
        if reading.hopeless() {
            break;
        }
        if row.day > DAYS_LEAP[usize::from(row.month) - 1] {
            refuse(
                reading,
                row,
                format!("there is no day {} of month {}", row.day, row.month),
                "check the date",
            );
            continue;
        }
        if (row.month, row.day) == (2, 29) {
            leap_rows += 1;
            continue;
        }
        let slot = slot(row);
        match last {
            Some((before, earlier)) if before == slot => {
                let title = format!("{} is there a second time; first in line {}", label(slot), earlier.line);
                refuse(
                    reading,
                    row,
                    title,
                    "a file has one row an hour: average finer ones over each hour, and give two years as two files",
                );
            }
            Some((before, earlier)) if before > slot => {
                let title = format!("{} comes after {} (line {})", label(slot), label(before), earlier.line);
                refuse(
                    reading,
                    row,
                    title,
                    "rows go from 1 January to 31 December; give two years as two files",
                );
                last = Some((slot, *row));
            }
            _ => {
                hours[slot] = Some(*row);
                last = Some((slot, *row));
            }
        }
    }
    if reading.problems.list.len() > errors_before {
        return None;
    }
    if leap_rows > 0 {
        table
            .notes
            .push(format!("{leap_rows} rows of 29 February were left out: the year of a run has 365 days"));
    }
    let there = hours.iter().flatten().count();
    if there < ROWS_MIN {
        let problem = Problem::error(format!("the file has {there} usable rows")).in_file(reading.path);
        reading.problems.push(problem.help("a year has 8760; parts of a year will do, but not below a day"));
        return None;
    }
    if there < HOURS {
        table.notes.push(format!("{there} rows instead of 8760; {}", gaps(&hours)));
    }
    Some(hours)
}

/// Some files carry the last hour of the year before in front, so that they have 8761 rows. A file
/// that begins so and lacks that hour at its end is labelled by the start of hours.
fn settle_leading_row(reading: &mut Reading, table: &mut Table) -> Option<()> {
    let [first, second, .., last] = table.rows[..] else { return Some(()) };
    if slot(&first) != HOURS - 1 || slot(&second) != 0 {
        return Some(());
    }
    if slot(&last) == HOURS - 1 {
        table.rows.remove(0);
        table.notes.push(format!(
            "line {}: the first row ends at 1 January 00:00, in the year before; it was left out",
            first.line
        ));
        return Some(());
    }
    let title = format!("line {}: the first row is labelled 00:00 and the last is not 24:00", first.line);
    let problem = Problem::error(title).in_file(reading.path);
    reading.problems.push(problem.help(
        "hours must be labelled by their end, 01:00 to 24:00; these seem to be labelled by their start",
    ));
    None
}

fn same_hour(a: &Row, b: &Row) -> bool {
    (a.month, a.day, a.hour) == (b.month, b.day, b.hour)
}

/// Hour of the year, 0..8760, of a row that is not of 29 February.
fn slot(row: &Row) -> usize {
    let start = usize::from(MONTH_STARTS[usize::from(row.month) - 1]) + usize::from(row.day) - 1;
    24 * start.min(364) + usize::from(row.hour) - 1
}

/// "missing: 3 March 04:00, 1 June 01:00 to 4 June 24:00 and 3 more stretches".
pub fn gaps<T>(hours: &[Option<T>]) -> String {
    let named = stretches(hours);
    let rest = named.len().saturating_sub(GAPS_NAMED);
    let rest = if rest > 0 { format!(" and {rest} more stretches") } else { String::new() };
    format!("missing: {}{rest}", named[..named.len().min(GAPS_NAMED)].join(", "))
}

/// The stretches of hours without value: "3 March 04:00", "1 June 01:00 to 4 June 24:00".
pub fn stretches<T>(hours: &[Option<T>]) -> Vec<String> {
    let mut ends: Vec<(usize, usize)> = Vec::new();
    for slot in (0..hours.len()).filter(|&slot| hours[slot].is_none()) {
        match ends.last_mut() {
            Some((_, end)) if *end + 1 == slot => *end = slot,
            _ => ends.push((slot, slot)),
        }
    }
    ends.iter()
        .map(|&(a, b)| if a == b { label(a) } else { format!("{} to {}", label(a), label(b)) })
        .collect()
}
