//! A sampled year: the chain of donors, the minutes of a day, and building the sampler.
//!
//! `cargo bench --bench sampled_year`; items are days of one trial (a block has sixteen).

use divan::counter::ItemsCount;
use std::hint::black_box;
use std::path::Path;
use std::sync::Arc;
use stilldays::design::YearSpread;
use stilldays::lanes::{BLOCK, Isa};
use stilldays::sky::Calendar;
use stilldays::weather::{self, BlockDay, Sampler, TypicalYear};

fn main() {
    divan::main();
}

fn year() -> TypicalYear {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/chicago-il.epw.gz");
    weather::load(&path).expect("a file of the tests")
}

fn sampler() -> Sampler {
    let year = year();
    let calendar = Arc::new(Calendar::new(year.place, year.turbidity));
    Sampler::new(&[year], calendar, YearSpread::Default)
}

#[divan::bench]
fn chain_of_a_year(bencher: divan::Bencher<'_, '_>) {
    let sampler = sampler();
    let mut trial = 0;
    bencher.counter(ItemsCount::new(365_usize)).bench_local(|| {
        trial += 1;
        sampler.chain(1, trial, 0, 365)
    });
}

#[divan::bench(args = Isa::ALL)]
#[expect(clippy::needless_range_loop, reason = "a day is a place in each of sixteen chains")]
fn minutes_of_a_year(bencher: divan::Bencher<'_, '_>, isa: Isa) {
    if !isa.available() {
        return;
    }
    let sampler = sampler();
    let chains: Vec<Vec<u32>> = (0..BLOCK as u64).map(|t| sampler.chain(1, t, 0, 365)).collect();
    let mut day = BlockDay::default();
    bencher.counter(ItemsCount::new(365 * BLOCK)).bench_local(|| {
        for t in 0..365_usize {
            let donors = std::array::from_fn(|lane| chains[lane][t]);
            sampler.fill(isa, 1, 0, t, t as u16, donors, &mut day);
            black_box(&day);
        }
    });
}

#[divan::bench(sample_count = 10)]
fn build(bencher: divan::Bencher<'_, '_>) {
    let year = year();
    let calendar = Arc::new(Calendar::new(year.place, year.turbidity));
    bencher.bench_local(|| {
        Sampler::new(std::slice::from_ref(&year), Arc::clone(&calendar), YearSpread::Default)
    });
}
