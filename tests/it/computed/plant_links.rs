//! Panel, battery, pump and water against computed values.

use crate::check_file::{Check, relative};
use crate::common::{nominal, with_battery};
use stilldays::design::{BenchPoint, Panel};
use stilldays::plant::single_unit::{self, Diode, EvaporationDay, Label, Wells};
use stilldays::sky::Place;

fn panel(low_light: f64, u0: f64, u1: f64) -> Panel<f64> {
    let p = nominal(&with_battery()).panel;
    Panel { low_light, heat_loss_w_m2_k: u0, heat_loss_wind_w_s_m3_k: u1, ..p }
}

/// The two panels of 06d, 06e and 08g.
fn diode(name: &str) -> Diode {
    match name {
        "P10_36c" => {
            let a = 0.943_431_505_326_27;
            Diode { i_l: 0.62, i_o: 3e-10, a, r_s: 0.6, g_sh: 1.0 / 600.0, ideality: 1.02 }
        }
        "P3_12c_lowRsh" => {
            let a = 0.339_142_044_398_33;
            Diode { i_l: 0.55, i_o: 1e-9, a, r_s: 0.25, g_sh: 1.0 / 40.0, ideality: 1.1 }
        }
        other => panic!("unknown panel {other}"),
    }
}
const ISC_PER_K: f64 = 0.0003;

#[test]
fn cell_temperature() {
    let mut check = Check::open("computed/06a_cell_temperature.csv");
    check.compare(|l| {
        let at = |u0, u1| {
            let d = diode("P10_36c");
            let (g, ta, v) = (l.number("G_Wm2"), l.number("Ta_C"), l.number("wind_ms"));
            single_unit::cell_c(&d, &panel(1.0, u0, u1), g, ta, v)
        };
        vec![
            ("rack".into(), at(25.0, 6.84) - l.number("faiman_25_6.84_C")),
            ("wall".into(), at(15.0, 0.0) - l.number("faiman_15_0_C")),
        ]
    });
    check.report(1e-9, "C");
}

#[test]
fn single_diode() {
    let mut check = Check::open("computed/06d_single_diode.csv");
    check.compare(|l| {
        let d = diode(l.text("panel"));
        let cells = single_unit::cells(&d, &panel(1.0, 25.0, 6.84), ISC_PER_K, l.number("G"), l.number("Tc"));
        let (v_mp, i_mp) = cells.max_power(0.0);
        let mut errors = vec![
            ("i_sc".into(), relative(single_unit::current_at(&cells, 0.0), l.number("i_sc"))),
            ("v_oc".into(), relative(single_unit::open_volts(&cells), l.number("v_oc"))),
            ("p_mp".into(), relative(v_mp * i_mp, l.number("p_mp"))),
        ];
        for (column, v) in [("i_at_3.7V", 3.7), ("i_at_5.0V", 5.0), ("i_at_6.4V", 6.4), ("i_at_12.8V", 12.8)]
        {
            // Beyond the open circuit the blocking diode decides, not the panel.
            if v < l.number("v_oc") {
                errors.push((column.into(), relative(single_unit::current_at(&cells, v), l.number(column))));
            }
        }
        errors
    });
    check.report(1e-8, "of the value");
}

#[test]
fn parameters_from_a_label() {
    let mut check = Check::open("computed/06f_params_from_datasheet.csv");
    check.compare(|l| {
        let label = Label {
            i_sc: l.number("Isc"),
            v_oc: l.number("Voc"),
            i_mp: l.number("Imp"),
            v_mp: l.number("Vmp"),
            cells: l.number("Ns") as u32,
        };
        let fit = label.fit(l.number("n"));
        if l.number("I_o").is_nan() {
            assert!(fit.is_none(), "{}: a diode where there is none", l.text("panel"));
            assert!(label.diode(l.number("n")).ideality < l.number("n"));
            return vec![];
        }
        let d = fit.expect("a physical diode");
        vec![
            ("I_L".into(), relative(d.i_l, l.number("I_L"))),
            ("R_s".into(), relative(d.r_s, l.number("R_s"))),
            ("I_o".into(), relative(d.i_o, l.number("I_o"))),
            ("a".into(), relative(d.a, l.number("a_ref"))),
        ]
    });
    check.report(1e-5, "of the value");
}

#[test]
fn weak_light() {
    let mut check = Check::open("computed/06e_low_light_rsh.csv");
    check.compare(|l| {
        let d = diode(l.text("panel"));
        [("pmp_scaledRsh", 1.0), ("pmp_constRsh", 0.0)]
            .map(|(column, low_light)| {
                let p = panel(low_light, 25.0, 6.84);
                let (v, i) =
                    single_unit::cells(&d, &p, ISC_PER_K, l.number("G"), l.number("Tc")).max_power(0.0);
                (format!("{column} at {}", l.text("G")), relative(v * i, l.number(column)))
            })
            .into()
    });
    check.report(1e-6, "of the value");
}

#[test]
fn two_wells() {
    let mut check = Check::open("computed/07a_kibam_steps.csv");
    check.compare(|l| {
        let n = |c| l.number(c);
        let wells = Wells { capacity_ah: n("q_max"), c: n("c"), k_per_h: n("k") };
        let (q1, q2) = wells.after((n("q1_0"), n("q2_0")), n("I"), n("dt"));
        vec![("q1".into(), q1 - n("q1_ode")), ("q2".into(), q2 - n("q2_ode"))]
    });
    check.report(1e-9, "Ah");
}

#[test]
fn a_stalled_motor_holds_the_bus_down() {
    let mut check = Check::open("computed/08g_tracker_stall_bus.csv");
    check.compare(|l| {
        let cells =
            single_unit::cells(&diode("P10_36c"), &panel(1.0, 25.0, 6.84), ISC_PER_K, l.number("G"), 20.0);
        let v = single_unit::volts_on(&cells, l.number("R_tracker"));
        vec![("V_bus".into(), relative(v, l.number("V_bus")))]
    });
    check.report(1e-9, "of the value");
}

#[test]
fn pulsing() {
    let mut check = Check::open("computed/08e_hiccup.csv");
    check.compare(|l| {
        let duty = single_unit::pulsing_duty(l.number("Ipv_A"), l.number("Iload_A"));
        vec![("duty".into(), duty - l.number("duty"))]
    });
    check.report(1e-12, "of the time");
}

#[test]
fn drops_in_the_wind() {
    let mut check = Check::open("computed/08c_drop_drift.csv");
    check.compare(|l| {
        let (drift, apex) = single_unit::throw(l.number("v0_ms"), l.number("drop_mm"), l.number("wind_ms"));
        vec![("apex, m".into(), apex - l.number("apex_m")), ("drift, m".into(), drift - l.number("drift_m"))]
    });
    check.report(0.02, "m");
}

/// The file gives what would follow from the place, so any place will do: Uccle, 6 July (FAO-56 example 18).
const UCCLE: Place = Place { latitude_deg: 50.8, longitude_deg: 4.35, elevation_m: 100.0, utc_offset_h: 1.0 };

#[test]
fn open_water() {
    let mut check = Check::open("computed/09a_evaporation.csv");
    check.compare(|l| {
        let day = EvaporationDay {
            clear_mj_m2: l.number("Rso"),
            gamma: l.number("gamma"),
            ..EvaporationDay::new(&UCCLE, 186)
        };
        let t = (l.number("tmax"), l.number("tmin"));
        let e = single_unit::penman(t, l.number("ea"), l.number("u2"), l.number("Rs"), &day);
        vec![(l.text("case").to_owned(), relative(e, l.number("Epen_open_water")))]
    });
    check.report(1e-3, "of the value");
}

#[test]
fn affinity() {
    // Speed follows the voltage: flow as the speed, head as its square, power as its cube.
    let mut d = nominal(&with_battery());
    d.pump.bench = vec![BenchPoint { voltage_v: 6.0, current_a: 0.3, jet_m: 0.4 }];
    d.pump.highest_voltage_v = 12.0;
    let (i0, h0, q0) = single_unit::pump(&d, 6.0);
    let mut check = Check::open("computed/08a_affinity.csv");
    let rows = check.lines().len();
    assert!(rows > 0);
    let first = {
        // Its file's reference speed.
        let lines = check.lines();
        let l = lines.iter().find(|l| l.number("rpm") == 3000.0).expect("the reference row");
        ["rpm", "Q_Lh", "H_m", "P_W"].map(|c| l.number(c))
    };
    check.compare(|l| {
        let ratio = l.number("rpm") / first[0];
        let (i, h, q) = single_unit::pump(&d, 6.0 * ratio);
        vec![
            ("flow".into(), q / q0 - l.number("Q_Lh") / first[1]),
            ("head".into(), h / h0 - l.number("H_m") / first[2]),
            ("power".into(), i * ratio / i0 - l.number("P_W") / first[3]),
        ]
    });
    check.report(1e-6, "of the value at 3000 rpm");
}
