//! Converters, and the charge voltage of lead-acid.

use crate::check_file::{Check, relative};
use crate::common::{nominal, with_battery};
use stilldays::plant::single_unit;

#[test]
fn converters_and_the_battery_behind_them() {
    let design = nominal(&with_battery());
    let mut powers = Check::open("computed/07j_converter.csv").part("power taken and given");
    powers.compare(|line| {
        let loss = (line.number("a_W"), line.number("b"), line.number("c_perW"));
        let (taken, given) = single_unit::converter(loss);
        let (p_in, p_out) = (line.number("p_in_W"), line.number("p_out_W"));
        let at = |what: &str| format!("{what}, {} at {p_out} W", line.text("module"));
        vec![
            (at("taken"), relative(taken(p_out), p_in)),
            (at("given"), (given(p_in) - p_out) / p_out.max(1.0)),
        ]
    });
    powers.report(1e-9, "of the value");
    let mut volts = Check::open("computed/07j_converter.csv").part("battery under it");
    volts.compare(|line| {
        // Where the battery cannot give the power the socket is off with the next minute.
        if line.number("ok") == 0.0 {
            return Vec::new();
        }
        let loss = (line.number("a_W"), line.number("b"), line.number("c_perW"));
        let battery = (line.number("ocv_V"), line.number("R_ohm"), line.number("v_min_V"));
        let (bus_v, taken_a) = single_unit::socket_on_battery(&design, loss, battery, line.number("p_out_W"));
        vec![
            (format!("voltage, {}", line.text("module")), relative(bus_v, line.number("v_battery_V"))),
            (format!("current, {}", line.text("module")), relative(taken_a, line.number("i_battery_A"))),
        ]
    });
    volts.report(1e-5, "of the value");
    let mut out = Check::open("computed/07j_converter.csv").part("whether it holds");
    out.compare(|line| {
        let loss = (line.number("a_W"), line.number("b"), line.number("c_perW"));
        let battery = (line.number("ocv_V"), line.number("R_ohm"), line.number("v_min_V"));
        let (bus_v, _) = single_unit::socket_on_battery(&design, loss, battery, line.number("p_out_W"));
        vec![(line.text("module").to_owned(), f64::from(u8::from(bus_v >= battery.2)) - line.number("ok"))]
    });
    out.report(0.0, "answers");
}

#[test]
fn charge_voltage_of_lead_acid() {
    let mut check = Check::open("computed/07k_charge_voltage.csv");
    check.compare(|line| {
        let [cells, at_25_v, per_k, celsius] = ["x1", "x2", "x3", "x4"].map(|c| line.number(c));
        let ours = single_unit::charge_volts(cells * at_25_v, per_k / at_25_v, celsius);
        vec![(format!("{celsius} degC"), relative(ours, line.number("value")))]
    });
    check.report(1e-9, "of the value");
}
