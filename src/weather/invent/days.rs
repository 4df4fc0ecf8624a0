//! From twelve monthly means to the days of some years: irradiation and mean temperature.
//!
//! The days of a month follow [`MonthLaw`]; how they follow one another, and how much months and years differ, is drawn as it is from
//! the days of a weather file ([`Series`]), with the aims of a file that shows the same climate. Over all years each month
//! has its target mean.

use super::climate::Climate;
use super::day_air::{between_months, day_sd_c, share_of_light};
use super::draws::Draws;
use super::hours::{HourSun, normal, scale_between};
use super::month_law::{Moments, MonthLaw};
use crate::design::YearSpread;
use crate::seed::{Purpose, stream};
use crate::sky::calendar::DAYS;
use crate::units::dates::{MONTH_STARTS, month_of};
use crate::units::normal_quantile;
use crate::weather::days::pool::{Donor, DonorPool};
use crate::weather::days::series::Series;
use crate::weather::file::year::YearKind;
use rand::rngs::ChaCha8Rng;

/// Largest mean of a month over that of a month of clear days.
const BRIGHTEST_SHARE: f64 = 0.97;
/// Smallest mean of a month over the extraterrestrial (own choice).
const DARKEST_SHARE: f64 = 0.015;
/// Sets of days that show the climate to the series.
const LAYERS: u64 = 4;
/// Correlation of the normal numbers of neighbouring days in them: what comes out of a typical year of a place whose days are correlated
/// by 0.31, the mean of 22 records.
const DONOR_LAG_1: f64 = 0.26;
/// First trial of the series: far beyond those of any run, so that no run meets the luck of the file it is given.
const FIRST_TRIAL: u64 = 1 << 40;
/// Days drawn before 1 January.
const LEAD_DAYS: usize = 20;

/// Limits that the sun sets for one day.
#[derive(Clone, Copy, Debug)]
pub(crate) struct DaySun {
    /// Extraterrestrial irradiation on the horizontal, Wh/m².
    pub extraterrestrial_wh_m2: f64,
    /// Global irradiation under the cleanest clear sky, Wh/m².
    pub ceiling_wh_m2: f64,
}

/// One day of an invented year.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct InventedDay {
    /// Global irradiation, Wh/m².
    pub wh_m2: f64,
    /// Mean air temperature, °C.
    pub air_c: f64,
}

/// The days of a year of hours.
pub(crate) fn days_of(sun: &[HourSun]) -> Vec<DaySun> {
    sun.chunks(24)
        .map(|day| DaySun {
            extraterrestrial_wh_m2: day.iter().map(|h| h.extraterrestrial_w_m2).sum(),
            ceiling_wh_m2: day.iter().map(|h| h.ceiling_w_m2).sum(),
        })
        .collect()
}

/// The days of each month, as ranges of days of the year.
pub fn months() -> [std::ops::Range<usize>; 12] {
    std::array::from_fn(|m| usize::from(MONTH_STARTS[m])..usize::from(MONTH_STARTS[m + 1]))
}

/// The darkest and the brightest mean day a month may have, kWh/m², by month.
pub(crate) fn limits_kwh_m2(days: &[DaySun]) -> [(f64, f64); 12] {
    months().map(|m| {
        let n = m.len() as f64;
        let mean = |of: fn(&DaySun) -> f64| days[m.clone()].iter().map(of).sum::<f64>() / n / 1000.0;
        (DARKEST_SHARE * mean(|d| d.extraterrestrial_wh_m2), BRIGHTEST_SHARE * mean(|d| d.ceiling_wh_m2))
    })
}

/// The days of `years` years. A lone year is a typical one: its months are drawn without the differences between years, which are added
/// when it is sampled from. Several years differ as those of such a place do.
pub(crate) fn of_years(climate: &Climate, suns: &[DaySun], seed: u64, years: usize) -> Vec<Vec<InventedDay>> {
    let moments = moments(climate, suns);
    let pool = donors(climate, suns, &moments, seed);
    let month: Vec<u8> = (0..DAYS as u16).map(|d| month_of(d) as u8).collect();
    let spread = if years == 1 { YearSpread::None } else { YearSpread::ByClimate };
    let series = Series::new(&pool, month, YearKind::Typical, spread);
    let mut out: Vec<Vec<InventedDay>> = (0..years as u64)
        .map(|year| {
            let first = (DAYS - LEAD_DAYS) as u16;
            let drawn = series.draw(seed, FIRST_TRIAL + year, first, LEAD_DAYS + DAYS);
            drawn[LEAD_DAYS..]
                .iter()
                .zip(suns)
                .map(|(day, sun)| InventedDay {
                    wh_m2: f64::from(day.index) * sun.ceiling_wh_m2,
                    air_c: f64::from(day.air_c),
                })
                .collect()
        })
        .collect();
    for (m, range) in months().into_iter().enumerate() {
        let target = climate.insolation_kwh_m2[m] * 1000.0 * (range.len() * years) as f64;
        let of_all = |value: &dyn Fn(&DaySun) -> f64| -> Vec<f64> {
            (0..years).flat_map(|_| suns[range.clone()].iter().map(value)).collect()
        };
        let floor = of_all(&|d| moments[m].low * d.extraterrestrial_wh_m2);
        let ceiling = of_all(&|d| d.ceiling_wh_m2);
        let mut wh: Vec<f64> = out.iter().flat_map(|y| y[range.clone()].iter().map(|d| d.wh_m2)).collect();
        scale_between(&mut wh, &floor, &ceiling, target);
        let days = out.iter_mut().flat_map(|y| &mut y[range.clone()]);
        days.zip(wh).for_each(|(day, wh)| day.wh_m2 = wh);
    }
    out
}

/// How the days of each month differ.
fn moments(climate: &Climate, suns: &[DaySun]) -> [Moments; 12] {
    let seasons_c = climate.seasons_c();
    let ranges = months();
    std::array::from_fn(|m| {
        let days = &suns[ranges[m].clone()];
        let above: f64 = days.iter().map(|d| d.extraterrestrial_wh_m2).sum();
        let sum = climate.insolation_kwh_m2[m] * 1000.0 * days.len() as f64;
        Moments::of(if above > 0.0 { sum / above } else { 0.0 }, seasons_c)
    })
}

/// Days that show the climate: those of each month evenly from its law, in an order as weather has it, with temperatures that follow
/// the light as the season has it. Each set lacks 31 December: so it does not count as a whole year, and the pool's own variance between years
/// (there is none) not as the climate's.
fn donors(climate: &Climate, suns: &[DaySun], moments: &[Moments; 12], seed: u64) -> DonorPool {
    let mut donors = Vec::new();
    for layer in 0..LAYERS {
        let mut rng = stream(seed, Purpose::Invent, Draws::Days as u64, layer);
        let order = correlated(&mut rng);
        for (m, range) in months().into_iter().enumerate() {
            let law = MonthLaw::new(&moments[m]);
            let share = share_of_light(climate, m);
            let mut by_light: Vec<usize> = range.clone().collect();
            by_light.sort_by(|&a, &b| order[a].total_cmp(&order[b]));
            for (rank, &day) in by_light.iter().enumerate() {
                let part = (layer as f64 + 0.5) / LAYERS as f64;
                let u = (rank as f64 + part) / range.len() as f64;
                let sun = &suns[day];
                let wh = law.quantile(u) * sun.extraterrestrial_wh_m2;
                let own = (1.0 - share * share).sqrt() * normal(&mut rng);
                let anomaly_c = day_sd_c(climate, m) * (share * normal_quantile(u) + own);
                donors.push(Donor {
                    file: layer as u16,
                    day_of_year: day as u16,
                    index: if sun.ceiling_wh_m2 > 0.0 {
                        wh.min(sun.ceiling_wh_m2) / sun.ceiling_wh_m2
                    } else {
                        0.0
                    },
                    air_c: between_months(&climate.air_c, day) + anomaly_c,
                    wind_m_s: climate.wind_m_s[m],
                });
            }
        }
    }
    donors.retain(|d| usize::from(d.day_of_year) + 1 < DAYS);
    donors.sort_by_key(|d| (d.file, d.day_of_year));
    DonorPool::from_daily(donors, suns.iter().map(|d| d.ceiling_wh_m2).collect())
}

/// A normal number for each day of a year.
fn correlated(rng: &mut ChaCha8Rng) -> Vec<f64> {
    let fresh = (1.0 - DONOR_LAG_1 * DONOR_LAG_1).sqrt();
    let mut z = normal(rng);
    (0..DAYS)
        .map(|_| {
            z = DONOR_LAG_1 * z + fresh * normal(rng);
            z
        })
        .collect()
}
