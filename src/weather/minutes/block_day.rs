//! The weather of one day for the sixteen trials of a block.

use crate::lanes::{RowF32, RowF64};

/// The weather of one day for the sixteen trials of a block. Independent of any plant: all
/// designs meet the same minutes.
#[derive(Clone, Debug, Default)]
pub struct BlockDay {
    /// Beam normal irradiance, W/m², of minute `calendar_day.first + k`; as many as the day has
    /// minutes with the sun up.
    pub dni_w_m2: Vec<RowF32>,
    /// Diffuse horizontal irradiance, W/m², of the same minutes.
    pub dhi_w_m2: Vec<RowF32>,
    /// Air temperature by hour slot of the day, °C.
    pub air_c: [RowF64; 24],
    /// Wind speed at 10 m by hour slot, m/s.
    pub wind_m_s: [RowF64; 24],
    /// Relative humidity by hour slot, share.
    pub humidity: [RowF64; 24],
    /// How patchy the sky is by hour slot: 4 f (1 - f) of the sunlit share f; 0 clear or closed, 1 half.
    pub patchy: [RowF64; 24],
    /// Disturbance of a light-seeking mount: two standard normal numbers (along and across) for each ten minutes of the
    /// day.
    pub pull: Vec<[RowF32; 2]>,
    /// Rain of the day, mm (0 where the file has none).
    pub rain_mm: RowF64,
    /// Rain by hour slot, mm.
    pub rain_by_hour_mm: [RowF64; 24],
    /// Snow that falls by hour slot, cm.
    pub snow_cm: [RowF64; 24],
    /// Whether the files have rain at all.
    pub rain_known: bool,
    /// Chance of what falls on the panel on the day: four uniform numbers (0..1).
    pub litter: [RowF64; 4],
    /// Donor day of each lane: index into the sampler's pool.
    pub donor: [u32; crate::lanes::BLOCK],
}

impl BlockDay {
    /// Gives lane l the weather of lane l mod `lanes` (1..=16).
    pub fn repeat(&mut self, lanes: usize) {
        fn row<T: Copy>(values: &mut [T], lanes: usize) {
            (lanes..values.len()).for_each(|k| values[k] = values[k - lanes]);
        }
        for minute in self.dni_w_m2.iter_mut().chain(&mut self.dhi_w_m2) {
            row(&mut minute.0, lanes);
        }
        self.pull.iter_mut().flatten().for_each(|pull| row(&mut pull.0, lanes));
        let hours = [
            &mut self.air_c,
            &mut self.wind_m_s,
            &mut self.humidity,
            &mut self.patchy,
            &mut self.rain_by_hour_mm,
            &mut self.snow_cm,
        ];
        hours.into_iter().flatten().for_each(|hour| row(&mut hour.0, lanes));
        row(&mut self.rain_mm.0, lanes);
        self.litter.iter_mut().for_each(|chance| row(&mut chance.0, lanes));
        row(&mut self.donor, lanes);
    }

    /// Beam normal and diffuse horizontal irradiance of a trial in minute `calendar_day.first + k`, W/m².
    pub fn light(&self, k: usize, lane: usize) -> (f64, f64) {
        (self.dni_w_m2[k].0[lane].into(), self.dhi_w_m2[k].0[lane].into())
    }
}

/// Ten-minute steps of a day.
pub(crate) const TEN_MINUTE_STEPS: usize = 144;
