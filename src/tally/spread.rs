//! Counts by value over years, and the error of their quantiles.
//!
//! Evenings, or days, of one year hang together, so years are the units: beside the counts, the squares of each year's count up
//! to every value are kept. From these comes the error of the share of days up to a value, and from that the interval of a
//! quantile: all values at which the wished share lies within the interval of the share (Woodruff 1952, J. Am. Stat. Assoc.
//! 47:635; with the size of sample of Korn & Graubard 1998, Survey Methodology 24:193, for few years; both from memory).

use super::codec::tally_field;
use super::intervals;
use crate::units::normal_quantile;

/// Counts of days by value.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Spread {
    /// Days by value (the last bin takes the rest).
    pub counts: Vec<u64>,
    /// Sum over years of the square of the year's days up to each value.
    squares: Vec<u64>,
    /// Years that have any.
    years: u64,
}
tally_field!(Spread { counts, squares, years });

impl Spread {
    /// Nothing counted yet, in so many bins.
    pub(super) fn new(bins: usize) -> Spread {
        Spread { counts: vec![0; bins], squares: vec![0; bins], years: 0 }
    }

    /// Adds the days of one year, by their bins.
    pub(super) fn push(&mut self, year: impl Iterator<Item = usize>) {
        let Some(last) = self.counts.len().checked_sub(1) else { return };
        let mut of_year = vec![0u64; last + 1];
        year.for_each(|bin| of_year[bin.min(last)] += 1);
        let mut up_to = 0u64;
        for ((count, square), here) in self.counts.iter_mut().zip(&mut self.squares).zip(of_year) {
            up_to += here;
            *count = count.wrapping_add(here);
            *square = square.wrapping_add(up_to * up_to);
        }
        self.years = self.years.wrapping_add(u64::from(up_to > 0));
    }

    /// 95 % interval of the quantile `tenths`/10, where `value` gives the value of a bin; none without counts.
    pub(super) fn interval(&self, tenths: u64, value: impl Fn(usize) -> f64) -> Option<[f64; 2]> {
        let total = self.counts.iter().fold(0u64, |sum, c| sum.wrapping_add(*c));
        let last = self.counts.len().checked_sub(1).filter(|_| total > 0 && self.years > 0)?;
        let mut up_to = 0u64;
        let cumulative: Vec<u64> = self
            .counts
            .iter()
            .map(|c| {
                up_to = up_to.wrapping_add(*c);
                up_to
            })
            .collect();
        // Few years know their own spread badly.
        let t = normal_quantile(0.975) / intervals::t_quantile(0.975, (self.years as f64 - 1.0).max(1.0));
        let share = |bin: usize| {
            let share = cumulative[bin] as f64 / total as f64;
            (share, (self.independent(bin, share, total) * t * t).clamp(1.0, total as f64))
        };
        let [lo, hi] = intervals::quantile_bins(last + 1, tenths as f64 / 10.0, (0.95, false), share);
        Some([value(lo.unwrap_or(0)), value(hi.unwrap_or(last))])
    }

    /// How many independent days the share up to a bin is as good as, by the spread between years.
    fn independent(&self, bin: usize, share: f64, total: u64) -> f64 {
        let (years, a_year) = (self.years as f64, total as f64 / self.years as f64);
        let mean = share * a_year;
        let spread = (self.squares[bin] as f64 - years * mean * mean).max(0.0);
        let of_share = spread / ((years - 1.0).max(1.0) * years * a_year * a_year);
        if of_share > 0.0 { share * (1.0 - share) / of_share } else { years }
    }
}

/// The bin of a quantile (P10, P50, P90): the smallest up to which at least `tenths`/10 of all counts lie; none without
/// counts. Computed in integers, so that rounding cannot shift it.
fn quantile_bin(bins: &[u64], tenths: u64) -> Option<usize> {
    let total: u128 = bins.iter().map(|&b| u128::from(b)).sum();
    let mut below = 0u128;
    bins.iter().position(|&b| {
        below += u128::from(b);
        below > 0 && 10 * below >= u128::from(tenths) * total
    })
}

/// The quantile `tenths`/10 of counts, where `value` gives the value of a bin; none without counts.
pub(super) fn quantile(bins: &[u64], tenths: u64, value: impl Fn(usize) -> f64) -> Option<f64> {
    quantile_bin(bins, tenths).map(value)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::seed::{Purpose, open_unit, stream};

    /// Evenings of a year hang together: half of their luck is the year's. 200 seeds, 100 years of 30 evenings.
    #[test]
    fn quantiles_of_days_that_hang_together_are_covered() {
        let minutes = |year: f64, day: f64| (120.0 * (0.6 * year + 0.4 * day)) as usize;
        let mut truth = vec![0u64; 121];
        for k in 0..400 {
            for l in 0..400 {
                truth[minutes((f64::from(k) + 0.5) / 400.0, (f64::from(l) + 0.5) / 400.0)] += 1;
            }
        }
        let mut covered = [0u32; 3];
        for seed in 0..200 {
            let mut rng = stream(32, Purpose::Resample, seed, 0);
            let mut spread = Spread::new(121);
            for _ in 0..100 {
                let year = open_unit(&mut rng);
                spread.push(
                    (0..30).map(|_| minutes(year, open_unit(&mut rng))).collect::<Vec<_>>().into_iter(),
                );
            }
            for (count, tenths) in covered.iter_mut().zip([1u64, 5, 9]) {
                let mut up_to = 0;
                let exact = truth
                    .iter()
                    .position(|c| {
                        up_to += c;
                        10 * up_to >= tenths * 160_000
                    })
                    .expect("a bin");
                let [lo, hi] = spread.interval(tenths, |bin| bin as f64).expect("counts");
                *count += u32::from(lo <= exact as f64 && exact as f64 <= hi);
            }
        }
        println!("P10, P50, P90: {covered:?} of 200");
        // At least 92 %; whole minutes make the intervals a little wider than they need to be.
        assert!(covered.iter().all(|c| (184..=199).contains(c)), "{covered:?}");
    }

    #[test]
    fn one_value_a_year_gives_about_the_limits_by_order_statistics() {
        let mut spread = Spread::new(200);
        for k in 1..=100 {
            spread.push(std::iter::once(k));
        }
        // Exactly, the 40th and the 61st (textbook table).
        let [lo, hi] = spread.interval(5, |bin| bin as f64).expect("counts");
        assert!((40.0..=41.0).contains(&lo) && (60.0..=61.0).contains(&hi), "{lo} {hi}");
    }

    #[test]
    fn years_that_agree_are_still_only_so_many() {
        let mut spread = Spread::new(3);
        (0..20).for_each(|_| spread.push([1usize; 30].into_iter()));
        // In 20 equal years the next may lie elsewhere on one day in ten.
        assert_eq!(spread.interval(9, |bin| bin as f64), Some([1.0, 2.0]));
        assert_eq!(spread.interval(5, |bin| bin as f64), Some([1.0, 1.0]));
        assert_eq!(Spread::new(3).interval(5, |bin| bin as f64), None);
    }
}
