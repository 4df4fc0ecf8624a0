//! What there is to say about a key: one row of the table.

use super::words::Word;
use crate::units::Dimension;

/// One key of a design file.
#[derive(Debug)]
pub(in crate::design) struct Key {
    /// Table and name, e.g. `panel.rated_power`.
    pub path: &'static str,
    /// What may be written.
    pub kind: Kind,
    /// What holds if it is left out.
    pub default: Fallback,
    /// When it has an effect.
    pub only: Only,
    /// What it means; for the reference page.
    pub meaning: &'static str,
}

/// When a key has an effect.
#[derive(Debug)]
pub(in crate::design) enum Only {
    /// Always.
    Always,
    /// If another key, which has an effect itself, holds one of these words.
    Words(&'static str, &'static [&'static str]),
    /// If there is a battery.
    WithBattery,
    /// If one of these keys is given, and has an effect itself.
    Beside(&'static [&'static str]),
}

/// What may be written for a key. Ranges are in base units, ends included.
#[derive(Debug)]
pub(in crate::design) enum Kind {
    /// A quantity with or without uncertainty; the whole uncertainty range must lie in the range.
    Quantity(Dimension, f64, f64),
    /// A quantity, or one of some words that stand for a value of it.
    Named(&'static [(&'static str, f64)], Dimension, f64, f64),
    /// A quantity that must be exact.
    Exact(Dimension, f64, f64),
    /// A whole number.
    Count(i64, i64),
    /// One of some words.
    Words(&'static [Word]),
    /// Any text.
    Text,
    /// true or false.
    Flag,
    /// A form of its own, read by a function of its own; how it is written.
    Form(&'static str),
}

/// Kind of quantity, lowest and highest allowed value in its base unit.
pub(in crate::design) type Allowed = (Dimension, f64, f64);

impl Kind {
    /// Kind and allowed range of the quantity; or what else is held, in words.
    pub fn quantity(&self) -> Result<Allowed, &'static str> {
        match *self {
            Kind::Quantity(d, lo, hi) | Kind::Exact(d, lo, hi) | Kind::Named(_, d, lo, hi) => Ok((d, lo, hi)),
            Kind::Count(..) => Err("a whole number"),
            Kind::Words(_) => Err("a word"),
            Kind::Text => Err("text"),
            Kind::Flag => Err("true or false"),
            Kind::Form(_) => Err("a form of its own"),
        }
    }
}

impl Key {
    /// Kind and allowed range of the quantity this key holds, if it holds one.
    pub fn quantity(&self) -> Option<Allowed> {
        self.kind.quantity().ok()
    }
}

/// What holds for a key that is left out.
#[derive(Debug)]
pub(in crate::design) enum Fallback {
    /// It must be given.
    Required,
    /// As if this were written.
    Text(&'static str),
    /// Follows from other keys, or is nothing at all; in words.
    Rule(&'static str),
    /// Follows from other keys by numbers of `rules` or `chemistry`; in words with these numbers.
    Numbers(fn() -> String),
}

/// A row that always matters.
pub(super) const fn row(path: &'static str, kind: Kind, default: Fallback, meaning: &'static str) -> Key {
    Key { path, kind, default, only: Only::Always, meaning }
}

impl Key {
    /// The same with an effect only if the other key holds one of the words.
    pub(super) const fn only(self, key: &'static str, words: &'static [&'static str]) -> Key {
        Key { only: Only::Words(key, words), ..self }
    }

    /// The same with an effect only if there is a battery.
    pub(super) const fn with_battery(self) -> Key {
        Key { only: Only::WithBattery, ..self }
    }

    /// The same with an effect only if one of these keys is given.
    pub(super) const fn beside(self, keys: &'static [&'static str]) -> Key {
        Key { only: Only::Beside(keys), ..self }
    }
}
