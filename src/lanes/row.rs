//! Values of a block in memory.

use super::{BLOCK, Lane};

/// One value for each trial of a block.
#[derive(Clone, Copy, Debug, PartialEq)]
#[repr(C, align(64))]
pub struct Row(pub [f64; BLOCK]);

/// The same in single precision: what is kept by the minute.
#[derive(Clone, Copy, Debug, PartialEq)]
#[repr(C, align(64))]
pub struct MinuteRow(pub [f32; BLOCK]);

impl Row {
    /// The same value in each lane.
    pub const fn splat(x: f64) -> Self {
        Row([x; BLOCK])
    }

    /// Adds lanes from place `at` on, in double precision: sums over more than an hour keep their digits so.
    #[inline(always)]
    pub fn add<V: Lane>(&mut self, at: usize, x: V) {
        let at = group::<V>(at);
        let mut more = [0.0; BLOCK];
        x.store(&mut more[..V::N]);
        for (sum, more) in self.0[at..at + V::N].iter_mut().zip(&more[..V::N]) {
            *sum += more;
        }
    }
}

impl MinuteRow {
    /// The same value in each lane, rounded.
    pub const fn splat(x: f64) -> Self {
        MinuteRow([x as f32; BLOCK])
    }
}

impl Default for Row {
    fn default() -> Self {
        Row::splat(0.0)
    }
}

impl Default for MinuteRow {
    fn default() -> Self {
        MinuteRow::splat(0.0)
    }
}

/// Values of a block as lanes read and write them.
pub trait Stored {
    /// See [`Lane::of`].
    fn lanes<V: Lane>(&self, at: usize) -> V;
    /// See [`Lane::put`].
    fn set_lanes<V: Lane>(&mut self, at: usize, lanes: V);
    /// Sets one trial's value, rounded to what is kept.
    fn set(&mut self, lane: usize, value: f64);
}

impl Stored for Row {
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

impl Stored for MinuteRow {
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
