//! A sampled year: the chain of donors, the minutes of a day, and building the sampler.
//!
//! `cargo bench --bench sampled_year`; items are days of one trial (a block has sixteen).

#[path = "shared/site.rs"]
mod site;

use divan::counter::ItemsCount;
use site::{Site, donors};
use std::hint::black_box;
use std::sync::Arc;
use stilldays::design::YearSpread;
use stilldays::lanes::{BLOCK, Isa};
use stilldays::weather::{BlockDay, BlockKey, Sampler};

fn main() {
    divan::main();
}

#[divan::bench]
fn chain_of_a_year(bencher: divan::Bencher<'_, '_>) {
    let sampler = Site::load().sampler;
    let mut trial = 0;
    bencher.counter(ItemsCount::new(365_usize)).bench_local(|| {
        trial += 1;
        sampler.chain(1, trial, 0, 365)
    });
}

#[divan::bench(args = Isa::available())]
fn minutes_of_a_year(bencher: divan::Bencher<'_, '_>, isa: Isa) {
    let site = Site::load();
    let chains = site.chains();
    let mut day = BlockDay::default();
    bencher.counter(ItemsCount::new(365 * BLOCK)).bench_local(|| {
        for t in 0..365_usize {
            let key = BlockKey { seed: 1, first_trial: 0, day_index: t };
            site.sampler.fill(isa, key, t as u16, donors(&chains, t), &mut day);
            black_box(&day);
        }
    });
}

#[divan::bench(sample_count = 10)]
fn build(bencher: divan::Bencher<'_, '_>) {
    let Site { year, calendar, .. } = Site::load();
    bencher.bench_local(|| {
        Sampler::new(std::slice::from_ref(&year), Arc::clone(&calendar), YearSpread::ByClimate)
    });
}
