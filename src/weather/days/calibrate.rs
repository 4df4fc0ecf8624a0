//! The tilt that gives a chain the wanted variability.
//!
//! A typical year's months were chosen to be average, so a chain of its days alone gives back some 62 %
//! of the variability of months and 57 % of that of years (a Dutch record, `tests/it/published/left_out_record.rs`). The tilt of [`super::chain`] adds the rest.
//! Its strength is found for each site when the sampler is built:
//! - the constant part of the tilt from the *means* (`means.rs`), which stay those of the file;
//! - the rest from the *variability* of `YEARS` years of the chain drawn from a fixed seed, at a few strengths: variances add.
//!
//! Dull spells come first: where the correlation of neighbouring days alone makes a month vary more than wanted, it is
//! kept. (When the variability was enforced instead, the left-out record of De Bilt came out with a correlation of
//! neighbouring days of 0.25 instead of 0.32, annual variability 19 % too small, and the worst dull spell of ten years a
//! day and a half too short.)

use super::chain::{Chain, Tilt};
use super::means::{Drawn, Means};
use super::pool::DonorPool;
use super::variability::Variability;

/// Years of chain drawn to measure a variability.
const YEARS: u64 = 240;
/// Strength of a tilt at which gains are measured.
const STRENGTH_TRIED: f64 = 0.4;
/// The same for the spell term, which is the strongest.
const SPELL_STRENGTH_TRIED: f64 = 0.9;
/// Largest standard deviation of a part of θ; beyond it nearly always the dullest or the brightest neighbour is taken.
const TILT_SD_MAX: f64 = 1.5;
/// Correlation of neighbouring days in a record over that in its typical year, where months are cut from
/// different years and chosen for being average: mean over twelve Dutch stations
/// (`tests/published/data/10l_daily_persistence.csv`).
pub const RECORD_OVER_TYPICAL: f64 = 1.27;

/// Finds the tilt of a chain that gives the wanted variability and persistence and keeps the monthly means of
/// the pool. Without a wanted variability only the means are kept.
pub fn calibrate(chain: &mut Chain, pool: &DonorPool, wanted: Option<&Variability>) {
    chain.tilt = Tilt::NONE;
    let means = Means::new(chain, pool);
    means.settle(chain);
    let Some(wanted) = wanted else {
        return means.measure(chain);
    };
    let at = |chain: &mut Chain, spell: f64, month: [f64; 12], year: f64| {
        chain.tilt = Tilt { centre: chain.tilt.centre, spell, month, year };
        let drawn = Drawn::new(chain, pool, YEARS);
        means.step(chain, &drawn.means);
        drawn
    };
    // Each figure grows with the square of each strength: gain = growth over strength².
    let gain = |with: f64, without: f64, strength: f64| ((with - without) / (strength * strength)).max(1e-9);
    let square = |s: f64| s.clamp(0.0, TILT_SD_MAX * TILT_SD_MAX);

    // First the spells, from the correlation of neighbouring days.
    let none = at(chain, 0.0, [0.0; 12], 0.0);
    let some = at(chain, SPELL_STRENGTH_TRIED, [0.0; 12], 0.0);
    let lag_1 = wanted_lag_1(chain, pool);
    let spell = square((lag_1 - none.lag_1) / gain(some.lag_1, none.lag_1, SPELL_STRENGTH_TRIED)).sqrt();

    // Then what months and years still lack.
    let base = at(chain, spell, [0.0; 12], 0.0);
    let with_month = at(chain, spell, [STRENGTH_TRIED; 12], 0.0);
    let with_year = at(chain, spell, [0.0; 12], STRENGTH_TRIED);
    let month_gain = {
        let raw: [f64; 12] =
            std::array::from_fn(|m| gain(with_month.monthly[m], base.monthly[m], STRENGTH_TRIED));
        // Measured on few years: a gain far below that of the other months is sampling error.
        let mean = raw.iter().sum::<f64>() / 12.0;
        raw.map(|g| g.max(0.4 * mean))
    };
    let (mut month, mut year) = ([0.0_f64; 12], 0.0_f64);
    for _ in 0..6 {
        let mean_square = month.iter().map(|s| s * s).sum::<f64>() / 12.0;
        let from_months = gain(with_month.annual, base.annual, STRENGTH_TRIED) * mean_square;
        let lacking = wanted.annual * wanted.annual - base.annual - from_months;
        year = square(lacking / gain(with_year.annual, base.annual, STRENGTH_TRIED)).sqrt();
        for m in 0..12 {
            let from_year = gain(with_year.monthly[m], base.monthly[m], STRENGTH_TRIED) * year * year;
            let lacking = wanted.monthly[m] * wanted.monthly[m] - base.monthly[m] - from_year;
            month[m] = square(lacking / month_gain[m]).sqrt();
        }
    }
    // Strong tilts saturate, so variances fall short of the sum: one correction by measurement.
    let reached = at(chain, spell, month, year);
    for m in 0..12 {
        let lacking = wanted.monthly[m] * wanted.monthly[m] - reached.monthly[m];
        month[m] = square(month[m] * month[m] + lacking / month_gain[m]).sqrt();
    }
    let lacking = wanted.annual * wanted.annual - reached.annual;
    year = square(year * year + lacking / gain(with_year.annual, base.annual, STRENGTH_TRIED)).sqrt();
    chain.tilt = Tilt { centre: chain.tilt.centre, spell, month, year };
    means.measure(chain);
}

/// Correlation of neighbouring days that a chain should have: that of the files, and for a lone typical
/// year that of the record behind it.
fn wanted_lag_1(chain: &Chain, pool: &DonorPool) -> f64 {
    let own = chain.lag_1(&true_pairs(pool));
    if pool.files() == 1 { (own * RECORD_OVER_TYPICAL).min(0.6) } else { own }
}

/// Each day of a pool with the day that truly followed it.
pub(crate) fn true_pairs(pool: &DonorPool) -> Vec<Vec<u32>> {
    (0..pool.donors().len() as u32).filter_map(|i| Some(vec![i, pool.successor(i)?])).collect()
}
