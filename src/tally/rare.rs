//! The interval of a mean of values that are 0 in most years: counts of still days, minutes of a rare cause.
//!
//! Twice the standard error does not cover here: after a hundred years without the event it says ± 0, and after one year with
//! it the error is as large as the mean. Years are the units, because the days of a year hang together. The mean of their
//! values is taken to be gamma distributed (Fay & Feuer 1997, Stat. Med. 16:791-801, the method in short, from memory):
//!
//! - the lower limit from the mean and its variance as seen;
//! - the upper limit after adding one year that nobody has seen, with a large value: twice the size-biased mean of what was
//!   seen, or a week of days where too few years were bad to tell how bad a bad year is.
//!
//! For values of 0 and 1 the limits are close to those of Clopper and Pearson. `tests` hold the coverage.

use super::intervals::{self, Interval};
use crate::units::bisection::bisect;
use crate::units::normal_quantile;
use statrs::function::gamma::gamma_lr;

/// Bad years from which on those seen tell how bad a bad year is. (Own choice.)
const ENOUGH_BAD_YEARS: f64 = 10.0;

/// How many days of a year that nobody has seen are bad, at least, while too few bad years were seen. (Own choice: a week.)
pub(crate) const UNSEEN_DAYS: f64 = 7.0;

/// Chance that the true value lies in an interval of this module.
const CONFIDENCE: f64 = 0.95;

/// What years come to: their number, and mean and variance (divisor n - 1; none for one year) of their values.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Years {
    /// Number of years, at least 1.
    pub n: u64,
    /// Mean of their values.
    pub mean: f64,
    /// Variance of their values.
    pub variance: Option<f64>,
    /// Degrees of freedom of the variance: n - 1, or fewer where something was fitted.
    pub freedom: f64,
    /// Largest value possible.
    pub most: f64,
    /// Value of a bad year that has not been seen (see [`UNSEEN_DAYS`]), in the same unit.
    pub unseen: f64,
}

impl Years {
    /// 95 % interval of the true mean. Holds at both ends of the range: values near `most` are counted from there.
    pub(crate) fn interval(self) -> Interval {
        if self.mean <= 0.5 * self.most {
            return self.counted_up();
        }
        let mirrored = Years { mean: (self.most - self.mean).max(0.0), ..self }.counted_up();
        Interval { lo: self.most - mirrored.hi, hi: self.most - mirrored.lo }
    }

    fn counted_up(self) -> Interval {
        let n = self.n as f64;
        let most = self.most.max(self.mean);
        let unseen = self.unseen.min(most);
        let Some(variance) = self.variance else { return Interval { lo: 0.0, hi: most } };
        if self.mean <= 0.0 {
            return Interval { lo: 0.0, hi: unseen * intervals::clopper_pearson(0, self.n, CONFIDENCE).hi };
        }
        // Mean of squares; the size-biased mean is the mean of the value on a bad day's year.
        let squares = variance * (n - 1.0) / n + self.mean * self.mean;
        let size_biased = squares / self.mean;
        let bad_years = n * self.mean / size_biased;
        let seen = if n * self.mean <= size_biased { size_biased } else { 2.0 * size_biased };
        let added = if bad_years < ENOUGH_BAD_YEARS { seen.max(unseen) } else { seen }.min(most);
        // Few years: the variance is itself uncertain.
        let t = intervals::t_quantile(0.5 + 0.5 * CONFIDENCE, self.freedom)
            / normal_quantile(0.5 + 0.5 * CONFIDENCE);
        let of_mean = variance / n;
        let lo = gamma_limit(self.mean, of_mean * t * t, 0.5 - 0.5 * CONFIDENCE);
        let with_added = self.mean + (added - self.mean) / (n + 1.0);
        let spread = of_mean + (added - self.mean) * (added - self.mean) / ((n + 1.0) * (n + 1.0));
        let hi = gamma_limit(with_added, spread * t * t, 0.5 + 0.5 * CONFIDENCE);
        Interval { lo: lo.min(self.mean), hi: hi.max(self.mean).min(most) }
    }
}

/// Quantile `p` of the gamma distribution with this mean and variance.
fn gamma_limit(mean: f64, variance: f64, p: f64) -> f64 {
    if variance <= 0.0 {
        return mean;
    }
    let shape = mean * mean / variance;
    mean / shape * gamma_quantile(shape, p)
}

/// Quantile of the gamma distribution of scale 1. Above a shape of 100 by Wilson and Hilferty's cube (1931, PNAS 17:684),
/// which is then good to five digits; below from its distribution function.
fn gamma_quantile(shape: f64, p: f64) -> f64 {
    let ninth = 1.0 / (9.0 * shape);
    let root = 1.0 - ninth + normal_quantile(p) * ninth.sqrt();
    let cube = shape * root * root * root;
    if shape > 100.0 {
        return cube;
    }
    let mut most = 1.0f64.max(2.0 * cube);
    while gamma_lr(shape, most) < p {
        most *= 2.0;
    }
    let ends = (-p, gamma_lr(shape, most) - p);
    bisect(
        (0.0, most),
        ends,
        (60, intervals::BLUR * most),
        |x| {
            if x > 0.0 { gamma_lr(shape, x) - p } else { -p }
        },
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::seed::{Purpose, open_unit, stream};
    use crate::tally::Moments;

    fn interval(values: impl IntoIterator<Item = f64>, most: f64) -> Interval {
        let mut m = Moments::default();
        values.into_iter().for_each(|v| m.push(v));
        let (mean, variance) = (m.mean().expect("values"), m.variance());
        Years { n: m.n(), mean, variance, freedom: m.n() as f64 - 1.0, most, unseen: UNSEEN_DAYS }.interval()
    }

    /// Days of a bad year, from a number in 0..1.
    type Bad = fn(f64) -> f64;
    const KINDS: [(&str, Bad); 4] = [
        ("one day", |_| 1.0),
        ("spells of two on average", |u| (libm::log(u) / libm::log(0.5)).ceil().clamp(1.0, 30.0)),
        ("spells of five on average", |u| (libm::log(u) / libm::log(0.8)).ceil().clamp(1.0, 30.0)),
        ("always a week", |_| 7.0),
    ];

    /// How many of 400 seeds cover the truth at 100 trials.
    fn covered(bad: Bad, p: f64) -> u32 {
        let exact = (0..200_000).map(|k| bad((f64::from(k) + 0.5) / 200_000.0)).sum::<f64>() / 200_000.0;
        (0..400)
            .map(|seed| {
                let mut rng = stream(31, Purpose::Resample, seed, (p * 1000.0) as u64);
                let values = std::iter::repeat_with(|| {
                    let (is_bad, how) = (open_unit(&mut rng) < p, open_unit(&mut rng));
                    if is_bad { bad(how) } else { 0.0 }
                });
                let i = interval(values.take(100), 30.0);
                u32::from(i.lo <= p * exact && p * exact <= i.hi)
            })
            .sum()
    }

    #[test]
    fn means_of_rare_days_are_covered() {
        for (name, bad) in KINDS {
            for p in [0.001, 0.005, 0.01, 0.02, 0.03, 0.05, 0.1, 0.2, 0.5, 0.9] {
                let covered = covered(bad, p);
                println!("{name}, in {p} of years: {:.1} %", f64::from(covered) / 4.0);
                assert!(covered >= 368, "{name}, {p}: {covered} of 400");
                // Where every other year is bad, no more than 98 %.
                assert!(p < 0.5 || covered <= 392, "{name}, {p}: {covered} of 400");
            }
        }
    }

    /// What no method can know without a bound: that one bad year in seven, itself one in ten, is ten times as bad.
    #[test]
    fn a_bad_year_far_worse_than_those_seen_is_covered_less() {
        let worse: Bad = |u| if u < 0.85 { 1.0 } else { (8.0 + (u - 0.85) * 80.0).floor() };
        for (p, least) in [(0.01, 368), (0.03, 368), (0.1, 300), (0.2, 360), (0.5, 368)] {
            let covered = covered(worse, p);
            println!(
                "mostly one day, at times two weeks, in {p} of years: {:.1} %",
                f64::from(covered) / 4.0
            );
            assert!(covered >= least, "{p}: {covered}");
        }
    }

    #[test]
    fn limits_of_a_count_of_years_are_close_to_the_exact_ones() {
        for (x, n) in [(0u32, 100u32), (12, 100), (50, 100), (20, 400), (0, 400), (100, 100), (388, 400)] {
            let ours = interval((0..n).map(|k| f64::from(u8::from(k < x))), 1.0);
            let exact = intervals::clopper_pearson(x.into(), n.into(), 0.95);
            println!("{x} of {n}: {ours:?}, exact {exact:?}");
            let off = (ours.lo - exact.lo).abs().max((ours.hi - exact.hi).abs());
            assert!(off < 0.1 * (exact.hi - exact.lo) + 1e-9, "{x} of {n}: {ours:?} {exact:?}");
        }
    }

    #[test]
    fn an_interval_holds_its_mean_and_stays_within_the_range() {
        arbtest::arbtest(|u| {
            let most = f64::from(u.int_in_range(1..=214u16)?);
            let n = u.int_in_range(1..=40usize)?;
            let values: Vec<f64> = (0..n)
                .map(|_| Ok(f64::from(u.arbitrary::<u8>()?) / 255.0 * most))
                .collect::<Result<_, _>>()?;
            let mean = values.iter().sum::<f64>() / n as f64;
            let i = interval(values, most);
            assert!(
                0.0 <= i.lo && i.lo <= mean + 1e-6 && mean <= i.hi + 1e-6 && i.hi <= most + 1e-9,
                "{i:?} {mean} {most}"
            );
            Ok(())
        });
        assert_eq!(interval([3.0], 30.0), Interval { lo: 0.0, hi: 30.0 });
    }

    #[test]
    fn quantiles_of_the_gamma_distribution() {
        // A shape of 1 is the exponential distribution; beyond 100 the cube takes over.
        assert!((gamma_quantile(1.0, 0.975) + libm::log(0.025)).abs() < 1e-9);
        for shape in [99.9, 300.0, 20_000.0] {
            for p in [0.025, 0.975] {
                let q = gamma_quantile(shape, p);
                assert!((gamma_lr(shape, q) - p).abs() < 1e-5, "{shape} {p}: {}", gamma_lr(shape, q));
            }
        }
    }
}
