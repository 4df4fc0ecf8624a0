//! Sums that keep their digits.
//!
//! A minute adds a thousandth or less to a battery or a day's account: added in single precision as it is, the
//! hundredth part of each addition could be lost, the same way every time.

use super::{Lane, Row};

/// A value and what rounding has kept out of it so far (Kahan 1965, Communications of the ACM 8:40).
#[derive(Clone, Copy, Debug)]
pub struct Kept<V> {
    /// The value, rounded.
    pub value: V,
    /// What is still to be added to it.
    pub rest: V,
}

impl<V: Lane> Kept<V> {
    /// 0.
    #[inline(always)]
    pub fn nothing() -> Self {
        Kept { value: V::splat(0.0), rest: V::splat(0.0) }
    }

    /// The difference to another.
    #[inline(always)]
    pub fn minus(self, other: Self) -> V {
        (self.value - other.value) + (self.rest - other.rest)
    }

    /// Writes value and rest, added up in double precision, from place `at` on.
    #[inline(always)]
    pub fn put(self, row: &mut Row, at: usize) {
        self.value.put(row, at);
        row.add(at, self.rest);
    }

    /// Adds to the value.
    #[inline(always)]
    pub fn plus(self, x: V) -> Self {
        let more = x + self.rest;
        let value = self.value + more;
        Kept { value, rest: more - (value - self.value) }
    }
}
