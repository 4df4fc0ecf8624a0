//! Sums that keep their digits.
//!
//! A minute adds a thousandth or less to a battery's charge or to a day's account. Plain addition in single precision could lose a
//! hundredth of each such step, always in the same direction.

use super::lane::Lane;
use super::row::RowF64;

/// A value with the rounding error of its sum so far: compensated summation (Kahan 1965, Communications of the ACM 8:40).
#[derive(Clone, Copy, Debug)]
pub struct Compensated<V> {
    /// The value, rounded.
    pub value: V,
    /// The error, still to be added.
    pub carry: V,
}

impl<V: Lane> Compensated<V> {
    /// 0.
    #[inline(always)]
    pub(crate) fn zero() -> Self {
        Compensated { value: V::splat(0.0), carry: V::splat(0.0) }
    }

    /// The difference to another.
    #[inline(always)]
    pub(crate) fn minus(self, other: Self) -> V {
        (self.value - other.value) + (self.carry - other.carry)
    }

    /// Writes value and carry, added up in double precision, from place `at` on.
    #[inline(always)]
    pub(crate) fn put(self, row: &mut RowF64, at: usize) {
        self.value.put(row, at);
        row.add(at, self.carry);
    }

    /// Adds to the value.
    #[inline(always)]
    pub(crate) fn plus(self, x: V) -> Self {
        let more = x + self.carry;
        let value = self.value + more;
        Compensated { value, carry: more - (value - self.value) }
    }
}
