//! The inputs of the handbook's sizing figures, shown beside the simulated answer.
//!
//! Definitions: loss-of-load probability, generator and storage capacity C_A, C_S after Luque & Hegedus
//! (eds.), Handbook of Photovoltaic Science and Engineering, eqs 20.79 and 20.80; array-to-load ratio in the structure
//! of IEEE 1562 (from memory). The figures themselves: [`super::worksheet`].

use crate::design::{Battery, BenchCurve, Chemistry, Design};
use crate::units::Uncertain;

/// The inputs of the worksheet, from the nominal values of a design.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SizingInputs {
    /// Power of the pump at the wished jet, W: of a pump that never runs; the load is else what the plant takes.
    pub pump_w: f64,
    /// Power drawn all day and night by electronics and sensor board, W.
    pub standby_w: f64,
    /// Rated power of the panel, W.
    pub panel_w: f64,
    /// Energy the battery can give between full and empty by the usual limit of its chemistry, Wh.
    pub usable_wh: Option<f64>,
}

impl SizingInputs {
    /// Those of a design.
    pub(crate) fn of(design: &Design<Uncertain>) -> SizingInputs {
        let bus_v = design
            .battery
            .as_ref()
            .map_or_else(|| design.panel.max_power_voltage_v.nominal, Battery::nominal_voltage_v);
        SizingInputs {
            pump_w: pump_power_w(&design.nominal()),
            standby_w: bus_v
                * (design.nominal().electronics.own_current_a() + design.mount.standby_current_a.nominal),
            panel_w: design.panel.rated_power_w.nominal,
            usable_wh: design
                .battery
                .as_ref()
                .map(|b| b.usable_capacity_ah() * bus_v * usual_depth(b.chemistry)),
        }
    }
}

/// Depth of discharge used for sizing (common practice, no source).
fn usual_depth(chemistry: Chemistry) -> f64 {
    match chemistry {
        Chemistry::LithiumIon | Chemistry::LithiumIronPhosphate | Chemistry::NickelMetalHydride => 0.8,
        Chemistry::LeadAcid => 0.5,
    }
}

/// Power that the pump takes from the bus while the jet is wanted, W. On a battery it runs at the battery's voltage, held at
/// its highest by a linear regulator, whatever jet is wished for; on a panel alone, just as fast as the wish needs.
fn pump_power_w(design: &Design<f64>) -> f64 {
    let (pump, curve) = (&design.pump, BenchCurve::of(&design.pump));
    match &design.battery {
        Some(battery) => {
            if let Some(socket) = &design.electronics.socket {
                let given_w =
                    socket.voltage_v * curve.current_a(socket.voltage_v.min(pump.highest_voltage_v));
                return given_w * (1.0 + socket.loss + socket.loss_per_watt * given_w);
            }
            let bus_v = battery.nominal_voltage_v();
            bus_v * curve.current_a(bus_v.min(pump.highest_voltage_v))
        }
        None => {
            let volts = curve.voltage_v(design.wish.jet_m, pump.highest_voltage_v);
            volts * curve.current_a(volts)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn power_w(battery: &str, jet: &str) -> f64 {
        let text = format!(
            "[site]\nweather = \"a\"\n[wish]\njet = \"{jet}\"\n[panel]\nrated_power = \"10 W\"\n\
             open_circuit_voltage = \"10.8 V\"\n{battery}[pump]\n\
             bench = [[\"3 V\", \"100 mA\", \"100 mm\"], [\"6 V\", \"300 mA\", \"400 mm\"]]\n"
        );
        let file =
            crate::design::parse(std::path::Path::new("s.toml"), text).unwrap_or_else(|p| panic!("{p}"));
        pump_power_w(&file.design.nominal())
    }

    #[test]
    fn on_a_panel_the_pump_takes_what_the_wished_jet_needs() {
        assert!((power_w("", "100 mm") - 0.3).abs() < 1e-9);
        assert!((power_w("", "400 mm") - 1.8).abs() < 1e-9);
        // A quarter of the height is half the speed: an eighth of the power.
        assert!((power_w("", "25 mm") - 0.3 / 8.0).abs() < 1e-9);
    }

    #[test]
    fn on_a_battery_it_takes_what_the_battery_gives_whatever_the_jet() {
        let battery = |volts: &str| {
            format!("[battery]\nchemistry = \"LFP\"\nvoltage = \"{volts}\"\ncapacity = \"3 Ah\"\n")
        };
        // 300 mA at 6 V, (6.4/6)² of it at 6.4 V.
        let amps = 0.3 * (6.4f64 / 6.0) * (6.4 / 6.0);
        assert!((power_w(&battery("6.4 V"), "100 mm") - 6.4 * amps).abs() < 1e-9);
        assert!((power_w(&battery("6.4 V"), "400 mm") - 6.4 * amps).abs() < 1e-9);
        // Held at 7.2 V, 1.2 times the last bench row, and fed from 9.6 V.
        let held = 0.3 * 1.44;
        assert!((power_w(&battery("9.6 V"), "100 mm") - 9.6 * held).abs() < 1e-9);
    }
}
