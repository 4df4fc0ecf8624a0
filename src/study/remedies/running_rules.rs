//! Rules of `[running]` that a design without such a rule may try: a small controller or timer has them, so they cost nothing.
//!
//! Their values are common practice, no source; a builder whose controller can do better tries others as remedies of the design.

use crate::design::{BenchCurve, Change, Design};
use crate::units::Uncertain;

/// Charge below which a rule acts, and from which it ends.
const HALF: [&str; 2] = ["50 %", "60 %"];
/// The jet of a slowed pump is this much higher than wished for, so that most draws of the parts count.
const JET_MARGIN: f64 = 1.1;
/// A speed from which slowing down is not worth a rule.
const HARDLY_SLOWER: f64 = 0.95;

/// The rules that fit a design, each with its name.
pub(super) fn running_rules(d: &Design<Uncertain>) -> Vec<(&'static str, Vec<(String, Change)>)> {
    let Some(battery) = &d.battery else { return Vec::new() };
    let control = &d.running.control;
    let set = |key: &str, value: &str| {
        (format!("running.{key}"), Change::Set(toml::Value::String(value.to_owned())))
    };
    let below =
        |name: &str| vec![set(&format!("{name}_below"), HALF[0]), set(&format!("{name}_ends"), HALF[1])];
    let mut list = Vec::new();
    if control.reserve.is_none() {
        let mut changes = below("reserve");
        changes.push(set("reserve_until", "sunset - 30 min"));
        list.push(("half the charge kept for the evening", changes));
    }
    if control.slow.is_none()
        && let Some(speed) = lowest_speed(d, battery.nominal_voltage_v())
    {
        let mut changes = below("slow");
        changes.push(set("slow_speed", &format!("{:.0} %", 100.0 * speed)));
        list.push(("pump slower below half the charge", changes));
    }
    if control.rest.is_none() {
        list.push(("pump rests in turn below half the charge", below("rest")));
    }
    if control.hold.is_none() {
        list.push(("pump held in the morning until half full", vec![set("hold_until", HALF[0])]));
    }
    list
}

/// Share of its voltage, to 5 %, at which the pump still makes the wished jet on a battery; `None` if it is hardly slower then.
fn lowest_speed(d: &Design<Uncertain>, battery_v: f64) -> Option<f64> {
    let pump = d.nominal().pump;
    let full_v = battery_v.min(pump.highest_voltage_v);
    let wished_v = BenchCurve::of(&pump).voltage_v(JET_MARGIN * d.wish.jet_m.nominal, full_v);
    // A pump at rest has to start at this speed, too.
    let least_v = wished_v.max(1.05 * pump.start_voltage_v);
    let speed = (20.0 * least_v / full_v).ceil() / 20.0;
    (speed < HARDLY_SLOWER).then_some(speed)
}
