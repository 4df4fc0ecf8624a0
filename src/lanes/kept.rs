//! Sums that keep their digits.
//!
//! A minute adds a thousandth or less to a battery or a day's account: added in single precision as it is, the
//! hundredth part of each addition could be lost, the same way every time.

use super::Lane;

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

    /// By how much it is more than another.
    #[inline(always)]
    pub fn less(self, other: Self) -> V {
        (self.value - other.value) + (self.rest - other.rest)
    }

    /// Adds to the value.
    #[inline(always)]
    pub fn add(self, x: V) -> Self {
        let more = x + self.rest;
        let value = self.value + more;
        Kept { value, rest: more - (value - self.value) }
    }
}
