//! The same seed gives the same bytes on any number of threads and any vector width.
//!
//! Demo designs (invented), with short seasons to keep the test quick. Tallies and summaries are compared byte by byte.

use crate::common::{short_season, summed_up};
use std::sync::Arc;
use std::sync::atomic::AtomicBool;
use stilldays::lanes::{BLOCK, Isa};
use stilldays::report;
use stilldays::study::engine::WAVE_BLOCKS;
use stilldays::study::run::{FinishedRun, RunState, Until, resume};
use stilldays::study::traces::three_days;
use stilldays::study::{Engine, Plan, Sites};

/// A light-seeking mount with a lithium battery, one without a battery, and a build with a lead-acid battery.
const DESIGNS: [&str; 3] = ["mill-3-seeking-small-battery", "mill-2-seeking-direct", "meadow-pond"];

/// The instruction sets to be compared; prints them. `STILLDAYS_REQUIRE_TIERS` names those (with commas between) without which the
/// test fails.
fn tiers() -> Vec<Isa> {
    let tiers: Vec<Isa> = Isa::available().collect();
    let names: Vec<_> = tiers.iter().map(|isa| isa.name()).collect();
    println!("instruction sets compared: {}", names.join(", "));
    let required = std::env::var("STILLDAYS_REQUIRE_TIERS").unwrap_or_default();
    for name in required.split(',').map(str::trim).filter(|name| !name.is_empty()) {
        assert!(names.contains(&name), "{name} is required, and this processor has only {names:?}");
    }
    tiers
}

/// Bytes of the tally and of the summary.
fn bytes(plan: &Plan, trials: u64, seed: u64, threads: usize, isa: Isa) -> (Vec<u8>, Vec<u8>) {
    let (tally, summary) = summed_up(plan, trials, seed, threads, isa);
    (tally.to_bytes(), report::json::bytes(&summary))
}

#[test]
fn every_thread_count_and_every_width_gives_the_same_bytes() {
    let sites = Sites::new();
    let widest = Isa::detect();
    for name in DESIGNS {
        let plan = short_season(name, "09-25 to 10-04", &sites);
        let first = bytes(&plan, 48, 1, 1, widest);
        for threads in [2, 8] {
            assert!(bytes(&plan, 48, 1, threads, widest) == first, "{name}: {threads} threads differ from 1");
        }
        for isa in tiers().into_iter().filter(|i| *i != widest) {
            assert!(bytes(&plan, 48, 1, 2, isa) == first, "{name}: {isa:?} differs from {widest:?}");
        }
        let other = bytes(&plan, 48, 2, 2, widest);
        assert!(other.0 != first.0 && other.1 != first.1, "{name}: the seed changes nothing");
    }
}

/// More blocks than one wave, the last of them incomplete: the length of a wave depends on the number of threads.
#[test]
fn the_cut_into_waves_changes_nothing() {
    let plan = short_season(DESIGNS[0], "10-29 to 10-31", &Sites::new());
    let trials = (WAVE_BLOCKS + 1) * BLOCK as u64 + 3;
    let first = bytes(&plan, trials, 1, 1, Isa::detect());
    for threads in [2, 8] {
        assert!(bytes(&plan, trials, 1, threads, Isa::detect()) == first, "{threads} threads");
    }
}

/// Builds with the same mount at the same place share the light of a day. Simulated together, each gives the same result as
/// alone.
#[test]
fn builds_side_by_side_do_not_feel_one_another() {
    let sites = Sites::new();
    let names =
        ["mill-3-seeking-small-battery", "mill-4-seeking-bigger-battery", "mill-6-fixed-battery", DESIGNS[1]];
    let plans: Vec<Plan> = names.iter().map(|name| short_season(name, "09-25 to 10-04", &sites)).collect();
    let stop = AtomicBool::new(false);
    let pool = Arc::new(rayon::ThreadPoolBuilder::new().num_threads(1).build().unwrap());
    let engine = Engine { seed: 1, isa: Isa::detect(), pool, progress: &|_| (), journal: None, stop: &stop };
    let all: Vec<&Plan> = plans.iter().chain([&plans[0]]).collect();
    let together = engine.blocks(&all, &[0, 1], 2 * BLOCK as u64);
    for (k, plan) in all.iter().enumerate() {
        let alone = engine.blocks(&[plan], &[0, 1], 2 * BLOCK as u64);
        for (block, (with, without)) in together.iter().zip(&alone).enumerate() {
            let same = with[k].tally.to_bytes() == without[0].tally.to_bytes();
            assert!(same, "{} differs in block {block} when others stand beside it", plan.file.design.title);
        }
    }
}

/// The days that a page shows are the same whether the run kept them or they are simulated again, also for a run that ends
/// within its first block.
#[test]
fn days_kept_by_a_run_are_those_simulated_again() {
    let sites = Sites::new();
    let plan = short_season("mill-3-seeking-small-battery", "09-25 to 10-04", &sites);
    let stop = AtomicBool::new(false);
    let pool = Arc::new(rayon::ThreadPoolBuilder::new().num_threads(2).build().unwrap());
    let engine = Engine { seed: 1, isa: Isa::detect(), pool, progress: &|_| (), journal: None, stop: &stop };
    for trials in [5, 40] {
        let FinishedRun { history, .. } =
            resume(&engine, &plan, Until::Trials(trials), RunState::start(&plan), &mut |_| Ok::<(), ()>(()))
                .unwrap();
        assert!(history.is_some());
        let (kept, again) = (three_days(&engine, &plan, history), three_days(&engine, &plan, None));
        assert_eq!(kept.len(), 3);
        assert_eq!(format!("{kept:?}"), format!("{again:?}"), "{trials} trials");
    }
}
