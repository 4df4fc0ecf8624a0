//! Operating points of the minute step, found in few iterations, against a root found by halving.

use crate::common::{nominal, with_battery};
use rand::RngExt;
use stilldays::design::BenchPoint;
use stilldays::plant::single_unit::{self, BatteryBus, Cells, Label, SingleLane};
use stilldays::seed::{Purpose, stream};

/// Panel, pump and battery drawn anew each time: label, light, warmth, rest voltage from far below to beyond the panel's open
/// circuit, resistance from a car battery's to six times the largest allowed (lithium iron phosphate at -20 °C), full or with
/// room, diode or converter, electronics beside; pumps whose current rises gently or steeply and by turns, and a hold that
/// many of them meet.
fn on_batteries<V: SingleLane>() -> [f64; 3] {
    let mut rng = stream(7, Purpose::Part("operating point"), 0, 0);
    let mut pick = |low: f64, high: f64| low + (high - low) * rng.random::<f64>();
    let mut design = nominal(&with_battery());
    let (mut volts, mut amps, mut pump, mut over) = (0.0_f64, 0.0_f64, 0.0_f64, 0);
    for k in 0..20_000 {
        let i_sc = pick(0.1, 1.5);
        let label = Label { i_sc, v_oc: 10.8, i_mp: 0.92 * i_sc, v_mp: pick(8.4, 9.1), cells: 18 };
        let diode = label.diode(1.1);
        design.panel.low_light = pick(0.0, 1.0);
        let cells = single_unit::cells(
            &diode,
            &design.panel,
            5e-4 * i_sc,
            libm::pow(pick(0.0, 33.0), 2.0),
            pick(-10.0, 65.0),
        );
        let drop = pick(0.0, 0.6);
        let rest_v = pick(4.0, 12.0);
        let ohm = libm::exp(pick(libm::log(0.005), libm::log(300.0)));
        let full_v = if k % 3 == 0 { rest_v + pick(0.0, 0.2) } else { 30.0 };
        let converter = if k % 4 == 0 { Some(pick(0.8, 0.95)) } else { None };
        let held = BatteryBus { rest_v, ohm, full_v, standby_a: pick(0.0, 0.02), converter };
        let row =
            |voltage_v: f64, current_a: f64| BenchPoint { voltage_v, current_a, jet_m: 0.1 * voltage_v };
        let (mut v, mut a) = (pick(2.0, 3.0), pick(0.05, 0.3));
        design.pump.bench.clear();
        for _ in 0..=(k % 4) {
            design.pump.bench.push(row(v, a));
            (v, a) = (v + pick(0.5, 3.0), a + 2.0 * libm::pow(pick(0.0, 1.0), 3.0));
        }
        design.pump.highest_voltage_v = pick(5.0, 15.0);
        let found = single_unit::pump_on_battery::<V>(&design, &cells, drop, &held);
        let exact = meeting(|v| single_unit::pump(&design, v).0, &cells, drop, &held);
        volts = volts.max((found.0 - exact.0).abs());
        amps = amps.max((found.1 - exact.1).abs());
        pump = pump.max((found.2 - exact.2).abs());
        over += usize::from((found.0 - full_v).abs() < 1e-5);
    }
    println!(
        "operating point on a battery: off by {volts:.1e} V, panel {amps:.1e} A, pump {pump:.1e} A; {over} full"
    );
    assert!(over > 200);
    [volts, amps, pump]
}

#[test]
fn a_bus_on_a_battery_settles_where_panel_pump_and_battery_meet() {
    // The pump's current is as far off as the voltage times its slope, some amperes for a volt.
    let [volts, amps, pump] = on_batteries::<f64>();
    assert!(volts < 1e-4 && amps < 2e-4 && pump < 1e-3, "{volts} V, {amps} A, {pump} A");
    let [volts, amps, pump] = on_batteries::<f32>();
    assert!(volts < 5e-4 && amps < 2e-4 && pump < 1e-3, "{volts} V, {amps} A, {pump} A");
}

/// The same panels with a pump alone, solved without a first guess: difference of the currents, A.
fn on_panels<V: SingleLane>() -> f64 {
    let mut rng = stream(8, Purpose::Part("operating point"), 0, 0);
    let mut pick = |low: f64, high: f64| low + (high - low) * rng.random::<f64>();
    let mut design = nominal(&with_battery());
    let (mut off, mut running) = (0.0_f64, 0);
    for _ in 0..20_000 {
        let i_sc = pick(0.1, 1.5);
        let label = Label { i_sc, v_oc: 10.8, i_mp: 0.92 * i_sc, v_mp: pick(8.4, 9.1), cells: 18 };
        design.panel.low_light = pick(0.0, 1.0);
        let (light, warmth) = (libm::pow(pick(0.0, 33.0), 2.0), pick(-10.0, 65.0));
        let cells = single_unit::cells(&label.diode(1.1), &design.panel, 5e-4 * i_sc, light, warmth);
        design.pump.bench[1].current_a = pick(0.15, 0.6);
        design.pump.highest_voltage_v = pick(6.0, 12.0);
        let (v, _, turns) = single_unit::pump_on_panel::<V>(&design, &cells, true);
        if turns {
            running += 1;
            off = off.max((single_unit::current_at(&cells, v) - single_unit::pump(&design, v).0).abs());
        }
    }
    println!("operating point on a panel: {running} run, off by {off:.1e} A");
    assert!(running > 5_000, "{running}");
    off
}

#[test]
fn a_bus_on_a_panel_settles_where_panel_and_pump_meet() {
    let (double, single) = (on_panels::<f64>(), on_panels::<f32>());
    assert!(double < 1e-9 && single < 1e-4, "{double} A, {single} A");
}

/// Bus voltage, current fed to the bus and pump current, by halving.
fn meeting(pump: impl Fn(f64) -> f64, cells: &Cells<f64>, drop: f64, held: &BatteryBus) -> (f64, f64, f64) {
    let BatteryBus { rest_v, ohm, full_v, standby_a, converter } = *held;
    let best = cells.max_power(drop);
    let fed = |v: f64| match converter {
        Some(efficiency) => efficiency * ((best.0 - drop) * best.1).max(0.0) / v.max(0.1),
        None if v + drop > 0.0 => single_unit::current_at(cells, v + drop).max(0.0),
        None => cells.i_l,
    };
    let charge = |v: f64| (fed(v) - pump(v) - standby_a).min((full_v - rest_v) / ohm);
    let (mut low, mut high) = (-10.0, 40.0);
    for _ in 0..80 {
        let mid = 0.5 * (low + high);
        if mid - rest_v - ohm * charge(mid) < 0.0 { low = mid } else { high = mid }
    }
    (low, charge(low) + pump(low) + standby_a, pump(low))
}
