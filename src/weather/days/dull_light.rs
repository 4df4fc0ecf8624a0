//! How far the light of days stays below given amounts, and its mean over all years: known exactly, without simulating a day.
//!
//! The index of a date is a function of one standard normal number ([`super::series`]), so the mean of any function of it is an integral over
//! that number. Sums over a season tell dull trials from bright ones: control variates of what dull days cost
//! ([`crate::tally`]; Glasserman 2003, Monte Carlo Methods in Financial Engineering, section 4.1, from memory).

use crate::units::normal_quantile;
use rayon::prelude::*;

/// Amounts that the light of a day is held against.
pub const LEVELS: usize = 3;
/// They are these shares of what the clear sky gives on the brightest day of the year. (Own choice: on the demo's designs they explain
/// half of the variance of still days, and more levels explain no more.)
const SHARES: [f64; LEVELS] = [0.125, 0.25, 0.5];
/// Points of the normal number at which a date is evaluated: the middles of as many equally likely parts.
const POINTS: usize = 256;

/// What the light of a day lacks to each level, kWh/m².
#[derive(Clone, Debug)]
pub struct DullLight {
    /// The levels, kWh/m².
    levels: [f64; LEVELS],
    /// Light of the clear sky by date, kWh/m².
    clear: Vec<f64>,
    /// Mean of what a date lacks, kWh/m².
    mean: Vec<[f64; LEVELS]>,
}

impl DullLight {
    /// `clear_kwh_m2`: light of the clear sky by date. `index`: clear-sky index of a date at a standard normal number.
    pub fn new(clear_kwh_m2: Vec<f64>, index: impl Fn(usize, f64) -> f64 + Sync) -> DullLight {
        let brightest = clear_kwh_m2.iter().copied().fold(0.0, f64::max);
        let levels = SHARES.map(|share| share * brightest);
        let points: Vec<f64> =
            (0..POINTS).map(|k| normal_quantile((k as f64 + 0.5) / POINTS as f64)).collect();
        let mean = |date: usize| {
            let mut sum = [0.0; LEVELS];
            for &z in &points {
                let light = index(date, z) * clear_kwh_m2[date];
                sum.iter_mut().zip(lacking(levels, light)).for_each(|(sum, lacks)| *sum += lacks);
            }
            sum.map(|sum| sum / POINTS as f64)
        };
        let mean = (0..clear_kwh_m2.len()).into_par_iter().map(mean).collect();
        DullLight { levels, clear: clear_kwh_m2, mean }
    }

    /// What days lack in all, less its mean over all years, kWh/m²: days as date (0..365) and clear-sky index.
    pub fn beyond_mean(&self, days: impl Iterator<Item = (usize, f64)>) -> [f64; LEVELS] {
        let mut sum = [0.0; LEVELS];
        for (date, index) in days {
            let lacks = lacking(self.levels, index * self.clear[date]);
            for (sum, (lacks, mean)) in sum.iter_mut().zip(lacks.into_iter().zip(self.mean[date])) {
                *sum += lacks - mean;
            }
        }
        sum
    }
}

fn lacking(levels: [f64; LEVELS], light_kwh_m2: f64) -> [f64; LEVELS] {
    levels.map(|level| (level - light_kwh_m2).max(0.0))
}
