//! A few figures of a design that its builder can check by eye, from its labels and from a few simulated seasons.

use super::plan::Plan;
use crate::design::BenchCurve;
use crate::tally::Summary;
use crate::tally::sizing::SizingInputs;

/// Trials that these figures are taken from: one block.
pub const TRIALS: u64 = crate::lanes::BLOCK as u64;

/// Figures to check by eye.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct KeyFigures {
    /// Height of the jet at the highest voltage that the pump gets, m; and that voltage, V.
    pub highest_jet: (f64, f64),
    /// Water that the basin loses, L a day over the season.
    pub lost_l_day: f64,
    /// Water above the low-water mark when it is full, L.
    pub usable_l: f64,
    /// In the month in which the panel gives least for what is wanted, 1..=12: energy wanted, and energy of the panel at its
    /// rated power, both Wh a day. None where nothing is wanted.
    pub worst_month: Option<(u8, f64, f64)>,
    /// How long the full battery runs pump and electronics without sun, h; none without a battery.
    pub battery_h: Option<f64>,
}

impl KeyFigures {
    /// Of a design, and a summary of some trials of it.
    pub fn of(plan: &Plan, summary: &Summary) -> KeyFigures {
        let design = plan.file.design.nominal();
        let supply_v = match design.battery {
            Some(_) => design
                .electronics
                .socket
                .as_ref()
                .map_or(design.electronics.charge_voltage_v, |s| s.voltage_v),
            None => design.panel.open_circuit_voltage_v - design.panel.blocking_drop_v,
        };
        let volts = supply_v.min(design.pump.highest_voltage_v);
        let sizing = SizingInputs::of(&plan.file.design);
        KeyFigures {
            highest_jet: (BenchCurve::of(&design.pump).jet_m(volts), volts),
            lost_l_day: summary.water.litres_per_week.mean / 7.0,
            usable_l: design.water.usable_l,
            worst_month: summary
                .sizing
                .as_ref()
                .map(|s| (s.worst_month, s.load_wh_day, s.array_wh_day_worst_month)),
            battery_h: sizing.usable_wh.map(|wh| wh / (sizing.pump_w + sizing.standby_w)),
        }
    }
}
