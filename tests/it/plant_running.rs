//! The rules by which the pump runs: what each does to a day, and that no minute and no Wh is lost by it.

use crate::common::*;
use stilldays::design::*;
use stilldays::plant::{Cause, DayBlock};

/// A build with a large battery that the pump does not empty in a night.
fn large() -> Design {
    let mut design = fixed(with_battery());
    if let Some(battery) = &mut design.battery {
        battery.capacity_ah = stilldays::units::Uncertain::exact(30.0);
    }
    design
}

fn fixed(mut design: Design) -> Design {
    design.mount.kind = MountKind::Fixed;
    design
}

fn with_rule(mut design: Design, when: RunsWhen, hours: (DayTime, DayTime)) -> Design {
    (design.running.when, design.running.hours) = (when, hours);
    design
}

const CLOCK: (DayTime, DayTime) = (DayTime::Clock(10.0 * 60.0), DayTime::Clock(23.0 * 60.0));

/// Wanted minutes: with a jet, and held back by a rule.
fn minutes(out: &DayBlock) -> (f64, f64) {
    (out.jet_min.0[0], out.cause_min[Cause::HeldBack as usize].0[0])
}

fn accounts_close(run: &Run, wanted: f64) {
    let out = &run.out;
    let found = out.jet_min.0[0] + out.cause_min.iter().map(|c| c.0[0]).sum::<f64>();
    assert!((found - wanted).abs() < 1e-3, "{found} of {wanted} min");
    assert!(out.residual_wh.0[0].abs() < 1e-3, "{} Wh", out.residual_wh.0[0]);
}

/// The third of three clear days.
fn third_day(design: &Design) -> Run {
    let mut run = Run::new(design);
    run.days(3, Day::Clear);
    let wanted = run.scene.days[2].wanted_min();
    accounts_close(&run, wanted);
    run
}

#[test]
fn wanted_hours_cut_the_dusk_run_and_say_so() {
    let run = third_day(&large());
    // The wanted hours end two hours after sunset.
    assert!((run.out.dusk_run_min.0[0] - 120.0).abs() < 0.01, "{}", run.out.dusk_run_min.0[0]);
    assert_eq!(run.out.dusk_cut.0[0], 1.0);
    let run_h = run.out.pump_h.0[0];
    assert!((60.0 * run_h - run.scene.days[2].wanted_min()).abs() < 0.01);
}

#[test]
fn a_pump_that_nothing_holds_back_runs_through_the_night() {
    let run = third_day(&with_rule(large(), RunsWhen::Always, CLOCK));
    let day = &run.scene.days[2];
    assert!((run.out.pump_h.0[0] - 24.0).abs() < 1e-3);
    let to_the_end = 1440.0 - day.sunset_min.expect("a sunset");
    assert!((run.out.dusk_run_min.0[0] - to_the_end).abs() < 0.01);
    assert_eq!(run.out.dusk_cut.0[0], 1.0, "it would run on after the end of the day");
    // Only wanted minutes count as jet.
    assert!((run.out.jet_min.0[0] - day.wanted_min()).abs() < 1e-3);
    // A small battery ends it: then nothing is cut off.
    let small = third_day(&with_rule(fixed(with_battery()), RunsWhen::Always, CLOCK));
    assert_eq!(small.out.dusk_cut.0[0], 0.0);
    assert!(small.out.pump_h.0[0] < 24.0);
}

#[test]
fn a_timer_holds_back_what_lies_outside_its_hours() {
    let design = with_rule(large(), RunsWhen::Timer, CLOCK);
    let run = third_day(&design);
    let day = &run.scene.days[2];
    assert!((day.run_to - day.run_from - 13.0 * 60.0).abs() < 1e-9);
    assert!((60.0 * run.out.pump_h.0[0] - 13.0 * 60.0).abs() < 1e-2, "{}", run.out.pump_h.0[0]);
    let early = day.run_from - day.wanted_from;
    let late = (day.wanted_to - day.run_to).max(0.0);
    let (jet, held) = minutes(&run.out);
    assert!((held - early - late).abs() < 1e-2, "{held} of {}", early + late);
    assert!((jet + held - day.wanted_min()).abs() < 1e-2);
    // The same timer on a panel alone: no jet before it switches on.
    let direct = third_day(&with_rule(fixed(direct()), RunsWhen::Timer, CLOCK));
    assert!(direct.out.pump_h.0[0] > 3.0 && minutes(&direct.out).1 >= early - 0.01);
}

#[test]
fn a_light_switch_stops_the_pump_in_the_dark() {
    let run = third_day(&with_rule(large(), RunsWhen::Light, CLOCK));
    let day = &run.scene.days[2];
    let (jet, held) = minutes(&run.out);
    // Two wanted hours after sunset are dark.
    assert!((110.0..150.0).contains(&held), "{held}");
    assert!(jet > 600.0 && run.out.dusk_run_min.0[0] < 1.0);
    assert!(60.0 * run.out.pump_h.0[0] < day.sunset_min.expect("a sunset"));
    let mut late = with_rule(large(), RunsWhen::Light, CLOCK);
    late.running.light_w_m2 = stilldays::units::Uncertain::exact(300.0);
    assert!(third_day(&late).out.pump_h.0[0] < run.out.pump_h.0[0] - 1.0);
}

#[test]
fn the_default_is_a_timer_set_to_the_wanted_hours() {
    let wanted = fixed(with_battery());
    let timer = with_rule(wanted.clone(), RunsWhen::Timer, (wanted.wish.from, wanted.wish.to));
    let (a, b) = (third_day(&wanted).out, third_day(&timer).out);
    assert_eq!(format!("{a:?}"), format!("{b:?}"));
}
