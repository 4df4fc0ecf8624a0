//! What is kept of a simulated block so that one of its days can be traced later: the state at the start of each day,
//! and what days are picked by. The tracing itself: [`super::traces`].

use super::plan::Plan;
use crate::lanes::BLOCK;
use crate::plant::{Cause, DayBlock, State, UnitBlock};

/// The days of one block under one plan.
#[derive(Clone, Debug)]
pub struct BlockHistory {
    /// The block's first trial.
    pub(super) first_trial: u64,
    /// Its units.
    pub(super) units: UnitBlock,
    /// Their state before each day of the scene.
    pub(super) before: Vec<State>,
    /// The days that were wanted and had a sun.
    pub(super) features: Vec<DayFeatures>,
}

/// What a day of one trial is picked by.
#[derive(Clone, Copy, Debug)]
pub(super) struct DayFeatures {
    pub lane: usize,
    /// Place in the scene.
    pub index: usize,
    /// Share of the wanted minutes with a jet that counts.
    pub jet_share: f64,
    /// Global irradiation over that of a clear day.
    pub clearness: f64,
    /// Wanted minutes without a jet that counts, by cause.
    pub cause_min: [f64; Cause::ALL.len()],
}

impl BlockHistory {
    /// An empty history of these units.
    pub(super) fn new(first_trial: u64, units: &UnitBlock) -> Self {
        BlockHistory { first_trial, units: units.clone(), before: Vec::new(), features: Vec::new() }
    }

    /// Keeps the state before the next day of the scene.
    pub(super) fn record_start(&mut self, state: &State) {
        self.before.push(state.clone());
    }

    /// Keeps what day `index` of the scene came to.
    pub(super) fn record_day(&mut self, plan: &Plan, index: usize, out: &DayBlock) {
        let day = &plan.scene.days[index];
        let clear = plan.site.calendar.days[usize::from(day.day_of_year)].clear_wh_m2();
        if day.season_day < 0 || day.wanted_min() <= 0.0 || clear <= 0.0 {
            return;
        }
        self.features.extend((0..BLOCK).map(|lane| DayFeatures {
            lane,
            index,
            jet_share: out.jet_min.0[lane] / day.wanted_min(),
            clearness: out.ghi_wh_m2.0[lane] / clear,
            cause_min: std::array::from_fn(|cause| out.cause_min[cause].0[lane]),
        }));
    }

    /// The days of one lane.
    pub(super) fn lane(&self, lane: usize) -> Vec<DayFeatures> {
        self.features.iter().copied().filter(|s| s.lane == lane).collect()
    }
}
