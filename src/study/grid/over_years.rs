//! What cells cost over some years.

use super::cell_runs::CellRuns;
use crate::study::engine::Engine;
use crate::study::years::kept::{self, MOST_BUILDS, ToKeep};
use serde::Serialize;

/// Cells over some years.
pub type OverYears = kept::OverYears<CellBuild>;
/// A cell that is kept over some years.
pub type KeptCell = kept::Kept<CellBuild>;

/// Which cell it is.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct CellBuild {
    /// Place along x, from 0.
    pub x: usize,
    /// Place along y, from 0.
    pub y: usize,
}

/// A cell that may be kept: its place among the builds of the runs, and its price.
pub(super) struct Member {
    pub cell: CellBuild,
    pub build: usize,
    pub price: f64,
}

/// Keeps the cheapest of these cells over some years, against the one named, or else the cheapest. `None` if there are none, or it
/// was stopped.
pub(super) fn over_years(
    engine: &Engine<'_>,
    runs: &CellRuns,
    mut members: Vec<Member>,
    (named, years): (Option<CellBuild>, u16),
) -> Option<OverYears> {
    // Stable: of equal prices the first cell comes first.
    members.sort_by(|a, b| a.price.total_cmp(&b.price));
    members.truncate(MOST_BUILDS);
    let of_named = named.and_then(|named| members.iter().position(|m| m.cell == named)).unwrap_or(0);
    let list = members.into_iter().map(|m| ToKeep {
        build: m.cell,
        plan: &runs.paired_run.builds[m.build].plan,
        price: m.price,
    });
    kept::over_years(engine, list.collect(), of_named, years)
}
