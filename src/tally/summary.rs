//! Every number of a run, ready to be shown: what `summary.json` holds (schema `stilldays.summary/1`).
//!
//! What cannot be computed is `None` (null in JSON), never 0.

pub use super::distributions::{BatteryLife, Minutes, ShareSpread};
pub use super::estimate::{DayCount, Estimate};
pub use super::identity::{DesignId, RunInfo};
use super::places::InputRange;
use super::verdict::WishVerdict;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Schema name written into the file.
pub const SCHEMA: &str = "stilldays.summary/1";

/// Key of what the quantities' shares leave over.
pub(crate) const WEATHER: &str = "weather";
/// Key of the sum of the quantities' shares.
pub(crate) const ALL_PARTS: &str = "all parts";

/// Every number of a run.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Summary {
    /// [`SCHEMA`].
    pub schema: String,
    /// What was simulated.
    pub run: RunInfo,
    /// Which design.
    pub design: DesignId,
    /// Which weather, and at what place.
    pub weather: WeatherId,
    /// The whole season.
    pub season: Season,
    /// What the weather files leave open about it; `None` in files of earlier versions.
    #[serde(default)]
    pub weather_input: Option<InputRange>,
    /// Its months, in order.
    pub months: Vec<Month>,
    /// How the battery is used; `None` without one.
    pub battery: Option<BatteryUse>,
    /// What lay on the panel; `None` where nothing comes and goes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub panel_surface: Option<super::surface::PanelSurface>,
    /// Chance of the jet by day of season (rows of `days_per_row` days) and hour slot.
    pub hours: HourMap,
    /// Water lost from the basin.
    pub water: WaterUse,
    /// What pump and mount do, and where the energy goes.
    pub wear: Wear,
    /// First-order shares of the spread among weather and uncertain quantities; empty if none is uncertain.
    /// Largest first; last, under [`WEATHER`], what the quantities leave over: the weather and whatever acts together.
    pub shares: Vec<Share>,
    /// Sum of the quantities' shares, under [`ALL_PARTS`].
    #[serde(default)]
    pub shares_total: Option<Share>,
    /// The handbook's figures; `None` if no load is wanted.
    pub sizing: Option<Sizing>,
    /// How well the accounts close.
    pub ledger: Ledger,
    /// Sampled weather against its file.
    pub sampled: Vec<SampledMonth>,
    /// Every value the design rests on, given or by default.
    pub inputs: Vec<Input>,
    /// What was found odd about design, weather or run, one line each.
    pub warnings: Vec<String>,
    /// What the builder should take care of, one line each.
    pub cautions: Vec<String>,
}

/// Which weather, and at what place.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct WeatherId {
    /// The first file; its place and clock hold.
    pub file: String,
    /// All files, as the design names them.
    pub files: Vec<String>,
    /// SHA-256 of the file, or over the hashes of several; hexadecimal.
    pub sha256: String,
    /// Where the first file says it comes from.
    pub origin: String,
    /// Whether any of them is invented.
    pub invented: bool,
    /// Latitude, °, north positive.
    pub latitude_deg: f64,
    /// Longitude, °, east positive.
    pub longitude_deg: f64,
    /// Height above the sea, m.
    pub elevation_m: f64,
    /// Local standard time less universal time, h.
    pub utc_offset_h: f64,
    /// Global horizontal irradiation of the year, kWh/m², mean of the files.
    pub ghi_kwh_m2: f64,
    /// Direct normal irradiation of the year, kWh/m², mean of the files.
    pub dni_kwh_m2: f64,
    /// Instant of the hour for which the first file's global, direct and diffuse irradiance agree best, min from the hour's end; `None` if too few hours hold all three.
    pub closure_offset_min: Option<f64>,
    /// Root mean square of their disagreement there, W/m².
    pub closure_rms_w_m2: Option<f64>,
    /// Linke turbidity by month, twelve values.
    pub turbidity: Vec<f64>,
}

/// The whole season.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Season {
    /// First day, "MM-DD".
    pub from: String,
    /// Last day, "MM-DD".
    pub to: String,
    /// Number of days.
    pub days: u32,
    /// Minutes in which the jet is wanted.
    pub wanted_min: f64,
    /// Minutes of jet that counts, a season.
    pub jet_min: Estimate,
    /// Still days a season: fewer minutes of jet than `wish.still_below`.
    pub still_days: DayCount,
    /// Still days a month: those of the season over its length in months of 365/12 days.
    pub still_days_per_month: Estimate,
    /// Still days in the worst month of each trial.
    pub worst_month: DayCount,
    /// Short days a season: not still, but with less of the wanted time than `wish.enough`.
    pub short_days: DayCount,
    /// Minutes the jet goes on after sunset; `None` if that is never wanted.
    pub dusk_run_min: Option<Minutes>,
    /// Longest run of still days of each trial.
    pub longest_still_spell: DayCount,
    /// Mean minutes a season by cause (key: `Cause::key`).
    #[serde(rename = "causes")]
    pub causes_min: BTreeMap<String, f64>,
    /// 95 % interval of each of these means.
    #[serde(rename = "causes_95")]
    pub causes_min_95: BTreeMap<String, [f64; 2]>,
    /// Share of trials in which every month has at most the bearable number of still days.
    pub bearable_years: Estimate,
    /// Its 95 % interval (Clopper and Pearson).
    #[serde(default)]
    pub bearable_years_95: Option<[f64; 2]>,
    /// That number: `wish.still_days`.
    pub bearable_still_days: f64,
    /// The wished dusk run, min: `wish.dusk_run`.
    pub wish_dusk_run_min: f64,
    /// Whether the whole wish is met.
    pub wish: WishVerdict,
}

/// What wears a battery most.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum LifeEnd {
    /// Cycles wear it more than age.
    Cycles,
    /// Age wears it more than cycles.
    Calendar,
}

impl LifeEnd {
    /// Key in JSON and CSV.
    pub(crate) fn key(self) -> &'static str {
        match self {
            LifeEnd::Cycles => "cycles",
            LifeEnd::Calendar => "calendar",
        }
    }
}

/// One month of the season.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Month {
    /// 1..=12.
    pub month: u8,
    /// Days of the month within the season.
    pub days: u32,
    /// Minutes in which the jet is wanted.
    pub wanted_min: f64,
    /// Minutes of jet that counts.
    pub jet_min: Estimate,
    /// Still days.
    pub still_days: DayCount,
    /// Short days.
    pub short_days: DayCount,
    /// Minutes the jet goes on after sunset; `None` if that is never wanted.
    pub dusk_run_min: Option<Minutes>,
    /// Mean minutes of the month by cause (key: `Cause::key`).
    #[serde(rename = "causes")]
    pub causes_min: BTreeMap<String, f64>,
    /// 95 % interval of each of these means.
    #[serde(rename = "causes_95")]
    pub causes_min_95: BTreeMap<String, [f64; 2]>,
    /// Mean still days of the month by their chief cause.
    pub still_days_by_cause: BTreeMap<String, f64>,
    /// 95 % interval of each of these means.
    pub still_days_by_cause_95: BTreeMap<String, [f64; 2]>,
    /// Mean daily irradiation on the horizontal, kWh/m².
    pub ghi_kwh_m2_day: f64,
    /// Its 95 % interval; none below two trials.
    pub ghi_kwh_m2_day_95: Option<[f64; 2]>,
    /// Mean daily irradiation on the panel, kWh/m².
    pub plane_kwh_m2_day: f64,
    /// Its 95 % interval; none below two trials.
    pub plane_kwh_m2_day_95: Option<[f64; 2]>,
}

/// How the battery is used. All shares are of the capacity left.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct BatteryUse {
    /// Daily depth of discharge, share of the capacity left.
    pub daily_depth: ShareSpread,
    /// Rainflow cycles (ASTM E1049) of a season, all depths, mean.
    pub cycles_per_year: f64,
    /// Its 95 % interval; none below two trials.
    pub cycles_per_year_95: Option<[f64; 2]>,
    /// Sum of the depths of all these cycles: full cycles of a season.
    pub equivalent_full_cycles_per_year: Estimate,
    /// Mean cycles a season by depth, 20 steps of 5 %.
    pub cycle_depth_histogram: Vec<f64>,
    /// 95 % interval of each of these means.
    pub cycle_depth_histogram_95: Vec<[f64; 2]>,
    /// Life used by cycling, share a season (Miner).
    pub life_used_per_year: Estimate,
    /// Years until cycles and calendar together end it (shares of life add up: Miner), over trials with their drawn parts.
    pub life: Option<BatteryLife>,
    /// Which does more of that: "cycles" or "calendar".
    pub life_ends_by: Option<LifeEnd>,
    /// Days a season on which it lies empty. What harm that does is not counted.
    pub empty_days_per_year: Estimate,
    /// State of charge by week of the season, in order.
    pub weeks: Vec<WeekCharge>,
    /// Charge that the full battery could not take, Ah a day.
    pub spilled_ah_per_day: f64,
    /// Its 95 % interval; none below two trials.
    pub spilled_ah_per_day_95: Option<[f64; 2]>,
    /// Hours a season in which frost refuses it charge.
    pub too_cold_h_per_year: f64,
    /// Its 95 % interval, which holds where that is rare.
    pub too_cold_h_per_year_95: Option<[f64; 2]>,
}

impl BatteryUse {
    /// Hours a season in which frost refuses it charge, with their error.
    pub fn too_cold_h(&self) -> Estimate {
        Estimate { mean: self.too_cold_h_per_year, se: None, interval_95: self.too_cold_h_per_year_95 }
    }

    /// Charge that the full battery could not take, Ah a day, with its error.
    pub fn spilled_ah(&self) -> Estimate {
        Estimate { mean: self.spilled_ah_per_day, se: None, interval_95: self.spilled_ah_per_day_95 }
    }
}

/// State of charge of one week of the season.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct WeekCharge {
    /// First day of the week, day of the year 0..365.
    pub day_of_year: u16,
    /// At sunset, exceeded on nine days of ten.
    pub sunset_p10: f64,
    /// At sunset, median.
    pub sunset_p50: f64,
    /// At sunset, exceeded on one day of ten.
    pub sunset_p90: f64,
    /// Lowest of the day, exceeded on nine days of ten.
    pub low_p10: f64,
    /// Lowest of the day, median.
    pub low_p50: f64,
    /// Lowest of the day, exceeded on one day of ten.
    pub low_p90: f64,
    /// 95 % intervals of the three at sunset, in their order.
    pub sunset_95: [[f64; 2]; 3],
    /// 95 % intervals of the three of the day's lowest, in their order.
    pub low_95: [[f64; 2]; 3],
}

/// Chance of the jet by day and hour.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct HourMap {
    /// Days of a row; the last may have fewer.
    pub days_per_row: u32,
    /// Local standard hour of slot 0.
    pub first_hour: i32,
    /// Rows, in order of the season.
    pub rows: Vec<HourRow>,
}

/// Some days of the season, hour by hour.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct HourRow {
    /// First day of the row, day of the year 0..365.
    pub day_of_year: u16,
    /// Local standard time, h after midnight.
    pub sunrise_h: Option<f64>,
    /// The same of sunset.
    pub sunset_h: Option<f64>,
    /// Mean share of each hour slot with a jet that counts.
    pub jet_share: Vec<f64>,
    /// 95 % interval of each of these means.
    pub jet_share_95: Vec<[f64; 2]>,
    /// Share of each hour slot that is wanted.
    pub wanted_share: Vec<f64>,
}

/// Water lost from the basin.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct WaterUse {
    /// All of it, L a week.
    pub litres_per_week: Estimate,
    /// All of it by season, over years and drawn parts, L a week.
    pub litres_per_week_spread: LitreSpread,
    /// What evaporates, L a week.
    pub evaporated_l_per_week: f64,
    /// Its 95 % interval; none below two trials.
    pub evaporated_l_per_week_95: Option<[f64; 2]>,
    /// What the wind carries away, L a week.
    pub drifted_l_per_week: f64,
    /// Its 95 % interval; none below two trials.
    pub drifted_l_per_week_95: Option<[f64; 2]>,
    /// Hours of a season in which ice reaches the pump's intake, and may destroy the pump; `None` where it never did.
    pub intake_iced_h_per_year: Option<Estimate>,
    /// How long a full basin lasts without a refill; `None` where no trial was followed.
    pub full_basin: Option<FullBasin>,
}

/// Litres a week of a season, over trials: years and drawn parts.
#[derive(Clone, Copy, Debug, Serialize, Deserialize)]
pub struct LitreSpread {
    /// In one season of ten so much or less, L a week.
    pub p10: f64,
    /// Its 95 % interval.
    pub p10_95: [f64; 2],
    /// In half of the seasons so much or less.
    pub p50: f64,
    /// Its 95 % interval.
    pub p50_95: [f64; 2],
    /// In nine seasons of ten so much or less.
    pub p90: f64,
    /// Its 95 % interval.
    pub p90_95: [f64; 2],
}

/// How long a basin, filled to the brim on a morning and left alone, lasts until it is low: over each day of a month as the day
/// of filling, and over trials. Rain of the following days counts.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct FullBasin {
    /// Trials that were followed: the first ones of the run.
    pub trials: u64,
    /// Days that each filling was followed, at most; none goes on past the season.
    pub most_days: u32,
    /// The months of filling.
    pub months: Vec<FullBasinMonth>,
    /// What a basin that is never low loses, L a week.
    pub litres_per_week: Estimate,
}

/// Of basins filled in one month.
#[derive(Clone, Copy, Debug, Serialize, Deserialize)]
pub struct FullBasinMonth {
    /// 1..=12.
    pub month: u8,
    /// One filling in ten is low by this day at the latest.
    pub p10: LowWaterDay,
    /// Half of them.
    pub p50: LowWaterDay,
    /// Nine in ten.
    pub p90: LowWaterDay,
}

/// A day after a filling: 1 is the day of the filling. `None`: later than `most_days` or than the season's last day.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct LowWaterDay {
    /// The day.
    pub day: Option<u32>,
    /// Lower end of its 95 % interval.
    pub earliest_95: Option<u32>,
    /// Upper end.
    pub latest_95: Option<u32>,
}

/// What pump and mount do, and where the energy goes.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Wear {
    /// Hours the pump runs, a season.
    pub pump_h_per_year: Estimate,
    /// Years until its rated hours are used up; `None` if they are not given or it never runs.
    pub pump_life_years: Option<f64>,
    /// Its 95 % interval; none below two trials.
    pub pump_life_years_95: Option<[f64; 2]>,
    /// Moves of the mount a day; `None` if it is fixed.
    pub mount_moves_per_day: Option<f64>,
    /// Its 95 % interval; none below two trials.
    pub mount_moves_per_day_95: Option<[f64; 2]>,
    /// Its travel, ° a day; `None` if it is fixed.
    pub mount_travel_deg_per_day: Option<f64>,
    /// Its 95 % interval; none below two trials.
    pub mount_travel_deg_per_day_95: Option<[f64; 2]>,
    /// Energy of its motors, Wh a day; `None` if it is fixed.
    pub motor_wh_per_day: Option<f64>,
    /// Its 95 % interval; none below two trials.
    pub motor_wh_per_day_95: Option<[f64; 2]>,
    /// Mean energy by flow, Wh a day (keys: panel, pump, motors, standby, diode, charger, battery).
    pub flows_wh_per_day: BTreeMap<String, f64>,
    /// 95 % interval of each of these means; empty below two trials.
    pub flows_wh_per_day_95: BTreeMap<String, [f64; 2]>,
}

/// First-order share of the variance over trials.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Share {
    /// Key of the quantity, or "weather".
    pub key: String,
    /// Of the season's still days; with standard error.
    pub still_days: Option<Estimate>,
    /// Of the season's mean dusk run.
    pub dusk_run: Option<Estimate>,
}

/// The handbook's figures beside the simulated answer.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Sizing {
    /// Energy wanted in the worst month, Wh a day.
    pub load_wh_day: f64,
    /// Energy of the panel at its rated power in that month, Wh a day.
    pub array_wh_day_worst_month: f64,
    /// Month in which the panel gives least for what is wanted, 1..=12.
    pub worst_month: u8,
    /// Energy of the panel over energy wanted.
    pub array_to_load: f64,
    /// The same, under its name in handbooks.
    pub c_a: f64,
    /// Usable energy of the battery over energy wanted a day; `None` without a battery.
    pub c_s: Option<f64>,
    /// The same, d.
    pub days_of_autonomy: Option<f64>,
    /// Loss-of-load probability: energy not served over energy wanted, simulated; none where no minute is wanted.
    pub loss_of_load: Option<Estimate>,
}

/// How far the accounts of a day are from closing, at worst, over all days and trials.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Ledger {
    /// Energy, Wh.
    pub worst_residual_wh: f64,
    /// Largest residual relative to its day's energy.
    pub worst_relative: f64,
    /// The battery's charge, Ah.
    pub worst_charge_residual_ah: f64,
    /// The basin's water, L.
    pub worst_water_residual_l: f64,
    /// Energy of the panel beyond its label times its light, Wh a day: nothing, or the plant is broken.
    pub worst_over_label_wh: f64,
}

/// Sampled weather against its file, one month.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct SampledMonth {
    /// 1..=12.
    pub month: u8,
    /// Mean daily irradiation on the horizontal in the files, kWh/m²; none if they have no hour of the month.
    pub file_ghi_kwh_m2_day: Option<f64>,
    /// The same as sampled.
    pub sampled_ghi_kwh_m2_day: Estimate,
    /// Coefficient of variation of the month's sum between trials.
    pub sampled_cov: Option<f64>,
    /// Its 95 % interval, as of sums that are about normal.
    pub sampled_cov_95: Option<[f64; 2]>,
}

/// One value of the design as used.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Input {
    /// Its key, such as `battery.capacity`.
    pub key: String,
    /// As text with unit and uncertainty.
    pub value: String,
    /// "given" or "default".
    pub origin: String,
}
