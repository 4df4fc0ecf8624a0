//! Sixteen trials side by side, and the mathematics whose bits reach a result.
//!
//! The minute step of the plant is written once, over the trait [`Lane`]: a number of trials held
//! in one machine vector (or one plain `f64`). All implementations round alike (no fused
//! multiply-add, no library call whose bits depend on the processor), so the results are the same
//! bytes on every x86-64 processor; a test forces each path and compares.
//!
//! Every method is `inline(always)`: the outermost function carries the target features
//! ([`run`]) and must only be reached after the processor was asked ([`Isa::detect`]).

pub mod math;
mod plain;
mod wide;
#[cfg(target_arch = "x86_64")]
mod x86;

use std::ops::{Add, BitAnd, BitOr, Div, Mul, Neg, Not, Sub};

pub use wide::Pair;

/// Trials in a block: the unit of parallel work, whatever the width of the vectors.
pub const BLOCK: usize = 16;

/// One value for each trial of a block.
#[derive(Clone, Copy, Debug, PartialEq)]
#[repr(C, align(64))]
pub struct Row(pub [f64; BLOCK]);

impl Row {
    /// The same value in each lane.
    pub const fn splat(x: f64) -> Self {
        Row([x; BLOCK])
    }
}

impl Default for Row {
    fn default() -> Self {
        Row::splat(0.0)
    }
}

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
    /// Lanes in this type: 1, 2, 4, 8 or 16; divides [`BLOCK`].
    const N: usize;
    /// A yes or no for each lane.
    type Mask: Mask;

    /// The same value in each lane.
    fn splat(x: f64) -> Self;
    /// The first `N` values of `p`. Panics if there are fewer.
    fn load(p: &[f64]) -> Self;
    /// Writes the lanes to the first `N` places of `p`. Panics if there are fewer.
    fn store(self, p: &mut [f64]);
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
    /// The bits of each lane shifted left by 52: with `1.5·2^52 + 1023 + n` in a lane, 2^n.
    fn shift_to_exponent(self) -> Self;
    /// Mantissa in [1, 2) and exponent (as a number) of a positive normal value.
    fn split(self) -> (Self, Self);

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
        Self::select(m, Self::splat(1.0), Self::splat(0.0))
    }
    /// The lanes of a block from place `at` on, a multiple of `N` below [`BLOCK`].
    #[inline(always)]
    fn of(row: &Row, at: usize) -> Self {
        let at = group::<Self>(at);
        Self::load(&row.0[at..at + Self::N])
    }
    /// Writes the lanes into a block from place `at` on, a multiple of `N` below [`BLOCK`].
    #[inline(always)]
    fn put(self, row: &mut Row, at: usize) {
        let at = group::<Self>(at);
        self.store(&mut row.0[at..at + Self::N])
    }
}

/// `at` itself; the mask tells the compiler that the group lies within its row, which spares each load and store a check.
#[inline(always)]
fn group<V: Lane>(at: usize) -> usize {
    debug_assert!(at.is_multiple_of(V::N) && at < BLOCK);
    at & (BLOCK - V::N)
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
    /// Two lanes a vector: every x86-64.
    Sse2,
    /// Four lanes a vector.
    Avx2,
    /// Eight lanes a vector.
    Avx512,
}

impl Isa {
    /// All of them, narrowest first.
    pub const ALL: [Isa; 4] = [Isa::Plain, Isa::Sse2, Isa::Avx2, Isa::Avx512];

    /// The widest this processor has.
    pub fn detect() -> Isa {
        Isa::ALL.into_iter().rev().find(|isa| isa.available()).unwrap_or(Isa::Plain)
    }

    /// Whether this processor has it.
    pub fn available(self) -> bool {
        #[cfg(target_arch = "x86_64")]
        return match self {
            Isa::Plain | Isa::Sse2 => true,
            Isa::Avx2 => std::arch::is_x86_feature_detected!("avx2"),
            Isa::Avx512 => {
                std::arch::is_x86_feature_detected!("avx512f")
                    && std::arch::is_x86_feature_detected!("avx512dq")
            }
        };
        #[cfg(not(target_arch = "x86_64"))]
        return self == Isa::Plain;
    }
}

/// Runs a kernel on an instruction set; falls back to [`Isa::Plain`] if the processor lacks it.
pub fn run<K: Kernel>(isa: Isa, kernel: K) -> K::Out {
    #[cfg(target_arch = "x86_64")]
    if isa.available() {
        return x86::run(isa, kernel);
    }
    let _ = isa;
    kernel.run::<f64>()
}

#[cfg(test)]
mod tests;
