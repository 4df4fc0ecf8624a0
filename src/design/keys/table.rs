//! All rows, and finding one.

use super::care::CARE;
use super::key::Key;
use super::machine::{MOUNT, PUMP};
use super::panel::PANEL;
use super::place::{LEARNED, SITE, TOP, WATER, WISH};
use super::power::{BATTERY, ELECTRONICS};
use super::running::RUNNING;

/// The row of a key.
pub(in crate::design) fn key(path: &str) -> Option<&'static Key> {
    all().find(|k| k.path == path)
}

/// All rows.
pub(in crate::design) fn all() -> impl Iterator<Item = &'static Key> {
    TABLES.iter().flat_map(|t| t.1)
}

/// Tables in the order of the reference page: name, rows, what the table is about.
pub(in crate::design) const TABLES: [(&str, &[Key], &str); 12] = [
    ("", TOP, "At the top of the file, before any table."),
    ("site", SITE, "The place and its weather."),
    ("wish", WISH, "When the jet is wanted, and which days count as still."),
    ("panel", PANEL, "The solar panel, from its label (1000 W/m², cell at 25 °C)."),
    ("mount", MOUNT, "What carries the panel."),
    ("battery", BATTERY, "The battery. Without this table the panel feeds the pump directly."),
    ("electronics", ELECTRONICS, "What connects panel, battery, pump and mount."),
    ("pump", PUMP, "The pump, its motor and its jet."),
    ("running", RUNNING, "The rules by which a timer, a light switch or a controller lets the pump run."),
    ("water", WATER, "The basin, its losses and its refilling."),
    (
        "care",
        CARE,
        "Who cleans the panel, who replaces what over the years, and what that costs. But for the cleaning only `stilldays years` asks.",
    ),
    ("learned", LEARNED, "What a logbook taught about the parts."),
];
