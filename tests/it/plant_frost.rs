//! A basin in frost: when its jet stops, and that no minute is lost.

use crate::common::*;
use stilldays::design::*;
use stilldays::lanes::{Isa, RowF64};
use stilldays::plant::{Cause, DayBlock, DayInput, Light, TraceMinute, trace_day_into};
use stilldays::units::Uncertain;
use stilldays::weather::BlockDay;

const fn x(v: f64) -> Uncertain {
    Uncertain::exact(v)
}

/// A fixed build with a battery that lasts, and a basin of this depth, m; frost does not lock its battery.
fn basin(depth_m: f64) -> Design {
    let mut design = with_battery();
    design.mount.kind = MountKind::Fixed;
    if let Some(battery) = &mut design.battery {
        (battery.capacity_ah, battery.frost_lock_c, battery.frost_unlock_c) = (x(40.0), x(-100.0), x(-97.0));
    }
    design.water.ice = Some(Ice { depth_m: x(depth_m), intake_m: x(0.5 * depth_m), ground_w_m2_k: x(0.0) });
    design
}

/// A day whose air has this temperature from hour to hour.
fn cold(run: &Run, index: usize, air_c: f64) -> BlockDay {
    let of_year = usize::from(run.scene.days[index].day_of_year);
    let mut weather = weather(&run.scene.calendar, of_year, Day::Overcast(0.2));
    weather.air_c = [RowF64::splat(air_c); 24];
    weather
}

/// Days of these temperatures one after the other.
fn days(design: &Design, air_c: &[f64]) -> (Run, Vec<DayBlock>) {
    let mut run = Run::new(design);
    let mut out = Vec::new();
    for (k, air_c) in air_c.iter().enumerate() {
        let weather = cold(&run, k, *air_c);
        run.step(Isa::PLAIN, k, &weather);
        let day = &run.out;
        let found = day.jet_min.0[0] + day.cause_min.iter().map(|c| c.0[0]).sum::<f64>();
        assert!((found - run.scene.days[k].wanted_min()).abs() < 1e-3, "day {k}: {found}");
        assert!(day.residual_wh.0[0].abs() < 1e-3 && day.water_residual_l.0[0].abs() < 1e-6);
        out.push(day.clone());
    }
    (run, out)
}

fn frozen_min(day: &DayBlock) -> f64 {
    day.cause_min[Cause::Frozen as usize].0[0]
}

#[test]
fn frost_stops_a_jet_and_thaw_lets_it_run_again() {
    let (run, days) = days(&basin(0.2), &[5.0, -12.0, -12.0, -12.0, -12.0, 10.0, 12.0, 12.0, 12.0]);
    let wanted = run.scene.days[3].wanted_min();
    assert_eq!(frozen_min(&days[0]), 0.0);
    assert!((frozen_min(&days[3]) - wanted).abs() < 1e-3, "{}", frozen_min(&days[3]));
    assert_eq!(frozen_min(&days[8]), 0.0);
    assert!(days[8].jet_min.0[0] > 0.9 * wanted, "{}", days[8].jet_min.0[0]);
}

#[test]
fn deep_water_freezes_later() {
    let frosts = [5.0, -4.0, -4.0, -4.0, -4.0];
    let lost = |depth_m: f64| days(&basin(depth_m), &frosts).1.iter().map(frozen_min).sum::<f64>();
    assert!(lost(0.1) > lost(0.4) + 60.0, "{} {}", lost(0.1), lost(0.4));
    assert_eq!(lost(5.0), 0.0);
}

/// The minutes of a day in this weather.
fn traced(run: &mut Run, index: usize, weather: &BlockDay) -> Vec<TraceMinute> {
    let Run { scene, units, state, out, .. } = run;
    let mut light = Light::default();
    light.compute(Isa::PLAIN, scene, index, units, weather);
    trace_day_into(DayInput { scene, index, units, weather, light: &light }, 0, state, out).minutes
}

#[test]
fn a_running_jet_keeps_its_hole_and_a_resting_one_does_not_start() {
    let mut thin = [0; 2];
    for (frost_c, always) in [-1.0, -1.5, -2.0, -3.0, -4.0].into_iter().flat_map(|c| [(c, true), (c, false)])
    {
        let mut design = basin(0.3);
        if always {
            design.running.when = RunsWhen::Always;
        }
        let mut run = Run::new(&design);
        let mut ran = false;
        for (k, air_c) in [5.0, frost_c, frost_c, frost_c, frost_c].into_iter().enumerate() {
            let weather = cold(&run, k, air_c);
            for m in traced(&mut run, k, &weather) {
                let ice_m = m.ice_m.expect("a depth is given");
                let runs = m.duty > 0.0;
                assert!(!(runs && ice_m > 0.03), "{m:?}");
                assert!(!(runs && !ran && ice_m > 0.005), "{m:?}");
                // Thin ice under a jet that ran before, and wanted minutes of one that did not.
                if ice_m > 0.006 && ice_m < 0.029 && (runs || m.cause == Some(Cause::Frozen)) {
                    thin[usize::from(runs)] += 1;
                }
                ran = runs;
            }
        }
    }
    assert!(thin[0] > 30 && thin[1] > 30, "{thin:?}");
}

#[test]
fn nozzle_and_pipe_freeze_at_rest_in_hard_frost() {
    // Water too deep to freeze, and a pump that rests until the late morning.
    let mut design = basin(8.0);
    design.wish.from = DayTime::Sunrise(300.0);
    let (run, days) = days(&design, &[5.0, -9.0, 5.0]);
    let wanted = run.scene.days[0].wanted_min();
    assert!(frozen_min(&days[1]) > 0.9 * wanted, "{}", frozen_min(&days[1]));
    assert!(days[2].jet_min.0[0] > 0.9 * wanted);
}

#[test]
fn ice_at_the_intake_is_counted() {
    let mut shallow = basin(0.2);
    if let Some(ice) = &mut shallow.water.ice {
        ice.intake_m = x(0.05);
    }
    let iced =
        |design: &Design| days(design, &[-15.0; 5]).1.iter().map(|d| d.intake_iced_h.0[0]).sum::<f64>();
    assert!(iced(&shallow) > 24.0, "{}", iced(&shallow));
    assert_eq!(iced(&basin(1.0)), 0.0);
}

#[test]
fn without_frost_or_depth_nothing_changes() {
    let mut without = basin(0.2);
    without.water.ice = None;
    let mild = [12.0, 15.0, 18.0];
    let bytes = |design: &Design| format!("{:?}", days(design, &mild).1);
    assert_eq!(bytes(&basin(0.2)), bytes(&without));
    // Without a depth even hard frost freezes nothing.
    assert!(days(&without, &[-20.0; 3]).1.iter().all(|d| frozen_min(d) == 0.0));
}

#[test]
fn nothing_is_wanted_of_a_pump_that_is_taken_in() {
    let mut design = basin(0.2);
    let first = design.wish.season.0;
    design.water.taken_in = Some((first, first + 1));
    let run = Run::new(&design);
    let wanted: Vec<f64> = run.scene.days[..4].iter().map(|d| d.wanted_min()).collect();
    assert!(wanted[0] == 0.0 && wanted[1] == 0.0 && wanted[2] > 600.0, "{wanted:?}");
    assert!(run.scene.days[0].sunset_min.is_none() && run.scene.days[2].sunset_min.is_some());
    let (_, days) = days(&design, &[-15.0; 4]);
    assert_eq!(days[1].pump_h.0[0], 0.0);
    assert_eq!(frozen_min(&days[1]), 0.0);
}

#[test]
fn all_vector_tiers_freeze_alike() {
    let design = basin(0.15);
    let outcome = |isa: Isa| {
        let mut run = Run::new(&design);
        let mut all = String::new();
        for (k, air_c) in [2.0, -6.0, -8.0, 3.0].into_iter().enumerate() {
            let mut weather = cold(&run, k, air_c);
            for (lane, c) in weather.air_c.iter_mut().flat_map(|hour| hour.0.iter_mut().enumerate()) {
                *c += 0.4 * lane as f64;
            }
            run.step(isa, k, &weather);
            all += &format!("{:?}", run.out);
        }
        all
    };
    let plain = outcome(Isa::PLAIN);
    for isa in Isa::available() {
        assert_eq!(plain, outcome(isa), "{isa:?}");
    }
}
