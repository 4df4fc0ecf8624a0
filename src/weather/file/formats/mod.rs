//! From the bytes of a file to rows, by format. A new format is a file here that recognises itself by content.
//!
//! ```text
//! text          bytes -> text: gzip, encoding, limits
//! fields        a line of comma-separated text, with the place of each field
//! rows          what every format becomes: a head and rows of eight quantities
//! epw, tmy3     the two public formats
//! plain_words   the words of our own plain CSV; plain reads it, plain_write writes it
//! ```
//!
//! Whether the rows make sense is for `checks`.

pub mod fields;
pub mod plain_words;
pub mod plain_write;
pub mod rows;
pub mod text;

mod epw;
mod plain;
pub(in crate::weather::file) mod tmy3;

use crate::source::Problem;
use rows::{Reading, Table};

/// Recognises the format of a text and reads it; what is wrong goes to `reading`.
pub(crate) fn read_table(reading: &mut Reading, text: &str) -> Option<Table> {
    let table = if plain::recognise(text) {
        plain::read(reading, text)
    } else if epw::recognise(text) {
        epw::read(reading, text)
    } else if tmy3::recognise(text) {
        tmy3::read(reading, text)
    } else {
        let mut problem = Problem::error("unknown weather file format")
            .in_file(reading.path)
            .help("supported: EPW (first line LOCATION,…), TMY3 CSV (second line Date (MM/DD/YYYY),…), and plain CSV (first line # stilldays weather 1)");
        if let Some(separator) =
            fields::lines(text).take(3).find_map(|line| fields::other_separator(line.text))
        {
            problem = problem.help(rows::with_commas(separator));
        }
        reading.problems.push(problem);
        None
    };
    table.filter(|_| !reading.problems.any_error())
}
