//! Values of a block in memory, in double and in single precision.

use super::lane::{BLOCK, BlockRow, Lane, Sealed};

/// One value for each trial of a block.
#[derive(Clone, Copy, Debug, PartialEq)]
#[repr(C, align(64))]
pub struct RowF64(pub [f64; BLOCK]);

/// The same in single precision, for values of every minute.
#[derive(Clone, Copy, Debug, PartialEq)]
#[repr(C, align(64))]
pub struct RowF32(pub [f32; BLOCK]);

impl RowF64 {
    /// The same value in each lane.
    pub const fn splat(x: f64) -> Self {
        RowF64([x; BLOCK])
    }

    /// Adds lanes from place `at` on, in double precision: for sums over more than an hour.
    #[inline(always)]
    pub(crate) fn add<V: Lane>(&mut self, at: usize, x: V) {
        let at = group::<V>(at);
        let mut more = [0.0; BLOCK];
        x.store(&mut more[..V::N]);
        for (k, sum) in self.0[at..at + V::N].iter_mut().enumerate() {
            *sum += more[k];
        }
    }
}

impl RowF32 {
    /// The same value in each lane, rounded.
    pub const fn splat(x: f64) -> Self {
        RowF32([x as f32; BLOCK])
    }
}

impl Default for RowF64 {
    fn default() -> Self {
        RowF64::splat(0.0)
    }
}

impl Default for RowF32 {
    fn default() -> Self {
        RowF32::splat(0.0)
    }
}

impl Sealed for RowF64 {}
impl Sealed for RowF32 {}

impl BlockRow for RowF64 {
    #[inline(always)]
    fn lanes<V: Lane>(&self, at: usize) -> V {
        let at = group::<V>(at);
        V::load(&self.0[at..at + V::N])
    }
    #[inline(always)]
    fn set_lanes<V: Lane>(&mut self, at: usize, lanes: V) {
        let at = group::<V>(at);
        lanes.store(&mut self.0[at..at + V::N]);
    }
    fn set(&mut self, lane: usize, value: f64) {
        self.0[lane] = value;
    }
}

impl BlockRow for RowF32 {
    #[inline(always)]
    fn lanes<V: Lane>(&self, at: usize) -> V {
        let at = group::<V>(at);
        V::load_single(&self.0[at..at + V::N])
    }
    #[inline(always)]
    fn set_lanes<V: Lane>(&mut self, at: usize, lanes: V) {
        let at = group::<V>(at);
        lanes.store_single(&mut self.0[at..at + V::N]);
    }
    fn set(&mut self, lane: usize, value: f64) {
        self.0[lane] = value as f32;
    }
}

/// `at` itself; the mask tells the compiler that the group lies within its row, which spares each load and store a check.
#[inline(always)]
fn group<V: Lane>(at: usize) -> usize {
    debug_assert!(at.is_multiple_of(V::N) && at < BLOCK);
    at & (BLOCK - V::N)
}
