//! Sampled years against the six typical years they are drawn from (TMY3 User's Manual, NREL 2008; `tests/data/`).

use std::path::Path;
use std::sync::Arc;
use stilldays::design::YearSpread;
use stilldays::lanes::{BLOCK, Isa};
use stilldays::sky::Calendar;
use stilldays::study::sampled_years::{MonthVsFile, SampledVsFile, compare};
use stilldays::weather::{self, BlockDay, BlockKey, SampledDay, Sampler, TypicalYear};

const FILES: [&str; 6] = [
    "chicago-il.epw.gz",
    "greensboro-nc.tmy3.csv.gz",
    "port-angeles-wa.epw.gz",
    "sand-point-ak.tmy3.csv.gz",
    "tampa-fl.epw.gz",
    "tucson-az.epw.gz",
];

fn year(file: &str) -> TypicalYear {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data").join(file);
    weather::load(&path).expect("a file of the tests")
}

fn sampler(file: &str, spread: YearSpread) -> (Arc<Calendar>, Sampler) {
    let year = year(file);
    let calendar = Arc::new(Calendar::new(year.place, year.turbidity));
    let sampler = Sampler::new(std::slice::from_ref(&year), calendar.clone(), spread);
    (calendar, sampler)
}

fn compared(file: &str, blocks: u64) -> SampledVsFile {
    let (_, sampler) = sampler(file, YearSpread::ByClimate);
    compare(&sampler, &[year(file)], Isa::detect(), 1, blocks)
}

/// 128 years each. They give the mean of a month to its spread over √128, so a month may be off by four times that (for the
/// 72 months, 1 of 200 seeds is off by more) plus the 0.7 % of the long run, and the year by 1 %. The long run is tested
/// below.
#[test]
fn six_typical_years() {
    for file in FILES {
        let c = compared(file, 8);
        let off = |m: &MonthVsFile| m.sampled_ghi_kwh_m2_d / m.file_ghi_kwh_m2_d.expect("a whole file") - 1.0;
        let worst = c.months.iter().map(off).fold(0.0, |w: f64, e| if e.abs() > w.abs() { e } else { w });
        for m in &c.months {
            let limit = 4.0 * m.variation / (c.minute_years as f64).sqrt() + 0.007;
            assert!(off(m).abs() < limit, "{file}, month {}: off by {}", m.month, off(m));
        }
        let annual = c.sampled_ghi_kwh_m2 / c.file_ghi_kwh_m2 - 1.0;
        println!(
            "{file}: worst month {:+.2} %, year {:+.2} %, KS {:.3}, lag 1 {:.3} of {:.3}, annual variation {:.4} of {:.4}, bright {:.3} (hours {:.3}), {:?}, {:?}",
            100.0 * worst,
            100.0 * annual,
            c.daily_index_ks,
            c.sampled_lag_1,
            c.file_lag_1,
            c.annual_variation,
            c.wanted_annual_variation.unwrap_or(f64::NAN),
            c.bright_minutes,
            c.file_bright_hours,
            c.ramps,
            c.spells
        );
        assert!(annual.abs() < 0.01, "{file}: the year off by {annual}");
        assert!(c.daily_index_ks < 0.06, "{file}: KS {}", c.daily_index_ks);
    }
}

/// Each day drawn on its own date: the effect of carrying indices, and of the hours at the ends of the day, on the months,
/// without chance. The remaining difference, 1.5 % in December of Port Angeles and 0.8 % elsewhere, compensates what days
/// lose on neighbouring dates, when the sun is low in other hours.
#[test]
fn months_survive_the_carrying_of_indices() {
    for file in FILES {
        let year = year(file);
        let calendar = Arc::new(Calendar::new(year.place, year.turbidity));
        let sampler = Sampler::new(std::slice::from_ref(&year), calendar.clone(), YearSpread::None);
        let mut day = BlockDay::default();
        let (mut sampled, mut wanted) = ([0.0; 12], [0.0; 12]);
        for (i, donor) in sampler.pool().donors().iter().enumerate() {
            let date = usize::from(donor.day_of_year);
            let sun = &calendar.days[date];
            let month = usize::from(sun.month);
            let key = BlockKey { seed: 1, first_trial: 0, day_index: date };
            sampler.fill(
                Isa::detect(),
                key,
                donor.day_of_year,
                [SampledDay::of_donor(sampler.pool(), i as u32); BLOCK],
                &mut day,
            );
            for (k, m) in sun.minutes.iter().enumerate() {
                let (dni, dhi) = day.light(k, 0);
                sampled[month] += (dni * m.up + dhi) / 60.0;
            }
            let hours = (0..24).filter_map(|h| year.hours[calendar.hour_index(date, h)]);
            wanted[month] += hours.map(|h| h.ghi_w_m2).sum::<f64>();
        }
        let off: Vec<f64> = (0..12).map(|m| 100.0 * (sampled[m] / wanted[m] - 1.0)).collect();
        println!("{file}: {off:.2?} %");
        assert!(off.iter().all(|o| o.abs() < 1.6), "{file}: {off:.2?} %");
    }
}

/// Minutes have the energy that the daily index of their donor implies for the date on which it is drawn: 32 years with the
/// same donors in both, so chance is small. (Carrying diffuse indices unchanged once made March of Port Angeles 4.8 % too
/// bright.)
#[test]
fn minutes_hold_the_energy_of_their_days() {
    const BLOCKS: u64 = 2;
    for file in FILES {
        let (calendar, sampler) = sampler(file, YearSpread::ByClimate);
        let mut day = BlockDay::default();
        let (mut minutes, mut days) = ([0.0; 12], [0.0; 12]);
        for first in (0..BLOCKS).map(|b| b * BLOCK as u64) {
            let chains: Vec<Vec<SampledDay>> =
                (0..BLOCK as u64).map(|lane| sampler.chain(1, first + lane, 0, 365)).collect();
            for (date, sun) in calendar.days.iter().enumerate() {
                let drawn: [SampledDay; BLOCK] = std::array::from_fn(|lane| chains[lane][date]);
                let key = BlockKey { seed: 1, first_trial: first, day_index: date };
                sampler.fill(Isa::detect(), key, date as u16, drawn, &mut day);
                let month = usize::from(sun.month);
                for (lane, of_day) in drawn.iter().enumerate() {
                    days[month] += f64::from(of_day.index) * sampler.pool().potential_wh_m2()[date];
                    for (k, m) in sun.minutes.iter().enumerate() {
                        let (dni, dhi) = day.light(k, lane);
                        minutes[month] += (dni * m.up + dhi) / 60.0;
                    }
                }
            }
        }
        let off: Vec<f64> = (0..12).map(|m| 100.0 * (minutes[m] / days[m] - 1.0)).collect();
        println!("{file}: {off:.2?} %");
        assert!(off.iter().all(|o| o.abs() < 0.8), "{file}: {off:.2?} %");
    }
}

/// Long-run monthly means of the daily part, 6,000 years: every month within 1 % of the file's and every year within 0.3 %.
/// Chance is 0.1 to 0.2 % of a month (one sigma); the rest is the calibration's own error.
#[test]
fn long_run_means_are_the_files() {
    const TRIALS: u64 = 6000;
    let (mut months, mut years) = (0.0_f64, 0.0_f64);
    for file in FILES {
        let (calendar, sampler) = sampler(file, YearSpread::ByClimate);
        let pool = sampler.pool();
        let month = |day: usize| usize::from(calendar.days[day].month);
        let energy = |index: f64, day: usize| index * pool.potential_wh_m2()[day];
        let (mut got, mut wanted) = ([0.0; 12], [0.0; 12]);
        for d in pool.donors() {
            let day = usize::from(d.day_of_year);
            wanted[month(day)] += energy(d.index, day);
        }
        for trial in 0..TRIALS {
            for (day, drawn) in sampler.chain(1, trial, 345, 385)[20..].iter().enumerate() {
                got[month(day)] += energy(f64::from(drawn.index), day) / TRIALS as f64;
            }
        }
        let off: Vec<f64> = (0..12).map(|m| got[m] / wanted[m] - 1.0).collect();
        let annual = got.iter().sum::<f64>() / wanted.iter().sum::<f64>() - 1.0;
        println!(
            "{file}: months {:.2?} %, year {:.2} %",
            off.iter().map(|o| 100.0 * o).collect::<Vec<_>>(),
            100.0 * annual
        );
        months = off.iter().fold(months, |w, o| w.max(o.abs()));
        years = years.max(annual.abs());
    }
    println!("largest: month {:.2} %, year {:.2} %", 100.0 * months, 100.0 * years);
    assert!(months < 0.01 && years < 0.003);
}
