//! The days most like each day: the table behind the nearest-neighbour chain.
//!
//! Lall & Sharma 1996, Water Resources Research 32:679; Rajagopalan & Lall 1999, 35:3089. The state of
//! a day is its clear-sky index, mean temperature and wind, standardised; its neighbours are the
//! k = ⌊√n⌋ nearest within a moving calendar window of ±15 days (n days in the window).

use super::pool::DonorPool;
use super::season::Season;
use super::window::{HALF_WINDOW_DAYS, days_apart, within};
use crate::sky::calendar::DAYS;

/// Fewest donors of a window; it is widened where files have gaps.
const WINDOW_DONORS_MIN: usize = 8;
/// Weights of clear-sky index, temperature and wind in the distance between days; own choice:
/// light matters most here, and with equal weights it would be a third of the distance.
const WEIGHTS: [f64; 3] = [1.0, 0.5, 0.5];

/// A neighbour: a day like a given one.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Neighbour {
    /// Its day of the year.
    pub day: u16,
    /// The donor that followed it.
    pub successor: u32,
}

/// The neighbours of each donor, nearest first.
#[derive(Clone, Debug)]
pub struct Neighbours {
    neighbours: Vec<Neighbour>,
    start: Vec<u32>,
    half: Vec<u16>,
    /// How many neighbours are drawn from.
    pub k: usize,
    /// Kernel weights 1/j of the j-th neighbour, not normalised (Lall & Sharma 1996, eq. 10).
    pub kernel: Vec<f64>,
}

impl Neighbours {
    /// Builds the table.
    pub fn new(pool: &DonorPool) -> Neighbours {
        let by_day = pool.by_day();
        let half: Vec<u16> = (0..DAYS as u16).map(|d| half_window(&by_day, d)).collect();
        let widest = half.iter().copied().max().unwrap_or(HALF_WINDOW_DAYS);
        let in_window =
            (0..DAYS as u16).map(|d| within(&by_day, d, half[usize::from(d)]).count()).min().unwrap_or(0);
        let k = neighbours_for(in_window);
        // A neighbour may be anywhere in the window around the actual date, which is up to `half` away
        // from the donor's own: keep enough that k remain after the window is applied.
        let keep = (8 * k).max(4 * usize::from(HALF_WINDOW_DAYS) + 2);
        let states = standardised(pool);
        let mut table = Neighbours {
            neighbours: Vec::new(),
            start: vec![0],
            half,
            k,
            kernel: (1..=k).map(|j| 1.0 / j as f64).collect(),
        };
        let mut near: Vec<(f64, u32)> = Vec::new();
        for (i, donor) in pool.donors().iter().enumerate() {
            near.clear();
            near.extend(within(&by_day, donor.day_of_year, (2 * widest).min(DAYS as u16 / 2)).map(|j| {
                let (a, b) = (&states[i], &states[j as usize]);
                ((0..3).map(|s| (a[s] - b[s]) * (a[s] - b[s])).sum::<f64>(), j)
            }));
            let nearer = |a: &(f64, u32), b: &(f64, u32)| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1));
            if near.len() > keep {
                near.select_nth_unstable_by(keep, nearer);
                near.truncate(keep);
            }
            near.sort_unstable_by(nearer);
            table.neighbours.extend(near.iter().filter_map(|&(_, j)| {
                Some(Neighbour { day: pool.donors()[j as usize].day_of_year, successor: pool.successor(j)? })
            }));
            table.start.push(table.neighbours.len() as u32);
        }
        table
    }

    /// The neighbours of `donor`, nearest first, also those outside the window of a date.
    #[inline]
    pub(crate) fn nearest(&self, donor: u32) -> &[Neighbour] {
        &self.neighbours[self.start[donor as usize] as usize..self.start[donor as usize + 1] as usize]
    }

    /// Whether a day lies in the window around a date.
    #[inline]
    pub(crate) fn in_window(&self, day: u16, date: u16) -> bool {
        days_apart(day, date) <= self.half[usize::from(date)]
    }

    /// The neighbours of `donor` within the window around a date, nearest first: at least one if the pool
    /// has any day with a successor near the date.
    #[inline]
    pub(crate) fn near_date(&self, donor: u32, date: u16) -> impl Iterator<Item = Neighbour> + '_ {
        self.nearest(donor).iter().copied().filter(move |l| self.in_window(l.day, date))
    }

    /// Half-width of the window around a date, days.
    pub(crate) fn half_window(&self, day: u16) -> u16 {
        self.half[usize::from(day)]
    }
}

/// k of Lall & Sharma 1996: ⌊√n⌋, at least 3.
pub fn neighbours_for(n: usize) -> usize {
    (libm::sqrt(n as f64) as usize).max(3)
}

fn half_window(by_day: &[Vec<u32>], day: u16) -> u16 {
    let enough = |h: &u16| within(by_day, day, *h).count() >= WINDOW_DONORS_MIN;
    (HALF_WINDOW_DAYS..=DAYS as u16 / 2).find(enough).unwrap_or(DAYS as u16 / 2)
}

/// States, divided by their standard deviation within a window, and weighted.
fn standardised(pool: &DonorPool) -> Vec<[f64; 3]> {
    let raw: Vec<[f64; 3]> = pool.donors().iter().map(|d| [d.index, d.air_c, d.wind_m_s]).collect();
    let mut spread = [0.0; 3];
    for part in 0..3 {
        let values: Vec<f64> = raw.iter().map(|s| s[part]).collect();
        spread[part] = Season::new(pool, &values).mean_sd();
    }
    raw.iter()
        .map(|s| std::array::from_fn(|p| if spread[p] > 0.0 { WEIGHTS[p] * s[p] / spread[p] } else { 0.0 }))
        .collect()
}
