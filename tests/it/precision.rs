//! What stepping the minutes in single precision costs: whole runs beside the same runs in double precision.
//!
//! Demo designs (invented), all the ways of coupling, charging and mounting among them, in a month in which some days are still.

use crate::common::short_season;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;
use stilldays::lanes::Isa;
use stilldays::study::run::{Run, Under, Until, go_on};
use stilldays::study::{Engine, Sites, answer};
use stilldays::tally::summary::Summary;

const DESIGNS: [&str; 5] = [
    "mill-1-fixed-direct",
    "mill-2-seeking-direct",
    "mill-3-seeking-small-battery",
    "mill-6-fixed-battery",
    "meadow-pond",
];
const TRIALS: u64 = 96;

fn summary(name: &str, isa: Isa, sites: &Sites) -> Summary {
    let plan = short_season(name, "09-25 to 10-24", sites);
    let stop = AtomicBool::new(false);
    let pool = Arc::new(rayon::ThreadPoolBuilder::new().num_threads(2).build().unwrap());
    let engine = Engine { seed: 1, isa, pool, progress: &|_| (), stop: &stop };
    let Run { under, .. } =
        go_on(&engine, &plan, Until::Trials(TRIALS), Under::start(&plan), &mut |_| Ok::<(), ()>(())).unwrap();
    answer::summary(&plan, &under.tally, 1, None, "stilldays run".into())
}

/// The weather is the same but for its last digits, so results are paired: what is left is far below the standard error of the
/// shortest run anyone would trust. A minute that stands on an edge (cut-off, start of the pump, dead band of a mount) may fall
/// to the other side, and the minutes after it go another way until the edge is met again.
#[test]
fn single_precision_moves_results_by_far_less_than_their_error() {
    let sites = Sites::new();
    let mut worst = [0.0_f64; 4];
    for name in DESIGNS {
        let (single, double) = (summary(name, Isa::detect(), &sites), summary(name, Isa::Double, &sites));
        let (a, b) = (&single.season, &double.season);
        let light = |s: &Summary| {
            s.sampled.iter().find(|m| m.month == 10).expect("October").sampled_ghi_kwh_m2_day.mean
        };
        let relative = |a: f64, b: f64| (a - b).abs() / b.abs().max(1e-9);
        let in_errors = |a: f64, b: f64, se: Option<f64>| (a - b).abs() / se.unwrap().max(1e-3);
        let off = [
            in_errors(a.still_days.mean, b.still_days.mean, b.still_days.se),
            relative(a.jet_min.mean, b.jet_min.mean),
            light(&single) / light(&double) - 1.0,
            match (&a.dusk_run_min, &b.dusk_run_min) {
                (Some(a), Some(b)) => in_errors(a.mean, b.mean, b.se),
                _ => 0.0,
            },
        ];
        println!(
            "{name}: {:.3} still days in single, {:.3} in double; {off:?}",
            a.still_days.mean, b.still_days.mean
        );
        for (w, o) in worst.iter_mut().zip(off) {
            *w = w.max(o.abs());
        }
    }
    let [still, jet, light, dusk] = worst;
    println!(
        "largest: still days {still:.1e} errors, jet {jet:.1e}, light {light:.1e}, dusk run {dusk:.1e} errors"
    );
    assert!(still < 0.05 && jet < 1e-4 && light < 1e-6 && dusk < 0.05, "{worst:?}");
}
