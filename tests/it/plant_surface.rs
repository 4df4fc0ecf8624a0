//! What comes and goes on a panel, through days of the plant.

use crate::common::*;
use stilldays::design::*;
use stilldays::lanes::{Isa, RowF64};
use stilldays::plant::Cause;
use stilldays::units::Uncertain;

fn fixed(mut design: Design) -> Design {
    design.mount.kind = MountKind::Fixed;
    design
}

fn dirty(mut design: Design, per_day: f64) -> Design {
    design.panel.dirt = Dirt { grows: true, per_day: Uncertain::exact(per_day), ..Dirt::default() };
    design.panel.soiling = Uncertain::exact(0.02);
    design
}

fn under_trees(mut design: Design, leaves: f64) -> Design {
    let x = Uncertain::exact;
    design.panel.litter = Litter { falls: true, leaves: x(leaves), droppings: x(0.0) };
    design
}

/// Steps some clear days with this rain; the last is in the run.
fn days(run: &mut Run, rain_mm: &[f64], known: bool) {
    for mm in rain_mm {
        let of_year = usize::from(run.scene.days[run.index].day_of_year);
        let mut w = weather(&run.scene.calendar, of_year, Day::Clear);
        w.rain_mm = RowF64::splat(*mm);
        w.rain_known = known;
        w.litter = [0.99, 0.5, 0.5, 0.5].map(RowF64::splat);
        run.step(Isa::PLAIN, run.index, &w);
        run.index += 1;
    }
}

/// Share of the light that dirt took on the last day.
fn lost(run: &Run) -> f64 {
    run.out.dirt_wh_m2.0[0] / run.out.plane_wh_m2.0[0]
}

#[test]
fn dirt_grows_until_it_rains_and_costs_what_it_says() {
    let mut run = Run::new(&dirty(fixed(with_battery()), 0.01));
    days(&mut run, &[0.0; 11], true);
    // Ten days of growth behind a cover that keeps 2 %.
    assert!((lost(&run) - 0.98 * 0.1).abs() < 1e-9, "{}", lost(&run));
    days(&mut run, &[4.0], true);
    assert!((lost(&run) - 0.98 * 0.11).abs() < 1e-9, "too little rain washes nothing");
    days(&mut run, &[9.0], true);
    assert_eq!(lost(&run), 0.0);
    let wh = |design: &Design, n: usize| {
        let mut run = Run::new(design);
        run.index = 0;
        days(&mut run, &vec![0.0; n], true);
        run.out.flow_wh[0].0[0]
    };
    // A panel alone feeds what its loads take: a large battery takes all.
    let mut large = fixed(with_battery());
    large.battery.as_mut().unwrap().capacity_ah = Uncertain::exact(1000.0);
    large.electronics.charge_current_max_a = Uncertain::exact(10.0);
    let (clean, dirty_wh) = (wh(&large, 11), wh(&dirty(large.clone(), 0.01), 11));
    let share = dirty_wh / clean;
    // 10 % less light, and 1 % more for what the default cover took before.
    assert!((0.89..0.93).contains(&share), "{share}");
}

#[test]
fn without_rain_in_the_file_the_mean_is_taken_on_every_day() {
    let mut run = Run::new(&dirty(fixed(with_battery()), 0.002));
    days(&mut run, &[0.0], false);
    let first = lost(&run);
    days(&mut run, &[0.0; 5], false);
    assert!((lost(&run) - first).abs() < 1e-12);
    // r/l e^(-l g) (1 - e^(-l c/r)), l = 1/15, g = 3, c = 0.3.
    let mean = 0.002 * 15.0 * libm::exp(-0.2) * -libm::expm1(-0.3 / 0.002 / 15.0);
    assert!((first - 0.98 * mean).abs() < 1e-6, "{first} and {mean}");
}

#[test]
fn a_hand_cleans_the_panel_on_its_days() {
    let mut design = dirty(fixed(with_battery()), 0.01);
    design.care.clean_panel_every_days = Some(7);
    let mut run = Run::new(&design);
    let mut shares = Vec::new();
    for _ in 0..15 {
        days(&mut run, &[0.0], true);
        shares.push(lost(&run));
    }
    let clean: Vec<usize> = (0..15).filter(|k| shares[*k] == 0.0).collect();
    assert_eq!(clean, [0, 7, 14]);
}

#[test]
fn dirt_that_stops_a_jet_is_named() {
    let mut design = dirty(fixed(direct()), 0.05);
    design.panel.dirt.most = Uncertain::exact(0.9);
    let mut run = Run::new(&design);
    days(&mut run, &[0.0; 12], true);
    let named = run.out.cause_min[Cause::Covered as usize].0[0];
    assert!(named > 30.0, "{named} min");
    let found = run.out.jet_min.0[0] + run.out.cause_min.iter().map(|c| c.0[0]).sum::<f64>();
    assert!((found - run.scene.days[11].wanted_min()).abs() < 1e-3);
}

#[test]
fn leaves_lie_from_the_fall_on_and_stop_the_string() {
    // The 290th day of the year is the first on which leaves fall at 45° north, near sea level.
    let mut design = under_trees(fixed(direct()), 4.0);
    design.wish.season = (270, 300);
    let mut run = Run::new(&design);
    let mut first = None;
    for day in 0..31 {
        days(&mut run, &[0.0], true);
        if run.out.littered.0[0] > 0.0 && first.is_none() {
            first = Some(270 + day);
        }
    }
    // At 200 m the colouring is 3.8 days sooner than 290.
    assert_eq!(first, Some(287));
    assert!(run.out.cause_min[Cause::Covered as usize].0[0] > 100.0);
    assert_eq!(run.out.over_label_wh.0[0], 0.0);
    days(&mut run, &[], true);
}

#[test]
fn panels_on_which_nothing_comes_and_goes_are_left_alone() {
    let mut run = Run::new(&fixed(with_battery()));
    days(&mut run, &[0.0; 3], true);
    assert_eq!((run.out.dirt_wh_m2.0[0], run.out.littered.0[0]), (0.0, 0.0));
}

/// A cold day with so much snow in its sixth hour, cm, in air of so many °C.
fn snowy(run: &mut Run, snow_cm: f64, air_c: f64) {
    let of_year = usize::from(run.scene.days[run.index].day_of_year);
    let mut w = weather(&run.scene.calendar, of_year, Day::Clear);
    w.air_c.iter_mut().for_each(|hour| *hour = RowF64::splat(air_c));
    w.snow_cm[5] = RowF64::splat(snow_cm);
    run.step(Isa::PLAIN, run.index, &w);
    run.index += 1;
}

#[test]
fn snow_stops_the_panel_until_it_has_slid_off() {
    let mut design = fixed(direct());
    design.panel.snow = true;
    design.mount.tilt_deg = Uncertain::exact(40.0);
    let mut run = Run::new(&design);
    let taken = |run: &Run| run.out.snow_wh_m2.0[0] / run.out.plane_wh_m2.0[0];
    snowy(&mut run, 0.0, -25.0);
    let clean = run.out.jet_min.0[0];
    assert_eq!(taken(&run), 0.0);
    // Half a centimetre does not cover it; two do, and in hard frost they stay for days.
    snowy(&mut run, 0.5, -25.0);
    assert_eq!(taken(&run), 0.0);
    assert!((run.out.jet_min.0[0] - clean).abs() < 5.0, "but for the length of the day");
    snowy(&mut run, 2.0, -25.0);
    assert!(taken(&run) > 0.9 && run.out.jet_min.0[0] < 0.1 * clean);
    assert!(run.out.cause_min[Cause::Covered as usize].0[0] > 0.8 * clean);
    snowy(&mut run, 0.0, -25.0);
    assert!(taken(&run) > 0.9, "nothing has slid");
    // In a thaw it slides 12.7 % of its height an hour: off within eight hours, early in the morning.
    snowy(&mut run, 0.0, 3.0);
    assert!((0.02..0.4).contains(&taken(&run)), "{}", taken(&run));
    snowy(&mut run, 0.0, 3.0);
    assert_eq!(taken(&run), 0.0);
    let found = run.out.jet_min.0[0] + run.out.cause_min.iter().map(|c| c.0[0]).sum::<f64>();
    assert!((found - run.scene.days[5].wanted_min()).abs() < 1e-3);
}

#[test]
fn snow_is_left_out_unless_asked_for() {
    let mut run = Run::new(&fixed(direct()));
    snowy(&mut run, 5.0, -5.0);
    assert_eq!(run.out.snow_wh_m2.0[0], 0.0);
    assert!(run.out.jet_min.0[0] > 0.0);
}
