//! What the weather files leave open: a second interval beside the simulation's own error.

use super::places::InputRange;
use super::season_layout::SeasonLayout;
use super::summary::{Estimate, Minutes, Season};
use super::verdict::Meets;
use crate::units::dates::MEAN_MONTH_DAYS;
use crate::units::normal_quantile;
use crate::weather::input::{InputError, WeatherInput};

/// Share of places like this within a range.
pub const COVERAGE: f64 = 0.8;
/// Normal quantile of its upper end: nine in ten lie below, nine in ten above the lower.
const Z: f64 = 1.281_551_565_544_6;

impl InputRange {
    /// For the season of a run.
    pub fn of(input: WeatherInput, layout: &SeasonLayout, season: &Season) -> InputRange {
        let store_d = store_d(layout);
        let error = input.error(store_d);
        let still = |input: WeatherInput| still_days(season.still_days_per_month, input.error(store_d));
        let wish = &season.wish;
        let years = years_met(wish.years_met, wish.years_met_95, error);
        InputRange {
            kind: input.kind,
            files: input.files,
            coverage: COVERAGE,
            still_days_per_month: still(input),
            still_days_per_month_from_real_years: input.better().map(|i| (i.files, still(i))).collect(),
            dusk_run_min: season.dusk_run_min.as_ref().map(|m| dusk_run(m, error)),
            years_met: years,
            verdict_holds: holds(wish.meets, years, wish.confidence),
        }
    }
}

/// Days that a full battery runs the wanted load, by the labels.
pub fn store_d(layout: &SeasonLayout) -> f64 {
    let days = layout.days.len().max(1) as f64;
    let wanted_h = layout.days.iter().map(|d| d.wanted_min()).sum::<f64>() / 60.0 / days;
    let load_wh = layout.sizing.pump_w * wanted_h + 24.0 * layout.sizing.standby_w;
    let usable_wh = layout.sizing.usable_wh.filter(|_| load_wh > 0.0);
    usable_wh.map_or(0.0, |wh| wh / load_wh)
}

/// Range of still days a month: on the square root, where the files' error is nearly the same at all levels.
pub fn still_days(e: Estimate, error: InputError) -> [f64; 2] {
    let root = e.mean.max(0.0).sqrt();
    // The simulation's part: each end of its interval, which also holds where nothing was seen, brought from 95 to 80 %.
    let wide = |end: usize| {
        let own = e.interval_95.map_or(0.0, |ends| (ends[end].max(0.0).sqrt() - root) / 1.96);
        Z * (error.root_still * error.root_still + own * own).sqrt()
    };
    let (low, high) = ((root - wide(0)).max(0.0), root + wide(1));
    [low * low, (high * high).min(MEAN_MONTH_DAYS)]
}

fn dusk_run(m: &Minutes, error: InputError) -> [f64; 2] {
    let files = error.dusk_run * m.mean;
    let both = Z * (files * files + m.se.map_or(0.0, |se| se * se)).sqrt();
    [(m.mean - both).max(0.0), m.mean + both]
}

/// Range of a share of years, from the share and its 95 % interval: on normal quantiles.
pub fn years_met(share: f64, [low, high]: [f64; 2], error: InputError) -> [f64; 2] {
    let files = Z * error.years;
    // Each end of the simulation's interval, brought from 95 to 80 %.
    let end = |end: f64, sign: f64| {
        let inner = share.clamp(1e-4, 1.0 - 1e-4);
        let own = Z / 1.96 * (normal_quantile(end.clamp(1e-4, 1.0 - 1e-4)) - normal_quantile(inner));
        normal_share(normal_quantile(inner) + sign * (files * files + own * own).sqrt())
    };
    [end(low, -1.0), end(high, 1.0)]
}

/// Share of a standard normal below z.
fn normal_share(z: f64) -> f64 {
    0.5 * libm::erfc(-z * std::f64::consts::FRAC_1_SQRT_2)
}

/// Whether a verdict also holds at the end of the range that speaks against it.
pub fn holds(meets: Meets, [low, high]: [f64; 2], wished: f64) -> bool {
    match meets {
        Meets::Yes => low >= wished,
        Meets::No => high < wished,
        Meets::Unsure => false,
    }
}
