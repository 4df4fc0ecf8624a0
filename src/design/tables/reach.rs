//! What the pump is asked for against what its bench can give.

use crate::design::reader::DesignReader;
use crate::design::{BenchPoint, Electronics, Pump, Wish};
use crate::units::{Dimension, System, Uncertain, show};

const FLOW: &str = "pump.flow";
const JET: &str = "wish.jet";
/// Weight of a litre of water a minute, N/s: its power for each metre it is lifted.
const LIFT_W_L_MIN_M: f64 = 9.806_65 / 60.0;
/// More of its electric power than this no small pump gives its water (common practice, no source).
const BEST_EFFICIENCY: f64 = 0.7;

/// Refuses a flow whose jet has more power than the pump takes, and warns of one that has most of it.
pub(in crate::design) fn flow_agrees(r: &mut DesignReader<'_>, pump: &Pump<Uncertain>) {
    let (Some(value), Some(last)) = (r.value(FLOW).map(|v| v.span()), pump.bench.last()) else { return };
    let jet_w = LIFT_W_L_MIN_M * pump.flow_l_min.nominal * last.jet_m.nominal;
    let pump_w = last.voltage_v.nominal * last.current_a.nominal;
    let watts = |w: f64| show(w, Dimension::Power, 3, System::Si);
    let help = "the flow is that at the last bench row; is it in L/min or in L/h?";
    if jet_w > pump_w {
        let title = format!(
            "the water would have more power than the pump takes: {} of {}",
            watts(jet_w),
            watts(pump_w)
        );
        r.error(value, title, "too much water for this jet", help);
    } else if jet_w > BEST_EFFICIENCY * pump_w {
        let title = format!("the water has {:.0} % of the pump's power", 100.0 * jet_w / pump_w);
        r.warn(value, title, "much water for this jet", help);
    }
}

/// Refuses a jet that the pump cannot throw even at the highest voltage it ever has; on a battery that is the voltage it is charged to.
pub(in crate::design) fn jet_in_reach(
    r: &mut DesignReader<'_>,
    wish: &Wish<Uncertain>,
    pump: &Pump<Uncertain>,
    charged_by: Option<&Electronics<Uncertain>>,
) {
    let full_v = charged_by.map_or(f64::INFINITY, |e| e.charge_voltage_v.highest());
    let highest_v = pump.highest_voltage_v.highest();
    let volts = highest_v.min(full_v);
    let most_m = highest_jet_m(pump, volts);
    if wish.jet_m.lowest() <= most_m {
        return;
    }
    let metres = |m: f64| show(m, Dimension::Length, 3, System::Si);
    let title = format!("the pump never throws the wished jet: {} at most", metres(most_m));
    let at = show(volts, Dimension::Voltage, 3, System::Si);
    let why = if full_v < highest_v { "the full battery's" } else { "its highest voltage of" };
    let help = format!(
        "its bench, carried on to {why} {at} with the square of the voltage: wish for less, or a stronger pump"
    );
    let places = [(JET, "higher than ..."), ("pump.bench", "... this pump")];
    r.contradiction(title, &places, &help);
}

/// The highest jet at a voltage, m: along the bench and beyond its last row with the square of the voltage; of a head before a nozzle
/// what a jet without air would reach.
fn highest_jet_m(pump: &Pump<Uncertain>, volts: f64) -> f64 {
    let share = pump.nozzle.as_ref().map_or(1.0, |n| n.velocity.highest().powi(2));
    let height = |p: &BenchPoint<Uncertain>| share * p.jet_m.highest();
    let square = |p: &BenchPoint<Uncertain>| p.voltage_v.lowest().powi(2);
    let mut most_m = 0.0_f64;
    let mut before = (0.0, 0.0);
    for point in &pump.bench {
        let here = (square(point), height(point));
        if volts * volts < here.0 {
            let part = (volts * volts - before.0) / (here.0 - before.0).max(1e-9);
            return most_m.max(before.1 + part.max(0.0) * (here.1 - before.1));
        }
        most_m = most_m.max(here.1);
        before = here;
    }
    most_m.max(before.1 * volts * volts / before.0.max(1e-9))
}
