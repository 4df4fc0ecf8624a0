//! Long-run monthly means of a chain, and the constant part of its tilt that makes them those of the pool.
//!
//! The first guess is computed without drawing: a chain without slow terms is a Markov chain over donors, so its
//! distribution can be propagated through the year day by day. That leaves out the slow terms and the rule that no day
//! comes again soon (up to 3 % of a month). The rest is measured on drawn years, with control variates.

use super::chain::{Chain, NOT_AGAIN};
use super::pool::{Donor, DonorPool};
use super::variability::Variability;
use super::window::{HALF_WINDOW_DAYS, days_apart};
use crate::lanes::math;
use crate::sky::calendar::DAYS;
use rayon::prelude::*;
use std::collections::VecDeque;

/// Years drawn for each of the last steps of the means: months are known to about 0.2 %.
const MEAN_YEARS: u64 = 360;
/// Days drawn before a measured year starts, so that the start of the chain does not matter.
const LEAD_DAYS: usize = 10;

/// What a chain's years are like: squared coefficients of variation, and correlation of
/// neighbouring days.
#[derive(Clone, Copy, Debug)]
pub(super) struct Drawn {
    pub monthly: [f64; 12],
    pub annual: f64,
    pub lag_1: f64,
    /// Mean monthly sums, Wh/m², corrected by control variates.
    pub means: [f64; 12],
}

impl Drawn {
    /// Draws some years.
    pub(crate) fn new(chain: &Chain, pool: &DonorPool, years: u64) -> Drawn {
        // A seed of its own, so that calibration and runs draw different numbers.
        const SEED: u64 = 0x5eed_ca1b;
        let (chains, months): (Vec<Vec<u32>>, Vec<[Month; 12]>) = (0..years)
            .into_par_iter()
            .map(|year| {
                let mut donors = Vec::with_capacity(DAYS);
                let mut months = [Month::default(); 12];
                let mut t = 0;
                chain.walk(SEED, year, (DAYS - LEAD_DAYS) as u16, LEAD_DAYS + DAYS, |step| {
                    if t >= LEAD_DAYS {
                        let date = t - LEAD_DAYS;
                        let potential = pool.potential_wh_m2()[date];
                        let index = chain.index[step.donor as usize];
                        let month = &mut months[usize::from(chain.month[date])];
                        month.sum += potential * index;
                        month.surprise += potential * step.surprise;
                        month.slow += potential * step.slow;
                        donors.push(step.donor);
                    }
                    t += 1;
                });
                (donors, months)
            })
            .unzip();
        let sums: Vec<[f64; 12]> = months.iter().map(|y| y.map(|m| m.sum)).collect();
        let variability = Variability::of_sums(&sums);
        Drawn {
            monthly: variability.monthly.map(|c| c * c),
            annual: variability.annual * variability.annual,
            lag_1: chain.lag_1(&chains),
            means: std::array::from_fn(|m| controlled_mean(months.iter().map(|y| y[m]))),
        }
    }
}

/// A month of a chain, days weighted by their energy at index 1.
#[derive(Clone, Copy, Debug, Default)]
struct Month {
    /// Of the index: energy, Wh/m².
    sum: f64,
    /// Of [`super::chain::Step::surprise`].
    surprise: f64,
    /// Of [`super::chain::Step::slow`].
    slow: f64,
}

/// Mean of the sums with surprises and slow terms, whose mean is known to be 0, as control variates: most of the sampling
/// error goes, without bias.
fn controlled_mean(months: impl Iterator<Item = Month> + Clone) -> f64 {
    let n = months.clone().count().max(1) as f64;
    let mean = |f: fn(&Month) -> f64| months.clone().map(|m| f(&m)).sum::<f64>() / n;
    let (y, a, b) = (mean(|m| m.sum), mean(|m| m.surprise), mean(|m| m.slow));
    let product = |f: &dyn Fn(&Month) -> f64| months.clone().map(|m| f(&m)).sum::<f64>();
    let aa = product(&|m| (m.surprise - a) * (m.surprise - a));
    let bb = product(&|m| (m.slow - b) * (m.slow - b));
    let ab = product(&|m| (m.surprise - a) * (m.slow - b));
    let ay = product(&|m| (m.surprise - a) * (m.sum - y));
    let by = product(&|m| (m.slow - b) * (m.sum - y));
    let determinant = aa * bb - ab * ab;
    let over = |up: f64, down: f64| if down > 0.0 { up / down } else { 0.0 };
    if determinant > 1e-9 * aa * bb {
        y - a * (ay * bb - by * ab) / determinant - b * (by * aa - ay * ab) / determinant
    } else {
        y - a * over(ay, aa)
    }
}

/// Long-run monthly means that a chain should have, and how to get there.
pub(super) struct Means<'a> {
    pool: &'a DonorPool,
    /// Monthly sums of the pool, Wh/m².
    wanted: [f64; 12],
    /// Change of the monthly sums with the constant part, Wh/m² per unit; without any tilt.
    slope: [f64; 12],
}

impl<'a> Means<'a> {
    /// The means of a pool.
    pub(crate) fn new(chain: &Chain, pool: &'a DonorPool) -> Means<'a> {
        let mut sum = [0.0; 12];
        let mut clear = [0.0; 12];
        let mut of_year = [0.0; 12];
        for d in pool.donors() {
            let day = usize::from(d.day_of_year);
            let month = usize::from(chain.month[day]);
            sum[month] += d.index * pool.potential_wh_m2()[day];
            clear[month] += pool.potential_wh_m2()[day];
        }
        for (&month, potential) in chain.month.iter().zip(pool.potential_wh_m2()) {
            of_year[usize::from(month)] += potential;
        }
        let mut means = Means {
            pool,
            wanted: std::array::from_fn(|m| {
                if clear[m] > 0.0 { sum[m] / clear[m] * of_year[m] } else { f64::NAN }
            }),
            slope: [0.0; 12],
        };
        const STEP: f64 = 0.1;
        let [down, up] = [-STEP, STEP].map(|centre| means.at_constant(chain, &[centre; 12]));
        means.slope = std::array::from_fn(|m| (up[m] - down[m]) / (2.0 * STEP));
        means
    }

    /// Moves the constant part of the tilt until the monthly means are those of the pool, by the computed
    /// distribution of a chain without slow terms.
    pub(crate) fn settle(&self, chain: &mut Chain) {
        for _ in 0..3 {
            let now = self.at_constant(chain, &chain.tilt.centre);
            self.step(chain, &now);
        }
    }

    /// The same on drawn years.
    pub(crate) fn measure(&self, chain: &mut Chain) {
        for _ in 0..3 {
            self.step(chain, &Drawn::new(chain, self.pool, MEAN_YEARS).means);
        }
    }

    /// One Newton step from the current monthly sums to the wanted ones.
    pub(crate) fn step(&self, chain: &mut Chain, now: &[f64; 12]) {
        for (m, centre) in chain.tilt.centre.iter_mut().enumerate() {
            let step = (self.wanted[m] - now[m]) / self.slope[m];
            // Infinite or NaN for months without sun, without donors or with equal days: nothing to settle.
            if step.is_finite() {
                *centre = (*centre + step.clamp(-0.5, 0.5)).clamp(-2.0, 2.0);
            }
        }
    }

    /// Expected monthly sums for a θ that is constant within a month.
    fn at_constant(&self, chain: &Chain, theta: &[f64; 12]) -> [f64; 12] {
        let donors = self.pool.donors();
        let n = donors.len();
        // Start two weeks before the year, all donors near the date equally likely.
        let start = DAYS - 14;
        let near = |d: &Donor| days_apart(d.day_of_year, start as u16) <= HALF_WINDOW_DAYS;
        let count = donors.iter().filter(|d| near(d)).count().max(1) as f64;
        let mut now: Vec<f64> = donors.iter().map(|d| if near(d) { 1.0 / count } else { 0.0 }).collect();
        let mut next = vec![0.0; n];
        let mut tilts = vec![0.0; n];
        let mut recent = vec![0.0_f64; n];
        let mut past: VecDeque<Vec<f64>> = VecDeque::new();
        let mut tilts_of = usize::MAX;
        let mut sums = [0.0; 12];
        for t in 0..14 + DAYS {
            let date = (start + t) % DAYS;
            if t >= 14 {
                let mean: f64 =
                    now.iter().zip(donors).filter(|(p, _)| **p > 0.0).map(|(p, d)| p * d.index).sum();
                sums[usize::from(chain.month[date])] += mean * self.pool.potential_wh_m2()[date];
            }
            let month = usize::from(chain.month[(date + 1) % DAYS]);
            if month != tilts_of {
                tilts_of = month;
                for (w, z) in tilts.iter_mut().zip(&chain.z) {
                    *w = math::exp(theta[month] * z);
                }
            }
            next.fill(0.0);
            for (i, &p) in now.iter().enumerate().filter(|(_, p)| **p > 0.0) {
                // A day does not follow itself, and not one of the last few days either. The latter holds on
                // average only: by the probability that a day was among them.
                let neighbours = || {
                    let others = chain
                        .neighbours
                        .near_date(i as u32, date as u16)
                        .filter(move |l| l.successor != i as u32);
                    others.zip(&chain.neighbours.kernel).map(|(l, k)| {
                        let s = l.successor as usize;
                        (s, k * tilts[s] * (1.0 - recent[s]).max(0.0))
                    })
                };
                let total: f64 = neighbours().map(|(_, w)| w).sum();
                if total > 0.0 {
                    neighbours().for_each(|(s, w)| next[s] += p * w / total);
                }
            }
            // Probabilities over the last NOT_AGAIN days without today.
            past.push_back(now.clone());
            for (r, p) in recent.iter_mut().zip(&now) {
                *r += p;
            }
            if past.len() >= NOT_AGAIN {
                let gone = past.pop_front().unwrap_or_default();
                for (r, p) in recent.iter_mut().zip(&gone) {
                    *r -= p;
                }
            }
            std::mem::swap(&mut now, &mut next);
        }
        sums
    }
}
