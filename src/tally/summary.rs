//! Every number of a run, ready to be shown: what `summary.json` holds (schema `stilldays.summary/1`).
//!
//! What cannot be computed is `None` (null in JSON), never 0.

use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Schema name written into the file.
pub const SCHEMA: &str = "stilldays.summary/1";

/// Key of what the quantities' shares leave over.
pub const WEATHER: &str = "weather";
/// Key of the sum of the quantities' shares.
pub const ALL_PARTS: &str = "all parts";

/// Every number of a run.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[allow(missing_docs, reason = "names are the documentation; units are in the suffixes")]
pub struct Summary {
    pub schema: String,
    pub run: RunInfo,
    pub design: DesignId,
    pub weather: WeatherId,
    pub season: Season,
    pub months: Vec<Month>,
    pub battery: Option<BatteryUse>,
    /// Chance of the jet by day of season (rows of `days_per_row` days) and hour slot.
    pub hours: HourMap,
    pub water: WaterUse,
    pub wear: Wear,
    /// First-order shares of the spread among weather and uncertain quantities; empty if none is uncertain.
    /// Largest first; last, under [`WEATHER`], what the quantities leave over: the weather and whatever acts together.
    pub shares: Vec<Share>,
    /// Sum of the quantities' shares, under [`ALL_PARTS`].
    #[serde(default)]
    pub shares_total: Option<Share>,
    pub sizing: Option<Sizing>,
    pub ledger: Ledger,
    /// Sampled weather against its file.
    pub sampled: Vec<SampledMonth>,
    pub inputs: Vec<Input>,
    pub warnings: Vec<String>,
    pub cautions: Vec<String>,
}

#[derive(Clone, Debug, Serialize, Deserialize)]
#[allow(missing_docs, reason = "names are the documentation")]
pub struct RunInfo {
    pub trials: u64,
    /// Simulated days, run-in included.
    pub days: u64,
    pub seed: u64,
    pub version: String,
    /// The command that makes this again.
    pub command: String,
}

#[derive(Clone, Debug, Serialize, Deserialize)]
#[allow(missing_docs, reason = "names are the documentation")]
pub struct DesignId {
    pub title: String,
    pub file: String,
    pub sha256: String,
    pub price: Option<f64>,
}

#[derive(Clone, Debug, Serialize, Deserialize)]
#[allow(missing_docs, reason = "names are the documentation")]
pub struct WeatherId {
    /// Files as given; the first is the one whose place and clock hold.
    pub file: String,
    pub files: Vec<String>,
    pub sha256: String,
    pub origin: String,
    pub invented: bool,
    pub latitude_deg: f64,
    pub longitude_deg: f64,
    pub elevation_m: f64,
    pub utc_offset_h: f64,
    pub ghi_kwh_m2: f64,
    pub dni_kwh_m2: f64,
    pub closure_offset_min: Option<f64>,
    pub closure_rms_w_m2: Option<f64>,
    pub turbidity: Vec<f64>,
}

/// A number of days (of a month, of a season) over trials.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[allow(missing_docs, reason = "names are the documentation")]
pub struct DayCount {
    pub mean: f64,
    /// Standard error of the mean; none below two trials.
    pub se: Option<f64>,
    pub p10: f64,
    pub p50: f64,
    pub p90: f64,
    /// Chance of at least so many.
    pub at_least: BTreeMap<String, f64>,
    /// Trials with 0, 1, 2, … such days.
    pub histogram: Vec<u64>,
}

/// A number of minutes of an evening, over days and trials.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[allow(missing_docs, reason = "names are the documentation")]
pub struct Minutes {
    pub mean: f64,
    /// Standard error of the mean (trials are the replicates); none below two trials.
    pub se: Option<f64>,
    pub p10: f64,
    pub p50: f64,
    pub p90: f64,
    /// Share of evenings that meet the wish, and its standard error.
    pub meets_wish: f64,
    pub meets_wish_se: Option<f64>,
    /// Evenings by whole minutes in steps of `step_min`; the last takes the rest.
    pub step_min: f64,
    pub histogram: Vec<u64>,
}

#[derive(Clone, Debug, Serialize, Deserialize)]
#[allow(missing_docs, reason = "names are the documentation")]
pub struct Season {
    /// First and last day, "MM-DD".
    pub from: String,
    pub to: String,
    pub days: u32,
    pub wanted_min: f64,
    /// Mean jet minutes that count, of the season.
    pub jet_min: Estimate,
    pub still_days: DayCount,
    pub still_days_per_month: Estimate,
    /// Still days in the worst month of each trial.
    pub worst_month: DayCount,
    pub short_days: DayCount,
    pub dusk_run_min: Option<Minutes>,
    pub longest_still_spell: DayCount,
    /// Mean minutes a season by cause (key: `Cause::key`).
    #[serde(rename = "causes")]
    pub causes_min: BTreeMap<String, f64>,
    /// Share of trials in which every month has at most the bearable number of still days.
    pub bearable_years: Estimate,
    /// Its 95 % interval (Wilson).
    #[serde(default)]
    pub bearable_years_95: Option<[f64; 2]>,
    pub bearable_still_days: f64,
    pub wish_dusk_run_min: f64,
}

/// A mean and its standard error.
#[derive(Clone, Copy, Debug, Serialize, Deserialize)]
#[allow(missing_docs, reason = "names are the documentation")]
pub struct Estimate {
    pub mean: f64,
    pub se: Option<f64>,
}

#[derive(Clone, Debug, Serialize, Deserialize)]
#[allow(missing_docs, reason = "names are the documentation")]
pub struct Month {
    /// 1..=12.
    pub month: u8,
    /// Days of the month within the season.
    pub days: u32,
    pub wanted_min: f64,
    pub jet_min: Estimate,
    pub still_days: DayCount,
    pub short_days: DayCount,
    pub dusk_run_min: Option<Minutes>,
    /// Mean minutes of the month by cause (key: `Cause::key`).
    #[serde(rename = "causes")]
    pub causes_min: BTreeMap<String, f64>,
    /// Mean still days of the month by their chief cause.
    pub still_days_by_cause: BTreeMap<String, f64>,
    /// Mean daily sums, kWh/m².
    pub ghi_kwh_m2_day: f64,
    pub plane_kwh_m2_day: f64,
}

#[derive(Clone, Debug, Serialize, Deserialize)]
#[allow(missing_docs, reason = "names are the documentation")]
pub struct BatteryUse {
    /// Daily depth of discharge, share of the capacity left.
    pub daily_depth: ShareSpread,
    /// Rainflow cycles (ASTM E1049) of a season, all depths, mean.
    pub cycles_per_year: f64,
    pub equivalent_full_cycles_per_year: Estimate,
    /// Mean cycles a season by depth, 20 steps of 5 %.
    pub cycle_depth_histogram: Vec<f64>,
    /// Life used by cycling, share a season (Miner).
    pub life_used_per_year: Estimate,
    /// Years until cycling or the calendar ends it, the earlier.
    pub life_years: Option<f64>,
    /// Which ends it: "cycles" or "calendar".
    pub life_ends_by: Option<String>,
    /// State of charge by week of the season: at sunrise-side low and at sunset, quantiles.
    pub weeks: Vec<WeekCharge>,
    pub spilled_ah_per_day: f64,
    pub too_cold_h_per_year: f64,
}

/// Spread of a share, 20 steps of 5 %.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[allow(missing_docs, reason = "names are the documentation")]
pub struct ShareSpread {
    pub p10: f64,
    pub p50: f64,
    pub p90: f64,
    pub histogram: Vec<u64>,
}

/// State of charge of one week of the season.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[allow(missing_docs, reason = "names are the documentation")]
pub struct WeekCharge {
    /// First day of the week, day of the year 0..365.
    pub day_of_year: u16,
    pub sunset_p10: f64,
    pub sunset_p50: f64,
    pub sunset_p90: f64,
    pub low_p10: f64,
    pub low_p50: f64,
    pub low_p90: f64,
}

/// Chance of the jet by day and hour.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[allow(missing_docs, reason = "names are the documentation")]
pub struct HourMap {
    pub days_per_row: u32,
    /// Local standard hour of slot 0.
    pub first_hour: i32,
    pub rows: Vec<HourRow>,
}

#[derive(Clone, Debug, Serialize, Deserialize)]
#[allow(missing_docs, reason = "names are the documentation")]
pub struct HourRow {
    /// First day of the row, day of the year 0..365.
    pub day_of_year: u16,
    /// Local standard time, h after midnight.
    pub sunrise_h: Option<f64>,
    pub sunset_h: Option<f64>,
    /// Mean share of each hour slot with a jet that counts.
    pub jet_share: Vec<f64>,
    /// Share of each hour slot that is wanted.
    pub wanted_share: Vec<f64>,
}

#[derive(Clone, Debug, Serialize, Deserialize)]
#[allow(missing_docs, reason = "names are the documentation")]
pub struct WaterUse {
    pub litres_per_week: Estimate,
    pub evaporated_l_per_week: f64,
    pub drifted_l_per_week: f64,
    /// Days from full to low water at the season's mean loss.
    pub days_to_low_water: Option<f64>,
}

#[derive(Clone, Debug, Serialize, Deserialize)]
#[allow(missing_docs, reason = "names are the documentation")]
pub struct Wear {
    pub pump_h_per_year: Estimate,
    pub pump_life_years: Option<f64>,
    pub mount_moves_per_day: Option<f64>,
    pub mount_travel_deg_per_day: Option<f64>,
    pub motor_wh_per_day: Option<f64>,
    /// Mean energy by flow, Wh a day (keys: panel, pump, motors, standby, diode, charger, battery).
    pub flows_wh_per_day: BTreeMap<String, f64>,
}

/// First-order share of the variance over trials.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[allow(missing_docs, reason = "names are the documentation")]
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
#[allow(missing_docs, reason = "names are the documentation")]
pub struct Sizing {
    pub load_wh_day: f64,
    pub array_wh_day_worst_month: f64,
    pub worst_month: u8,
    pub array_to_load: f64,
    pub c_a: f64,
    pub c_s: Option<f64>,
    pub days_of_autonomy: Option<f64>,
    /// Loss-of-load probability: energy not served over energy wanted, simulated.
    pub loss_of_load: Estimate,
}

#[derive(Clone, Debug, Serialize, Deserialize)]
#[allow(missing_docs, reason = "names are the documentation")]
pub struct Ledger {
    pub worst_residual_wh: f64,
    /// Largest residual relative to its day's energy.
    pub worst_relative: f64,
    pub worst_charge_residual_ah: f64,
    pub worst_water_residual_l: f64,
}

/// Sampled weather against its file, one month.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[allow(missing_docs, reason = "names are the documentation")]
pub struct SampledMonth {
    pub month: u8,
    pub file_ghi_kwh_m2_day: f64,
    pub sampled_ghi_kwh_m2_day: Estimate,
    /// Coefficient of variation of the month's sum between trials.
    pub sampled_cov: Option<f64>,
}

/// One value of the design as used.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[allow(missing_docs, reason = "names are the documentation")]
pub struct Input {
    pub key: String,
    /// As text with unit and uncertainty.
    pub value: String,
    /// "given" or "default".
    pub origin: String,
}
