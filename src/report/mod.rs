//! Numbers to text, CSV, JSON and HTML.
//!
//! Nothing is computed here that is not a format: no mean, no percentile, no physics. Every
//! writer takes the finished [`Summary`] or
//! [`DayTrace`] and gives back text or bytes; only [`mod@write`] touches files.
//!
//! `±` is the larger half of a 95 % interval everywhere (in design files: two standard deviations).

pub mod chart;
pub mod csv;
mod customary;
pub mod html;
pub mod json;
pub mod number;
pub mod style;
pub mod text;
pub mod weather;
pub mod words;

pub use crate::disk::write;
pub use style::Style;

use crate::plant::DayTrace;
use crate::tally::{Summary, Tally};
use crate::units::System;

/// Everything a run leaves behind, by name; the page comes first.
pub fn files_of_run(
    summary: &Summary,
    tally: &Tally,
    days: &[DayTrace],
    units: System,
) -> Vec<write::File<'static>> {
    vec![
        ("report.html", html::run(summary, days, units).into_bytes()),
        ("summary.json", json::bytes(summary)),
        ("months.csv", csv::months(summary)),
        ("distributions.csv", csv::distributions(summary)),
        ("tally", tally.to_bytes()),
    ]
}
