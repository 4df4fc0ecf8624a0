//! Sixteen trials side by side, and the mathematics whose bits reach a result.
//!
//! The minute step of the plant is written once, over the trait [`Lane`]: a number of trials held
//! in one machine vector (or one plain number). Minutes are stepped in single precision, twice as many lanes a
//! vector: no panel, pump or cloud is known to seven digits, and what is added up over many minutes is added up so that it keeps
//! its digits ([`Compensated`], [`RowF64::add`]). All implementations round alike (no fused
//! multiply-add, no library call whose bits depend on the processor), so the results are the same
//! bytes on every x86-64 processor; a test forces each path and compares. The same code on a plain `f64` ([`Isa::Double`]) is what
//! its arithmetic is held against; links of the plant alone are checked on it too.
//!
//! Every method is `inline(always)`: the outermost function carries the target features
//! ([`run`]) and must only be reached after the processor was asked ([`Isa::detect`]).

mod compensated;
pub mod math;
mod plain;
mod row;
mod wide;
#[cfg(target_arch = "x86_64")]
mod x86;

use std::ops::{Add, BitAnd, BitOr, Div, Mul, Neg, Not, Sub};

pub use compensated::Compensated;
pub use row::{BlockRow, RowF32, RowF64};
pub use wide::Pair;

/// Trials in a block: the unit of parallel work, whatever the width of the vectors.
pub const BLOCK: usize = 16;

/// A yes or no for each lane.
pub trait Mask: Copy + BitAnd<Output = Self> + BitOr<Output = Self> + Not<Output = Self> {
    /// The same answer in each lane.
    fn splat(b: bool) -> Self;
    /// True if any lane says yes. Use it to skip work whose result would be thrown away, never
    /// to change a lane's value: lanes must not see one another.
    fn any(self) -> bool;
}

/// Some trials side by side.
///
/// `min` and `max` return the second operand if either is NaN, like the machine instructions.
pub trait Lane:
    Copy + Add<Output = Self> + Sub<Output = Self> + Mul<Output = Self> + Div<Output = Self> + Neg<Output = Self>
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

    /// `a` where the mask says yes, 0 elsewhere.
    #[inline(always)]
    fn only(m: Self::Mask, a: Self) -> Self {
        Self::select(m, a, Self::splat(0.0))
    }
    /// The values of some tables at place `k`, a whole number of 0..=7.
    #[inline(always)]
    fn look_up<const T: usize>(tables: [&[f64; 8]; T], k: Self) -> [Self; T] {
        // No closures over lanes: one that is not inlined would leave the vectors' instruction set.
        let mut found = [k; T];
        for (found, table) in found.iter_mut().zip(tables) {
            *found = Self::splat(table[0]);
        }
        for place in 1..8 {
            let on = k.ge(Self::splat(place as f64));
            for (found, table) in found.iter_mut().zip(tables) {
                *found = Self::select(on, Self::splat(table[place]), *found);
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

/// Work that can be done on any kind of lane.
pub trait Kernel {
    /// What the work gives.
    type Out;
    /// Does it; implementations are `#[inline(always)]`.
    fn run<V: Lane>(self) -> Self::Out;
}

/// An instruction set to run kernels on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Isa {
    /// One trial at a time, any processor.
    Plain,
    /// Four lanes a vector: every x86-64.
    Sse2,
    /// Eight lanes a vector.
    Avx2,
    /// Sixteen lanes a vector.
    Avx512,
    /// One trial at a time, reckoned in double precision: tells what single precision costs. Other bits than the others'. What is kept by
    /// the minute ([`RowF32`]) is rounded all the same.
    Double,
}

impl Isa {
    /// Those that give the same bits, narrowest first.
    pub const ALL: [Isa; 4] = [Isa::Plain, Isa::Sse2, Isa::Avx2, Isa::Avx512];

    /// The widest this processor has.
    pub fn detect() -> Isa {
        Isa::ALL.into_iter().rev().find(|isa| isa.available()).unwrap_or(Isa::Plain)
    }

    /// Whether this processor has it.
    pub fn available(self) -> bool {
        #[cfg(target_arch = "x86_64")]
        return match self {
            Isa::Plain | Isa::Sse2 | Isa::Double => true,
            Isa::Avx2 => std::arch::is_x86_feature_detected!("avx2"),
            Isa::Avx512 => {
                std::arch::is_x86_feature_detected!("avx512f")
                    && std::arch::is_x86_feature_detected!("avx512dq")
            }
        };
        #[cfg(not(target_arch = "x86_64"))]
        return matches!(self, Isa::Plain | Isa::Double);
    }
}

/// Runs a kernel on an instruction set; falls back to [`Isa::Plain`] if the processor lacks it.
pub fn run<K: Kernel>(isa: Isa, kernel: K) -> K::Out {
    #[cfg(target_arch = "x86_64")]
    if isa.available() {
        return x86::run(isa, kernel);
    }
    match isa {
        Isa::Double => kernel.run::<f64>(),
        _ => kernel.run::<f32>(),
    }
}

#[cfg(test)]
mod tests;
