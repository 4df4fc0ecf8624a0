//! Simulates the cells of a grid: which go on and until when, and whether they meet the wish.

use super::control_variate::ControlVariate;
use crate::lanes::BLOCK;
use crate::study::default_trials::GRID_CELL;
use crate::study::engine::Engine;
use crate::study::paired_run::PairedRun;
use crate::study::plan::Plan;
use crate::study::run::{self, LEAST_TRIALS, SEQUENTIAL_MARGIN};
use crate::tally::{Meets, intervals};

/// Maximum chance, over all cells and looks, that any cell is called wrongly: said to meet the wish though it does not, or
/// the other way round.
pub const ERROR_RATE: f64 = 0.05;

/// How long cells are simulated.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum CellEffort {
    /// Until the map is precise enough ([`CLEAR_DAYS`], [`CLEAR_SHARE`]); at most [`GRID_CELL`] trials.
    Clear,
    /// So many trials in every cell.
    Trials(u64),
    /// Until the half-width of every cell's 95 % interval of still days a month is at most so many days.
    HalfWidth(f64),
}

/// A cell is precise enough when the half-width of the 95 % interval of its still days a month is at most this many days
/// plus [`CLEAR_SHARE`] of the mean.
pub const CLEAR_DAYS: f64 = 0.1;
/// See [`CLEAR_DAYS`].
pub const CLEAR_SHARE: f64 = 0.05;

impl CellEffort {
    fn most(self) -> u64 {
        match self {
            CellEffort::Clear => GRID_CELL,
            CellEffort::Trials(n) => n,
            CellEffort::HalfWidth(_) => run::MOST_TRIALS,
        }
    }

    /// In words.
    pub(crate) fn words(self) -> String {
        match self {
            CellEffort::Clear => format!(
                "Each build was simulated until its still days a month are known to ± {CLEAR_DAYS} day and {:.0} %, and those that may be \
                 the cheapest until it is clear whether they meet the wish; at most {GRID_CELL} trials.",
                CLEAR_SHARE * 100.0
            ),
            CellEffort::Trials(n) => format!("{n} trials of each build."),
            CellEffort::HalfWidth(days) => {
                format!("Each build was simulated until its still days a month are known to ± {days} day.")
            }
        }
    }
}

/// Trials between two looks at the cells. After so many, a cell whose years all met the wish can be called sure to meet
/// the usual wish, among 100 cells (0.9^96 < 0.05 · 0.6 / 100).
const LOOK_TRIALS: u64 = 6 * BLOCK as u64;

/// Approximate number of block tallies held in memory before they are merged.
const TALLIES_AT_ONCE: usize = 800;

/// The cells of a grid while they are simulated. The unchanged design comes first and never stops early.
pub(super) struct CellRuns {
    pub paired_run: PairedRun,
    /// Still days of the season.
    pub still_days: ControlVariate,
    /// Share of evenings that meet the wish for dusk.
    pub wish_met: ControlVariate,
    /// Trials that meet the whole wish.
    pub years_met: Vec<u64>,
    /// Whether the wish is met.
    pub meets: Vec<Meets>,
    prices: Vec<Option<f64>>,
    effort: CellEffort,
    looks: u32,
}

impl CellRuns {
    /// `prices`: of all plans except the first.
    pub(crate) fn new(plans: Vec<Plan>, prices: Vec<Option<f64>>, effort: CellEffort) -> CellRuns {
        let n = plans.len();
        CellRuns {
            paired_run: PairedRun::new(plans),
            still_days: ControlVariate::new(n),
            wish_met: ControlVariate::new(n),
            years_met: vec![0; n],
            meets: vec![Meets::Unsure; n],
            prices,
            effort,
            looks: 0,
        }
    }

    pub fn run(&mut self, engine: &Engine<'_>) {
        let most = self.effort.most();
        // Waves of many cells are split to limit memory; results do not depend on it.
        let step =
            (TALLIES_AT_ONCE / self.meets.len()).max(engine.pool.current_num_threads()) as u64 * BLOCK as u64;
        while self.paired_run.trials() < most && !engine.stopped() {
            let wave_ends = ((self.paired_run.trials() / LOOK_TRIALS + 1) * LOOK_TRIALS).min(most);
            let until = (self.paired_run.trials() + step).min(wave_ends);
            let (still, met, years_met) = (&mut self.still_days, &mut self.wish_met, &mut self.years_met);
            self.paired_run.wave_with(engine, until, &mut |alive, outcomes| {
                let trials = outcomes.first().map_or(0, |o| o.len());
                for t in 0..trials {
                    let seen = || alive.iter().zip(outcomes).map(move |(&i, o)| (i, &o[t]));
                    still.take(&seen().map(|(i, o)| (i, Some(f64::from(o.still_days)))).collect::<Vec<_>>());
                    met.take(&seen().map(|(i, o)| (i, o.wish_met)).collect::<Vec<_>>());
                    for (i, o) in seen() {
                        years_met[i] += u64::from(o.year.met());
                    }
                }
            });
            if self.paired_run.trials() < wave_ends {
                continue;
            }
            let last = self.paired_run.trials() >= most;
            if last || !matches!(self.effort, CellEffort::Trials(_)) {
                self.look();
            }
            if !self.anybody_goes_on() {
                break;
            }
        }
    }

    /// Decides which cells meet the wish, as far as that is sure.
    ///
    /// At look k a cell spends `ERROR_RATE · 6/(π k)²` over the number of cells (union bound): summed over all
    /// looks and cells it stays below [`ERROR_RATE`]. The interval is Clopper and Pearson's, never too narrow.
    fn look(&mut self) {
        self.looks += 1;
        let k = f64::from(self.looks) * std::f64::consts::PI;
        let cells = (self.meets.len() - 1).max(1) as f64;
        let confidence = 1.0 - 2.0 * ERROR_RATE * 6.0 / (k * k) / cells;
        for (i, e) in self.paired_run.builds.iter().enumerate().skip(1) {
            // A decision stays; a cell that has stopped has no new trials.
            if self.meets[i] != Meets::Unsure || !e.alive {
                continue;
            }
            let wished = e.plan.file.design.wish.confidence;
            let n = e.tally.trials();
            if n == 0 {
                continue;
            }
            let share = intervals::clopper_pearson(self.years_met[i], n, confidence);
            self.meets[i] = Meets::of(share, wished);
        }
    }

    /// Stops the cells that are known well enough; tells whether any goes on.
    fn anybody_goes_on(&mut self) -> bool {
        let goal = match self.effort {
            CellEffort::Trials(_) => return true,
            CellEffort::Clear => None,
            CellEffort::HalfWidth(days) => Some(days),
        };
        let limit = self.cheapest_sure();
        let mut any = false;
        for i in 0..self.paired_run.builds.len() {
            let build = &self.paired_run.builds[i];
            if !build.alive {
                continue;
            }
            let Some(e) = build.tally.still_days_per_month() else {
                any = true;
                continue;
            };
            let n = build.tally.trials();
            let half = e.half_width().map_or(f64::INFINITY, |h| h * SEQUENTIAL_MARGIN);
            let on = match goal {
                Some(days) => half > days || n < LEAST_TRIALS,
                // Cells are compared with the unchanged design: it needs all trials.
                None if i == 0 => true,
                None => {
                    let candidate = self.prices[i - 1].is_none_or(|p| limit.is_none_or(|l| p < l));
                    half > CLEAR_DAYS + CLEAR_SHARE * e.mean || (self.meets[i] == Meets::Unsure && candidate)
                }
            };
            self.paired_run.builds[i].alive = on;
            any |= on;
        }
        any
    }

    fn cheapest_sure(&self) -> Option<f64> {
        let sure = (1..self.meets.len()).filter(|&i| self.meets[i] == Meets::Yes);
        sure.filter_map(|i| self.prices[i - 1]).min_by(f64::total_cmp)
    }
}
