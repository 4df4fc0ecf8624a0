//! Lead-acid lifetimes, the taper of charging, brushed pumps on a panel, the jet of a nozzle.

use crate::check_file::{Check, relative};
use crate::common::{Day, Run, direct, nominal};
use stilldays::design::{BenchPoint, Design, Panel, PumpKind, TopUp};
use stilldays::lanes::Isa;
use stilldays::plant::single_unit::{self, Diode, Wells};

/// Hours that a kinetic battery lasts from full at a current (A) that flows in the first half of each period (h), or always.
fn lifetime_h(q_ah: f64, c: f64, k_per_h: f64, amps: f64, period_h: Option<f64>) -> f64 {
    let wells = Wells { capacity_ah: q_ah, c, k_per_h };
    let (mut charge_ah, mut t) = ((c * q_ah, (1.0 - c) * q_ah), 0.0);
    let on_h = period_h.map_or(0.01, |p| 0.5 * p);
    loop {
        let next = wells.after(charge_ah, amps, on_h);
        if next.0 <= 0.0 {
            // The charge at hand falls all the way: its zero is found by halving.
            let (mut lo, mut hi) = (0.0, on_h);
            for _ in 0..60 {
                let mid = 0.5 * (lo + hi);
                if wells.after(charge_ah, amps, mid).0 > 0.0 { lo = mid } else { hi = mid }
            }
            return t + 0.5 * (lo + hi);
        }
        (charge_ah, t) = (next, t + on_h);
        if let Some(period_h) = period_h {
            charge_ah = wells.after(charge_ah, 0.0, period_h - on_h);
            t += period_h - on_h;
        }
    }
}

#[test]
fn lifetimes_of_two_wells() {
    let mut check = Check::open("computed/07b_kibam_lifetime.csv");
    check.compare(|l| {
        let period_h = match l.text("load") {
            "continuous" => None,
            "square 1 Hz 50%" => Some(1.0 / 3600.0),
            "square 0.2 Hz 50%" => Some(5.0 / 3600.0),
            "square 0.01 Hz 50%" => Some(100.0 / 3600.0),
            other => panic!("unknown load {other}"),
        };
        let (q, k) = (l.number("C_As") / 3600.0, l.number("k_per_s") * 3600.0);
        let hours = lifetime_h(q, l.number("c"), k, l.number("I_A"), period_h);
        vec![(
            format!("{} {} A", l.text("load"), l.text("I_A")),
            relative(hours * 3600.0, l.number("lifetime_s")),
        )]
    });
    check.report(1e-6, "of the value");
}

#[test]
fn capacity_of_two_wells_against_the_current() {
    let mut check = Check::open("computed/07c_kibam_capacity_vs_rate.csv");
    check.compare(|l| {
        let amps = l.number("I_A");
        let hours = lifetime_h(l.number("q_max"), l.number("c"), l.number("k_per_h"), amps, None);
        vec![
            (format!("hours at {amps} A"), relative(hours, l.number("time_h"))),
            (format!("Ah at {amps} A"), relative(hours * amps, l.number("delivered_Ah"))),
        ]
    });
    check.report(1e-9, "of the value");
}

#[test]
fn charging_tapers_at_constant_voltage() {
    // Minutes against the exact exponential; values between whole minutes on a straight line.
    let mut check = Check::open("computed/07e_cccv_taper.csv");
    check.compare(|l| {
        let n = |column| l.number(column);
        if n("soc_switch") >= 1.0 {
            return vec![]; // full before the voltage is reached: the file says no more of it
        }
        let minutes = 60.0 * (n("t_cc_h") + n("dt_cv_h"));
        let line = (n("E0_V"), n("E0_V") + n("m_V"));
        let limits = (n("Icc_A"), n("Vcv_V"));
        let trace =
            single_unit::charging(line, n("R_ohm"), n("Q_Ah"), limits, n("soc0"), minutes as usize + 2);
        // Entry k is at the end of minute k + 1; its current is the mean of the minute.
        let between = |t: f64, f: fn(&(f64, f64)) -> f64| {
            let k = t.floor() as usize;
            f(&trace[k]) + (t - t.floor()) * (f(&trace[k + 1]) - f(&trace[k]))
        };
        let soc = between(minutes - 1.0, |p| p.1);
        let amps = between(minutes - 0.5, |p| p.0);
        vec![
            ("state of charge".into(), soc - n("soc_end")),
            ("current over the largest".into(), (amps - n("I_cv_end")) / n("Icc_A")),
        ]
    });
    check.report(1e-3, "of full or of the largest current");
}

/// The motor of 08d: V = R I + k w, k I = T_f + b w².
const OHM: f64 = 6.0;
const K_V_S: f64 = 0.045;
const T_BREAK: f64 = 0.006;
const T_RUN: f64 = 0.0035;
const DRAG: f64 = 9e-8;

/// Its bench points, as a builder would measure them: from standstill to beyond what the panel can give.
fn motor() -> Design<f64> {
    let mut d = nominal(&direct());
    d.pump.kind = PumpKind::Brushed;
    d.pump.bench = (0..=40)
        .map(|j| {
            let w = 10.0 * f64::from(j);
            let amps = (T_RUN + DRAG * w * w) / K_V_S;
            // Head by affinity from 1.8 m at 3000 rpm, as the file has it.
            let rpm = w * 30.0 / std::f64::consts::PI;
            BenchPoint {
                voltage_v: OHM * amps + K_V_S * w,
                current_a: amps,
                jet_m: 1.8 * libm::pow(rpm / 3000.0, 2.0),
            }
        })
        .collect();
    d.pump.highest_voltage_v = 100.0;
    d.pump.break_away_current_a = T_BREAK / K_V_S;
    d.pump.winding_ohm = OHM;
    d.pump.start_voltage_v = OHM * T_BREAK / K_V_S;
    d.pump.stop_voltage_v = d.pump.bench[0].voltage_v;
    d
}

/// Panel P10_36c of 06d.
fn cells(light_w_m2: f64, cell_c: f64) -> single_unit::Cells<f64> {
    let diode =
        Diode { i_l: 0.62, i_o: 3e-10, a: 0.943_431_505_326_27, r_s: 0.6, g_sh: 1.0 / 600.0, ideality: 1.02 };
    let panel = Panel { low_light: 1.0, ..motor().panel };
    single_unit::cells(&diode, &panel, 0.0003, light_w_m2, cell_c)
}

#[test]
fn a_brushed_pump_on_a_panel() {
    let design = motor();
    let mut check = Check::open("computed/08d_direct_coupled.csv").part("start and run");
    check.compare(|l| {
        let yes = |column| l.text(column) == "True";
        let cells = cells(l.number("G"), l.number("Tc"));
        let wrong = |found: bool, column| {
            (format!("{column} at {}", l.text("G")), f64::from(u8::from(found != yes(column))))
        };
        vec![
            wrong(single_unit::pump_on_panel::<f64>(&design, &cells, false).2, "starts_from_rest"),
            wrong(single_unit::pump_on_panel::<f64>(&design, &cells, true).2, "runs_if_already_turning"),
        ]
    });
    check.report(0.0, "answers");

    let mut check = Check::open("computed/08d_direct_coupled.csv").part("operating point");
    check.compare(|l| {
        if l.text("runs_if_already_turning") != "True" {
            return vec![];
        }
        let (v, i, _) =
            single_unit::pump_on_panel::<f64>(&design, &cells(l.number("G"), l.number("Tc")), true);
        let head_m = single_unit::pump(&design, v).1;
        let at = l.text("G");
        vec![
            (format!("V at {at}"), relative(v, l.number("V"))),
            (format!("I at {at}"), relative(i, l.number("I"))),
            (format!("head at {at}, of 1.8 m"), (head_m - l.number("head_m")) / 1.8),
        ]
    });
    check.report(5e-3, "of the value");
}

#[test]
fn a_brushed_pump_starts_at_a_higher_sun_than_it_stops() {
    let file = crate::check_file::open_json("computed/08f_thresholds.json");
    let design = motor();
    let least = |turning: bool| {
        let (mut lo, mut hi) = (0.0, 1000.0);
        for _ in 0..60 {
            let mid = 0.5 * (lo + hi);
            if single_unit::pump_on_panel::<f64>(&design, &cells(mid, 25.0), turning).2 {
                hi = mid
            } else {
                lo = mid
            }
        }
        hi
    };
    let errors = [("G_start_Wm2", false), ("G_stop_Wm2", true)]
        .map(|(name, turning)| relative(least(turning), file[name].as_f64().expect("a number")));
    crate::check_file::report_json("computed/08f_thresholds.json", &errors, 1e-6, "of the value");
}

#[test]
fn jets_of_a_nozzle() {
    let mut check = Check::open("computed/08b_jet_height.csv");
    check.compare(|l| {
        let jet_m = single_unit::jet_height_m(l.number("H_m"), l.number("d_mm"), l.number("Cv"));
        vec![(format!("{} m, {} mm", l.text("H_m"), l.text("d_mm")), relative(jet_m, l.number("h_lueger_m")))]
    });
    check.report(1e-9, "of the value");
}

#[test]
fn days_until_a_basin_is_low() {
    let mut check = Check::open("computed/09c_refill.csv");
    check.compare(|l| {
        let mut design = direct();
        design.water.area_m2.nominal = l.number("area_m2");
        design.water.top_up = TopUp::Every(364);
        design.pump.blocked_from_day = Some(0);
        // Evaporation on the file's scale: its drift is put on top, for a blocked pump throws nothing.
        let mut loss_l = |usable_l: f64, factor: f64, days: usize| {
            design.water.usable_l.nominal = usable_l;
            design.water.evaporation_factor.nominal = factor;
            let mut run = Run::new(&design);
            (0..days).map(|_| run.days_on(Isa::DOUBLE, 1, Day::Clear).evaporated_l.0[0]).collect::<Vec<f64>>()
        };
        let refill_days = l.number("refill_days");
        let whole = refill_days as usize;
        let part = refill_days - whole as f64;
        let free = loss_l(1e6, 1.0, whole + 1);
        let mean = (free[..whole].iter().sum::<f64>() + part * free[whole]) / refill_days;
        let usable_l = l.number("usable_drawdown_L");
        let lost = loss_l(usable_l, l.number("loss_L_d") / mean, whole + 1);
        // On the last day it falls dry part of the way through.
        let scaled = free[whole] * l.number("loss_L_d") / mean;
        let found = whole as f64 + lost[whole] / scaled;
        vec![(format!("{usable_l} L"), relative(found, refill_days))]
    });
    check.report(1e-9, "of the value");
}
