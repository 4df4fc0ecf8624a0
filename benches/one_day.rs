//! One day of sixteen units on one core, by build and by width of the vectors: the longest day of the year, and the mean of its months.
//!
//! `cargo bench --bench one_day`; items are simulated days (sixteen a step).

#[expect(dead_code, reason = "shared with the tests, of which a bench needs a part")]
#[path = "../tests/it/common.rs"]
mod common;

use common::{Day, Run, direct, weather, with_battery};
use divan::counter::ItemsCount;
use stilldays::design::{Charging, Design, MountKind};
use stilldays::lanes::{BLOCK, Isa};

fn main() {
    divan::main();
}

fn bench(bencher: divan::Bencher<'_, '_>, isa: Isa, design: &Design) {
    let mut run = Run::new(design);
    let w = weather(&run.scene.calendar, usize::from(run.scene.days[0].day_of_year), Day::Patchy);
    bencher.counter(ItemsCount::new(BLOCK)).bench_local(|| {
        run.step(isa, 0, &w);
    });
}

/// A day of each month, patchy: a year's mean.
#[divan::bench(args = Isa::available())]
fn seeking_battery_through_the_year(bencher: divan::Bencher<'_, '_>, isa: Isa) {
    let mut design = with_battery();
    design.wish.season = (0, 364);
    let mut run = Run::new(&design);
    let days: Vec<usize> = (0..12).map(|month| 15 + 30 * month).collect();
    let weather: Vec<_> = days
        .iter()
        .map(|&d| weather(&run.scene.calendar, usize::from(run.scene.days[d].day_of_year), Day::Patchy))
        .collect();
    bencher.counter(ItemsCount::new(days.len() * BLOCK)).bench_local(|| {
        for (&day, w) in days.iter().zip(&weather) {
            run.step(isa, day, w);
        }
    });
}

#[divan::bench(args = Isa::available())]
fn seeking_battery(bencher: divan::Bencher<'_, '_>, isa: Isa) {
    bench(bencher, isa, &with_battery());
}

#[divan::bench(args = Isa::available())]
fn seeking_battery_mppt(bencher: divan::Bencher<'_, '_>, isa: Isa) {
    let mut d = with_battery();
    d.electronics.charging = Charging::Mppt;
    bench(bencher, isa, &d);
}

#[divan::bench(args = Isa::available())]
fn fixed_battery(bencher: divan::Bencher<'_, '_>, isa: Isa) {
    let mut d = with_battery();
    d.mount.kind = MountKind::Fixed;
    bench(bencher, isa, &d);
}

#[divan::bench(args = Isa::available())]
fn seeking_direct(bencher: divan::Bencher<'_, '_>, isa: Isa) {
    bench(bencher, isa, &direct());
}
