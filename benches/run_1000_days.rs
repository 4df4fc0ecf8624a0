//! A whole run: a demo design, weather drawn, plant stepped, days tallied; about a thousand days and more
//! (one block of sixteen trials), on one thread.

use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;
use stilldays::design;
use stilldays::lanes::Isa;
use stilldays::study::{Engine, Plan, Sites};

fn main() {
    divan::main();
}

fn plan(name: &str) -> Plan {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios").join(name);
    let file = design::read(&path).expect("a demo design");
    Plan::new(file, &Sites::new()).expect("its weather")
}

#[divan::bench(args = ["mill-3-seeking-small-battery.toml", "mill-6-fixed-battery.toml", "mill-2-seeking-direct.toml"])]
fn one_block(bencher: divan::Bencher<'_, '_>, name: &str) {
    let plan = plan(name);
    let stop = AtomicBool::new(false);
    let pool = Arc::new(rayon::ThreadPoolBuilder::new().num_threads(1).build().expect("a thread"));
    let engine = Engine { seed: 1, isa: Isa::detect(), pool, progress: &|_| (), journal: None, stop: &stop };
    bencher
        .counter(divan::counter::ItemsCount::new(16 * plan.scene.days.len()))
        .bench_local(|| engine.blocks(&[&plan], &[0], 16));
}
