//! One day of one trial, minute by minute.

use super::cause::Cause;
use super::rule_at_work::RuleAtWork;

/// One day of one trial.
#[derive(Clone, Debug)]
pub struct DayTrace {
    /// Why this day was picked, for people: "bright", "typical", "still", or a date.
    pub label: String,
    /// Day of the year, 0..365.
    pub day_of_year: u16,
    /// Trial it comes from.
    pub trial: u64,
    /// Sunrise and sunset, min from the start of the day.
    pub sunrise_min: Option<f64>,
    /// Sunset, min from the start of the day.
    pub sunset_min: Option<f64>,
    /// Local standard hour at which the day begins.
    pub day_start_h: i32,
    /// Rain of the day, mm; the model pours it in the morning.
    pub rain_mm: f64,
    /// What lies on the panel; `None` where nothing does.
    pub on_panel: Option<OnPanel>,
    /// Water above the low-water mark when the basin is full, L.
    pub usable_l: f64,
    /// All 1,440 minutes, in order.
    pub minutes: Vec<TraceMinute>,
}

/// What lies on a panel on one day.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OnPanel {
    /// Share of the light that dirt takes which rain or a hand takes away.
    pub dirt_share: f64,
    /// Covered cells of the string.
    pub covered_cells: f64,
    /// Share of their light that they lose.
    pub covered_share: f64,
}

impl DayTrace {
    /// The minutes from the first to the last in which the sun is up, something is wanted or the pump runs; all of them if there is
    /// none.
    pub fn waking(&self) -> &[TraceMinute] {
        let awake = |m: &TraceMinute| m.sun_elevation_deg.is_some() || m.wanted || m.duty > 0.0;
        let first = self.minutes.iter().position(awake);
        let last = self.minutes.iter().rposition(awake);
        match first.zip(last) {
            Some((first, last)) => &self.minutes[first..=last],
            None => &self.minutes,
        }
    }
}

/// One minute; `None` where the build or the hour has no such thing.
#[derive(Clone, Copy, Debug)]
pub struct TraceMinute {
    /// Minute from the start of the day.
    pub minute: u16,
    /// Height of the sun above the horizon, ° (none below it).
    pub sun_elevation_deg: Option<f64>,
    /// Azimuth of the sun, °.
    pub sun_azimuth_deg: Option<f64>,
    /// Beam normal irradiance, W/m², before the skyline.
    pub dni_w_m2: f64,
    /// Diffuse horizontal irradiance, W/m², before the skyline.
    pub dhi_w_m2: f64,
    /// Where the panel looks: tilt, °.
    pub aim_tilt_deg: f64,
    /// Where the panel looks: azimuth, °.
    pub aim_azimuth_deg: f64,
    /// Angle between the panel's normal and the mount's target, °.
    pub off_aim_deg: Option<f64>,
    /// Whether the mount hunts: its motors turn to and fro, at least some twenty times an hour.
    pub hunts: bool,
    /// Irradiance on the panel, W/m².
    pub plane_w_m2: f64,
    /// Panel voltage, V.
    pub panel_v: f64,
    /// Panel current, A.
    pub panel_a: f64,
    /// Battery terminal voltage, V.
    pub battery_v: Option<f64>,
    /// State of charge, share.
    pub soc: Option<f64>,
    /// Voltage at the pump while it runs, V.
    pub pump_v: f64,
    /// Share of the minute the pump runs.
    pub duty: f64,
    /// Height of the jet while it runs, m.
    pub jet_m: f64,
    /// Whether the minute is wanted.
    pub wanted: bool,
    /// Whether it counts as jet.
    pub counted: bool,
    /// Why not, if wanted and not counted.
    pub cause: Option<Cause>,
    /// The rule of `[running]` that holds the pump back or slows it down, whether the minute is wanted or not.
    pub rule: Option<RuleAtWork>,
    /// Air temperature, °C (of the hour).
    pub air_c: f64,
    /// Wind at 10 m, m/s (of the hour).
    pub wind_m_s: f64,
    /// Temperature of the battery, °C (of the hour).
    pub battery_c: Option<f64>,
    /// Whether frost forbids charging the battery.
    pub frost_lock: Option<bool>,
    /// Water above the low-water mark at the start of the hour, L.
    pub water_l: f64,
    /// Temperature of the water, °C (of the hour), where ice is looked at.
    pub water_c: Option<f64>,
    /// Its ice, m.
    pub ice_m: Option<f64>,
}
