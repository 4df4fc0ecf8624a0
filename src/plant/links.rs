//! Each link of the plant alone, for one unit: what the kernels do, reached with plain numbers.
//!
//! These are the kernels' own functions on a lane of one, for checks against published values and for tables.

use super::battery::RestCurve;
use super::bus::Draw;
use super::kibam::KibamRows;
use super::panel::{Cells, PanelUnit};
use super::pump::{Pumps, flow, hiccup_duty};
use super::water::{DayAir, penman_mm};
use crate::design::{Chemistry, Design, Panel};

pub use super::drift::throw;
pub use super::panel::{Diode, Label};
pub use super::water::Daylight;

/// A panel of known diode, in light of `light_w_m2` on its cells at `cell_c` °C; `panel` says how its shunt
/// follows the light, `i_l_per_k` (A/K) how its light current follows the temperature.
pub fn cells(diode: &Diode, panel: &Panel<f64>, i_l_per_k: f64, light_w_m2: f64, cell_c: f64) -> Cells<f64> {
    PanelUnit::from_diode(diode, panel, i_l_per_k).under(light_w_m2, cell_c)
}

/// Cell temperature, °C (Faiman 2008).
pub fn cell_c(diode: &Diode, panel: &Panel<f64>, light_w_m2: f64, air_c: f64, wind_m_s: f64) -> f64 {
    air_c + PanelUnit::from_diode(diode, panel, 0.0).heating(wind_m_s) * light_w_m2
}

/// Current of a panel at a terminal voltage, A (negative above its open circuit).
pub fn current_at(cells: &Cells<f64>, volts: f64) -> f64 {
    let start = (volts + cells.i_l * cells.r_s).min(cells.open_bound().max(volts));
    super::bus::meet::<f64, 40, false>(cells, 0.0, (0.0, 1.0, volts), start, &Draw::nothing()).1
}

/// Open-circuit voltage, V.
pub fn open_volts(cells: &Cells<f64>) -> f64 {
    let nothing = Draw::nothing();
    super::bus::meet::<f64, 40, false>(cells, 0.0, (1.0, 0.0, 0.0), cells.open_bound(), &nothing).0
}

/// Bus voltage of a panel on a resistance, V.
pub fn volts_on(cells: &Cells<f64>, ohm: f64) -> f64 {
    let load = Draw { ohmic: 1.0 / ohm, ..Draw::nothing() };
    let (vd, i) = super::bus::meet::<f64, 8, false>(cells, 0.0, (1.0, 0.0, 0.0), cells.open_bound(), &load);
    vd - i * cells.r_s
}

/// The two wells of a lead-acid battery after some hours at a current (A, positive out), Ah.
pub fn kibam(capacity_ah: f64, c: f64, k_per_h: f64, q1: f64, q2: f64, amps: f64, hours: f64) -> (f64, f64) {
    let mut rows = KibamRows::default();
    rows.set_from(0, c, k_per_h, capacity_ah);
    super::kibam::Kibam::<f64>::of(&rows, 0).hours(q1, q2, amps, hours)
}

/// Rested open-circuit voltage of one cell at a state of charge, V.
pub fn rest_volts(chemistry: Chemistry, soc: f64) -> f64 {
    RestCurve::new(chemistry, 1).piece(soc).at(soc)
}

/// Current (A), jet height (m) and flow (L/min) of a design's pump at a voltage.
pub fn pump(design: &Design<f64>, volts: f64) -> (f64, f64, f64) {
    let pumps = Pumps::new(&[design]);
    let unit = pumps.lanes::<f64>(0);
    let jet = pumps.jet(&unit, 0, volts);
    (pumps.draw(&unit, 0, volts).0, jet, flow(&unit, jet))
}

/// Share of the time an electronic pump runs on a panel that gives less than it takes.
pub fn pulsing_duty(pv_a: f64, load_a: f64) -> f64 {
    hiccup_duty(pv_a, load_a)
}

/// Evaporation of open water, mm a day: warmest and coldest °C, vapour pressure kPa, wind at 2 m m/s, global
/// radiation MJ/m².
pub fn penman(
    (max_c, min_c): (f64, f64),
    vapour_kpa: f64,
    wind_2m: f64,
    sun_mj_m2: f64,
    day: &Daylight,
) -> f64 {
    penman_mm(&DayAir { max_c, min_c, vapour_kpa, wind_2m, sun_mj_m2 }, day)
}
