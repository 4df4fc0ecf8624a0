//! Distributions as tables of quantiles: a draw is a look-up.

use crate::units::normal_quantile;
use std::sync::LazyLock;

/// Entries of a table: a draw's ten highest bits choose one.
pub(crate) const ENTRIES: usize = 1024;

/// A distribution as its quantiles at the middles of [`ENTRIES`] equal shares of probability.
#[derive(Debug)]
pub struct QuantileTable(Vec<f64>);

impl QuantileTable {
    /// The table of a quantile function, which is asked strictly between 0 and 1.
    pub(crate) fn new(quantile: impl Fn(f64) -> f64) -> QuantileTable {
        QuantileTable((0..ENTRIES).map(|i| quantile((i as f64 + 0.5) / ENTRIES as f64)).collect())
    }
    /// The quantile of a 32-bit draw.
    #[inline(always)]
    pub fn at(&self, draw: u32) -> f64 {
        self.0[(draw >> 22) as usize]
    }
    /// All entries, from the lowest quantile up.
    pub fn entries(&self) -> &[f64] {
        &self.0
    }
}

/// Standard normal distribution.
pub static NORMAL: LazyLock<QuantileTable> = LazyLock::new(|| QuantileTable::new(normal_quantile));
