//! Control variates: the means of still days, corrected by what is known of the trials they were seen in.
//!
//! Of every trial it is known how dull its season was ([`DullLight`](crate::weather::DullLight)) and how its parts turned out (the normal
//! number behind each uncertain quantity), and the mean of both over all years is known without simulating: it is taken off before, so that
//! every control has the mean 0. Trials that happen to be duller than the mean have more still days; the regression of still days on the
//! controls tells how many, and they are taken off (Glasserman 2003, Monte Carlo Methods in Financial Engineering, section 4.1.2; regression
//! estimator: Cochran 1977, Sampling Techniques, chapter 7; both from memory).
//!
//! All months take the same controls, and a regression is linear in its result: the months of the correction add up to that of the season.

use super::codec::tally_field;
use super::estimate::Estimate;
use super::fixed_point::{STEPS_PER_UNIT, steps};
use super::rare::{UNSEEN_DAYS, Years};
use super::season_layout::SeasonLayout;
use crate::units::normal_quantile;
use crate::weather::DULL_LEVELS;

/// What is known of a trial beside its days.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Known<'a> {
    /// The uniform draw (0..1) of each uncertain quantity, in the order of [`SeasonLayout::unknown`].
    pub unknowns_u: &'a [f64],
    /// What its season's light lacked beyond the mean of all years, kWh/m².
    pub dull_light: [f64; DULL_LEVELS],
}

/// Sums over trials of the controls, of their products, and of their products with the still days of each month.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Controls {
    n: u64,
    /// By control: dull light, then the parts.
    x: Vec<i128>,
    /// Rows of the lower triangle.
    xx: Vec<i128>,
    /// By month: its still days, their squares are in the histogram; products with the controls.
    xy: Vec<Vec<i128>>,
}
tally_field!(Controls { n, x, xx, xy });

/// Trials for each control (and the mean) from which parts are controls, too; with fewer, the noise of so many slopes costs more than they
/// take off. (Own choice.)
const TRIALS_A_CONTROL: u64 = 6;
/// The same where dull light alone is the control. (Own choice.)
const TRIALS_A_LEVEL: u64 = 12;
/// Trials with a still day from which means are corrected: below, what little was seen is no straight line. (Own choice.)
const TRIALS_WITH_STILL_DAYS: u64 = 20;
/// Share of a control's spread that the others must leave: else it says nothing of its own.
const OWN_SPREAD: f64 = 1e-9;

/// What means of still days are corrected by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum CorrectedBy {
    /// There are too few trials, or too few with a still day.
    Nothing,
    /// How dull the seasons were.
    DullLight,
    /// That, and how the parts turned out.
    All,
}

/// A mean after correction.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Corrected {
    /// The mean.
    pub mean: f64,
    /// Variance of the mean times the number of trials: what the variance over trials would be without correction.
    pub variance: f64,
    /// Degrees of freedom of that variance.
    pub freedom: f64,
}

impl Corrected {
    /// As a number of days of 0..=`most` over `n` trials; `None` where the correction leaves that range.
    pub fn days(self, n: u64, most: f64) -> Option<Estimate> {
        let Corrected { mean, variance, freedom } = self;
        let i = Years { n, mean, variance: Some(variance), freedom, most, unseen: UNSEEN_DAYS }.interval();
        let se = Some((variance / n as f64).sqrt());
        (mean > 0.0 && mean < most).then_some(Estimate { mean, se, interval_95: Some([i.lo, i.hi]) })
    }
}

impl Controls {
    /// Without trials.
    pub fn new(layout: &SeasonLayout) -> Controls {
        let p = layout.controls();
        Controls {
            n: 0,
            x: vec![0; p],
            xx: vec![0; p * (p + 1) / 2],
            xy: vec![vec![0; p]; layout.months.len()],
        }
    }

    /// Adds a trial and its still days by month.
    pub fn push(&mut self, layout: &SeasonLayout, known: &Known<'_>, still_days: impl Iterator<Item = u32>) {
        let weather = known.dull_light.iter().copied().filter(|_| layout.weather_drawn);
        let parts = known.unknowns_u.iter().map(|u| normal_quantile(*u)).filter(|_| layout.parts_drawn);
        let q: Vec<i128> = weather.chain(parts).map(|x| i128::from(steps(x))).collect();
        self.n = self.n.wrapping_add(1);
        let mut products = self.xx.iter_mut();
        for (i, a) in q.iter().enumerate() {
            self.x[i] = self.x[i].wrapping_add(*a);
            for (b, sum) in q[..=i].iter().zip(&mut products) {
                *sum = sum.wrapping_add(a * b);
            }
        }
        for (sums, days) in self.xy.iter_mut().zip(still_days) {
            for (sum, a) in sums.iter_mut().zip(&q) {
                *sum = sum.wrapping_add(a * i128::from(days));
            }
        }
    }

    /// What a mean of so many trials is corrected by, `still` of which had a still day.
    pub fn by(&self, still: u64) -> CorrectedBy {
        match self.carried(still) {
            0 => CorrectedBy::Nothing,
            p if p == self.x.len() => CorrectedBy::All,
            _ => CorrectedBy::DullLight,
        }
    }

    /// How many controls so many trials carry, `still` of which had a still day.
    fn carried(&self, still: u64) -> usize {
        let (all, levels) = (self.x.len(), self.x.len().min(DULL_LEVELS));
        let enough = |controls: usize, each: u64| self.n >= each * (controls as u64 + 1);
        match still >= TRIALS_WITH_STILL_DAYS {
            true if enough(all, TRIALS_A_CONTROL) => all,
            true if enough(levels, TRIALS_A_LEVEL) => levels,
            _ => 0,
        }
    }

    /// The regression of these trials; `None` where they are too few. `still`: trials with a still day.
    pub fn regression(&self, still: u64) -> Option<Regression<'_>> {
        self.fit((0..self.carried(still)).collect())
    }

    /// The regression on some of the controls; `None` for none.
    fn fit(&self, columns: Vec<usize>) -> Option<Regression<'_>> {
        let whole = self.xx.len() == self.x.len() * (self.x.len() + 1) / 2;
        if columns.is_empty() || !whole {
            return None;
        }
        let n = self.n as f64;
        let mean: Vec<f64> = columns.iter().map(|k| self.x[*k] as f64 / STEPS_PER_UNIT / n).collect();
        let at = |i: usize, j: usize| {
            let (row, column) = (columns[i].max(columns[j]), columns[i].min(columns[j]));
            let sum = self.xx[row * (row + 1) / 2 + column] as f64 / (STEPS_PER_UNIT * STEPS_PER_UNIT);
            sum - n * mean[i] * mean[j]
        };
        let mut factor =
            Factor { rows: Vec::with_capacity(mean.len()), kept: Vec::with_capacity(mean.len()) };
        for i in 0..mean.len() {
            factor.add(&(0..=i).map(|j| at(i, j)).collect::<Vec<_>>());
        }
        let away = factor.forward(&mean);
        Some(Regression { sums: self, columns, mean, factor, away })
    }

    /// Sum over trials of a control (in its steps) times the still days of a month (its place in the season), or of all together.
    fn product(&self, month: Option<usize>, control: usize) -> Option<f64> {
        let months = match month {
            Some(m) => std::slice::from_ref(self.xy.get(m)?),
            None => &self.xy[..],
        };
        months.iter().map(|xy| Some(*xy.get(control)? as f64)).sum()
    }

    /// What is left of a difference of still days in the same trials (of `other` less these), once what both have in common is taken off: how
    /// dull the seasons were and, where `parts` are controls of both, the parts that both have. `months` are the place of a month in both;
    /// `None`: all. `mean` and `variance` are those of the differences.
    pub fn of_difference(
        &self,
        other: &Controls,
        (parts, months): (&[[usize; 2]], Option<[usize; 2]>),
        mean: f64,
        variance: f64,
    ) -> Option<Corrected> {
        let levels = (0..self.x.len().min(other.x.len()).min(DULL_LEVELS)).map(|k| [k; 2]);
        let shared: Vec<[usize; 2]> = levels.chain(parts.iter().copied()).collect();
        let regression = self.fit(shared.iter().map(|[own, _]| *own).collect())?;
        let [first, second] = months.map_or([None; 2], |both| both.map(Some));
        let products: Option<Vec<f64>> = shared
            .iter()
            .map(|[own, others]| Some(other.product(second, *others)? - self.product(first, *own)?))
            .collect();
        regression.left(&products?, mean, variance)
    }
}

/// The triangular root of the controls' sums of squares (Cholesky); controls that say nothing of their own are left out.
struct Factor {
    rows: Vec<Vec<f64>>,
    kept: Vec<bool>,
}

impl Factor {
    /// Adds a control: its products with those before it and with itself.
    fn add(&mut self, products: &[f64]) {
        let i = self.rows.len();
        let mut row = self.forward(&products[..i]);
        let own = products[i] - row.iter().map(|v| v * v).sum::<f64>();
        let kept = own > OWN_SPREAD * products[i] && own > 0.0;
        row.push(if kept { own.sqrt() } else { 1.0 });
        self.rows.push(row);
        self.kept.push(kept);
    }

    /// Solves the root times y for a vector; 0 for controls left out.
    fn forward(&self, v: &[f64]) -> Vec<f64> {
        let mut y: Vec<f64> = Vec::with_capacity(v.len());
        for ((row, kept), v) in self.rows.iter().zip(&self.kept).zip(v) {
            let before: f64 = row.iter().zip(&y).map(|(a, b)| a * b).sum();
            let i = y.len();
            y.push(if *kept { (v - before) / row[i] } else { 0.0 });
        }
        y
    }
}

/// Still days as a straight line of some controls.
pub(super) struct Regression<'a> {
    sums: &'a Controls,
    /// Which controls.
    columns: Vec<usize>,
    mean: Vec<f64>,
    factor: Factor,
    /// Means of the controls in the coordinates in which they are independent.
    away: Vec<f64>,
}

impl Regression<'_> {
    /// The mean of one month (its place in the season), or of all together, corrected. `mean` and `variance` are those of the trials.
    pub fn corrected(&self, month: Option<usize>, mean: f64, variance: f64) -> Option<Corrected> {
        let products: Option<Vec<f64>> = self.columns.iter().map(|k| self.sums.product(month, *k)).collect();
        self.left(&products?, mean, variance)
    }

    /// A mean of so many trials once what goes with the controls is taken off. `products`: sums over trials of the value times each control, in
    /// steps of the control.
    fn left(&self, products: &[f64], mean: f64, variance: f64) -> Option<Corrected> {
        let n = self.sums.n as f64;
        let spread = products.iter().zip(&self.mean).map(|(sum, x)| sum / STEPS_PER_UNIT - n * x * mean);
        let y = self.factor.forward(&spread.collect::<Vec<_>>());
        let controls = self.factor.kept.iter().filter(|kept| **kept).count() as f64;
        let freedom = n - 1.0 - controls;
        let explained: f64 = y.iter().map(|v| v * v).sum();
        let left = ((n - 1.0) * variance - explained).max(0.0) / freedom;
        let slope: f64 = y.iter().zip(&self.away).map(|(a, b)| a * b).sum();
        let away: f64 = self.away.iter().map(|v| v * v).sum();
        (freedom > 0.0).then_some(Corrected {
            mean: mean - slope,
            variance: left * (1.0 + n * away),
            freedom,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::seed::{Purpose, open_unit, stream};
    use crate::tally::tests::layout;
    use rand::rngs::ChaCha8Rng;

    fn normal(rng: &mut ChaCha8Rng) -> f64 {
        normal_quantile(open_unit(rng))
    }

    /// A trial: light with a mean of 0, two parts, and still days of two months.
    struct Drawn {
        dull_light: [f64; DULL_LEVELS],
        unknowns_u: [f64; 2],
        still_days: [u32; 2],
    }

    /// Sums, and mean and variance of the still days of each month and of all.
    fn taken(trials: &[Drawn]) -> (Controls, [(f64, f64); 3]) {
        let layout = layout();
        let mut sums = Controls::new(&layout);
        for t in trials {
            let known = Known { unknowns_u: &t.unknowns_u, dull_light: t.dull_light };
            sums.push(&layout, &known, t.still_days.into_iter());
        }
        let of = |value: &dyn Fn(&Drawn) -> f64| {
            let n = trials.len() as f64;
            let mean = trials.iter().map(value).sum::<f64>() / n;
            let squares: f64 = trials.iter().map(|t| (value(t) - mean) * (value(t) - mean)).sum();
            (mean, squares / (n - 1.0))
        };
        let month = |m: usize| of(&move |t: &Drawn| f64::from(t.still_days[m]));
        (sums, [month(0), month(1), of(&|t| f64::from(t.still_days.iter().sum::<u32>()))])
    }

    /// Still days that follow from the light alone: the correction gives the true mean, without an error.
    #[test]
    fn a_straight_line_is_known_exactly() {
        let trial = |k: u32| {
            let x = f64::from(k % 7) - 2.0;
            let dull_light = [x, 0.0, f64::from(k % 5)];
            Drawn { dull_light, unknowns_u: [0.5; 2], still_days: [(4.0 + 2.0 * x) as u32, 3] }
        };
        let trials: Vec<Drawn> = (0..100).map(trial).collect();
        let (sums, [april, _, all]) = taken(&trials);
        let regression = sums.regression(100).expect("enough trials");
        assert!(april.0 > 5.8, "{april:?}");
        for (month, seen, truth) in [(Some(0), april, 4.0), (None, all, 7.0)] {
            let c = regression.corrected(month, seen.0, seen.1).expect("a mean");
            assert!((c.mean - truth).abs() < 1e-6 && c.variance < 1e-6, "{c:?}");
            // A level that never varies and parts that all are as labelled are no controls.
            assert_eq!(c.freedom, 97.0);
        }
    }

    #[test]
    fn few_trials_and_rare_days_are_left_as_they_were() {
        let trial = |k: u32| Drawn {
            dull_light: [f64::from(k), 1.0, 2.0],
            unknowns_u: [0.3; 2],
            still_days: [k % 3, 0],
        };
        let sums = |n| taken(&(0..n).map(trial).collect::<Vec<_>>()).0;
        assert!(sums(30).regression(30).is_none());
        assert!(sums(100).regression(19).is_none());
        assert_eq!(sums(48).carried(20), 5);
        assert!(sums(100).carried(60) == 5 && sums(100).regression(60).is_some());
    }

    /// Of 1,000 seeds: the corrected interval covers the true mean in 93 to 98 %, and is less than two thirds as wide; months add up.
    #[test]
    fn corrected_means_cover_and_months_add_up() {
        for n in [64usize, 400] {
            let (mut covered, mut narrower) = (0, 0.0);
            for seed in 0..1000 {
                let mut rng = stream(9, Purpose::Resample, seed, n as u64);
                let mut trial = || {
                    let [a, b, c, luck] = [(); 4].map(|()| normal(&mut rng));
                    let parts = [(); 2].map(|()| open_unit(&mut rng));
                    let days = 6.0 + 2.0 * a + 0.5 * b + normal_quantile(parts[0]) + 0.7 * luck;
                    // Rounded by chance, so that the mean stays 6 (less than 0.2 % of the values are below 0).
                    let whole = |x: f64, rng: &mut ChaCha8Rng| (x.max(0.0) + open_unit(rng)).floor() as u32;
                    let days = [0.3, 0.7].map(|share| whole(share * days, &mut rng));
                    Drawn { dull_light: [a, b, c], unknowns_u: parts, still_days: days }
                };
                let trials: Vec<Drawn> = (0..n).map(|_| trial()).collect();
                let (sums, seen) = taken(&trials);
                let regression = sums.regression(n as u64).expect("enough trials");
                let [april, may, all] = [Some(0), Some(1), None]
                    .into_iter()
                    .zip(seen)
                    .map(|(m, (mean, variance))| regression.corrected(m, mean, variance).expect("a mean"))
                    .collect::<Vec<_>>()[..]
                else {
                    unreachable!()
                };
                assert!((april.mean + may.mean - all.mean).abs() < 1e-9);
                let e = all.days(n as u64, 61.0).expect("in range");
                let [lo, hi] = e.interval_95.expect("an interval");
                covered += u32::from(lo <= 6.0 && 6.0 <= hi);
                narrower += (all.variance / seen[2].1).sqrt() / 1000.0;
            }
            println!("{n} trials: {covered} of 1000, {narrower:.2} as wide");
            assert!((930..=985).contains(&covered) && narrower < 0.67, "{n}: {covered}, {narrower}");
        }
    }

    /// The difference of two designs that share the light and one of their parts, over 1,000 seeds: covered in 93 to 98 %, and half as wide as that
    /// of the trials. A second part of each is its own.
    #[test]
    fn corrected_differences_cover() {
        let n = 400u32;
        let (mut covered, mut narrower) = (0, 0.0);
        for seed in 0..1000 {
            let mut rng = stream(10, Purpose::Resample, seed, 0);
            let mut both: [Vec<Drawn>; 2] = [Vec::new(), Vec::new()];
            for _ in 0..n {
                let light = [(); 3].map(|()| normal(&mut rng));
                let [shared, own, other] = [(); 3].map(|()| open_unit(&mut rng));
                let luck = normal(&mut rng);
                let mut design = |mean: f64, slope: f64, second: f64| {
                    let days = mean
                        + slope * (light[0] + normal_quantile(shared))
                        + 0.3 * normal_quantile(second)
                        + 0.5 * luck;
                    let whole = (days.max(0.0) + open_unit(&mut rng)).floor() as u32;
                    Drawn { dull_light: light, unknowns_u: [shared, second], still_days: [whole, 0] }
                };
                let [a, b] = [design(9.0, 1.0, own), design(7.0, 1.8, other)];
                both[0].push(a);
                both[1].push(b);
            }
            let differences: Vec<f64> = both[0]
                .iter()
                .zip(&both[1])
                .map(|(a, b)| f64::from(b.still_days[0]) - f64::from(a.still_days[0]))
                .collect();
            let mean = differences.iter().sum::<f64>() / f64::from(n);
            let variance =
                differences.iter().map(|d| (d - mean) * (d - mean)).sum::<f64>() / (f64::from(n) - 1.0);
            let [(first, _), (second, _)] = both.map(|trials| taken(&trials));
            let shared = [[DULL_LEVELS, DULL_LEVELS]];
            let c = first.of_difference(&second, (&shared, Some([0, 0])), mean, variance).expect("a mean");
            covered += u32::from((c.mean + 2.0).abs() < 1.966 * (c.variance / f64::from(n)).sqrt());
            narrower += (c.variance / variance).sqrt() / 1000.0;
        }
        println!("{covered} of 1000, {narrower:.2} as wide");
        assert!((930..=980).contains(&covered) && narrower < 0.67, "{covered} {narrower}");
    }
}
