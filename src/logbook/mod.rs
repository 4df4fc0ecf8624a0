//! Logbooks: what an owner saw and measured on single days, read from CSV and checked.
//!
//! ```text
//! date      days of the calendar
//! clock     the clock that the times were read from
//! entry     one observation: when, what, how well known, under which sky
//! handwriting   fields as people and spreadsheets write them
//! kinds     what can be noted: words, units, usual uncertainty; one row each
//! contradictions   entries that cannot both be right
//! read      a file: head, columns, rows
//! fits      whether a design has the parts that an entry speaks of
//! starter   the logbook that `stilldays new --logbook` writes
//! ```
//!
//! A file or folder uses only those above it in this list. What follows from the entries is in `learn`.

mod clock;
mod contradictions;
mod date;
mod entry;
mod fits;
mod handwriting;
mod kinds;
mod read;
mod starter;

pub use clock::Clock;
pub use date::Date;
pub use entry::{Entry, Logbook, Sky, Test, What};
pub use fits::fits;
pub use kinds::{Kind, Needs, kinds};
pub use read::{ENTRIES_MAX, parse, read};
pub use starter::starter;

#[cfg(test)]
mod tests;
