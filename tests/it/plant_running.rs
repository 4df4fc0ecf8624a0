//! The rules by which the pump runs: what each does to a day, and that no minute and no Wh is lost by it.

use crate::common::*;
use stilldays::design::*;
use stilldays::plant::{Cause, DayBlock, RuleAtWork, TraceMinute};
use stilldays::units::Uncertain;

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

const fn x(v: f64) -> Uncertain {
    Uncertain::exact(v)
}

fn threshold(by: Measure, below: f64, ends: f64) -> Threshold<Uncertain> {
    Threshold { by, below: x(below), ends: x(ends) }
}

fn controlled(mut design: Design, control: Control<Uncertain>) -> Design {
    design.running.control = control;
    design
}

/// A build whose battery lasts about half a day, and a jet that counts at low speed, too.
fn small() -> Design {
    let mut design = fixed(with_battery());
    design.wish.jet_m = x(0.08);
    if let Some(battery) = &mut design.battery {
        battery.capacity_ah = x(2.0);
    }
    design
}

/// The minutes of the fifth of five like days; all accounts close.
fn fifth_day(design: &Design, day: Day) -> (Run, Vec<TraceMinute>) {
    let mut run = Run::new(design);
    run.days(4, day);
    let trace = run.watched(day);
    accounts_close(&run, run.scene.days[4].wanted_min());
    (run, trace.minutes)
}

fn share_of<'m>(minutes: &'m [TraceMinute], which: impl Fn(&TraceMinute) -> bool + 'm) -> f64 {
    minutes.iter().filter(|m| which(m)).count() as f64
}

#[test]
fn a_reserve_moves_the_jet_into_the_evening() {
    let dull = Day::Overcast(0.22);
    let evening = |design: &Design| fifth_day(design, dull).0.out.dusk_run_min.0[0];
    let reserve = Reserve { when: threshold(Measure::Charge, 0.5, 0.6), until: DayTime::Sunset(-30.0) };
    let kept = controlled(small(), Control { reserve: Some(reserve), ..Control::default() });
    let (without, with) = (evening(&small()), evening(&kept));
    assert!(with > without + 45.0, "{with} against {without} min");
    let (run, minutes) = fifth_day(&kept, dull);
    let sunset = run.scene.days[4].sunset_min.expect("a sunset");
    let held = |m: &TraceMinute| m.rule == Some(RuleAtWork::Reserve);
    assert!(share_of(&minutes, held) > 30.0);
    for m in minutes.iter().filter(|m| held(m)) {
        assert!(f64::from(m.minute) < sunset - 30.0 && m.duty == 0.0, "{m:?}");
        assert!(m.soc.expect("a battery") < 0.62, "{m:?}");
        // A flat battery comes before any rule.
        let flat = m.cause == Some(Cause::BatteryFlat);
        assert!(m.cause.is_none() || m.cause == Some(Cause::HeldBack) || flat, "{m:?}");
    }
}

#[test]
fn a_slowed_pump_runs_by_the_laws_of_its_speed() {
    let slow = Slow { when: threshold(Measure::Charge, 0.7, 0.8), speed: Speed::Share(x(0.75)) };
    let slower = Slow { when: threshold(Measure::Charge, 0.4, 0.5), speed: Speed::Share(x(0.62)) };
    let design =
        controlled(small(), Control { slow: Some(slow), slower: Some(slower), ..Control::default() });
    let (mut seen, pump) = ([0; 2], nominal(&design));
    let (run, minutes) = fifth_day(&design, Day::Overcast(0.25));
    for m in minutes.iter().filter(|m| m.duty > 0.0) {
        let share = match m.rule {
            Some(RuleAtWork::Slow) => 0.75,
            Some(RuleAtWork::Slower) => 0.62,
            _ => 1.0,
        };
        seen[0] += usize::from(share == 0.75);
        seen[1] += usize::from(share == 0.62);
        let volts = share * m.battery_v.expect("a battery");
        assert!((m.pump_v - volts).abs() < 1e-4, "{} V of {volts} V", m.pump_v);
        let (_, jet_m, _) = stilldays::plant::single_unit::pump(&pump, volts);
        assert!((m.jet_m - jet_m).abs() < 1e-4, "{} m of {jet_m} m", m.jet_m);
    }
    assert!(seen[0] > 20 && seen[1] > 20, "{seen:?}");
    // Less energy a minute: more minutes of the same light.
    let (plain, _) = fifth_day(&small(), Day::Overcast(0.25));
    assert!(run.out.pump_h.0[0] > plain.out.pump_h.0[0] + 1.0);
    // A chopper is lossless, a regulator is not.
    let lost = |run: &Run| run.out.flow_wh[stilldays::plant::Flow::Charger as usize].0[0];
    assert!(lost(&run).abs() < 1e-3, "{}", lost(&run));
    let held = Slow { when: threshold(Measure::Charge, 0.7, 0.8), speed: Speed::Voltage(x(4.8)) };
    let (regulated, minutes) = fifth_day(
        &controlled(small(), Control { slow: Some(held), ..Control::default() }),
        Day::Overcast(0.25),
    );
    assert!(lost(&regulated) > 0.5, "{}", lost(&regulated));
    let slow_min = share_of(&minutes, |m| m.rule == Some(RuleAtWork::Slow) && m.duty > 0.0);
    assert!(slow_min > 60.0);
    assert!(minutes.iter().all(|m| m.rule != Some(RuleAtWork::Slow) || m.pump_v <= 4.8 + 1e-5));
}

#[test]
fn a_resting_pump_runs_and_rests_in_turn() {
    let rest = Rest { when: threshold(Measure::Voltage, 6.5, 6.75), on_min: 5.0, off_min: 10.0 };
    let design = controlled(small(), Control { rest: Some(rest), ..Control::default() });
    let (_, minutes) = fifth_day(&design, Day::Overcast(0.25));
    let off: Vec<bool> = minutes.iter().map(|m| m.rule == Some(RuleAtWork::Rest)).collect();
    let spells: Vec<usize> = off.chunk_by(|a, b| a == b).filter(|c| c[0]).map(<[bool]>::len).collect();
    assert!(spells.len() > 10, "{spells:?}");
    // All but the one that is cut by the end of the rule last ten minutes.
    assert!(spells.iter().all(|n| *n <= 10) && spells.iter().filter(|n| **n < 10).count() <= 3, "{spells:?}");
    assert!(minutes.iter().zip(&off).all(|(m, off)| !off || m.duty == 0.0));
}

#[test]
fn a_hold_ends_with_charge_mount_or_hour() {
    let latest = DayTime::Clock(11.0 * 60.0);
    let held_min = |control: Hold<Uncertain>, design: Design, day: Day| {
        let design = controlled(design, Control { hold: Some(control), ..Control::default() });
        let (run, minutes) = fifth_day(&design, day);
        let held = |m: &TraceMinute| m.rule == Some(RuleAtWork::Hold);
        let last = minutes.iter().filter(|m| held(m)).map(|m| f64::from(m.minute)).fold(0.0, f64::max);
        (share_of(&minutes, held), last, run.scene.days[4].hold_to)
    };
    // On a dull day the hour ends it.
    let by_charge = Hold { until: Some((Measure::Charge, x(0.95))), for_mount: false, latest };
    let (dull_min, last, to) = held_min(by_charge, small(), Day::Overcast(0.1));
    assert!(dull_min > 120.0 && last == to - 1.0, "{dull_min} {last} {to}");
    // On a clear one the charge does.
    let (clear_min, last, to) = held_min(by_charge, small(), Day::Clear);
    assert!(clear_min > 5.0 && last < to - 30.0, "{clear_min} {last} {to}");
    // A mount has settled soon after first light.
    let for_mount = Hold { until: None, for_mount: true, latest };
    let always = with_rule(with_battery(), RunsWhen::Always, CLOCK);
    let (mount_min, ..) = held_min(for_mount, always, Day::Clear);
    assert!((5.0..90.0).contains(&mount_min), "{mount_min}");
}

#[test]
fn rain_stops_the_pump_in_its_hours_only() {
    let mut design = large();
    design.running.control.rain_off_mm = Some(0.5);
    let mut run = Run::new(&design);
    let of_year = usize::from(run.scene.days[0].day_of_year);
    let mut weather = weather(&run.scene.calendar, of_year, Day::Clear);
    for (hour, mm) in [(10, 0.4), (11, 0.5), (12, 3.0)] {
        weather.rain_by_hour_mm[hour] = stilldays::lanes::RowF64::splat(mm);
    }
    run.step(stilldays::lanes::Isa::PLAIN, 0, &weather);
    accounts_close(&run, run.scene.days[0].wanted_min());
    let (_, held) = minutes(&run.out);
    assert!((held - 120.0).abs() < 1e-3, "{held}");
}

/// Whatever the rules: no minute and no Wh is lost, a held pump stands, and all vector tiers give the same bytes.
#[test]
fn drawn_rules_keep_the_accounts() {
    arbtest::arbtest(|u| {
        let mut pick = |lo: f64, hi: f64| Ok(lo + (hi - lo) * f64::from(u.int_in_range(0..=1000)?) / 1000.0);
        let mut gate = |by_volts: bool| {
            let (lo, hi, gap) = if by_volts { (6.0, 6.7, 0.1) } else { (0.1, 0.8, 0.05) };
            let below = pick(lo, hi)?;
            let by = if by_volts { Measure::Voltage } else { Measure::Charge };
            Ok(threshold(by, below, below + gap + pick(0.0, 0.1)?))
        };
        let (a, b, c, d) = (gate(false)?, gate(true)?, gate(false)?, gate(true)?);
        let share = x(pick(0.65, 1.0)?);
        let control = Control {
            slow: Some(Slow { when: a, speed: Speed::Share(share) }),
            slower: Some(Slow { when: b, speed: Speed::Voltage(x(pick(4.0, 6.0)?)) }),
            rest: Some(Rest { when: c, on_min: pick(1.0, 20.0)?.floor(), off_min: pick(1.0, 20.0)?.floor() }),
            hold: Some(Hold {
                until: Some((Measure::Charge, x(pick(0.3, 1.0)?))),
                for_mount: pick(0.0, 1.0)? < 0.5,
                latest: DayTime::Sunrise(pick(0.0, 500.0)?),
            }),
            reserve: Some(Reserve { when: d, until: DayTime::Sunset(pick(-200.0, 60.0)?) }),
            rain_off_mm: None,
        };
        let design = controlled(with_battery(), control);
        let day = if pick(0.0, 1.0)? < 0.5 { Day::Patchy } else { Day::Overcast(pick(0.1, 0.5)?) };
        let (run, minutes) = fifth_day(&design, day);
        for m in &minutes {
            assert!(!m.rule.is_some_and(RuleAtWork::holds) || m.duty == 0.0, "{m:?}");
        }
        let plain = format!("{:?}", run.out);
        for isa in stilldays::lanes::Isa::available() {
            let mut other = Run::new(&design);
            other.days_on(isa, 5, day);
            assert_eq!(plain, format!("{:?}", other.out), "{isa:?}");
        }
        Ok(())
    })
    .size_max(256);
}
