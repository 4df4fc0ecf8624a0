//! What a lane is, and what can be done with it.

use std::ops::{Add, BitAnd, BitOr, Div, Mul, Neg, Not, Sub};

/// Trials in a block: the unit of parallel work, whatever the width of the vectors.
pub const BLOCK: usize = 16;

/// A yes or no for each lane.
pub trait Mask: Sealed + Copy + BitAnd<Output = Self> + BitOr<Output = Self> + Not<Output = Self> {
    /// The same answer in each lane.
    fn splat(b: bool) -> Self;
    /// True if any lane says yes. Use it to skip work whose result would be thrown away, never
    /// to change a lane's value: lanes must not influence one another.
    fn any(self) -> bool;
}

/// Some trials side by side; implemented for `f32`, `f64` and the vectors of this module.
///
/// `min` and `max` return the second operand if either is NaN, like the machine instructions.
pub trait Lane:
    Sealed
    + Copy
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Neg<Output = Self>
{
    /// Lanes in this type: 1, 4, 8 or 16; divides [`BLOCK`].
    const N: usize;
    /// Whether a lane is an `f32` rather than an `f64`.
    const SINGLE: bool;
    /// Added to a small number it rounds it to a whole one that stands in the low bits: 1.5·2^52 or 1.5·2^23.
    const MAGIC: f64 = if Self::SINGLE { 12_582_912.0 } else { 6_755_399_441_055_744.0 };
    /// Bias of a lane's exponent.
    const BIAS: f64 = if Self::SINGLE { 127.0 } else { 1023.0 };
    /// Smallest positive normal number of a lane.
    const SMALLEST: f64 = if Self::SINGLE { f32::MIN_POSITIVE as f64 } else { f64::MIN_POSITIVE };
    /// Distance of 1 to the next number of a lane.
    const EPSILON: f64 = if Self::SINGLE { f32::EPSILON as f64 } else { f64::EPSILON };
    /// A yes or no for each lane.
    type Mask: Mask;

    /// The same value in each lane, rounded to what it holds.
    fn splat(x: f64) -> Self;
    /// The first `N` values of `p`, rounded to what a lane holds. Panics if there are fewer.
    fn load(p: &[f64]) -> Self;
    /// Writes the lanes to the first `N` places of `p`. Panics if there are fewer.
    fn store(self, p: &mut [f64]);
    /// [`Lane::load`] of single precision.
    fn load_single(p: &[f32]) -> Self;
    /// [`Lane::store`] to single precision.
    fn store_single(self, p: &mut [f32]);
    /// Square root, correctly rounded.
    fn sqrt(self) -> Self;
    /// The smaller of two.
    fn min(self, o: Self) -> Self;
    /// The larger of two.
    fn max(self, o: Self) -> Self;
    /// Absolute value.
    fn abs(self) -> Self;
    /// `self < o`
    fn lt(self, o: Self) -> Self::Mask;
    /// `self >= o`
    fn ge(self, o: Self) -> Self::Mask;
    /// `a` where the mask says yes, `b` elsewhere.
    fn select(m: Self::Mask, a: Self, b: Self) -> Self;
    /// The bits of each lane shifted left until the lowest is the exponent's: with [`MAGIC`](Lane::MAGIC) +
    /// [`BIAS`](Lane::BIAS) + n in a lane, 2^n.
    fn shift_to_exponent(self) -> Self;
    /// Mantissa in [1, 2) and exponent (as a number) of a positive normal value.
    fn split(self) -> (Self, Self);

    /// Does some work in a function of its own that has the instruction set of this lane: for what is large and rarely asked for, so that
    /// it does not swell the code around it.
    fn aside<W: Aside>(work: W) -> W::Out;

    /// `a` where the mask says yes, 0 elsewhere.
    #[inline(always)]
    fn only(m: Self::Mask, a: Self) -> Self {
        Self::select(m, a, Self::splat(0.0))
    }
    /// The values of some tables at place `k`, which must be a whole number of 0..=7: what another one gives depends on the
    /// instruction set.
    #[inline(always)]
    #[allow(clippy::needless_range_loop, reason = "the tables are walked side by side")]
    fn look_up<const T: usize>(tables: [&[f64; 8]; T], k: Self) -> [Self; T] {
        debug_assert_in_table(k);
        // No closures over lanes and no pairs of iterators: what is not inlined would leave the vectors' instruction set.
        let mut found = [k; T];
        for (t, found) in found.iter_mut().enumerate() {
            *found = Self::splat(tables[t][0]);
        }
        for place in 1..8 {
            let on = k.ge(Self::splat(place as f64));
            for (t, found) in found.iter_mut().enumerate() {
                *found = Self::select(on, Self::splat(tables[t][place]), *found);
            }
        }
        found
    }

    /// `self > o`
    #[inline(always)]
    fn gt(self, o: Self) -> Self::Mask {
        o.lt(self)
    }
    /// `self <= o`
    #[inline(always)]
    fn le(self, o: Self) -> Self::Mask {
        o.ge(self)
    }
    /// Between `lo` and `hi`.
    #[inline(always)]
    fn clamp(self, lo: Self, hi: Self) -> Self {
        self.max(lo).min(hi)
    }
    /// 1 where the mask says yes, 0 elsewhere.
    #[inline(always)]
    fn one_if(m: Self::Mask) -> Self {
        Self::only(m, Self::splat(1.0))
    }
    /// The lanes of a block from place `at` on, a multiple of `N` below [`BLOCK`].
    #[inline(always)]
    fn of(row: &impl BlockRow, at: usize) -> Self {
        row.lanes(at)
    }
    /// Writes the lanes into a block from place `at` on, a multiple of `N` below [`BLOCK`].
    #[inline(always)]
    fn put(self, row: &mut impl BlockRow, at: usize) {
        row.set_lanes(at, self);
    }
}

/// Checks the place of a [`Lane::look_up`].
#[inline(always)]
pub(super) fn debug_assert_in_table<V: Lane>(k: V) {
    debug_assert!(!(!(k.ge(V::splat(0.0)) & k.le(V::splat(7.0)))).any(), "a place outside of the table");
}

/// Values of a block in memory, as lanes read and write them.
pub trait BlockRow: Sealed {
    /// See [`Lane::of`].
    fn lanes<V: Lane>(&self, at: usize) -> V;
    /// See [`Lane::put`].
    fn set_lanes<V: Lane>(&mut self, at: usize, lanes: V);
    /// Sets one trial's value, rounded to what is kept.
    fn set(&mut self, lane: usize, value: f64);
}

/// Work that can be done on any kind of lane.
pub trait Kernel {
    /// What the work gives.
    type Out;
    /// Whether it is compiled for [`Isa::DOUBLE`](super::Isa::DOUBLE), the reference of tests; else it runs in single precision there.
    const IN_DOUBLE: bool = true;
    /// Does it; implementations are `#[inline(always)]`.
    fn run<V: Lane>(self) -> Self::Out;
}

/// Work on the lanes it holds that stays out of line: see [`Lane::aside`].
pub trait Aside {
    /// What the work gives.
    type Out;
    /// Does it; implementations are `#[inline(always)]`.
    fn work(self) -> Self::Out;
}

/// Prevents implementations of the traits elsewhere: the tests here hold that all of them round alike.
pub trait Sealed {}
