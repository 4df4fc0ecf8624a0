//! Frost, wind, skyline, faults, water, polar days: each condition alone, on invented builds and days.

use crate::common::*;
use std::sync::Arc;
use stilldays::design::{Chemistry, DayTime, Design, FedFirst, MountKind, TopUp};
use stilldays::lanes::{Isa, RowF64};
use stilldays::plant::{Cause, DayBlock, Scene};
use stilldays::sky::{Calendar, Place};

/// Steps one clear day with changed air (°C, m/s).
fn clear_day(run: &mut Run, air_c: Option<f64>, wind_m_s: Option<f64>) -> DayBlock {
    let of_year = usize::from(run.scene.days[run.index].day_of_year);
    let mut w = weather(&run.scene.calendar, of_year, Day::Clear);
    for h in 0..24 {
        w.air_c[h] = air_c.map_or(w.air_c[h], RowF64::splat);
        w.wind_m_s[h] = wind_m_s.map_or(w.wind_m_s[h], RowF64::splat);
    }
    run.step(Isa::PLAIN, run.index, &w);
    run.index += 1;
    run.out.clone()
}

fn cause(o: &DayBlock, cause: Cause) -> f64 {
    o.cause_min[cause as usize].0[0]
}

fn fixed(mut design: Design) -> Design {
    design.mount.kind = MountKind::Fixed;
    design
}

#[test]
fn frost_locks_lithium_until_it_is_flat_and_spares_the_rest() {
    let days = |design: &Design| {
        let mut run = Run::new(design);
        (0..4).map(|_| clear_day(&mut run, Some(-8.0), None)).collect::<Vec<_>>()
    };
    let frozen = days(&fixed(with_battery()));
    let last = &frozen[3];
    assert!(last.too_cold_h.0[0] > 10.0, "{}", last.too_cold_h.0[0]);
    assert!(last.soc_high.0[0] <= frozen[2].soc_low.0[0] + 1e-7, "it was charged in frost");
    assert!(cause(last, Cause::TooCold) > 300.0 && last.jet_min.0[0] < 30.0);

    let mut kept = fixed(with_battery());
    if let Some(b) = kept.battery.as_mut() {
        b.kept_above_freezing = true;
    }
    let mut lead = fixed(with_battery());
    if let Some(b) = lead.battery.as_mut() {
        (b.chemistry, b.cells) = (Chemistry::LeadAcid, 3);
        (b.kibam_c.nominal, b.kibam_k_per_h.nominal) = (0.3, 0.5);
    }
    lead.electronics.cut_off_v.nominal = 5.7;
    for (name, design) in [("kept warm", kept), ("lead-acid", lead)] {
        let last = &days(&design)[3];
        assert_eq!((last.too_cold_h.0[0], cause(last, Cause::TooCold)), (0.0, 0.0), "{name}");
        assert!(last.jet_min.0[0] > 120.0, "{name}: {}", last.jet_min.0[0]);
    }
}

#[test]
fn wind_above_the_cut_off_stops_the_jet_and_nothing_else_does() {
    let mut design = with_battery();
    design.water.wind_cut_off_m_s = Some(6.0);
    let day = |wind| {
        let mut run = Run::new(&design);
        let wanted = run.scene.days[0].wanted_min();
        (clear_day(&mut run, None, Some(wind)), wanted)
    };
    let (blown, wanted) = day(7.0);
    assert_eq!((blown.jet_min.0[0], blown.pump_h.0[0], blown.drifted_l.0[0]), (0.0, 0.0, 0.0));
    assert!((cause(&blown, Cause::Wind) - wanted).abs() < 1e-4);
    let (calm, _) = day(5.0);
    assert!(cause(&calm, Cause::Wind) == 0.0 && calm.jet_min.0[0] > 600.0);
}

#[test]
fn a_high_skyline_empties_the_battery_and_that_is_the_cause() {
    let mut design = fixed(with_battery());
    design.site.skyline = vec![(0.0, 70.0), (180.0, 70.0), (359.0, 70.0)];
    let mut run = Run::new(&design);
    let hidden = (0..5).map(|_| run.days(1, Day::Clear).clone()).last().expect("five days");
    let open = Run::new(&fixed(with_battery())).days(5, Day::Clear).clone();
    assert!(hidden.plane_wh_m2.0[0] < 0.2 * open.plane_wh_m2.0[0]);
    assert!(hidden.jet_min.0[0] < 0.3 * open.jet_min.0[0]);
    assert!(cause(&hidden, Cause::BatteryFlat) > 0.9 * hidden.cause_min.iter().map(|c| c.0[0]).sum::<f64>());
}

#[test]
fn a_blocked_pump_and_a_stuck_mount_are_blamed_from_their_day_on() {
    let mut design = with_battery();
    design.pump.blocked_from_day = Some(1);
    let mut run = Run::new(&design);
    assert!(run.days(1, Day::Clear).jet_min.0[0] > 600.0);
    let wanted = run.scene.days[1].wanted_min();
    let out = run.days(1, Day::Clear);
    assert_eq!((out.jet_min.0[0], out.pump_h.0[0]), (0.0, 0.0));
    assert!((cause(out, Cause::Blocked) - wanted).abs() < 1e-4);

    let mut design = direct();
    design.electronics.fed_first = FedFirst::Mount;
    design.mount.stuck_from_day = Some(1);
    let mut run = Run::new(&design);
    assert!(run.days(1, Day::Clear).moves.0[0] > 5.0);
    let out = run.days(1, Day::Clear);
    assert_eq!((out.moves.0[0], out.travel_deg.0[0]), (0.0, 0.0));
    assert!(cause(out, Cause::MountStarved) > 60.0);
}

/// One of sixteen units breaks: it alone stands still, and not a bit of the others changes.
#[test]
fn a_broken_pump_and_a_broken_mount_stop_their_own_unit_only() {
    let mut seeking = direct();
    seeking.electronics.fed_first = FedFirst::Mount;
    for isa in Isa::available() {
        let (mut sound, mut broken) = (Run::new(&with_battery()), Run::new(&with_battery()));
        broken.state.break_pump(3, true);
        let (a, b) =
            (sound.days_on(isa, 1, Day::Patchy).clone(), broken.days_on(isa, 1, Day::Patchy).clone());
        for lane in 0..16 {
            let jet = [&a, &b].map(|out| out.jet_min.0[lane].to_bits());
            assert_eq!(jet[0] == jet[1], lane != 3, "{isa:?} lane {lane}");
        }
        let wanted = sound.scene.days[0].wanted_min();
        assert_eq!((b.jet_min.0[3], b.pump_h.0[3]), (0.0, 0.0));
        assert!((b.cause_min[Cause::Blocked as usize].0[3] - wanted).abs() < 1e-4);
        assert!(b.soc_low.0[3] > a.soc_low.0[3], "nothing takes its charge but the mount");

        let (mut sound, mut broken) = (Run::new(&seeking), Run::new(&seeking));
        broken.state.break_mount(5, true);
        let (a, b) = (sound.days_on(isa, 1, Day::Clear).clone(), broken.days_on(isa, 1, Day::Clear).clone());
        assert!(a.moves.0[5] > 5.0 && a.motors_h.0[5] > 0.0);
        assert_eq!((b.moves.0[5], b.travel_deg.0[5], b.motors_h.0[5]), (0.0, 0.0, 0.0));
        assert!(b.cause_min[Cause::MountStarved as usize].0[5] > 60.0);
        for lane in (0..16).filter(|lane| *lane != 5) {
            let rows =
                |o: &DayBlock| [&o.jet_min, &o.travel_deg, &o.plane_wh_m2].map(|row| row.0[lane].to_bits());
            assert_eq!(rows(&a), rows(&b), "{isa:?} lane {lane}");
        }
        // Mended, it turns again.
        broken.state.break_mount(5, false);
        assert!(broken.days_on(isa, 1, Day::Clear).moves.0[5] > 5.0);
    }
}

#[test]
fn a_starved_mount_catches_up_when_it_is_fed() {
    let mut run = Run::new(&direct());
    run.days(1, Day::Clear);
    let t = run.watched(Day::Clear);
    let off = |m: &stilldays::plant::TraceMinute| m.off_aim_deg.unwrap_or(0.0);
    let starves = |m: &stilldays::plant::TraceMinute| m.cause == Some(Cause::MountStarved);
    // It stands far off in the morning, for its bus is down ...
    let starved = t.minutes.iter().position(|m| starves(m) && off(m) > 30.0).expect("it starves");
    // ... and once the bus holds it turns to the sun, and the jet runs.
    let there = t.minutes[starved..].iter().position(|m| off(m) < 10.0).expect("it never gets there");
    assert!(t.minutes[starved..starved + there].iter().filter(|m| starves(m)).count() > 30);
    assert!(t.minutes[starved + there..].iter().any(|m| m.counted && off(m) < 10.0));
}

#[test]
fn a_pump_cut_off_waits_for_its_reconnect_voltage() {
    let mut design = fixed(with_battery());
    if let Some(b) = design.battery.as_mut() {
        b.capacity_ah.nominal = 0.5;
    }
    // Longer than such a battery lasts.
    design.wish.to = DayTime::Sunset(240.0);
    let mut run = Run::new(&design);
    run.days(2, Day::Clear);
    let t = run.watched(Day::Clear);
    let (mut cuts, mut returns) = (0, 0);
    for pair in t.minutes.windows(2) {
        let volts = pair[0].battery_v.expect("it has a battery");
        let (on, next) = (pair[0].duty > 0.0, pair[1].duty > 0.0);
        if on && !next && pair[1].wanted && pair[1].cause == Some(Cause::BatteryFlat) {
            cuts += 1;
        }
        if !on && next && pair[0].wanted {
            returns += 1;
            assert!(volts >= design.electronics.reconnect_v.nominal - 1e-6, "on again at {volts} V");
        }
    }
    assert!(cuts > 0 && returns > 0, "{cuts} {returns}");
}

#[test]
fn a_dry_basin_waits_for_its_keeper() {
    let mut design = with_battery();
    design.water.usable_l.nominal = 4.0;
    design.water.top_up = TopUp::Every(3);
    let mut run = Run::new(&design);
    let days: Vec<DayBlock> = (0..4).map(|_| run.days(1, Day::Clear).clone()).collect();
    assert_eq!(days[2].water_l.0[0], 0.0);
    assert!(cause(&days[2], Cause::LowWater) > 300.0, "{}", cause(&days[2], Cause::LowWater));
    // The fourth day begins with a full basin.
    assert!(days[3].jet_min.0[0] > 120.0);
    design.water.top_up = TopUp::Always;
    assert_eq!(cause(Run::new(&design).days(3, Day::Clear), Cause::LowWater), 0.0);
}

#[test]
fn wanted_hours_pass_midnight_and_hold_where_the_sun_does_not_set() {
    let mut design = with_battery();
    (design.wish.from, design.wish.to) = (DayTime::Clock(20.0 * 60.0), DayTime::Clock(60.0));
    let scene = Scene::new(&design, &calendar(), 0);
    assert!(scene.days.iter().all(|d| (d.wanted_min() - 300.0).abs() < 1e-9));
    let out = Run::new(&design).days(2, Day::Clear).clone();
    assert!((out.jet_min.0[0] + out.cause_min.iter().map(|c| c.0[0]).sum::<f64>() - 300.0).abs() < 1e-9);

    let far_north = Place { latitude_deg: 78.0, longitude_deg: 15.0, elevation_m: 10.0, utc_offset_h: 1.0 };
    let calendar = Arc::new(Calendar::new(far_north, [3.0; 12]));
    let wanted = |season: (u16, u16), from, to| {
        let mut design = with_battery();
        (design.wish.season, design.wish.from, design.wish.to) = (season, from, to);
        Scene::new(&design, &calendar, 0).days.iter().map(|d| d.wanted_min()).collect::<Vec<_>>()
    };
    let (rise, set) = (DayTime::Sunrise(0.0), DayTime::Sunset(60.0));
    assert!(wanted((340, 350), rise, set).iter().all(|m| *m == 0.0), "wanted from sunrise in polar night");
    assert!(wanted((165, 175), rise, set).iter().all(|m| *m > 1430.0));
    let (morning, evening) = (DayTime::Clock(480.0), DayTime::Clock(1200.0));
    assert!(wanted((340, 350), morning, evening).iter().all(|m| *m == 720.0));
}
