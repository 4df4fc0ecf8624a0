//! Whether the parts of a build work together: their voltages and currents, compared.
//!
//! [`misfit`] judges by nominal values, as a buyer does; a shelf's build that breaks any rule is refused. A design file is
//! refused only if a rule that makes a build useless is broken even at the ends of the uncertainty ranges that suit it
//! best; all other broken rules are warned about ([`found`]). Limits without a source are common practice. What labels do
//! not say (the highest voltage that a mount or charger tolerates) is not checked.

use super::parts::{Battery, BenchCurve, BenchPoint, Charging, MountKind, Pump, PumpKind};
use super::whole::Design;
use crate::source::Severity;
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
    /// Battery and pump: the wished jet is higher than the pump throws at the highest voltage it gets.
    JetTooHighOnBattery,
    /// Panel and pump, no battery: the pump never starts.
    PanelNeverStarts,
    /// Panel and pump, no battery: the panel cannot carry the pump.
    PanelNeverCarries,
    /// Panel and pump, no battery: the wished jet is higher than the pump throws at the highest voltage it gets.
    JetTooHighOnPanel,
    /// Battery and mount: its motors would stall.
    MountStallsOnBattery,
    /// Panel and mount, no battery: its motors would stall, or take more than the panel gives.
    MountStallsOnPanel,
}

impl Rule {
    /// Whether a build that breaks it never does what it is for; otherwise it works, but badly.
    fn makes_useless(self) -> bool {
        match self {
            Rule::PanelTooHigh | Rule::ChargingTooStrong | Rule::BatteryTooHigh => false,
            Rule::PanelTooLow
            | Rule::BatteryTooLow
            | Rule::PumpTooStrong
            | Rule::JetTooHighOnBattery
            | Rule::PanelNeverStarts
            | Rule::PanelNeverCarries
            | Rule::JetTooHighOnPanel
            | Rule::MountStallsOnBattery
            | Rule::MountStallsOnPanel => true,
        }
    }

    /// Keys of a design that are compared, each with what is to be said at it; and the cure.
    pub(super) fn places(self) -> (&'static [(&'static str, &'static str)], &'static str) {
        const BATTERY: (&str, &str) = ("battery.voltage", "this battery");
        const PANEL: (&str, &str) = ("panel.rated_power", "this panel");
        match self {
            Rule::PanelTooLow => (
                &[("panel.open_circuit_voltage", "too low"), PANEL, BATTERY],
                "take a panel with more cells in series, or a battery of lower voltage",
            ),
            Rule::PanelTooHigh => (
                &[("panel.open_circuit_voltage", "too high"), PANEL, BATTERY],
                "take a charger that tracks the maximum power point (charging = \"mppt\"), or a panel of lower voltage",
            ),
            Rule::ChargingTooStrong => (
                &[("panel.short_circuit_current", "too much"), PANEL, BATTERY],
                "take a larger battery or a smaller panel; if the battery accepts more, give `charge_current_max` in [electronics]",
            ),
            Rule::BatteryTooLow => (
                &[("pump.start_voltage", "never reached"), ("pump.bench", "this pump"), BATTERY],
                "take a battery of higher voltage, or a pump that starts at a lower one",
            ),
            Rule::BatteryTooHigh => (
                &[("pump.highest_voltage", "less than half"), ("pump.bench", "this pump"), BATTERY],
                "take a battery of lower voltage, or a pump for a higher one",
            ),
            Rule::PumpTooStrong => (
                &[("pump.bench", "this pump"), ("battery.capacity", "this battery")],
                "take a larger battery, which has less resistance, or a smaller pump",
            ),
            Rule::JetTooHighOnBattery => (
                &[("wish.jet", "never reached"), ("pump.bench", "by this pump"), BATTERY],
                "wish for a lower jet, or take a stronger pump or a battery of higher voltage",
            ),
            Rule::PanelNeverStarts => (
                &[("pump.start_voltage", "never reached"), ("pump.bench", "this pump"), PANEL],
                "take a panel of higher voltage, a pump that starts at a lower one, or a battery",
            ),
            Rule::PanelNeverCarries => {
                (&[("pump.bench", "this pump"), PANEL], "take a larger panel, a smaller pump, or a battery")
            }
            Rule::JetTooHighOnPanel => (
                &[("wish.jet", "never reached"), ("pump.bench", "by this pump"), PANEL],
                "wish for a lower jet, or take a stronger pump",
            ),
            Rule::MountStallsOnBattery => (
                &[("mount.lowest_voltage", "never reached"), ("mount.kind", "this mount"), BATTERY],
                "take a battery of higher voltage, or a mount that runs on a lower one",
            ),
            Rule::MountStallsOnPanel => (
                &[("mount.lowest_voltage", "this voltage"), ("mount.kind", "this mount"), PANEL],
                "take a larger panel or one of higher voltage, a mount that needs less, or a battery",
            ),
        }
    }
}

/// Parts of a build that do not fit, and why.
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

/// The first rule that a build's parts break, by nominal values; `None` if they go together.
pub fn misfit(design: &Design<Uncertain>) -> Option<Misfit> {
    broken(design, Judge::Nominal).into_iter().next()
}

/// What is to be said of a design file: the first rule that makes the build useless even with the luckiest parts; if there
/// is none, all rules that are broken by nominal values.
pub(super) fn found(design: &Design<Uncertain>) -> (Severity, Vec<Misfit>) {
    let useless = broken(design, Judge::Luckiest).into_iter().find(|m| m.rule.makes_useless());
    match useless {
        Some(misfit) => (Severity::Error, vec![misfit]),
        None => (Severity::Warning, broken(design, Judge::Nominal)),
    }
}

/// Which value of an uncertainty range is taken.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Judge {
    /// The nominal one.
    Nominal,
    /// The one that suits the rule best.
    Luckiest,
}

impl Judge {
    /// Where high values suit a rule.
    fn high(self, q: &Uncertain) -> f64 {
        if self == Judge::Nominal { q.nominal } else { q.highest() }
    }

    /// Where low values suit a rule.
    fn low(self, q: &Uncertain) -> f64 {
        if self == Judge::Nominal { q.nominal } else { q.lowest() }
    }
}

/// All broken rules, in order.
fn broken(d: &Design<Uncertain>, judge: Judge) -> Vec<Misfit> {
    let rules: &[fn(&Compared<'_>) -> Option<Misfit>] = match d.battery {
        Some(_) => &[
            panel_too_low,
            panel_too_high,
            charging_too_strong,
            battery_too_low,
            battery_too_high,
            pump_too_strong,
            jet_too_high_on_battery,
            mount_stalls_on_battery,
        ],
        None => &[panel_never_starts, panel_never_carries, jet_too_high_on_panel, mount_stalls_on_panel],
    };
    let compared = Compared { d, judge };
    rules.iter().filter_map(|rule| rule(&compared)).collect()
}

/// A design, and by which of its values it is judged.
struct Compared<'a> {
    d: &'a Design<Uncertain>,
    judge: Judge,
}

impl Compared<'_> {
    /// Open-circuit voltage behind the blocking diode, V; high.
    fn open_v(&self) -> f64 {
        let p = &self.d.panel;
        self.judge.high(&p.open_circuit_voltage_v) - self.judge.low(&p.blocking_drop_v)
    }

    /// Voltage at maximum power behind the blocking diode, V; high.
    fn max_power_v(&self) -> f64 {
        let p = &self.d.panel;
        self.judge.high(&p.max_power_voltage_v) - self.judge.low(&p.blocking_drop_v)
    }

    /// The pump with bench rows that suit it best: high jets, low voltages and currents.
    fn pump(&self) -> Pump<f64> {
        let lucky = |p: &BenchPoint<Uncertain>| BenchPoint {
            voltage_v: self.judge.low(&p.voltage_v),
            current_a: self.judge.low(&p.current_a),
            jet_m: self.judge.high(&p.jet_m),
        };
        let mut pump = self.d.pump.map(&mut |_, q| self.judge.high(q));
        pump.bench = self.d.pump.bench.iter().map(lucky).collect();
        pump
    }

    /// Height of the jet at the highest voltage that the pump gets from a supply of this voltage, m, and that voltage;
    /// high.
    fn highest_jet(&self, supply_v: f64) -> (f64, f64) {
        let pump = self.pump();
        let volts = supply_v.min(pump.highest_voltage_v);
        (BenchCurve::of(&pump).jet_m(volts), volts)
    }

    /// Mean current of the pump with the least jet that counts, A; low. While it pulses it takes a share of it.
    fn least_current_a(&self) -> f64 {
        let (pump, wish) = (self.pump(), &self.d.wish);
        let stop_v = self.judge.low(&self.d.pump.stop_voltage_v);
        let pulse_v = 0.5 * (self.judge.low(&self.d.pump.start_voltage_v) + stop_v);
        let curve = BenchCurve::of(&pump);
        let wish_v = curve.voltage_v(self.judge.low(&wish.jet_m), pump.highest_voltage_v);
        match pump.kind {
            PumpKind::Electronic if wish_v <= pulse_v => curve.current_a(pulse_v) * wish.pulse_counts_from,
            PumpKind::Electronic | PumpKind::Brushed => curve.current_a(wish_v.max(stop_v)),
        }
    }

    /// Voltage that pump and mount get, V: of a socket if there is one, else of the battery at this voltage; high.
    fn supply_v(&self, battery_v: f64) -> f64 {
        self.d.electronics.socket.as_ref().map_or(battery_v, |s| self.judge.high(&s.voltage_v))
    }

    /// How a supply of pump and mount is called.
    fn supply(&self) -> &'static str {
        if self.d.electronics.socket.is_some() { "the socket" } else { "the full battery" }
    }

    /// The battery, and the charge voltage, V; high.
    fn full(&self) -> Option<(&Battery<Uncertain>, f64)> {
        Some((self.d.battery.as_ref()?, self.judge.high(&self.d.electronics.charge_voltage_v)))
    }
}

/// A panel below the charge voltage never fills the battery; one below the battery's own voltage is useless.
fn panel_too_low(c: &Compared<'_>) -> Option<Misfit> {
    let (battery, full_v) = c.full()?;
    let (needed_v, needs) = match c.judge {
        Judge::Nominal => (full_v, "charges to"),
        Judge::Luckiest => (battery.nominal_voltage_v(), "has"),
    };
    let (panel_v, has, because) = match c.d.electronics.charging {
        Charging::Mppt => (c.max_power_v(), "at maximum power", ": the converter can only step down"),
        Charging::Direct | Charging::Pwm => (c.open_v(), "without load", ""),
    };
    misfits(panel_v <= needed_v, Rule::PanelTooLow, || {
        format!(
            "behind its diode the panel has {} {has}, but the battery {needs} {}{because}",
            volts(panel_v),
            volts(needed_v)
        )
    })
}

fn panel_too_high(c: &Compared<'_>) -> Option<Misfit> {
    let battery_v = c.d.battery.as_ref()?.nominal_voltage_v();
    let p = &c.d.panel;
    let panel_v = c.judge.low(&p.max_power_voltage_v) - c.judge.high(&p.blocking_drop_v);
    let wasted = c.d.electronics.charging != Charging::Mppt && panel_v > PANEL_OVER_BATTERY * battery_v;
    misfits(wasted, Rule::PanelTooHigh, || {
        format!(
            "the panel has {} at maximum power, more than twice the battery's {}: most of its power would be lost \
             without an MPPT charger",
            volts(panel_v),
            volts(battery_v)
        )
    })
}

fn charging_too_strong(c: &Compared<'_>) -> Option<Misfit> {
    let e = &c.d.electronics;
    let limit_a = c.judge.high(&e.charge_current_max_a);
    let short_a = c.judge.low(&c.d.panel.short_circuit_current_a);
    let strong = e.charging != Charging::Mppt && short_a > limit_a * (1.0 + 1e-9);
    misfits(strong, Rule::ChargingTooStrong, || {
        format!(
            "the panel can deliver {}, but the battery must not be charged with more than {}, and nothing limits the \
             current",
            amperes(short_a),
            amperes(limit_a)
        )
    })
}

fn battery_too_low(c: &Compared<'_>) -> Option<Misfit> {
    let (_, full_v) = c.full()?;
    let (start_v, full_v) = (c.judge.low(&c.d.pump.start_voltage_v), c.supply_v(full_v));
    misfits(start_v >= full_v, Rule::BatteryTooLow, || {
        format!("the pump starts at {}, but {} has {}", volts(start_v), c.supply(), volts(full_v))
    })
}

fn battery_too_high(c: &Compared<'_>) -> Option<Misfit> {
    let battery_v = c.supply_v(c.d.battery.as_ref()?.nominal_voltage_v());
    let highest_v = c.judge.high(&c.d.pump.highest_voltage_v);
    misfits(battery_v > BATTERY_OVER_PUMP * highest_v, Rule::BatteryTooHigh, || {
        format!(
            "{} has {}, more than twice the {} that the pump tolerates: this needs a converter",
            if c.d.electronics.socket.is_some() { "the socket" } else { "the battery" },
            volts(battery_v),
            volts(highest_v)
        )
    })
}

fn pump_too_strong(c: &Compared<'_>) -> Option<Misfit> {
    let (battery, full_v) = c.full()?;
    let draw_a = match &c.d.electronics.socket {
        // A converter takes the pump's power, without its own loss at least.
        Some(s) => c.judge.low(&c.d.pump.bench.last()?.current_a) * c.judge.low(&s.voltage_v) / full_v,
        None => c.judge.low(&c.d.pump.bench.last()?.current_a),
    };
    let loaded_v = full_v - draw_a * c.judge.low(&battery.resistance_ohm);
    let cut_off_v = c.judge.low(&c.d.electronics.cut_off_v);
    misfits(loaded_v <= cut_off_v, Rule::PumpTooStrong, || {
        format!(
            "the pump's {} would pull even the full battery down to {}, below the cut-off of {}",
            amperes(draw_a),
            volts(loaded_v),
            volts(cut_off_v)
        )
    })
}

fn jet_too_high_on_battery(c: &Compared<'_>) -> Option<Misfit> {
    let (_, full_v) = c.full()?;
    jet_too_high(c, Rule::JetTooHighOnBattery, c.supply_v(full_v))
}

fn jet_too_high_on_panel(c: &Compared<'_>) -> Option<Misfit> {
    jet_too_high(c, Rule::JetTooHighOnPanel, c.open_v())
}

fn jet_too_high(c: &Compared<'_>, rule: Rule, supply_v: f64) -> Option<Misfit> {
    let wish_m = c.judge.low(&c.d.wish.jet_m);
    let (jet_m, at_v) = c.highest_jet(supply_v);
    misfits(wish_m > jet_m * (1.0 + 1e-9), rule, || {
        format!(
            "a jet of {} is wished for, but the pump throws {} at {}, the highest voltage that it gets",
            centimetres(wish_m),
            centimetres(jet_m),
            volts(at_v)
        )
    })
}

fn mount_stalls_on_battery(c: &Compared<'_>) -> Option<Misfit> {
    let battery_v = c.supply_v(c.d.battery.as_ref()?.nominal_voltage_v());
    let lowest_v = c.judge.low(&c.d.mount.lowest_voltage_v);
    let stalls = c.d.mount.kind != MountKind::Fixed && battery_v < lowest_v;
    misfits(stalls, Rule::MountStallsOnBattery, || {
        format!(
            "the motors of the mount stall below {}, but {} has {}",
            volts(lowest_v),
            if c.d.electronics.socket.is_some() { "the socket" } else { "the battery" },
            volts(battery_v)
        )
    })
}

fn panel_never_starts(c: &Compared<'_>) -> Option<Misfit> {
    let (start_v, open_v) = (c.judge.low(&c.d.pump.start_voltage_v), c.open_v());
    misfits(open_v <= start_v, Rule::PanelNeverStarts, || {
        format!(
            "there is no battery: the pump starts at {}, but the open-circuit voltage of the panel is {}",
            volts(start_v),
            volts(open_v)
        )
    })
}

/// A panel that gives less than the pump draws at its lowest bench voltage makes it pulse or stall; one that gives less
/// than what a jet that counts takes is useless.
fn panel_never_carries(c: &Compared<'_>) -> Option<Misfit> {
    let short_a = c.judge.high(&c.d.panel.short_circuit_current_a);
    let (needed_a, at) = match c.judge {
        Judge::Nominal => (c.d.pump.bench.first()?.current_a.nominal, "at its lowest bench voltage"),
        Judge::Luckiest => (c.least_current_a(), "for the least jet that counts"),
    };
    misfits(short_a < needed_a, Rule::PanelNeverCarries, || {
        format!(
            "there is no battery: the pump draws {} {at}, but the panel delivers {} at most",
            amperes(needed_a),
            amperes(short_a)
        )
    })
}

fn mount_stalls_on_panel(c: &Compared<'_>) -> Option<Misfit> {
    let mount = &c.d.mount;
    let (lowest_v, motor_a) = (c.judge.low(&mount.lowest_voltage_v), c.judge.low(&mount.motor_current_a));
    let short_a = c.judge.high(&c.d.panel.short_circuit_current_a);
    let (panel_v, when) = match c.judge {
        Judge::Nominal => (c.max_power_v(), "at maximum power"),
        Judge::Luckiest => (c.open_v(), "without load"),
    };
    let stalls = mount.kind != MountKind::Fixed && (panel_v < lowest_v || short_a < motor_a);
    misfits(stalls, Rule::MountStallsOnPanel, || {
        format!(
            "there is no battery: the mount needs {} at {} or more, but the panel delivers {} at most and has {} {when}",
            amperes(motor_a),
            volts(lowest_v),
            amperes(short_a),
            volts(panel_v)
        )
    })
}

fn misfits(broken: bool, rule: Rule, why: impl FnOnce() -> String) -> Option<Misfit> {
    broken.then(|| Misfit { rule, why: why() })
}

fn volts(v: f64) -> String {
    format!("{v:.1} V")
}

fn amperes(a: f64) -> String {
    if a < 0.9995 { format!("{:.0} mA", 1000.0 * a) } else { format!("{a:.2} A") }
}

fn centimetres(m: f64) -> String {
    if m < 0.9995 { format!("{:.0} cm", 100.0 * m) } else { format!("{m:.2} m") }
}
