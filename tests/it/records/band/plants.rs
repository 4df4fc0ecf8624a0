//! The builds: without a battery, with one for a day and a half, and for four days; each with three sizes of panel.

use super::super::climates::record::{Record, months};
use super::outcomes;
use std::sync::Arc;
use stilldays::design::{self, DesignFile};
use stilldays::study::{Engine, Plan, SiteModel};
use stilldays::units::dates::month_day;

/// Capacities of the 6.4 V batteries, Ah.
const BATTERIES_AH: [Option<f64>; STORES] = [None, Some(2.8), Some(7.5)];
pub const STORES: usize = 3;

/// Still days a month on the record's own years.
pub const LEVELS: [f64; 3] = [0.3, 1.0, 3.0];

/// First day of each month, and the end of the year.
const MONTH_STARTS: [u16; 13] = [0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334, 365];

pub struct Plants {
    pub plans: Vec<Plan>,
}

/// Months whose clear sky has half the light of the best month's.
fn season(record: &Record) -> (u16, u16) {
    let month = months();
    let mut clear = [0.0; 12];
    for (d, wh) in record.clear_wh_m2.iter().enumerate() {
        let m = usize::from(month[d]);
        clear[m] += wh / f64::from(MONTH_STARTS[m + 1] - MONTH_STARTS[m]);
    }
    let best = clear.iter().fold(0.0f64, |a, b| a.max(*b));
    let bright = |m: usize| clear[m % 12] >= 0.5 * best;
    let first = (0..12).find(|&m| bright(m) && !bright(m + 11));
    let Some(first) = first else { return (0, 364) };
    let last = (first..).find(|&m| !bright(m + 1)).expect("a dark month") % 12;
    (MONTH_STARTS[first], MONTH_STARTS[last + 1] - 1)
}

fn text(record: &Record, battery_ah: Option<f64>, panel_w: f64) -> String {
    let (first, last) = season(record);
    let (latitude, azimuth) =
        (record.place.latitude_deg, if record.place.latitude_deg > 0.0 { 180 } else { 0 });
    let battery = battery_ah.map_or(String::new(), |ah| {
        format!("[battery]\nchemistry = \"LFP\"\nvoltage = \"6.4 V\"\ncapacity = \"{ah} Ah\"\n")
    });
    format!(
        "[site]\nweather = \"record\"\n[wish]\nseason = \"{} to {}\"\nhours = \"10:00 to sunset + 90 min\"\n\
         dusk_run = \"60 min\"\nevenings = \"75 %\"\njet = \"250 mm\"\nstill_below = \"30 min\"\n\
         [panel]\nrated_power = \"{panel_w:.4} W\"\nopen_circuit_voltage = \"10.8 V\"\nshort_circuit_current = \"{:.5} A\"\n\
         [mount]\nkind = \"fixed\"\ntilt = \"{:.0} deg\"\nazimuth = \"{azimuth} deg\"\n{battery}\
         [pump]\nbench = [[\"3 V\", \"62 mA\", \"140 mm\"], [\"6 V\", \"155 mA\", \"480 mm\"]]\nhighest_voltage = \"7.5 V\"\n\
         [water]\ntop_up = \"always\"\n",
        month_day(first),
        month_day(last),
        0.125 * panel_w,
        latitude.abs().clamp(10.0, 40.0),
    )
}

fn design(record: &Record, battery_ah: Option<f64>, panel_w: f64) -> DesignFile {
    design::parse("build.toml".as_ref(), text(record, battery_ah, panel_w))
        .unwrap_or_else(|p| panic!("{p}\n{}", text(record, battery_ah, panel_w)))
}

impl Plants {
    /// By level, and within it by plant.
    pub fn new(record: &Record, panels_w: &[f64], site: Arc<SiteModel>) -> Plants {
        let plan =
            |(i, w): (usize, &f64)| Plan::at(design(record, BATTERIES_AH[i % STORES], *w), Arc::clone(&site));
        Plants { plans: panels_w.iter().enumerate().map(plan).collect() }
    }

    pub fn months(&self) -> f64 {
        self.plans[0].layout.days.len() as f64 * 12.0 / 365.0
    }
}

/// Panels that give each plant each level on the record's own years, in the order of [`Plants::new`].
pub fn sized(engine: &Engine<'_>, record: &Record, truth: &Arc<SiteModel>) -> Vec<f64> {
    let tried: Vec<f64> = (0..14).map(|k| 0.9 * libm::pow(1.32, f64::from(k))).collect();
    let panels: Vec<f64> = tried.iter().flat_map(|w| [*w; STORES]).collect();
    let ladder = Plants::new(record, &panels, Arc::clone(truth));
    let months = ladder.months();
    let n = record.index.len() as u64;
    let got = outcomes(engine, &ladder, n.clamp(16, 32));
    let still = |k: usize, p: usize| {
        let all = &got[k * STORES + p];
        (all.iter().map(|o| f64::from(o.still_days)).sum::<f64>() / all.len() as f64 / months).sqrt()
    };
    LEVELS
        .iter()
        .flat_map(|level| {
            (0..STORES)
                .map(|p| {
                    let want = level.sqrt();
                    let k = (1..tried.len()).find(|&k| still(k, p) < want).unwrap_or(tried.len() - 1);
                    let (a, b) = (still(k - 1, p), still(k, p));
                    let part = if a > b { ((a - want) / (a - b)).clamp(0.0, 1.0) } else { 1.0 };
                    tried[k - 1] * libm::pow(tried[k] / tried[k - 1], part)
                })
                .collect::<Vec<_>>()
        })
        .collect()
}
