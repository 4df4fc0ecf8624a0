//! The sampler keeps its promises: hourly means, bounds, one answer on every processor and at every
//! place in a block.

use super::minutes::largest_index;
use super::{BlockDay, Sampler, testing};
use crate::design::YearSpread;
use crate::lanes::{BLOCK, Isa};

fn sampler() -> Sampler {
    let calendar = testing::calendar();
    let year = testing::year(&calendar, 3);
    Sampler::new(&[year], calendar, YearSpread::None)
}

fn block(sampler: &Sampler, isa: Isa, first_trial: u64, days: usize) -> Vec<BlockDay> {
    let chains: Vec<Vec<u32>> =
        (0..BLOCK as u64).map(|l| sampler.chain(7, first_trial + l, 0, days)).collect();
    (0..days)
        .map(|t| {
            let mut day = BlockDay::default();
            let donors = std::array::from_fn(|l| chains[l][t]);
            sampler.fill(isa, 7, first_trial, t, (t % 365) as u16, donors, &mut day);
            day
        })
        .collect()
}

#[test]
fn minutes_keep_the_means_of_their_hours_and_stay_in_bounds() {
    let sampler = sampler();
    let calendar = sampler.calendar().clone();
    let (mut worst, mut hours, mut cloudy) = (0.0_f64, 0, 0);
    for (t, day) in block(&sampler, Isa::detect(), 0, 365).iter().enumerate() {
        let sun = &calendar.days[t];
        let own = super::clear_hours::ClearDay::new(sun);
        for h in 0..24 {
            let clear = calendar.clear_hour(t, h);
            let place = |m: usize| m.saturating_sub(sun.first).min(sun.minutes.len());
            let range = place(60 * h)..place(60 * h + 60);
            for lane in 0..BLOCK {
                let donor = &sampler.pool().hours()[day.donor[lane] as usize];
                let low = sampler.pool().low_sun()[usize::from(sun.month)];
                let [lb, ld] = if own.high[h] { [1.0; 2] } else { low };
                let sum = |rows: &[crate::lanes::Row]| {
                    rows[range.clone()].iter().map(|r| r.0[lane]).sum::<f64>() / 60.0
                };
                for (got, want) in [
                    (sum(&day.dni_w_m2), donor.beam[h] * lb * clear.dni_mean_w_m2),
                    (sum(&day.dhi_w_m2), donor.diffuse[h] * ld * clear.dhi_mean_w_m2),
                ] {
                    worst = worst.max((got - want).abs() / want.max(1.0));
                }
                hours += usize::from(!range.is_empty());
                cloudy += usize::from(day.patchy[h].0[lane] > 0.0);
                let (b, d) = (own.beam_horizontal_w_m2[h], own.dhi_w_m2[h]);
                let index = (donor.beam[h] * lb * b + donor.diffuse[h] * ld * d) / (b + d).max(1e-12);
                for k in range.clone() {
                    let (dni, dhi, m) = (day.dni_w_m2[k].0[lane], day.dhi_w_m2[k].0[lane], &sun.minutes[k]);
                    assert!(dni >= 0.0 && dhi >= 0.0, "day {t}, minute {k}: {dni} {dhi}");
                    let ghi = dni * m.up + dhi;
                    let clear = m.dni_clear_w_m2 * m.up + m.dhi_clear_w_m2;
                    let bound = largest_index(m.up).max(1.3 * index);
                    assert!(
                        ghi <= bound * clear * (1.0 + 1e-9) + 1e-9,
                        "day {t}, minute {k}: index {} above {bound}",
                        ghi / clear
                    );
                }
            }
        }
    }
    println!("largest relative error of an hour's mean {worst:e} in {hours} hours, {cloudy} with clouds");
    assert!(hours > 50_000 && cloudy > 10_000);
    assert!(worst < 1e-9, "{worst:e}");
}

#[test]
fn every_processor_gives_the_same_bytes() {
    let sampler = sampler();
    let plain = block(&sampler, Isa::Plain, 16, 40);
    for isa in Isa::ALL.into_iter().filter(|isa| isa.available()) {
        for (t, (a, b)) in block(&sampler, isa, 16, 40).iter().zip(&plain).enumerate() {
            assert!(a.dni_w_m2 == b.dni_w_m2 && a.dhi_w_m2 == b.dhi_w_m2, "{isa:?}, day {t}");
            assert!(a.pull == b.pull && a.patchy == b.patchy, "{isa:?}, day {t}");
        }
    }
}
