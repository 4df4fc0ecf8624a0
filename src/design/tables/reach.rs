//! What the pump is asked for against what its bench can give.

use crate::design::Pump;
use crate::design::reader::DesignReader;
use crate::units::{Dimension, System, Uncertain, show};

const FLOW: &str = "pump.flow";
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
