//! Distributions of a summary by their tenths: minutes of evenings, lives of batteries, shares.

use super::estimate::Estimate;
use serde::{Deserialize, Serialize};

/// A number of minutes of an evening, over days and trials.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Minutes {
    /// Mean over evenings and trials, min.
    pub mean: f64,
    /// Standard error of the mean (trials are the replicates); none below two trials.
    pub se: Option<f64>,
    /// 95 % interval of the mean, which holds where the jet hardly ever reaches sunset.
    pub mean_95: [f64; 2],
    /// On one evening of ten so many or fewer, min.
    pub p10: f64,
    /// On half of the evenings so many or fewer, min.
    pub p50: f64,
    /// On nine evenings of ten so many or fewer, min.
    pub p90: f64,
    /// 95 % interval of P10 (years are the units, for evenings of a year hang together).
    pub p10_95: [f64; 2],
    /// 95 % interval of P50.
    pub p50_95: [f64; 2],
    /// 95 % interval of P90.
    pub p90_95: [f64; 2],
    /// Share of evenings that meet the wish.
    pub meets_wish: f64,
    /// Its standard error; none below two trials.
    pub meets_wish_se: Option<f64>,
    /// Its 95 % interval, which holds where hardly any evening meets the wish, or hardly any misses it.
    pub meets_wish_95: [f64; 2],
    /// Share of evenings on which the jet still ran when the hours ended in which the pump is let run: there the run is at least as long as counted.
    pub cut_by_hours: f64,
    /// Its standard error; none below two trials.
    pub cut_by_hours_se: Option<f64>,
    /// Its 95 % interval.
    pub cut_by_hours_95: [f64; 2],
    /// Width of a step of `histogram`, min.
    pub step_min: f64,
    /// Evenings by steps of `step_min`; the last takes the rest.
    pub histogram: Vec<u64>,
}

impl Minutes {
    /// The mean with its error.
    pub fn estimate(&self) -> Estimate {
        Estimate { mean: self.mean, se: self.se, interval_95: Some(self.mean_95) }
    }

    /// The share of evenings whose run the hours cut off, with its error.
    pub fn cut(&self) -> Estimate {
        Estimate {
            mean: self.cut_by_hours,
            se: self.cut_by_hours_se,
            interval_95: Some(self.cut_by_hours_95),
        }
    }

    /// The share of evenings that meet the wish, with its error.
    pub fn met(&self) -> Estimate {
        Estimate { mean: self.meets_wish, se: self.meets_wish_se, interval_95: Some(self.meets_wish_95) }
    }
}

/// Life of a battery, years.
#[derive(Clone, Copy, Debug, Serialize, Deserialize)]
pub struct BatteryLife {
    /// In one trial of ten no longer than this.
    pub p10: f64,
    /// In half of the trials no longer than this.
    pub p50: f64,
    /// In nine trials of ten no longer than this.
    pub p90: f64,
    /// 95 % interval of P10 (order statistics).
    pub p10_95: [f64; 2],
    /// 95 % interval of P50.
    pub p50_95: [f64; 2],
    /// 95 % interval of P90.
    pub p90_95: [f64; 2],
    /// Share of the wear that cycles do.
    pub by_cycles: Estimate,
}

/// Spread of a share, 20 steps of 5 %.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct ShareSpread {
    /// On one day of ten so much or less.
    pub p10: f64,
    /// On half of the days so much or less.
    pub p50: f64,
    /// On nine days of ten so much or less.
    pub p90: f64,
    /// 95 % interval of P10 (years are the units, for days of a year hang together).
    pub p10_95: [f64; 2],
    /// 95 % interval of P50.
    pub p50_95: [f64; 2],
    /// 95 % interval of P90.
    pub p90_95: [f64; 2],
    /// Days of all trials by steps of 5 %.
    pub histogram: Vec<u64>,
}
