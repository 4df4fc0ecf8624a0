//! Whether the parts of a build work together: their voltages and currents, compared.
//!
//! A design is free to try what a label does not promise, and is then simulated. A shelf is a buyer's: a build that
//! could not work, or would harm its battery, is refused with a reason before it is simulated. Limits without a
//! source are common practice. What labels do not say (the highest voltage that a mount or charger tolerates) is not checked.

use super::parts::{Charging, MountKind};
use super::whole::Design;
use crate::units::Uncertain;

/// The rule by which two parts are compared.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Rule {
    /// Panel and battery: the panel's voltage never fills it.
    PanelTooLow,
    /// Panel and battery: without a converter most of the panel's power would be lost.
    PanelTooHigh,
    /// Panel and battery: nothing keeps the panel's current within what the battery takes.
    ChargingTooStrong,
    /// Battery and pump: the pump never starts.
    BatteryTooLow,
    /// Battery and pump: the pump would have to be held at less than half the battery's voltage.
    BatteryTooHigh,
    /// Battery and pump: the pump's current pulls even a full battery below its cut-off.
    PumpTooStrong,
    /// Panel and pump, no battery: the pump never starts.
    PanelNeverStarts,
    /// Panel and pump, no battery: the panel cannot carry the pump.
    PanelNeverCarries,
    /// Battery and mount: its motors would stall.
    MountStallsOnBattery,
    /// Panel and mount, no battery: its motors would stall, or take more than the panel gives.
    MountStallsOnPanel,
}

/// Why a build is refused.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Misfit {
    /// The rule it breaks.
    pub rule: Rule,
    /// What does not fit what, with values.
    pub why: String,
}

/// Voltage at maximum power over battery voltage from which a panel without converter is a waste (common practice,
/// no source).
const PANEL_OVER_BATTERY: f64 = 2.0;
/// Battery voltage over the pump's highest from which holding the pump down wants a converter of its own (common
/// practice, no source).
const BATTERY_OVER_PUMP: f64 = 2.0;

/// The first rule that a build's parts break, as their labels say; `None` if they go together.
pub fn misfit(d: &Design<Uncertain>) -> Option<Misfit> {
    let panel = PanelBehindDiode {
        open_v: d.panel.open_circuit_voltage_v.nominal - d.panel.blocking_drop_v.nominal,
        max_power_v: d.panel.max_power_voltage_v.nominal - d.panel.blocking_drop_v.nominal,
        short_a: d.panel.short_circuit_current_a.nominal,
    };
    match &d.battery {
        Some(_) => battery_misfit(d, &panel).or_else(|| mount_misfit(d)),
        None => panel_misfit(d, &panel),
    }
    .map(|(rule, why)| Misfit { rule, why })
}

/// A panel behind its blocking diode.
struct PanelBehindDiode {
    open_v: f64,
    max_power_v: f64,
    short_a: f64,
}

type Found = Option<(Rule, String)>;

fn battery_misfit(d: &Design<Uncertain>, panel: &PanelBehindDiode) -> Found {
    let (battery, e) = (d.battery.as_ref()?, &d.electronics);
    let full_v = e.charge_voltage_v.nominal;
    let nominal_v = battery.nominal_voltage_v();
    let limit_a = e.charge_current_max_a.nominal;
    if e.charging == Charging::Mppt {
        if panel.max_power_v <= full_v {
            let why = format!(
                "behind its diode the panel has {} at maximum power, but the battery charges to {}: the converter can \
                 only step down",
                volts(panel.max_power_v),
                volts(full_v)
            );
            return Some((Rule::PanelTooLow, why));
        }
    } else {
        if panel.open_v <= full_v {
            let why = format!(
                "behind its diode the panel has an open-circuit voltage of {}, but the battery charges to {}",
                volts(panel.open_v),
                volts(full_v)
            );
            return Some((Rule::PanelTooLow, why));
        }
        if panel.max_power_v > PANEL_OVER_BATTERY * nominal_v {
            let why = format!(
                "the panel has {} at maximum power, more than twice the battery's {}: most of its power would be \
                 lost without an MPPT charger",
                volts(panel.max_power_v),
                volts(nominal_v)
            );
            return Some((Rule::PanelTooHigh, why));
        }
        if panel.short_a > limit_a * (1.0 + 1e-9) {
            let why = format!(
                "the panel can deliver {}, but the battery must not be charged with more than {}, and nothing \
                 limits the current",
                amperes(panel.short_a),
                amperes(limit_a)
            );
            return Some((Rule::ChargingTooStrong, why));
        }
    }
    let pump = &d.pump;
    if pump.start_voltage_v.nominal >= full_v {
        let why = format!(
            "the pump starts at {}, but the full battery has {}",
            volts(pump.start_voltage_v.nominal),
            volts(full_v)
        );
        return Some((Rule::BatteryTooLow, why));
    }
    if nominal_v > BATTERY_OVER_PUMP * pump.highest_voltage_v.nominal {
        let why = format!(
            "the battery has {}, more than twice the {} that the pump tolerates: this needs a converter",
            volts(nominal_v),
            volts(pump.highest_voltage_v.nominal)
        );
        return Some((Rule::BatteryTooHigh, why));
    }
    let draw_a = pump.bench.last()?.current_a.nominal;
    let under_load_v = full_v - draw_a * battery.resistance_ohm.nominal;
    (under_load_v <= e.cut_off_v.nominal).then(|| {
        let why = format!(
            "the pump's {} would pull even the full battery down to {}, below the cut-off of {}",
            amperes(draw_a),
            volts(under_load_v),
            volts(e.cut_off_v.nominal)
        );
        (Rule::PumpTooStrong, why)
    })
}

fn mount_misfit(d: &Design<Uncertain>) -> Found {
    let (battery, mount) = (d.battery.as_ref()?, &d.mount);
    let (nominal_v, lowest_v) = (battery.nominal_voltage_v(), mount.lowest_voltage_v.nominal);
    (mount.kind != MountKind::Fixed && nominal_v < lowest_v).then(|| {
        let why = format!(
            "the motors of the mount stall below {}, but the battery has {}",
            volts(lowest_v),
            volts(nominal_v)
        );
        (Rule::MountStallsOnBattery, why)
    })
}

fn panel_misfit(d: &Design<Uncertain>, panel: &PanelBehindDiode) -> Found {
    let start_v = d.pump.start_voltage_v.nominal;
    if panel.open_v <= start_v {
        let why = format!(
            "there is no battery: the pump starts at {}, but the open-circuit voltage of the panel is {}",
            volts(start_v),
            volts(panel.open_v)
        );
        return Some((Rule::PanelNeverStarts, why));
    }
    let least_a = d.pump.bench.first()?.current_a.nominal;
    if panel.short_a < least_a {
        let why = format!(
            "there is no battery: the pump draws {} at its lowest bench voltage, but the panel delivers {} at most",
            amperes(least_a),
            amperes(panel.short_a)
        );
        return Some((Rule::PanelNeverCarries, why));
    }
    if d.mount.kind == MountKind::Fixed {
        return None;
    }
    let (lowest_v, motor_a) = (d.mount.lowest_voltage_v.nominal, d.mount.motor_current_a.nominal);
    (panel.max_power_v < lowest_v || panel.short_a < motor_a).then(|| {
        let why = format!(
            "there is no battery: the mount needs {} at {} or more, but the panel delivers {} at most and has {} at \
             maximum power",
            amperes(motor_a),
            volts(lowest_v),
            amperes(panel.short_a),
            volts(panel.max_power_v)
        );
        (Rule::MountStallsOnPanel, why)
    })
}

fn volts(v: f64) -> String {
    format!("{v:.1} V")
}

fn amperes(a: f64) -> String {
    if a < 0.9995 { format!("{:.0} mA", 1000.0 * a) } else { format!("{a:.2} A") }
}
