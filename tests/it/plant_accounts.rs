//! The balances of the plant close, its minutes add up, and every vector width gives the same bytes.

use crate::common::*;
use stilldays::design::{Charging, Chemistry, Design, FedFirst, MountKind, PumpKind, TopUp};
use stilldays::lanes::{Isa, RowF64};
use stilldays::plant::{DayBlock, Flow};

/// Builds that reach every branch of the step.
fn builds() -> Vec<(&'static str, Design)> {
    let base = with_battery();
    let mut all = vec![("seeking, battery", base.clone()), ("seeking, direct", direct())];
    let mut add = |name, change: fn(&mut Design)| {
        let mut d = base.clone();
        change(&mut d);
        all.push((name, d));
    };
    add("mppt", |d| d.electronics.charging = Charging::Mppt);
    add("mppt with losses", |d| {
        d.electronics.charging = Charging::Mppt;
        d.electronics.charge_loss_per_watt.nominal = 0.01;
        d.electronics.tracking.nominal = 0.96;
        d.electronics.charger_draw_a.nominal = 0.005;
    });
    add("unlike cells, hunting", |d| {
        d.mount.mismatch_tilt.nominal = 0.1;
        d.mount.mismatch_turn.nominal = -0.06;
        d.mount.cover_scatter.nominal = 0.3;
        d.mount.contrast.nominal = 0.02;
        d.mount.delay_min.nominal = 0.005;
        d.mount.coast_deg.nominal = 0.5;
        d.mount.speed_deg_s.nominal = 10.0;
        d.mount.noise.nominal = 0.005;
    });
    add("socket", with_socket);
    add("socket that sleeps, mppt", |d| {
        with_socket(d);
        d.electronics.charging = Charging::Mppt;
        let Some(socket) = d.electronics.socket.as_mut() else { return };
        socket.sleeps_below_a.nominal = 0.05;
    });
    add("direct charging", |d| d.electronics.charging = Charging::Direct);
    add("sun-following", |d| d.mount.kind = MountKind::SunFollowing);
    add("fixed, brushed", |d| {
        d.mount.kind = MountKind::Fixed;
        d.pump.kind = PumpKind::Brushed;
        d.battery = None;
    });
    add("mount first", |d| {
        d.electronics.fed_first = FedFirst::Mount;
        d.battery = None;
    });
    add("lead-acid, small basin", |d| {
        d.water.top_up = TopUp::Every(3);
        d.electronics.charge_voltage_v.nominal = 7.2;
        d.electronics.cut_off_v.nominal = 5.76;
        d.electronics.reconnect_v.nominal = 6.2;
        let Some(b) = d.battery.as_mut() else { return };
        b.chemistry = Chemistry::LeadAcid;
        b.cells = 3;
        b.kibam_c.nominal = 0.3;
        b.kibam_k_per_h.nominal = 0.5;
    });
    add("tiny battery", |d| {
        let Some(b) = d.battery.as_mut() else { return };
        b.capacity_ah.nominal = 0.3;
        b.resistance_ohm.nominal = 0.5;
    });
    all
}

const DAYS: [Day; 3] = [Day::Clear, Day::Patchy, Day::Overcast(0.15)];

/// Largest relative residuals of a day's energy, charge, water and minutes over all builds and days: of the energy of the
/// panel, of the charge through the battery, of the volume of the basin, of the wanted minutes.
fn left_over(isa: Isa) -> [f64; 4] {
    let mut worst = [0.0_f64; 4];
    for (name, design) in builds() {
        for day in DAYS {
            let mut run = Run::new(&design);
            for _ in 0..3 {
                run.days_on(isa, 1, day);
                let (o, scene_day) = (&run.out, &run.scene.days[run.index - 1]);
                let panel = o.flow_wh[Flow::Panel as usize].0[0];
                let wanted = scene_day.wanted_min();
                let capacity_ah = design.battery.as_ref().map_or(1.0, |b| b.capacity_ah.nominal);
                let minutes = o.jet_min.0[0] + o.cause_min.iter().map(|c| c.0[0]).sum::<f64>();
                let by_hour: f64 = o.jet_by_hour_min.iter().map(|h| h.0[0]).sum();
                // What moved, from the panel or out of the battery.
                let taken: f64 = [Flow::Pump, Flow::Motors, Flow::Standby, Flow::Charger]
                    .map(|flow| o.flow_wh[flow as usize].0[0])
                    .iter()
                    .sum();
                let left = [
                    o.residual_wh.0[0] / panel.max(taken).max(1.0),
                    o.charge_residual_ah.0[0] / capacity_ah,
                    o.water_residual_l.0[0] / design.water.usable_l.nominal,
                    (minutes - wanted) / wanted,
                ];
                for (w, l) in worst.iter_mut().zip(left) {
                    assert!(l.is_finite(), "{name}: {left:?}");
                    *w = w.max(l.abs());
                }
                assert!((by_hour - o.jet_min.0[0]).abs() < 1e-9, "{name}");
                let lost = o.flow_wh[Flow::Battery as usize].0[0];
                assert!(
                    lost > -1e-6 * panel.max(1.0),
                    "{name}: the battery gives {lost} Wh more than it took"
                );
            }
        }
    }
    println!("left over of energy, charge, water, minutes on {isa:?}: {worst:?}");
    worst
}

#[test]
fn accounts_close_and_minutes_add_up() {
    assert!(left_over(Isa::DOUBLE).iter().all(|l| *l < 1e-11));
    let single = left_over(Isa::detect());
    for (left, limit) in single.into_iter().zip([1e-6, 2e-8, 1e-8, 1e-8]) {
        assert!(left < limit, "{single:?}");
    }
}

/// All results of a day, as bits.
fn bits(o: &DayBlock) -> Vec<u64> {
    let mut rows: Vec<RowF64> = vec![
        o.jet_min,
        o.dusk_run_min,
        o.soc_low,
        o.soc_high,
        o.soc_at_sunset,
        o.residual_wh,
        o.charge_residual_ah,
        o.water_residual_l,
        o.evaporated_l,
        o.drifted_l,
        o.water_l,
        o.pump_h,
        o.moves,
        o.travel_deg,
        o.plane_wh_m2,
        o.ghi_wh_m2,
        o.spilled_ah,
        o.shelf_h,
        o.too_cold_h,
    ];
    rows.extend(o.cause_min);
    rows.extend(o.jet_by_hour_min);
    rows.extend(o.flow_wh);
    rows.extend(&o.soc);
    rows.iter().flat_map(|r| r.0.map(f64::to_bits)).collect()
}

#[test]
fn every_width_gives_the_same_bytes() {
    for (name, design) in builds() {
        let of = |isa| {
            let mut run = Run::new(&design);
            let mut all = Vec::new();
            for day in DAYS {
                all.extend(bits(run.days_on(isa, 1, day)));
            }
            all
        };
        let plain = of(Isa::PLAIN);
        for isa in Isa::available() {
            assert!(of(isa) == plain, "{name}: {isa:?} differs from plain");
        }
    }
}

#[test]
fn a_perfect_battery_is_an_exact_store() {
    let mut design = with_battery();
    let Some(b) = design.battery.as_mut() else { unreachable!("it has one") };
    b.resistance_ohm.nominal = 0.0;
    b.coulombic_efficiency.nominal = 1.0;
    b.self_discharge_month.nominal = 0.0;
    design.panel.blocking_drop_v.nominal = 0.0;
    let mut run = Run::new(&design);
    let o = run.days(1, Day::Patchy);
    let flow = |f: Flow| o.flow_wh[f as usize].0[0];
    // What is lost is the bend of the rest curve within a minute alone: under a thousandth of what went through.
    assert!(flow(Flow::Battery).abs() < 1e-3 * flow(Flow::Panel), "{}", flow(Flow::Battery));
    assert!(flow(Flow::Diode) == 0.0);
}

/// Charge that a small charger cannot take does not count as spilled by a full battery; the charge of a panel cut off for a
/// full battery does.
#[test]
fn charge_that_finds_the_battery_full() {
    let spilled = |change: fn(&mut Design)| {
        let mut d = with_battery();
        d.mount.kind = MountKind::Fixed;
        change(&mut d);
        let mut run = Run::new(&d);
        run.days(3, Day::Clear).spilled_ah.0[0]
    };
    let free = spilled(|_| ());
    let small = spilled(|d| d.electronics.charge_current_max_a.nominal = 0.05);
    let direct = spilled(|d| d.electronics.charging = Charging::Direct);
    let roomy = spilled(|d| {
        let Some(b) = d.battery.as_mut() else { return };
        b.capacity_ah.nominal = 300.0;
    });
    println!("spilled: {free} Ah, small charger {small}, direct {direct}, roomy {roomy}");
    // A 10 W panel of 1.2 A on a clear day in June, 16 h of sun.
    assert!(free > 0.0 && free < 1.2 * 16.0, "{free}");
    assert!(small <= 0.05 * 16.0, "{small}");
    assert!((direct - free).abs() < 0.25 * free, "{direct} {free}");
    assert!(roomy == 0.0, "{roomy}");
}

/// Spilled charge is what the panel would give at the voltage at which the battery is held, whatever the resistance. Far
/// below the knee of the panel that is nearly its short-circuit current.
#[test]
fn spilled_charge_is_told_at_the_held_voltage() {
    let spilled = |ohm: f64, held_v: f64| {
        let mut d = with_battery();
        d.mount.kind = MountKind::Fixed;
        if let Some(b) = d.battery.as_mut() {
            b.resistance_ohm.nominal = ohm;
        }
        // Held below the rest voltage of its charge: over all day, at any resistance; the pump stays cut off.
        d.electronics.charge_voltage_v.nominal = held_v;
        d.electronics.cut_off_v.nominal = 9.0;
        d.electronics.reconnect_v.nominal = 9.1;
        let mut run = Run::new(&d);
        run.days(1, Day::Clear);
        let trace = run.watched(Day::Clear);
        // So far below the knee a panel gives its short-circuit current, less a few per cent through the shunt; the
        // standby of mount and electronics comes off.
        let panel_ah: f64 = trace
            .minutes
            .iter()
            .map(|m| {
                let light = m.plane_w_m2 / 1000.0 * (1.0 - d.panel.soiling.nominal);
                let standby = d.electronics.standby_current_a.nominal + d.mount.standby_current_a.nominal;
                (light * d.panel.short_circuit_current_a.nominal - standby).max(0.0) / 60.0
            })
            .sum();
        (run.out.spilled_ah.0[0], panel_ah)
    };
    for held_v in [5.4, 6.0] {
        let ((low, panel_ah), (high, _)) = (spilled(0.05, held_v), spilled(10.0, held_v));
        println!(
            "held at {held_v} V: spilled at 0.05 ohm {low} Ah, at 10 ohm {high} Ah, panel {panel_ah} Ah"
        );
        assert!((high / low - 1.0).abs() < 1e-2, "{low} {high}");
        assert!((0.93 * panel_ah..panel_ah).contains(&low), "{low} of {panel_ah} Ah");
    }
}

/// A battery so small that a pump run far above its bench takes much of it in a minute is never overdrawn.
#[test]
fn a_tiny_battery_is_never_overdrawn() {
    for capacity_ah in [0.05, 0.1, 0.2, 0.5] {
        let mut d = with_battery();
        d.pump.bench[0].voltage_v.nominal = 2.0;
        d.pump.bench[1].voltage_v.nominal = 3.0;
        d.electronics.cut_off_v.nominal = 1.0;
        d.electronics.reconnect_v.nominal = 1.5;
        if let Some(b) = d.battery.as_mut() {
            b.capacity_ah.nominal = capacity_ah;
        }
        let mut run = Run::new(&d);
        for day in [Day::Clear, Day::Patchy, Day::Overcast(0.2), Day::Overcast(0.05)] {
            let low = run.days(2, day).soc_low.0[0];
            assert!(low >= 0.0, "{capacity_ah} Ah: {low}");
        }
    }
    // Motors on the small well of a lead-acid battery, and no pump that would stop them.
    let mut d = with_battery();
    d.mount.motor_current_a.nominal = 2.0;
    d.pump.blocked_from_day = Some(0);
    if let Some(b) = d.battery.as_mut() {
        (b.chemistry, b.cells) = (Chemistry::LeadAcid, 3);
        (b.capacity_ah.nominal, b.kibam_c.nominal) = (0.2, 0.35);
    }
    let mut run = Run::new(&d);
    for day in [Day::Patchy, Day::Overcast(0.1), Day::Overcast(0.02)] {
        let low = run.days(4, day).soc_low.0[0];
        assert!(low >= 0.0, "lead-acid: {low}");
    }
}

/// Air of 18 °C and 6 K about it: a day ages a lead-acid battery as much as some 15 hours at 25 °C would. Iron phosphate
/// (Naumann et al. 2018, as in `plant/ageing`) ages less by the cool and more by standing above half charge.
#[test]
fn cool_days_age_a_battery_less() {
    let aged_h = |chemistry, cells| {
        let mut d = with_battery();
        let battery = d.battery.as_mut().unwrap();
        (battery.chemistry, battery.cells) = (chemistry, cells);
        Run::new(&d).days(2, Day::Clear).shelf_h.0[0]
    };
    let steady = 24.0 * libm::exp2(-0.7);
    let hours = aged_h(Chemistry::LeadAcid, 3);
    assert!(hours > steady && hours < 1.1 * steady, "{hours} h against {steady} h");
    let half_full = 24.0 * libm::exp(-2.0 * 17_126.0 / 8.314_462_618 * (1.0 / 291.15 - 1.0 / 298.15));
    let full = half_full * libm::pow((2.8575 * 0.125 + 0.602_25) / 0.602_25, 2.0);
    let hours = aged_h(Chemistry::LithiumIronPhosphate, 2);
    assert!(hours > half_full && hours < 1.1 * full, "{hours} h outside of {half_full} to {full} h");
}
