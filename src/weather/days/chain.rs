//! The chain of donor days of a trial.
//!
//! Each day the chain takes one of the neighbours of today's donor, the j-th with weight 1/j, and moves on to the day that
//! followed it. A slow term tilts the choice: the weight of a successor with standardised clear-sky
//! index z is multiplied by exp(θ z) (exponential tilting), so that months and years differ as
//! they do in records. Irradiances are not changed. θ has three parts:
//! - a spell term, a first-order autoregression with a memory of [`SPELL_DAYS`], which also makes
//!   dull spells as long as they are in records;
//! - a monthly term, the same with [`MONTH_DAYS`];
//! - a part common to the whole year.

use super::neighbours::Neighbours;
use super::pool::{Donor, DonorPool};
use super::season::Season;
use super::window::{days_apart, within};
use crate::lanes::math;
use crate::seed::{Purpose, open_unit, stream};
use crate::sky::calendar::DAYS;
use crate::weather::quantile_table::NORMAL;
use rand::{RngExt, rngs::ChaCha8Rng};

/// Memory of the spell term, days.
pub(crate) const SPELL_DAYS: f64 = 6.0;
/// Memory of the monthly term, days.
pub(crate) const MONTH_DAYS: f64 = 30.0;
/// A day is not copied again within so many days.
pub(crate) const NOT_AGAIN: usize = 5;
/// Longest stretch of the file copied in its own order, days.
const IN_ORDER: u32 = 3;

/// How strongly the choice of donors is tilted, in units of θ (per standard deviation of the index).
#[derive(Clone, Debug, PartialEq)]
pub struct Tilt {
    /// Constant part by month: keeps the long-run mean that of the file.
    pub centre: [f64; 12],
    /// Standard deviation of the spell term.
    pub spell: f64,
    /// Standard deviation of the monthly term, by month.
    pub month: [f64; 12],
    /// Standard deviation of the part common to a year.
    pub year: f64,
}

impl Tilt {
    /// No tilt.
    pub(crate) const NONE: Tilt = Tilt { centre: [0.0; 12], spell: 0.0, month: [0.0; 12], year: 0.0 };
}

/// What chains are drawn from.
#[derive(Clone, Debug)]
pub struct Chain {
    /// The neighbours of each day.
    pub neighbours: Neighbours,
    /// Tilt of the choice.
    pub tilt: Tilt,
    /// Standardised clear-sky index of each donor.
    pub z: Vec<f64>,
    /// Clear-sky index of each donor.
    pub index: Vec<f64>,
    /// The same less the mean of its month.
    pub anomaly: Vec<f64>,
    /// Month of each day of the year.
    pub month: Vec<u8>,
    by_day: Vec<Vec<u32>>,
    successor: Vec<u32>,
}

impl Chain {
    /// A chain over a pool; `month` is that of each of 365 days. The pool must not be empty.
    pub fn new(pool: &DonorPool, month: Vec<u8>) -> Chain {
        let index: Vec<f64> = pool.donors().iter().map(|d| d.index).collect();
        let season = Season::new(pool, &index);
        Chain {
            neighbours: Neighbours::new(pool),
            tilt: Tilt::NONE,
            z: pool.donors().iter().map(|d| season.standardise(d.day_of_year, d.index)).collect(),
            index,
            anomaly: anomalies(pool, &month),
            month,
            by_day: pool.by_day(),
            successor: (0..pool.donors().len() as u32)
                .map(|i| pool.successor(i).unwrap_or(u32::MAX))
                .collect(),
        }
    }

    /// Donor days of one trial: `days` consecutive days from day `first_day` of the year, wrapping.
    pub fn draw(&self, seed: u64, trial: u64, first_day: u16, days: usize) -> Vec<u32> {
        let mut out = Vec::with_capacity(days);
        self.walk(seed, trial, first_day, days, |step| out.push(step.donor));
        out
    }

    /// The same, day by day: calls `each` with every step of the chain.
    pub(crate) fn walk(
        &self,
        seed: u64,
        trial: u64,
        first_day: u16,
        days: usize,
        mut each: impl FnMut(Step),
    ) {
        let mut rng = stream(seed, Purpose::Donors, trial, 0);
        let mut slow = Slow::new(&mut rng);
        let first = self.any_near(&mut rng, first_day);
        let mut now = Step { donor: first, surprise: 0.0, slow: 0.0 };
        let mut past = Past { today: first, recent: [u32::MAX; NOT_AGAIN], in_order: 0 };
        for t in 0..days {
            if t > 0 {
                let date = ((usize::from(first_day) + t - 1) % DAYS) as u16;
                if usize::from(date) + 1 == DAYS {
                    slow.new_year(&mut rng);
                }
                let bits = rng.random::<u64>();
                slow.step(bits as u32);
                now = self.next(&past, date, slow, (bits >> 32) as u32);
                let followed = now.donor == self.successor[past.today as usize];
                past.in_order = if followed { past.in_order + 1 } else { 0 };
            }
            past.recent[t % NOT_AGAIN] = now.donor;
            past.today = now.donor;
            each(now);
        }
    }

    /// Tomorrow, if `date` is the date of `past.today`.
    #[inline]
    fn next(&self, past: &Past, date: u16, slow: Slow, draw: u32) -> Step {
        let Past { today, ref recent, in_order } = *past;
        const NEIGHBOURS_MAX: usize = 64;
        let month = usize::from(self.month[(usize::from(date) + 1) % DAYS]);
        let slow = self.tilt.slow(month, slow);
        let theta = self.tilt.centre[month] + slow;
        let own = if in_order < IN_ORDER { u32::MAX } else { self.successor[today as usize] };
        // Candidates first, without branches, then their weights: three times as fast.
        let k = self.neighbours.k.min(NEIGHBOURS_MAX);
        let mut chosen = [0_u32; NEIGHBOURS_MAX + 1];
        let mut n = 0;
        for like in self.neighbours.nearest(today) {
            let s = like.successor;
            let banned = recent.iter().fold(s == own, |banned, &r| banned | (s == r));
            chosen[n] = s;
            n += usize::from(!banned & self.neighbours.in_window(like.day, date));
            if n == k {
                break;
            }
        }
        if n == 0 {
            // Only in files with long gaps: the donor nearest to tomorrow's date.
            let donor = self.nearest_day((date + 1) % DAYS as u16, draw);
            return Step { donor, surprise: 0.0, slow };
        }
        let mut sums = [0.0_f64; NEIGHBOURS_MAX];
        let (mut sum, mut index) = (0.0, 0.0);
        for ((&s, kernel), out) in chosen[..n].iter().zip(&self.neighbours.kernel).zip(&mut sums) {
            let weight = kernel * math::exp(theta * self.z[s as usize]);
            sum += weight;
            index += weight * self.index[s as usize];
            *out = sum;
        }
        let aim = (f64::from(draw) + 0.5) / 4_294_967_296.0 * sum;
        let j = sums[..n].iter().position(|&s| aim < s).unwrap_or(n - 1);
        Step { donor: chosen[j], surprise: self.index[chosen[j] as usize] - index / sum, slow }
    }

    /// A random donor of the window around a date, all equally likely.
    fn any_near(&self, rng: &mut ChaCha8Rng, day: u16) -> u32 {
        let near: Vec<u32> = within(&self.by_day, day, self.neighbours.half_window(day)).collect();
        let u = open_unit(rng);
        match near.len() {
            0 => self.nearest_day(day, rng.random::<u32>()),
            n => near[((u * n as f64) as usize).min(n - 1)],
        }
    }

    fn nearest_day(&self, day: u16, draw: u32) -> u32 {
        let nearest = (0..DAYS as u16)
            .filter(|&d| !self.by_day[usize::from(d)].is_empty())
            .min_by_key(|&d| days_apart(d, day))
            .unwrap_or(0);
        let of_day = &self.by_day[usize::from(nearest)];
        of_day.get(draw as usize % of_day.len().max(1)).copied().unwrap_or(0)
    }

    /// Correlation of a day's index with that of the day before, both less their month's mean, over some chains.
    pub(crate) fn lag_1(&self, chains: &[Vec<u32>]) -> f64 {
        let a = |d: u32| self.anomaly[d as usize];
        let (mut square, mut cross) = (0.0, 0.0);
        for days in chains.iter().flat_map(|c| c.windows(2)) {
            square += a(days[1]) * a(days[1]);
            cross += a(days[0]) * a(days[1]);
        }
        if square > 0.0 { cross / square } else { 0.0 }
    }
}

/// Index of each donor less the mean of its month.
fn anomalies(pool: &DonorPool, month: &[u8]) -> Vec<f64> {
    let of = |d: &Donor| usize::from(month[usize::from(d.day_of_year)]);
    let mut sums = [[0.0; 2]; 12];
    for d in pool.donors() {
        let s = &mut sums[of(d)];
        *s = [s[0] + d.index, s[1] + 1.0];
    }
    pool.donors().iter().map(|d| d.index - sums[of(d)][0] / sums[of(d)][1]).collect()
}

/// What a chain remembers from one day to the next.
struct Past {
    /// Donor of today.
    today: u32,
    /// Donors of the last days; none of them is copied again.
    recent: [u32; NOT_AGAIN],
    /// Days copied in the order of the file so far.
    in_order: u32,
}

/// A day of a chain.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Step {
    /// Its donor.
    pub donor: u32,
    /// Its clear-sky index less the expected value given the day before, its tilt and the donors excluded: mean 0.
    pub surprise: f64,
    /// θ less its constant part: mean 0. The first day of a chain has none.
    pub slow: f64,
}

/// The slow terms, each with mean 0 and variance 1.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Slow {
    spell: f64,
    month: f64,
    year: f64,
}

impl Slow {
    fn new(rng: &mut ChaCha8Rng) -> Slow {
        let mut normal = || NORMAL.at(rng.random::<u32>());
        Slow { spell: normal(), month: normal(), year: normal() }
    }
    fn new_year(&mut self, rng: &mut ChaCha8Rng) {
        self.year = NORMAL.at(rng.random::<u32>());
    }
    /// Moves on by a day. The innovations are uniform numbers of 16 bits, two from one draw; sums of them over many days
    /// are close enough to normal.
    #[inline]
    fn step(&mut self, draw: u32) {
        let uniform =
            |bits: u32| (f64::from(bits & 0xffff) - 32_767.5) * (3.464_101_615_137_754_6 / 65_536.0);
        const SPELL: f64 = 1.0 - 1.0 / SPELL_DAYS;
        const MONTH: f64 = 1.0 - 1.0 / MONTH_DAYS;
        self.spell = SPELL * self.spell + (1.0 - SPELL * SPELL).sqrt() * uniform(draw);
        self.month = MONTH * self.month + (1.0 - MONTH * MONTH).sqrt() * uniform(draw >> 16);
    }
}

impl Tilt {
    /// θ of a day less its constant part.
    #[inline]
    fn slow(&self, month: usize, slow: Slow) -> f64 {
        self.spell * slow.spell + self.month[month] * slow.month + self.year * slow.year
    }
}
