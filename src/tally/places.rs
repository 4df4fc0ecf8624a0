//! What places see whose weather files look like those of a run. Computed in [`super::input_range`].

use crate::weather::input::InputKind;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// What places see whose weather files look like those of the run: 80 % of them lie within each range. The error of the
/// simulation is part of it; that of the light's level in the file, of the model and of the parts is not.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct InputRange {
    /// What the files are.
    pub kind: InputKind,
    /// How many.
    pub files: usize,
    /// Share of places within a range: 0.8.
    pub coverage: f64,
    /// Still days a month.
    pub still_days_per_month: [f64; 2],
    /// The same as it would be with more and better files: with so many real years of the place.
    pub still_days_per_month_from_real_years: BTreeMap<usize, [f64; 2]>,
    /// Mean dusk run, min; `None` without evenings.
    pub dusk_run_min: Option<[f64; 2]>,
    /// Share of years that meet the whole wish.
    pub years_met: [f64; 2],
    /// Whether the verdict on the wish is the same at the end of that range that speaks against it: nine in ten such places
    /// agree with it. A verdict that is not settled does not hold.
    pub verdict_holds: bool,
}
