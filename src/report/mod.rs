//! Numbers to text, CSV, JSON and HTML.
//!
//! Nothing is computed here that is not a format: no mean, no percentile, no physics. Every
//! writer takes the finished [`Summary`] or
//! [`DayTrace`](crate::plant::DayTrace) and gives back text or bytes; only [`mod@write`] touches files.
//!
//! `±` is the larger half of a 95 % interval everywhere (in design files: two standard deviations).

pub mod chart;
pub mod csv;
mod customary;
pub mod html;
pub mod json;
pub mod manual;
pub mod number;
pub mod style;
pub mod text;
pub mod weather;
pub mod words;

pub use crate::disk::write;
pub use style::Style;

use crate::learn::{FieldCard, Findings};
use crate::study::replay::Replay;
use crate::tally::{Summary, Tally};
use crate::units::System;

/// Everything that learning from a logbook leaves behind, by name; the page comes first.
pub fn files_of_learning(f: &Findings, units: System) -> Vec<write::File<'static>> {
    let mut files = vec![
        ("learned.html", html::learned(f, units).into_bytes()),
        ("learned.json", json::bytes(f)),
        ("quantities.csv", csv::learned_quantities(f)),
        ("entries.csv", csv::learned_entries(f)),
    ];
    if let Some(units) = &f.units {
        files.push(("units.csv", units.to_csv().into_bytes()));
    }
    files
}

/// Everything that a field card leaves behind, by name; the page comes first.
pub fn files_of_card(c: &FieldCard, units: System) -> Vec<write::File<'static>> {
    vec![
        ("field-card.html", html::card(c, units).into_bytes()),
        ("field-card.json", json::bytes(c)),
        ("field-card.csv", words::card::logbook(c).into_bytes()),
    ]
}

/// Everything that a replayed season leaves behind, by name; the page comes first.
pub fn files_of_replay(r: &Replay) -> Vec<write::File<'static>> {
    vec![
        ("replay.html", html::replay(r).into_bytes()),
        ("replay.json", json::bytes(r)),
        ("replay.csv", csv::replay(r)),
    ]
}

/// Everything a run leaves behind, by name; the page comes first.
pub fn files_of_run(
    summary: &Summary,
    tally: &Tally,
    extras: html::RunExtras<'_>,
) -> Vec<write::File<'static>> {
    vec![
        ("report.html", html::run_with(summary, extras).into_bytes()),
        ("summary.json", json::bytes(summary)),
        ("months.csv", csv::months(summary)),
        ("distributions.csv", csv::distributions(summary)),
        ("tally", tally.to_bytes()),
    ]
}
