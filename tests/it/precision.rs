//! What stepping the minutes in single precision costs: whole runs beside the same runs in double precision.
//!
//! Demo designs (invented) in a month in which some days are still, some of them with other lines, so that all ways of coupling, charging,
//! mounting and filling up are among them.

use crate::common::altered;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;
use stilldays::lanes::Isa;
use stilldays::study::run::{Run, Under, Until, go_on};
use stilldays::study::{Engine, Plan, Sites, answer};
use stilldays::tally::summary::{Estimate, Summary};

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
    let stop = AtomicBool::new(false);
    let pool = Arc::new(rayon::ThreadPoolBuilder::new().num_threads(2).build().unwrap());
    let engine = Engine { seed: 1, isa, pool, progress: &|_| (), stop: &stop };
    let Run { under, .. } =
        go_on(&engine, plan, Until::Trials(trials), Under::start(plan), &mut |_| Ok::<(), ()>(())).unwrap();
    answer::summary(plan, &under.tally, 1, None, "stilldays run".into())
}

/// The weather is the same but for its last digits, so results are paired: what is left is far below the standard error of the
/// shortest run anyone would trust. A minute that stands on an edge (cut-off, start of the pump, dead band of a mount) may fall
/// to the other side, and the minutes after it go another way until the edge is met again.
#[test]
fn single_precision_moves_results_by_far_less_than_their_error() {
    let sites = Sites::new();
    let mut worst = [0.0_f64; 6];
    for (name, lines) in DESIGNS {
        let plan = altered(name, "09-25 to 10-24", lines, &sites);
        let (single, double) = (summary(&plan, Isa::detect(), TRIALS), summary(&plan, Isa::Double, TRIALS));
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

/// Hours hung on the sun begin and end within a minute: a jet that ran throughout is sums of shares of minutes, and must still
/// count as all that was wanted.
#[test]
fn a_jet_that_runs_throughout_is_neither_still_nor_short_nor_below_the_wish() {
    let sites = Sites::new();
    for (hours, minutes) in [("sunset to sunset + 30 min", 30), ("sunset to sunset + 77 min", 77)] {
        let (hours, still) =
            (format!("hours = \"{hours}\"\nenough = \"100 %\""), format!("still_below = \"{minutes} min\""));
        let lines = [("hours = ", hours.as_str()), ("still_below = ", still.as_str())];
        let plan = altered("mill-6-fixed-battery", "05-01 to 08-31", &lines, &sites);
        let season = summary(&plan, Isa::detect(), 16).season;
        let dusk = season.dusk_run_min.expect("there are evenings");
        assert_eq!((season.still_days.mean, season.short_days.mean), (0.0, 0.0), "{hours}");
        assert_eq!(dusk.meets_wish, 1.0, "{hours}: {} min", dusk.mean);
    }
}
