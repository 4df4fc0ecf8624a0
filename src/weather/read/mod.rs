//! From the bytes of a file to a checked typical year.
//!
//! A file is recognised by what it holds, never by its name: EPW, TMY3 CSV or our plain CSV, each
//! also gzipped. Nothing is repaired unseen: what cannot be used is an error, or a warning with
//! line and reason.

pub mod fields;
pub mod rows;
pub mod slots;
pub mod text;

mod epw;
mod plain;
mod tmy3;

use super::year::TypicalYear;
use crate::source::{Problem, Problems};
use rows::{Reading, Table};
use sha2::{Digest, Sha256};
use std::path::Path;

/// Reads and checks a weather file.
///
/// # Errors
/// All that makes the file unusable, with lines.
pub fn load(path: &Path) -> Result<TypicalYear, Problems> {
    let shown = path.display().to_string();
    match text::read_limited(path) {
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
    let text::Text { text, notes } = text::text_of(&shown, bytes)?;
    let mut reading = Reading { path: &shown, problems: Problems::new() };
    let year = table_of(&mut reading, &text).and_then(|mut table| {
        table.notes.splice(0..0, notes);
        let rows = slots::place_rows(&mut reading, &mut table)?;
        super::checks::judge(&mut reading, path, table, &rows)
    });
    match year {
        Some(mut year) if !reading.problems.any_error() => {
            year.sha256 = hex(&Sha256::digest(bytes));
            Ok(year)
        }
        _ => {
            reading.problems.sort();
            Err(reading.problems)
        }
    }
}

fn table_of(reading: &mut Reading, text: &str) -> Option<Table> {
    let table = if plain::recognise(text) {
        plain::read(reading, text)
    } else if epw::recognise(text) {
        epw::read(reading, text)
    } else if tmy3::recognise(text) {
        tmy3::read(reading, text)
    } else {
        reading.problems.push(
            Problem::error("the format of this weather file is not known")
                .in_file(reading.path)
                .help("known: EPW (first line LOCATION,…), TMY3 CSV (second line Date (MM/DD/YYYY),…), and plain CSV (first line # stilldays weather 1)"),
        );
        None
    };
    table.filter(|_| !reading.problems.any_error())
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}
