//! Sampled years day by day, as a run draws them: for who looks at the weather himself.

use super::plan::{CHAIN_START, RUN_IN_DAYS};
use crate::sky::calendar::DAYS;
use crate::weather::Sampler;
use serde::Serialize;

/// One day of a sampled year.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct DayOfTrial {
    /// The trial of a run that has this day.
    pub trial: u64,
    /// Day of the year, 1..=365.
    pub day: u16,
    /// Global horizontal irradiation, Wh/m².
    pub ghi_wh_m2: f64,
    /// The same under the clear sky, Wh/m².
    pub clear_wh_m2: f64,
    /// Clear-sky index: the first over the second.
    pub index: f64,
    /// Mean air temperature, °C.
    pub air_c: f64,
    /// Day of the year whose hours it takes, 1..=365.
    pub donor_day: u16,
    /// File that this day comes from, from 1.
    pub donor_file: u16,
}

/// Calls `each` with every day of the calendar year of the first `trials` trials of a run with this seed, in order.
pub fn days_of_trials(sampler: &Sampler, seed: u64, trials: u64, mut each: impl FnMut(DayOfTrial)) {
    let clear = sampler.pool().potential_wh_m2();
    for trial in 0..trials {
        let chain = sampler.chain(seed, trial, CHAIN_START, RUN_IN_DAYS + DAYS);
        for (date, day) in chain[RUN_IN_DAYS..].iter().enumerate() {
            let donor = &sampler.pool().donors()[day.donor as usize];
            let index = f64::from(day.index);
            each(DayOfTrial {
                trial,
                day: date as u16 + 1,
                ghi_wh_m2: index * clear[date],
                clear_wh_m2: clear[date],
                index,
                air_c: f64::from(day.air_c),
                donor_day: donor.day_of_year + 1,
                donor_file: donor.file + 1,
            });
        }
    }
}
