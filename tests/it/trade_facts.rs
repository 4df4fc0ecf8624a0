//! What any builder of such things has seen (common practice, no source), on an invented clear and an invented dull day.
//! No rule in the plant states any of it; rest voltages are the exception.

use crate::common::*;
use stilldays::design::{Chemistry, Design, FedFirst, MountKind};
use stilldays::plant::{Cause, DayTrace, TraceMinute, single_unit};

fn day(design: &Design, weather: Day) -> DayTrace {
    let mut run = Run::new(design);
    run.days(2, weather);
    run.watched(weather)
}

/// The first minute for which the condition holds.
fn first(t: &DayTrace, holds: impl Fn(&TraceMinute) -> bool) -> Option<u16> {
    t.minutes.iter().find(|m| holds(m)).map(|m| m.minute)
}

fn jet(m: &TraceMinute) -> bool {
    m.counted
}

#[test]
fn without_a_battery_the_jet_pulses_at_low_sun_and_dies_earlier() {
    let mut design = direct();
    design.mount.kind = MountKind::Fixed;
    let alone = day(&design, Day::Clear);
    let stored = day(&with_battery(), Day::Clear);
    let pulsing = |m: &TraceMinute| m.duty > 0.0 && m.duty < 0.999;
    assert!(alone.minutes.iter().filter(|m| pulsing(m)).count() > 20);
    let low_sun = |m: &TraceMinute| m.sun_elevation_deg.is_some_and(|e| e < 30.0);
    assert!(alone.minutes.iter().filter(|m| pulsing(m)).all(low_sun));
    let last = |t: &DayTrace| t.minutes.iter().rev().find(|m| jet(m)).map(|m| m.minute);
    assert!(last(&alone) < last(&stored), "{:?} {:?}", last(&alone), last(&stored));
}

#[test]
fn a_mount_without_a_battery_misses_the_morning_unless_it_is_fed_first() {
    let pump_first = day(&direct(), Day::Clear);
    let mut design = direct();
    design.electronics.fed_first = FedFirst::Mount;
    let mount_first = day(&design, Day::Clear);
    let found = |t: &DayTrace| first(t, |m| m.plane_w_m2 > 400.0).expect("it finds the sun at some time");
    assert!(found(&mount_first) + 60 < found(&pump_first), "{} {}", found(&mount_first), found(&pump_first));
    // And the morning is laid to the mount.
    assert!(pump_first.minutes.iter().filter(|m| m.cause == Some(Cause::MountStarved)).count() > 120);
}

#[test]
fn a_small_battery_runs_into_dusk_and_stops_in_the_evening() {
    let mut design = with_battery();
    let mut dusk_min = |capacity_ah: f64| {
        let Some(b) = design.battery.as_mut() else { unreachable!("it has one") };
        b.capacity_ah.nominal = capacity_ah;
        let mut run = Run::new(&design);
        let out = run.days(3, Day::Clear);
        assert!(out.cause_min[Cause::BatteryFlat as usize].0[0] > 0.0, "{capacity_ah} Ah: never flat");
        out.dusk_run_min.0[0]
    };
    let dusk = [0.3, 0.45, 0.6].map(&mut dusk_min);
    // A full battery empties into pump and standby: each 0.15 Ah (nine tenths of them left) buys as many minutes as they take
    // that charge in, at the voltage of a battery half empty.
    let takes_a = single_unit::pump(&nominal(&design), 6.5).0
        + design.electronics.standby_current_a.nominal
        + design.mount.standby_current_a.nominal;
    let buys_min = 60.0 * 0.15 * 0.9 / takes_a;
    for pair in dusk.windows(2) {
        let more = pair[1] - pair[0];
        assert!((more / buys_min - 1.0).abs() < 0.15, "{dusk:?} min, {buys_min} expected between");
    }
}

/// What the trade goes by: rested voltage of a cell when full and at half, and of a lead-acid battery of six cells
/// (12.6 to 12.8 V full, 12.1 to 12.3 V at half, below 12 V empty).
#[test]
fn rested_batteries_show_the_voltages_that_the_trade_knows() {
    let volts = |chemistry, soc| single_unit::rest_volts(chemistry, soc);
    for (chemistry, full, half) in [
        (Chemistry::LithiumIon, 4.15..4.21, 3.6..3.8),
        (Chemistry::LithiumIronPhosphate, 3.35..3.65, 3.25..3.35),
        (Chemistry::LeadAcid, 12.6 / 6.0..12.8 / 6.0, 12.1 / 6.0..12.3 / 6.0),
        (Chemistry::NickelMetalHydride, 1.35..1.45, 1.2..1.3),
    ] {
        assert!(full.contains(&volts(chemistry, 1.0)), "{chemistry:?} full: {}", volts(chemistry, 1.0));
        assert!(half.contains(&volts(chemistry, 0.5)), "{chemistry:?} half: {}", volts(chemistry, 0.5));
        // More charge, more voltage: a charger can tell.
        for step in 0..100 {
            let (less, more) = (f64::from(step) / 100.0, f64::from(step + 1) / 100.0);
            assert!(volts(chemistry, less) < volts(chemistry, more), "{chemistry:?} at {less}");
        }
    }
    assert!(6.0 * volts(Chemistry::LeadAcid, 0.0) < 12.0);
}

#[test]
fn under_an_even_overcast_it_looks_up() {
    let t = day(&with_battery(), Day::Overcast(0.25));
    let noon = &t.minutes[t.minutes.len() / 2];
    assert!(noon.aim_tilt_deg < 30.0, "{}", noon.aim_tilt_deg);
    let clear = day(&with_battery(), Day::Clear);
    let low = clear.minutes.iter().find(|m| m.sun_elevation_deg.is_some_and(|e| e > 15.0)).expect("sun");
    assert!(low.off_aim_deg.is_some_and(|off| off < 8.0) && low.aim_tilt_deg > 60.0);
}

#[test]
fn behind_the_skyline_it_looks_elsewhere() {
    let mut design = with_battery();
    design.site.skyline = vec![(40.0, 0.0), (50.0, 40.0), (130.0, 40.0), (140.0, 0.0)];
    let hidden = day(&design, Day::Clear);
    let open = day(&with_battery(), Day::Clear);
    let at =
        |t: &DayTrace| *t.minutes.iter().find(|m| m.sun_elevation_deg.is_some_and(|e| e > 20.0)).unwrap();
    let (h, o) = (at(&hidden), at(&open));
    assert!(h.plane_w_m2 < 0.4 * o.plane_w_m2);
    assert!(
        (h.aim_azimuth_deg - o.aim_azimuth_deg).abs() > 20.0
            || (h.aim_tilt_deg - o.aim_tilt_deg).abs() > 20.0
    );
    let mut fixed = direct();
    fixed.mount.kind = MountKind::Fixed;
    fixed.mount.azimuth_deg.nominal = 90.0;
    fixed.site.skyline = design.site.skyline;
    let t = day(&fixed, Day::Clear);
    assert!(t.minutes.iter().filter(|m| m.cause == Some(Cause::BehindSkyline)).count() > 30);
}

#[test]
fn with_a_battery_it_starts_the_day_looking_east() {
    let t = day(&with_battery(), Day::Clear);
    assert!((t.minutes[0].aim_azimuth_deg - 90.0).abs() < 1.0, "{}", t.minutes[0].aim_azimuth_deg);
}

#[test]
fn wider_shadows_track_better() {
    let off = |shadow: f64| {
        let mut design = with_battery();
        design.mount.shadow_deg.nominal = shadow;
        let t = day(&design, Day::Clear);
        let lit: Vec<f64> =
            t.minutes.iter().filter(|m| m.dni_w_m2 > 400.0).filter_map(|m| m.off_aim_deg).collect();
        lit.iter().sum::<f64>() / lit.len() as f64
    };
    // A wide shadow covers a cell at a smaller angle.
    assert!(off(10.0) < 0.7 * off(60.0), "{} {}", off(10.0), off(60.0));
}

#[test]
fn wind_carries_water_out_of_the_basin() {
    let lost = |rim: f64| {
        let mut design = with_battery();
        design.water.rim_m.nominal = rim;
        Run::new(&design).days(1, Day::Clear).drifted_l.0[0]
    };
    assert!(lost(0.3) > 3.0 * lost(1.0), "{} {}", lost(0.3), lost(1.0));
}
