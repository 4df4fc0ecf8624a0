//! The hours of a file on their way from rows to a checked year.

use crate::weather::file::formats::rows::{QUANTITIES, Quantity};
use crate::weather::file::year_sun::SunOfHour;

/// One hour: the values that are known and plausible.
pub(super) struct DraftHour {
    /// Line of the file, 1-based.
    pub line: usize,
    /// The sun of the hour.
    pub sun: SunOfHour,
    /// By [`Quantity`], base units.
    pub values: [Option<f64>; QUANTITIES],
}

impl DraftHour {
    pub(crate) fn get(&self, quantity: Quantity) -> Option<f64> {
        self.values[quantity as usize]
    }
    pub(crate) fn set(&mut self, quantity: Quantity, value: Option<f64>) {
        self.values[quantity as usize] = value;
    }
}

/// The hours of the year; `None` where there is no usable row.
pub(super) type DraftYear = Vec<Option<DraftHour>>;
