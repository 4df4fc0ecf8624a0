//! Every key a design file may hold: one row each. Reading, range checks, "did you mean", the
//! unused-key warning and the reference page all come from this table.

use crate::units::Dimension;

mod machine;
mod place;
mod power;

use machine::{MOUNT, PUMP};
use place::{SITE, TOP, WATER, WISH};
use power::{BATTERY, ELECTRONICS, PANEL};

/// One key of a design file.
#[derive(Debug)]
pub(in crate::design) struct Key {
    /// Table and name, e.g. `panel.rated_power`.
    pub path: &'static str,
    /// What may be written.
    pub kind: Kind,
    /// What holds if it is left out.
    pub default: Fallback,
    /// The key matters only if another key has one of these words.
    pub only: Option<(&'static str, &'static [&'static str])>,
    /// What it means; for the reference page.
    pub meaning: &'static str,
}

/// What may be written for a key. Ranges are in base units, ends included.
#[derive(Debug)]
pub(in crate::design) enum Kind {
    /// A quantity with or without uncertainty; the whole spread must lie in the range.
    Quantity(Dimension, f64, f64),
    /// A quantity, or one of some words that stand for a value of it.
    Named(&'static [(&'static str, f64)], Dimension, f64, f64),
    /// A quantity that must be exact.
    Exact(Dimension, f64, f64),
    /// A whole number.
    Count(i64, i64),
    /// One of some words, each with other spellings that are understood.
    Words(&'static [(&'static str, &'static [&'static str])]),
    /// Any text.
    Text,
    /// true or false.
    Flag,
    /// A form of its own, read by a function of its own; how it is written.
    Form(&'static str),
}

impl Key {
    /// Kind and allowed range of the quantity this key holds, if it holds one.
    pub(in crate::design) fn quantity(&self) -> Option<(Dimension, f64, f64)> {
        match self.kind {
            Kind::Quantity(d, lo, hi) | Kind::Exact(d, lo, hi) | Kind::Named(_, d, lo, hi) => {
                Some((d, lo, hi))
            }
            _ => None,
        }
    }
}

/// What holds for a key that is left out.
#[derive(Debug)]
pub(in crate::design) enum Fallback {
    /// It must be given.
    Required,
    /// As if this were written.
    Text(&'static str),
    /// Follows from other keys; how.
    Rule(&'static str),
}

/// The row of a key.
pub(in crate::design) fn key(path: &str) -> Option<&'static Key> {
    TABLES.iter().flat_map(|t| t.1).find(|k| k.path == path)
}

/// All rows.
pub(in crate::design) fn all() -> impl Iterator<Item = &'static Key> {
    TABLES.iter().flat_map(|t| t.1)
}

/// Tables in the order of the reference page: name, rows, what the table is about.
pub(in crate::design) const TABLES: [(&str, &[Key], &str); 9] = [
    ("", TOP, "At the top of the file, before any table."),
    ("site", SITE, "The place and its weather."),
    ("wish", WISH, "What is wanted of the jet, and when a day counts as still."),
    ("panel", PANEL, "The solar panel, from its label (1000 W/m², cell at 25 °C)."),
    ("mount", MOUNT, "What carries the panel."),
    (
        "battery",
        BATTERY,
        "The store between panel and pump. Leave the table out and the pump hangs on the panel alone.",
    ),
    ("electronics", ELECTRONICS, "What sits between panel, battery, pump and mount."),
    ("pump", PUMP, "The pump, its motor and its jet."),
    ("water", WATER, "The basin, what leaves it and who fills it."),
];

/// A row that always matters.
const fn row(path: &'static str, kind: Kind, default: Fallback, meaning: &'static str) -> Key {
    Key { path, kind, default, only: None, meaning }
}

impl Key {
    const fn only(self, key: &'static str, words: &'static [&'static str]) -> Key {
        Key { only: Some((key, words)), ..self }
    }
}
