//! A weather file: read, checked, and described in numbers.
//!
//! ```text
//! year        what a file becomes: a typical year of 8760 hours
//! slots       the hours of a year by name
//! year_sun    where the sun stands in each hour
//! closure     which instant the values of an hour stand for
//! turbidity   the clear sky, fitted to the clearest hours
//! formats     bytes -> rows: EPW, TMY3 CSV, plain CSV (and how plain CSV is written)
//! checks      rows -> hours: order, clock, impossible values, gaps
//! describe    the file in numbers, for the `weather` command
//! ```
//!
//! A file is recognised by what it holds, never by its name. Nothing is repaired silently: what cannot be used is an
//! error, or a warning with line and reason. How days are drawn from the year is in `days`.

pub mod checks;
pub mod closure;
pub mod describe;
pub mod formats;
pub mod slots;
pub mod turbidity;
pub mod year;
pub mod year_sun;

pub use formats::text::read_limited;
pub use year::{Hour, TypicalYear, YearKind};

use crate::source::{Problem, Problems};
use formats::rows::Reading;
use formats::text::{Text, text_of};
use sha2::{Digest, Sha256};
use std::path::Path;

/// Reads and checks a weather file.
///
/// # Errors
/// Everything that makes the file unusable, with lines.
pub fn load(path: &Path) -> Result<TypicalYear, Problems> {
    let shown = path.display().to_string();
    match read_limited(path) {
        Ok(bytes) => load_from_bytes(path, &bytes),
        Err(e) => Err(Problem::error(format!("cannot be read: {e}")).in_file(&shown).into()),
    }
}

/// Reads and checks the bytes of a weather file; `path` is for messages only.
///
/// # Errors
/// As [`load`].
pub fn load_from_bytes(path: &Path, bytes: &[u8]) -> Result<TypicalYear, Problems> {
    let shown = path.display().to_string();
    let Text { text, notes } = text_of(&shown, bytes)?;
    let mut reading = Reading { path: &shown, problems: Problems::new() };
    let year = formats::read_table(&mut reading, &text).and_then(|mut table| {
        table.notes.splice(0..0, notes);
        checks::checked_year(&mut reading, path, table)
    });
    match year {
        Some(mut year) if !reading.problems.any_error() => {
            year.sha256 = hex(&Sha256::digest(bytes));
            Ok(year)
        }
        _ => {
            reading.problems.sort();
            reading.problems.gather_alike();
            Err(reading.problems)
        }
    }
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}
