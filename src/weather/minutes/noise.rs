//! Fixed tables of noise, one column for each lane of a block; a day takes a stretch of one.

use super::block_day::TEN_MINUTE_STEPS;
use crate::lanes::RowF32;
use crate::seed::{Purpose, stream};
use crate::weather::quantile_table::NORMAL;
use rand::RngExt;
use std::sync::LazyLock;

/// A table and the places at which a stretch of a day may begin.
#[derive(Debug)]
pub(crate) struct NoiseTable<T> {
    /// The rows.
    pub rows: Vec<T>,
    /// Starts: a stretch from each of `0..starts` lies within the table.
    pub starts: usize,
}

/// Correlation of the noise of one minute with that of the minute before
/// (0.896 + 0.084 e^(-0.11 Δt), Δt = 1 min; Skartveit & Olseth 1992 as transcribed in public code).
const LAG_1_MIN: f64 = 0.971_25;

/// `n` standard normal numbers of a lane for a table.
fn normals(lane: usize, table: u64, n: usize) -> impl Iterator<Item = f64> {
    let mut draws = vec![0u32; n];
    stream(0, Purpose::Resample, lane as u64, table).fill(&mut draws[..]);
    draws.into_iter().map(|draw| NORMAL.at(draw))
}

/// Standard normal noise by minute, a first-order autoregression.
pub(crate) static NOISE: LazyLock<NoiseTable<RowF32>> = LazyLock::new(|| {
    const STARTS: usize = 4096;
    let mut rows = vec![RowF32::default(); STARTS + 1440];
    let fresh = (1.0 - LAG_1_MIN * LAG_1_MIN).sqrt();
    for lane in 0..crate::lanes::BLOCK {
        let mut x = 0.0;
        for (k, (row, normal)) in rows.iter_mut().zip(normals(lane, 0, STARTS + 1440)).enumerate() {
            x = if k == 0 { normal } else { LAG_1_MIN * x + fresh * normal };
            row.0[lane] = x as f32;
        }
    }
    NoiseTable { rows, starts: STARTS }
});

/// Independent standard normal numbers, two for each ten minutes: the disturbance of a light-seeking mount.
pub(crate) static PULL: LazyLock<NoiseTable<[RowF32; 2]>> = LazyLock::new(|| {
    const STARTS: usize = 4096;
    let mut rows = vec![[RowF32::default(); 2]; STARTS + TEN_MINUTE_STEPS];
    for lane in 0..crate::lanes::BLOCK {
        let drawn = normals(lane, 1, 2 * (STARTS + TEN_MINUTE_STEPS));
        for (row, normal) in rows.iter_mut().flatten().zip(drawn) {
            row.0[lane] = normal as f32;
        }
    }
    NoiseTable { rows, starts: STARTS }
});
