//! Weather files made from a record, each as a place.

use super::super::climates::record::{DAYS, Record, months, typical};
use rand::{RngExt, rngs::ChaCha8Rng};
use std::sync::Arc;
use stilldays::design::YearSpread;
use stilldays::seed::{Purpose, stream};
use stilldays::sky::Calendar;
use stilldays::study::SiteModel;
use stilldays::weather::invent::daily::{DailyValues, year_of_days};
use stilldays::weather::invent::{self, Climate, Setting};
use stilldays::weather::{Sampler, TypicalYear, YearKind};

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    Typical,
    Real,
    Invented,
}

/// Files made of a record, as a place.
pub struct Site {
    pub kind: Kind,
    /// Years of the record that they know; of an invented year its seed.
    pub years: Vec<usize>,
    pub site: SiteModel,
}

/// A year whose months come from these years of the record.
fn year(record: &Record, from: &[usize; 12], kind: YearKind) -> TypicalYear {
    let month = months();
    let days: [DailyValues; DAYS] = std::array::from_fn(|d| {
        let y = from[usize::from(month[d])];
        let air_c = record.air_c[y][d];
        DailyValues {
            ghi_wh_m2: record.index[y][d] * record.clear_wh_m2[d],
            air_c: if air_c.is_finite() { air_c } else { 10.0 },
            wind_m_s: 2.0,
            rain_mm: 0.0,
        }
    });
    year_of_days(record.place, &days, kind, record.turbidity)
}

/// An invented year; its days only, so that their hours run as those of the record do.
fn invented(record: &Record, seed: u64) -> TypicalYear {
    let hours = invent::year(&climate(record), seed).hours;
    let days: [DailyValues; DAYS] = std::array::from_fn(|d| {
        let day = || hours[24 * d..24 * (d + 1)].iter().flatten();
        DailyValues {
            ghi_wh_m2: day().map(|h| h.ghi_w_m2).sum(),
            air_c: day().map(|h| h.air_c).sum::<f64>() / 24.0,
            wind_m_s: 2.0,
            rain_mm: 0.0,
        }
    });
    TypicalYear { invented: true, ..year_of_days(record.place, &days, YearKind::Typical, record.turbidity) }
}

fn site(record: &Record, years: Vec<TypicalYear>) -> SiteModel {
    let calendar = Arc::new(Calendar::new(record.place, record.turbidity));
    let sampler = Sampler::new(&years, Arc::clone(&calendar), YearSpread::ByClimate);
    SiteModel { years, calendar, sampler, sha256: String::new() }
}

fn real(record: &Record, years: &[usize]) -> SiteModel {
    site(record, years.iter().map(|&y| year(record, &[y; 12], YearKind::Real)).collect())
}

/// The record's years in their order.
pub fn replayed(record: &Record) -> Arc<SiteModel> {
    let all: Vec<usize> = (0..record.index.len()).collect();
    let mut site = real(record, &all);
    site.sampler = site.sampler.replaying();
    Arc::new(site)
}

fn some_of(n: usize, k: usize, rng: &mut ChaCha8Rng) -> Vec<usize> {
    let mut left: Vec<usize> = (0..n).collect();
    while left.len() > k {
        let i = (rng.random::<u32>() as usize) % left.len();
        left.remove(i);
    }
    left
}

fn climate(record: &Record) -> Climate {
    let month = months();
    let mean = |of: &dyn Fn(usize, usize) -> f64, m: usize| {
        let days = || (0..DAYS).filter(|&d| usize::from(month[d]) == m);
        let all: Vec<f64> = (0..record.index.len())
            .flat_map(|y| days().map(move |d| (y, d)))
            .map(|(y, d)| of(y, d))
            .filter(|v| v.is_finite())
            .collect();
        if all.is_empty() { 10.0 } else { all.iter().sum::<f64>() / all.len() as f64 }
    };
    Climate {
        title: record.name.clone(),
        origin: "a record".into(),
        place: record.place,
        setting: Setting::Inland,
        insolation_kwh_m2: std::array::from_fn(|m| {
            mean(&|y, d| record.index[y][d] * record.clear_wh_m2[d], m) / 1000.0
        }),
        air_c: std::array::from_fn(|m| mean(&|y, d| record.air_c[y][d], m)),
        wind_m_s: [2.0; 12],
        rain_mm: None,
    }
}

/// Six typical years, pools of 1 to 10 real years where two more are left to hold them against, two invented years; a third
/// of that if `few`.
pub fn sites(record: &Record, few: bool) -> impl Iterator<Item = Site> + '_ {
    let n = record.index.len();
    let mut rng = stream(12, Purpose::Resample, n as u64, 0);
    let times = |k: usize| if few { k.div_ceil(3) } else { k };
    let mut wanted: Vec<(Kind, Vec<usize>)> = Vec::new();
    if !few {
        wanted.push((Kind::Typical, (0..n).collect()));
    }
    for _ in 0..times(5) {
        wanted.push((Kind::Typical, some_of(n, (n * 6).div_ceil(10), &mut rng)));
    }
    for (files, count) in [(1, 8), (2, 5), (3, 6), (5, 4), (10, 4)] {
        for _ in 0..times(count) {
            if files + 2 <= n {
                wanted.push((Kind::Real, some_of(n, files, &mut rng)));
            }
        }
    }
    wanted.extend((1..=times(2)).map(|seed| (Kind::Invented, vec![seed])));
    wanted.into_iter().map(move |(kind, years)| {
        let site = match kind {
            Kind::Typical => site(record, vec![year(record, &typical(record, &years), YearKind::Typical)]),
            Kind::Real => real(record, &years),
            Kind::Invented => site(record, vec![invented(record, years[0] as u64)]),
        };
        Site { kind, years, site }
    })
}
