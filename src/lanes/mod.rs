//! Sixteen trials side by side, and the mathematics whose bits reach a result.
//!
//! The minute step of the plant is written once, over the trait [`Lane`]: a number of trials held in one machine vector (or one plain
//! number). Minutes are stepped in single precision, twice as many lanes a vector: no panel, pump or cloud is known to seven digits,
//! and sums over many minutes are compensated or kept in double precision ([`Compensated`], [`RowF64::add`]).
//!
//! All implementations round alike (no fused multiply-add, no library call whose bits depend on the processor), so the results
//! are the same bytes on every processor; a test runs each instruction set and compares. The same code on a plain `f64`
//! ([`Isa::DOUBLE`]) is the reference for the arithmetic; parts of the plant alone are checked on it too.
//!
//! ```text
//! lane         what a lane, a mask, a row and a kernel is
//! row          values of a block in memory          compensated   sums that keep their digits
//! plain, pair, x86, neon   one number; two vectors in step; the vectors of x86-64 and of 64-bit ARM
//! isa, run     which instruction sets this processor has, and the way to run a kernel on one
//! math         exponential, logarithm, angles
//! ```
//!
//! Every method is `inline(always)`: the outermost function carries the instruction set ([`run()`]), and only an [`Isa`] that the
//! processor has gets there. A closure over lanes that is not inlined leaves the instruction set: write none in a kernel.

mod compensated;
mod isa;
mod lane;
pub mod math;
#[cfg(target_arch = "aarch64")]
mod neon;
mod pair;
mod plain;
mod row;
mod run;
#[cfg(target_arch = "x86_64")]
mod x86;

pub use compensated::Compensated;
pub use isa::Isa;
pub use lane::{Aside, BLOCK, BlockRow, Kernel, Lane, Mask};
pub use pair::Pair;
pub use row::{RowF32, RowF64};
pub use run::run;

#[cfg(test)]
mod tests;
