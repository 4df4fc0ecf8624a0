//! A larger panel, a smaller draw, or a larger store with the same thresholds in Wh never makes a build worse: random builds
//! under the same weather. Where physics allows a small loss, the test states it.

use crate::common::{self, Day};
use rand::RngExt;
use std::sync::Arc;
use stilldays::design::{Chemistry, Design, MountKind};
use stilldays::lanes::{BLOCK, Isa};
use stilldays::plant::{DayBlock, DayInput, Light, Scene, UnitBlock, single_unit, step_day};
use stilldays::seed::{Purpose, stream};

const DAYS: usize = 20;
const ROUNDS: u64 = 4;

/// A random build around the invented one: 4 to 20 W, 0.5 to 6 Ah, any reconnect voltage.
fn build(luck: &mut impl RngExt, mount: MountKind) -> Design<f64> {
    let mut d = common::nominal(&common::with_battery());
    d.mount.kind = mount;
    scale_panel(&mut d, 0.4 + 1.6 * luck.random::<f64>());
    let b = d.battery.as_mut().unwrap();
    b.capacity_ah = 0.5 * libm::pow(12.0, luck.random::<f64>());
    b.resistance_ohm = 0.24 / b.capacity_ah;
    d.electronics.reconnect_v = d.electronics.cut_off_v + 0.2 + 0.6 * luck.random::<f64>();
    d.electronics.standby_current_a = 0.001 + 0.009 * luck.random::<f64>();
    d.mount.tilt_deg = 20.0 + 40.0 * luck.random::<f64>();
    d
}

fn scale_panel(d: &mut Design<f64>, factor: f64) {
    d.panel.rated_power_w *= factor;
    d.panel.short_circuit_current_a *= factor;
}

fn more_panel(d: &mut Design<f64>) {
    scale_panel(d, 1.5);
}

fn less_draw(d: &mut Design<f64>) {
    d.electronics.standby_current_a *= 0.5;
    d.mount.standby_current_a *= 0.5;
    for row in &mut d.pump.bench {
        row.current_a *= 0.8;
    }
}

/// Twice the store; cut-off as it was, reconnected after as many Wh as before.
fn more_store(d: &mut Design<f64>) {
    let b = d.battery.as_mut().unwrap();
    let cells = f64::from(b.cells);
    let share = |volts: f64| {
        let (mut lo, mut hi) = (0.0, 1.0);
        for _ in 0..50 {
            let mid = 0.5 * (lo + hi);
            let below = single_unit::rest_volts(Chemistry::LithiumIronPhosphate, mid) < volts / cells;
            if below { lo = mid } else { hi = mid }
        }
        0.5 * (lo + hi)
    };
    let e = &mut d.electronics;
    let (cut, back) = (share(e.cut_off_v), share(e.reconnect_v));
    e.reconnect_v = single_unit::rest_volts(b.chemistry, cut + 0.5 * (back - cut)) * cells;
    b.capacity_ah *= 2.0;
    b.resistance_ohm *= 0.5;
}

/// The same store, thresholds left as shares.
fn more_store_by_share(d: &mut Design<f64>) {
    let b = d.battery.as_mut().unwrap();
    b.capacity_ah *= 2.0;
    b.resistance_ohm *= 0.5;
}

/// Still days (below 30 min) and jet minutes of each build.
fn outcome(designs: &[Design<f64>], days: &[Day]) -> Vec<(u32, f64)> {
    let calendar = Arc::clone(&common::calendar());
    let scene = Scene::new(&common::with_battery(), &calendar, 0);
    let units = UnitBlock::new(designs);
    let (mut state, mut out) = (units.start_state(), DayBlock::new());
    let mut light = Light::default();
    let mut sums = vec![(0, 0.0); designs.len()];
    for (index, &day) in days.iter().enumerate() {
        let weather = common::weather(&calendar, usize::from(scene.days[index].day_of_year), day);
        light.compute(Isa::detect(), &scene, index, &units, &weather);
        let input = DayInput { scene: &scene, index, units: &units, weather: &weather, light: &light };
        step_day(Isa::detect(), input, &mut state, &mut out);
        for (sum, &jet) in sums.iter_mut().zip(&out.jet_min.0) {
            sum.0 += u32::from(jet < 30.0);
            sum.1 += jet;
        }
    }
    sums
}

/// The largest loss in days and minutes from a change over all builds, and the number of builds that it improved.
fn worst(change: fn(&mut Design<f64>)) -> (i64, f64, usize) {
    let (mut days_lost, mut minutes_lost, mut better) = (i64::MIN, f64::NEG_INFINITY, 0);
    for round in 0..ROUNDS {
        let mut luck = stream(11, Purpose::Resample, round, 0);
        let days: Vec<Day> = (0..DAYS)
            .map(|_| match luck.random::<f64>() {
                u if u < 0.3 => Day::Clear,
                u if u < 0.5 => Day::Patchy,
                u => Day::Overcast(1.6 * (u - 0.5) + 0.05),
            })
            .collect();
        let mount = if round % 2 == 0 { MountKind::Fixed } else { MountKind::LightSeeking };
        let before: Vec<Design<f64>> = (0..BLOCK).map(|_| build(&mut luck, mount)).collect();
        let mut after = before.clone();
        after.iter_mut().for_each(change);
        for (b, a) in outcome(&before, &days).iter().zip(outcome(&after, &days)) {
            days_lost = days_lost.max(i64::from(a.0) - i64::from(b.0));
            minutes_lost = minutes_lost.max(b.1 - a.1);
            better += usize::from(a.1 > b.1);
        }
    }
    (days_lost, minutes_lost, better)
}

#[test]
fn more_panel_less_draw_and_a_store_held_in_wh_never_make_it_worse() {
    let builds = ROUNDS as usize * BLOCK;
    // What may be lost at worst: still days, and minutes of jet.
    for (name, change, days_may, minutes_may) in [
        ("panel × 1.5", more_panel as fn(&mut Design<f64>), 1, 60.0),
        ("less draw", less_draw, 1, 60.0),
        ("store × 2, thresholds held in Wh", more_store, 1, 60.0),
    ] {
        let (days, minutes, better) = worst(change);
        println!(
            "{name}: {better} of {builds} builds better; at worst {days} still days more and {minutes:.1} min of {DAYS} days less"
        );
        assert!(better > builds / 4, "{name}: {better} of {builds} builds better");
        assert!(
            days <= days_may && minutes <= minutes_may,
            "{name}: {days} still days more, {minutes} min less"
        );
    }
    // Left as shares of the capacity, the same thresholds make a bigger store wait longer: still days come of it, though the
    // jet gains minutes.
    let (days, minutes, better) = worst(more_store_by_share);
    println!(
        "store × 2, thresholds as shares: {better} of {builds} builds better; {days} still days more, {minutes:.1} min less"
    );
    assert!(days > 1, "{days}");
}
