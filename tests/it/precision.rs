//! The error of stepping minutes in single precision: whole runs against the same runs in double precision.
//!
//! Demo designs (invented) in a month with some still days. Lines of some are changed, so that all kinds of coupling,
//! charging, mount and refilling occur.

use crate::common::{Day, Run as Built, altered, summed_up, with_battery};
use rand::RngExt;
use stilldays::design::*;
use stilldays::lanes::Isa;
use stilldays::plant::Flow;
use stilldays::seed::{Purpose, stream};
use stilldays::study::{Plan, Sites};
use stilldays::tally::summary::{Estimate, Summary};
use stilldays::units::Uncertain;

type Altered = (&'static str, &'static [(&'static str, &'static str)]);

const DESIGNS: [Altered; 10] = [
    ("mill-1-fixed-direct", &[]),
    ("mill-2-seeking-direct", &[]),
    ("mill-2-seeking-direct", &[("fed_first = ", "fed_first = \"mount\"")]),
    ("mill-3-seeking-small-battery", &[]),
    ("mill-3-seeking-small-battery", &[("[pump]", "[electronics]\ncharging = \"mppt\"\n[pump]")]),
    (
        "mill-3-seeking-small-battery",
        &[("kind = ", "kind = \"sun-following\""), ("top_up = ", "top_up = \"rain\"")],
    ),
    ("mill-6-fixed-battery", &[]),
    ("mill-6-fixed-battery", &[("[pump]", "[electronics]\ncharging = \"direct\"\n[pump]")]),
    ("meadow-pond", &[]),
    ("ridge-trough", &[]),
];
const TRIALS: u64 = 96;

fn summary(plan: &Plan, isa: Isa, trials: u64) -> Summary {
    summed_up(plan, trials, 1, 2, isa).1
}

/// The weather is the same except for its last digits, so results are paired, and the differences are far below the standard
/// error of the shortest useful run. A minute at a threshold (cut-off, start of the pump, dead band of a mount) may fall on
/// the other side, and the following minutes differ until the threshold is reached again.
#[test]
fn single_precision_moves_results_by_far_less_than_their_error() {
    let sites = Sites::new();
    let mut worst = [0.0_f64; 6];
    for (name, lines) in DESIGNS {
        let plan = altered(name, "09-25 to 10-24", lines, &sites);
        let (single, double) = (summary(&plan, Isa::detect(), TRIALS), summary(&plan, Isa::DOUBLE, TRIALS));
        let (a, b) = (&single.season, &double.season);
        let in_errors = |a: f64, b: f64, se: Option<f64>| (a - b).abs() / se.unwrap().max(1e-3);
        let light = |s: &Summary| {
            s.sampled.iter().find(|m| m.month == 10).expect("October").sampled_ghi_kwh_m2_day.mean
        };
        let dusk = |s: &Summary| match &s.season.dusk_run_min {
            Some(d) => [(d.mean, d.se), (d.meets_wish, d.meets_wish_se)],
            None => [(0.0, None); 2],
        };
        let [(dusk_a, _), (meets_a, _)] = dusk(&single);
        let [(dusk_b, dusk_se), (meets_b, meets_se)] = dusk(&double);
        let water = |s: &Summary| -> Estimate { s.water.litres_per_week };
        let off = [
            in_errors(a.still_days.mean, b.still_days.mean, b.still_days.se),
            in_errors(a.short_days.mean, b.short_days.mean, b.short_days.se),
            in_errors(dusk_a, dusk_b, dusk_se.or(Some(1.0)))
                + in_errors(meets_a, meets_b, meets_se.or(Some(1.0))),
            (a.jet_min.mean / b.jet_min.mean - 1.0).abs(),
            (light(&single) / light(&double) - 1.0).abs(),
            in_errors(water(&single).mean, water(&double).mean, water(&double).se),
        ];
        println!(
            "{name} {lines:?}: {:.3} still days in single, {:.3} in double; {off:?}",
            a.still_days.mean, b.still_days.mean
        );
        for (w, o) in worst.iter_mut().zip(off) {
            *w = w.max(o);
        }
    }
    let [still, short, dusk, jet, light, water] = worst;
    println!(
        "largest: still days {still:.1e} errors, short days {short:.1e}, dusk run and wish {dusk:.1e}, water {water:.1e}; \
         jet {jet:.1e} of itself, light {light:.1e}"
    );
    assert!(
        still < 0.05 && short < 0.05 && dusk < 0.05 && water < 0.05 && jet < 1e-4 && light < 1e-6,
        "{worst:?}"
    );
}

/// Wanted hours that follow the sun begin and end within a minute. A jet that runs throughout is a sum of shares of minutes,
/// and must still count as all of the wanted time.
#[test]
fn a_jet_that_runs_throughout_is_neither_still_nor_short_nor_below_the_wish() {
    let sites = Sites::new();
    for (hours, minutes) in [("sunset to sunset + 30 min", 30), ("sunset to sunset + 77 min", 77)] {
        let hours = format!("hours = \"{hours}\"\nenough = \"100 %\"");
        let still = format!("still_below = \"{minutes} min\"");
        let run = format!("dusk_run = \"{minutes} min\"");
        let lines = [("hours = ", hours.as_str()), ("still_below = ", &still), ("dusk_run = ", &run)];
        let plan = altered("mill-6-fixed-battery", "05-01 to 08-31", &lines, &sites);
        let season = summary(&plan, Isa::detect(), 16).season;
        let dusk = season.dusk_run_min.expect("there are evenings");
        assert_eq!((season.still_days.mean, season.short_days.mean), (0.0, 0.0), "{hours}");
        assert_eq!(dusk.meets_wish, 1.0, "{hours}: {} min", dusk.mean);
    }
}

/// Builds of all kinds, from a small fraction to a hundred times the size of the test build in volts, amperes and litres.
fn drawn(rng: &mut impl RngExt) -> Design {
    let mut d = with_battery();
    let any = |rng: &mut _, n: u32| RngExt::random_range(rng, 0..n);
    let log = |rng: &mut _, low: f64, high: f64| {
        libm::exp(RngExt::random_range(rng, libm::log(low)..libm::log(high)))
    };
    let in_series = [1, 2, 4, 8, 16][any(rng, 5) as usize];
    let (volts, amps, litres) = (f64::from(in_series) / 2.0, log(rng, 0.01, 100.0), log(rng, 0.01, 100.0));
    let by = |q: &mut Uncertain, factor: f64| *q = Uncertain::exact(q.nominal * factor);
    by(&mut d.panel.rated_power_w, volts * amps);
    by(&mut d.panel.open_circuit_voltage_v, volts);
    by(&mut d.panel.max_power_voltage_v, volts);
    by(&mut d.panel.short_circuit_current_a, amps);
    d.panel.cells = 9 * in_series;
    d.panel.low_light = Uncertain::exact(f64::from(any(rng, 3)) / 2.0);
    d.mount.kind = [MountKind::Fixed, MountKind::SunFollowing, MountKind::LightSeeking][any(rng, 3) as usize];
    d.mount.head = [Head::Walls, Head::Tilted, Head::BackToBack][any(rng, 3) as usize];
    by(&mut d.mount.lowest_voltage_v, volts);
    by(&mut d.mount.motor_current_a, amps);
    by(&mut d.mount.standby_current_a, amps);
    let e = &mut d.electronics;
    e.charging = [Charging::Direct, Charging::Pwm, Charging::Mppt][any(rng, 3) as usize];
    e.fed_first = [FedFirst::Pump, FedFirst::Mount][any(rng, 2) as usize];
    for q in [&mut e.charge_voltage_v, &mut e.cut_off_v, &mut e.reconnect_v] {
        by(q, volts);
    }
    for q in [&mut e.standby_current_a, &mut e.charge_current_max_a] {
        by(q, amps);
    }
    match any(rng, 4) {
        0 => d.battery = None,
        kind => {
            let b = d.battery.as_mut().expect("the test build has one");
            b.cells = in_series;
            by(&mut b.capacity_ah, amps * log(rng, 0.3, 10.0));
            by(&mut b.resistance_ohm, volts / amps);
            if kind == 3 {
                // Two wells; its rest curve is that of three cells for two of lithium iron phosphate, near enough.
                (b.chemistry, b.cells) = (Chemistry::LeadAcid, 3 * in_series / 2);
                (b.kibam_c, b.kibam_k_per_h) = (Uncertain::exact(0.3), Uncertain::exact(0.5));
            }
            if b.cells == 1 {
                b.chemistry = Chemistry::LithiumIronPhosphate;
            }
        }
    }
    let p = &mut d.pump;
    p.kind = [PumpKind::Electronic, PumpKind::Brushed][any(rng, 2) as usize];
    for row in &mut p.bench {
        by(&mut row.voltage_v, volts);
        by(&mut row.current_a, amps);
    }
    for q in [&mut p.highest_voltage_v, &mut p.start_voltage_v, &mut p.stop_voltage_v] {
        by(q, volts);
    }
    by(&mut p.break_away_current_a, amps);
    by(&mut p.winding_ohm, volts / amps);
    by(&mut d.water.area_m2, litres);
    by(&mut d.water.usable_l, litres * log(rng, 0.01, 1.0));
    d.water.top_up = [TopUp::Always, TopUp::Rain, TopUp::Every(2)][any(rng, 3) as usize];
    d
}

/// Days of any build agree to rounding, except one in a hundred: a minute at a threshold may fall on either side.
#[test]
fn days_of_drawn_builds_are_alike_in_both() {
    let mut rng = stream(9, Purpose::Part("precision"), 0, 0);
    let (mut days, mut apart, mut farthest, mut left) = (0, 0, 0.0_f64, 0.0_f64);
    for k in 0..200 {
        let design = drawn(&mut rng);
        let (mut single, mut double) = (Built::new(&design), Built::new(&design));
        for day in [Day::Patchy, Day::Clear, Day::Overcast(0.15), Day::Patchy] {
            let (a, b) = (single.days_on(Isa::PLAIN, 1, day), double.days_on(Isa::DOUBLE, 1, day));
            let panel_wh =
                b.flow_wh[Flow::Panel as usize].0[0].max(1e-3 * design.panel.rated_power_w.nominal);
            for row in [&a.jet_min, &a.dusk_run_min, &a.soc_low, &a.water_l, &a.travel_deg, &a.residual_wh] {
                assert!(row.0[0].is_finite(), "build {k}: {design:#?}");
            }
            // A basin drained within an hour is empty, not a drop short of it.
            let usable_l = design.water.usable_l.nominal;
            assert!(
                a.water_l.0[0] > -1e-6 * usable_l && a.evaporated_l.0[0] >= 0.0,
                "build {k}: {:?}",
                a.water_l
            );
            left = left.max(a.residual_wh.0[0].abs() / panel_wh);
            let minutes = (a.jet_min.0[0] - b.jet_min.0[0]).abs();
            let flows = a.flow_wh.iter().zip(&b.flow_wh).map(|(a, b)| (a.0[0] - b.0[0]).abs() / panel_wh);
            let off = flows.fold(0.0, f64::max);
            days += 1;
            if minutes > 0.01 || off > 1e-4 {
                apart += 1;
                println!("build {k}: {minutes:.3} min of jet, {off:.1e} of the energy apart");
            }
            farthest = farthest.max(minutes);
        }
    }
    println!(
        "{apart} of {days} days apart, at most {farthest:.2} min of jet; accounts leave {left:.1e} of the panel's energy"
    );
    assert!(apart * 100 < days && left < 1e-5, "{apart} of {days}, {left:e}");
}
