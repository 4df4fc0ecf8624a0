//! Rows onto the 8760 hours of a year: order, duplicates, leap days, how many there are.

use crate::sky::calendar::HOURS;
use crate::source::Problem;
use crate::units::dates::{DAYS_OF_LEAP_MONTHS, MONTH_STARTS};
use crate::weather::file::formats::rows::{FileRow, Reading, Table};
use crate::weather::file::slots::{gaps, label};

/// Fewest usable rows: two days by the clock, so that one from solar midnight to solar midnight is among them.
const ROWS_MIN: usize = 48;

/// The rows of the 8760 hours; `None` where the file has no row.
pub(super) type RowOfHour = Vec<Option<FileRow>>;

/// Puts each row in its hour; `None` if the file is refused. Warnings go to `table.notes`.
pub(super) fn place_rows(reading: &mut Reading, table: &mut Table) -> Option<RowOfHour> {
    settle_leading_row(reading, table)?;
    refuse_finer_rows(reading, table)?;
    let (hours, leap_rows) = in_order(reading, &table.rows)?;
    if leap_rows > 0 {
        table
            .notes
            .push(format!("{leap_rows} rows of 29 February were left out: simulated years have 365 days"));
    }
    let found = hours.iter().flatten().count();
    if found < ROWS_MIN {
        let problem = Problem::error(format!("only {found} usable rows")).in_file(reading.path);
        reading
            .problems
            .push(problem.help("a full year has 8760 rows; part of a year is accepted from 48 rows on"));
        return None;
    }
    if found < HOURS {
        table.notes.push(format!("{found} rows instead of 8760; {}", gaps(&hours)));
    }
    Some(hours)
}

/// Some files begin with the last hour of the year before, so that they have 8761 rows. A file that begins with that
/// hour and does not end with it labels its hours by their start.
fn settle_leading_row(reading: &mut Reading, table: &mut Table) -> Option<()> {
    let [first, second, .., last] = table.rows[..] else { return Some(()) };
    if slot(&first) != HOURS - 1 || slot(&second) != 0 {
        return Some(());
    }
    if slot(&last) == HOURS - 1 {
        table.rows.remove(0);
        table.notes.push(format!(
            "line {}: the first row ends at 1 January 00:00, which belongs to the year before; it was left out",
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

/// Refuses a file that has several rows an hour.
fn refuse_finer_rows(reading: &mut Reading, table: &Table) -> Option<()> {
    let duplicates = table.rows.windows(2).filter(|pair| same_hour(&pair[0], &pair[1])).count();
    if duplicates <= table.rows.len() / 4 {
        return Some(());
    }
    let title = format!("{} rows: the file has several rows per hour", table.rows.len());
    let problem = Problem::error(title).in_file(reading.path);
    reading.problems.push(problem.help("average them over each hour first"));
    None
}

/// The rows in their hours, and how many were of 29 February; `None` if any is out of order, a duplicate, or of a day that
/// does not exist.
fn in_order(reading: &mut Reading, rows: &[FileRow]) -> Option<(RowOfHour, usize)> {
    let mut hours: RowOfHour = vec![None; HOURS];
    let mut last: Option<(usize, FileRow)> = None;
    let mut leap_rows = 0;
    let errors_before = reading.problems.list.len();
    for row in rows {
        if reading.too_many_errors() {
            break;
        }
        if row.day > DAYS_OF_LEAP_MONTHS[usize::from(row.month) - 1] {
            let title = format!("day {} of month {} does not exist", row.day, row.month);
            refuse_row(reading, row, title, "check the date");
            continue;
        }
        if (row.month, row.day) == (2, 29) {
            leap_rows += 1;
            continue;
        }
        let slot = slot(row);
        match last {
            Some((before, earlier)) if before == slot => {
                let title = format!("duplicate row for {} (first in line {})", label(slot), earlier.line);
                let help = "a file has one row per hour: average finer rows over each hour, and give two years as two files";
                refuse_row(reading, row, title, help);
            }
            Some((before, earlier)) if before > slot => {
                let title = format!(
                    "rows are not in increasing order: {} comes after {} (line {})",
                    label(slot),
                    label(before),
                    earlier.line
                );
                let help = "rows run from 1 January to 31 December; give two years as two files";
                refuse_row(reading, row, title, help);
                last = Some((slot, *row));
            }
            _ => {
                hours[slot] = Some(*row);
                last = Some((slot, *row));
            }
        }
    }
    (reading.problems.list.len() == errors_before).then_some((hours, leap_rows))
}

fn refuse_row(reading: &mut Reading, row: &FileRow, title: String, help: &str) {
    let problem = Problem::error(format!("line {}: {title}", row.line)).in_file(reading.path);
    reading.problems.push(problem.help(help));
}

fn same_hour(a: &FileRow, b: &FileRow) -> bool {
    (a.month, a.day, a.hour) == (b.month, b.day, b.hour)
}

/// Hour of the year, 0..8760, of a row that is not of 29 February.
fn slot(row: &FileRow) -> usize {
    let start = usize::from(MONTH_STARTS[usize::from(row.month) - 1]) + usize::from(row.day) - 1;
    24 * start.min(364) + usize::from(row.hour) - 1
}
