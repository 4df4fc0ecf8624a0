//! The mount in cases where its head or its arithmetic has little to work with.

use crate::common::{Day, Run, with_battery};
use rand::RngExt;
use stilldays::design::Head;
use stilldays::plant::single_unit;
use stilldays::seed::{Purpose, stream};
use stilldays::units::Uncertain;

/// A turn of less than a minute ends with the minute, although share of the minute times speed is not the angle to the last
/// digit.
#[test]
fn a_turn_of_less_than_a_minute_arrives() {
    let mut rng = stream(9, Purpose::Part("turn"), 0, 0);
    let mut pick = |low: f64, high: f64| low + (high - low) * rng.random::<f64>();
    let mut unit = || {
        let d = [pick(-1.0, 1.0), pick(-1.0, 1.0), pick(0.05, 1.0)];
        let r = d.iter().map(|x| x * x).sum::<f64>().sqrt();
        (d.map(|x| x / r), pick(0.5, 3.0))
    };
    let (mut within, mut beyond) = (0, 0);
    for _ in 0..20_000 {
        let ((from, speed), (to, _)) = (unit(), unit());
        let (angle, gone) = single_unit::turned(from, to, speed);
        if angle <= speed {
            within += 1;
            assert_eq!(gone, angle, "from {from:?} to {to:?} at {speed}");
        } else {
            beyond += 1;
            assert!((gone - speed).abs() < 1e-12, "{gone} {speed}");
        }
    }
    assert!(within > 5_000 && beyond > 5_000, "{within} {beyond}");
}

/// A head that looks lower than its mount reaches is taken as low as that goes, and gets there.
#[test]
fn a_head_is_taken_as_low_as_the_mount_reaches() {
    let mut d = with_battery();
    d.mount.head = Head::Walls;
    d.mount.tilt_max_deg = Uncertain::exact(10.0);
    let t = Run::new(&d).watched(Day::Clear);
    let noon = &t.minutes[t.minutes.len() / 3..t.minutes.len() / 2];
    let low = noon.iter().map(|m| m.aim_tilt_deg).fold(90.0, f64::min);
    let off = noon.iter().filter_map(|m| m.off_aim_deg).fold(0.0, f64::max);
    println!("tilt about noon at least {low}, off aim by up to {off}");
    // It waits within its dead band.
    assert!((9.5..10.0 + 1e-4).contains(&low) && off < 4.0, "{low} {off}");
}

/// The third day of a build with a battery whose mount was changed: its trace.
fn third_day(
    day: Day,
    change: impl Fn(&mut stilldays::design::Mount<Uncertain>),
) -> stilldays::plant::DayTrace {
    let mut d = with_battery();
    change(&mut d.mount);
    let mut run = Run::new(&d);
    run.days(2, day);
    run.watched(day)
}

/// Mean light on the panel while the sun is up, W/m².
fn light(t: &stilldays::plant::DayTrace) -> f64 {
    let up: Vec<f64> =
        t.minutes.iter().filter(|m| m.sun_elevation_deg.is_some()).map(|m| m.plane_w_m2).collect();
    up.iter().sum::<f64>() / up.len() as f64
}

/// Cells that differ draw the aim aside, each pair its own way, and a scattering cover doubles that.
#[test]
fn unlike_cells_draw_the_aim_aside() {
    let noon = |change: &dyn Fn(&mut stilldays::design::Mount<Uncertain>)| {
        let t = third_day(Day::Clear, |m| {
            // A head that follows at once.
            m.contrast = Uncertain::exact(0.001);
            change(m);
        });
        let m =
            t.minutes.iter().max_by(|a, b| a.sun_elevation_deg.partial_cmp(&b.sun_elevation_deg).unwrap());
        let m = m.unwrap();
        (m.aim_tilt_deg, m.aim_azimuth_deg)
    };
    let plain = noon(&|_| ());
    let low = noon(&|m| m.mismatch_tilt = Uncertain::exact(0.1));
    let high = noon(&|m| m.mismatch_tilt = Uncertain::exact(-0.1));
    let aside = noon(&|m| m.mismatch_turn = Uncertain::exact(0.1));
    let milky = noon(&|m| {
        m.mismatch_tilt = Uncertain::exact(0.1);
        m.cover_scatter = Uncertain::exact(0.5);
    });
    println!("plain {plain:?} low {low:?} high {high:?} aside {aside:?} milky {milky:?}");
    assert!((1.0..4.0).contains(&(low.0 - plain.0)) && (1.0..4.0).contains(&(plain.0 - high.0)));
    assert!((low.1 - plain.1).abs() < 1.0, "the other axis stays");
    // The turn about the upright axis is wider than the angle on the sky.
    assert!((1.0..12.0).contains(&(aside.1 - plain.1)) && (aside.0 - plain.0).abs() < 1.0);
    let twice = (milky.0 - plain.0) / (low.0 - plain.0);
    assert!((1.6..2.4).contains(&twice), "{twice}");
}

/// A fast motor with a narrow band overshoots and hunts all day: the trace says so, and its motors' energy is counted; a slow one
/// stands. No light is lost by it.
#[test]
fn a_head_that_overshoots_hunts_and_pays_for_it() {
    let motors = |speed: f64| {
        let mut d = with_battery();
        d.mount.speed_deg_s = Uncertain::exact(speed);
        d.mount.delay_min = Uncertain::exact(0.3 / 60.0);
        d.mount.contrast = Uncertain::exact(0.01);
        let mut run = Run::new(&d);
        let out = run.days(1, Day::Clear);
        let (wh, minutes) = (out.flow_wh[stilldays::plant::Flow::Motors as usize].0[0], out.hunting_min.0[0]);
        assert!(out.residual_wh.0[0].abs() < 1e-3, "{}", out.residual_wh.0[0]);
        (wh, minutes, run.watched(Day::Clear))
    };
    let ((slow_wh, slow_min, calm), (fast_wh, fast_min, dance)) = (motors(1.0), motors(10.0));
    println!("slow {slow_wh:.2} Wh, {slow_min} min; fast {fast_wh:.2} Wh, {fast_min} min");
    assert!(slow_min == 0.0 && calm.minutes.iter().all(|m| !m.hunts));
    assert!(fast_min > 400.0 && dance.minutes.iter().filter(|m| m.hunts).count() > 400);
    // Motors of 80 mA at some 6.5 V, on for more than half of ten hours.
    assert!(fast_wh > slow_wh + 2.0 && fast_wh < 8.0);
    assert!((light(&dance) / light(&calm) - 1.0).abs() < 0.02);
    assert!(dance.minutes.iter().all(|m| m.sun_elevation_deg.is_some() || !m.hunts));
}

/// Noise far below the dead band starts nothing; near it the head dances under passing clouds more than under a clear sky.
#[test]
fn noise_makes_a_head_dance_under_passing_clouds() {
    let hunting = |noise: f64, day: Day| {
        let t = third_day(day, |m| m.noise = Uncertain::exact(noise));
        t.minutes.iter().filter(|m| m.hunts).count()
    };
    let [calm, clear, patchy] = [(0.001, Day::Patchy), (0.006, Day::Clear), (0.006, Day::Patchy)];
    let [calm, clear, patchy] = [calm, clear, patchy].map(|(noise, day)| hunting(noise, day));
    println!("{calm} {clear} {patchy} min");
    assert!(calm == 0 && clear == 0 && patchy > 100);
}
