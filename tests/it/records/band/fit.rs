//! Errors of cases against the record's own years, what they come to by kind of file and store, and whether ranges cover.

use super::cases::Kind;
use super::{Answer, LEVELS, STORES};
use std::collections::BTreeMap;
use stilldays::tally::input_range;
use stilldays::tally::summary::Estimate;
use stilldays::weather::input::InputError;

/// One build under one set of files.
#[derive(Clone, Debug)]
pub struct Case {
    pub record: String,
    pub group: String,
    pub weight: f64,
    /// Kind and number of files.
    pub files: (Kind, usize),
    /// Years of the record that the files know.
    pub known: Vec<usize>,
    pub build: usize,
    pub answer: Answer,
}

/// The true answer of each build in each year of each record.
pub type Truth = BTreeMap<(String, usize), Vec<Answer>>;

/// What a case is held against.
pub struct Held {
    /// Error of the square root of still days a month against all years, and against those the files do not know.
    whole: f64,
    others: Option<f64>,
    /// Variance of one year's root, of the case's own trials, and numbers of years: all, known, other.
    year_var: f64,
    own_var: f64,
    years: [f64; 3],
    /// Natural logarithm of the mean dusk run over the true one; none where that is short.
    dusk: Option<f64>,
    other_mean: f64,
}

/// Still days a month below which a root says nothing.
const LEAST: f64 = 0.02;
/// Mean dusk run from which its error is taken as a share, min.
const DUSK_MIN: f64 = 20.0;

fn mean(v: &[f64]) -> f64 {
    v.iter().sum::<f64>() / v.len().max(1) as f64
}

impl Case {
    pub fn store(&self) -> usize {
        self.build % STORES
    }

    /// `None` where there are hardly any still days.
    pub fn held(&self, truth: &Truth) -> Option<Held> {
        let years = &truth[&(self.record.clone(), self.build)];
        let still: Vec<f64> = years.iter().map(|a| a.still).collect();
        let (n, all) = (still.len() as f64, mean(&still));
        if all < LEAST {
            return None;
        }
        let other: Vec<f64> =
            (0..still.len()).filter(|y| !self.known.contains(y)).map(|y| still[y]).collect();
        let var = still.iter().map(|s| (s - all) * (s - all)).sum::<f64>() / (n - 1.0);
        let root = self.answer.still.sqrt();
        let dusk = mean(&years.iter().map(|a| a.dusk_min).collect::<Vec<_>>());
        let left = if other.is_empty() { still.len() } else { other.len() };
        Some(Held {
            whole: root - all.sqrt(),
            others: (!other.is_empty()).then(|| root - mean(&other).sqrt()),
            year_var: var / (4.0 * all),
            own_var: self.answer.still_se * self.answer.still_se / (4.0 * self.answer.still.max(LEAST)),
            years: [n, if self.files.0 == Kind::Real { self.known.len() as f64 } else { 0.0 }, left as f64],
            dusk: (dusk >= DUSK_MIN).then(|| libm::log(self.answer.dusk_min.max(0.1) / dusk)),
            other_mean: if other.is_empty() { all } else { mean(&other) },
        })
    }
}

/// Standard deviations of the errors of these cases: of the root of still days, and of the dusk run as a share.
pub fn errors<'a>(cases: impl Iterator<Item = &'a Case>, truth: &Truth) -> (f64, f64) {
    let (mut root, mut dusk) = ([0.0; 2], [0.0; 2]);
    for (case, held) in cases.filter_map(|c| Some((c, c.held(truth)?))) {
        let w = case.weight;
        let [n, known, other] = held.years;
        let (weight, square) = match (case.files.0, held.others) {
            // Years that the files know are part of the record they are held against.
            (Kind::Real, _) => (w, (held.whole * held.whole - held.own_var) / (1.0 - known / n)),
            (_, Some(e)) => (w * other, e * e - held.year_var / other - held.own_var),
            (Kind::Invented, None) => (w, held.whole * held.whole - held.own_var - held.year_var / n),
            (Kind::Typical, None) => (0.0, 0.0),
        };
        root = [root[0] + weight * square, root[1] + weight];
        if let Some(d) = held.dusk {
            dusk = [dusk[0] + w * d * d, dusk[1] + w];
        }
    }
    let sd = |[sum, all]: [f64; 2]| if all > 0.0 { (sum / all).max(0.0).sqrt() } else { f64::NAN };
    (sd(root), sd(dusk))
}

/// Whether the range that would be shown for a case holds the mean of the years it does not know, whose own error widens it.
pub fn covered(case: &Case, truth: &Truth, root_still: f64) -> Option<bool> {
    let held = case.held(truth)?;
    let wide = (root_still * root_still + held.year_var / held.years[2]).sqrt();
    let error = InputError { root_still: wide, dusk_run: 0.0, years: 0.0 };
    let still = Estimate::new(case.answer.still, Some(case.answer.still_se));
    let [low, high] = input_range::still_days(still, error);
    Some((low..=high).contains(&held.other_mean))
}

/// Standard deviation of the normal quantile of shares of good years: the one that makes the good years of the records, years
/// that the files do not know, most likely.
pub fn years_error<'a>(cases: impl Iterator<Item = &'a Case>, truth: &Truth) -> f64 {
    let counts: Vec<(f64, f64, f64, f64)> = cases.filter_map(|c| good_years(c, truth)).collect();
    let nodes: Vec<(f64, f64)> =
        (-8..=8).map(|i| (0.5 * f64::from(i), libm::exp(-0.125 * f64::from(i * i)))).collect();
    let likelihood = |e: f64| -> f64 {
        counts
            .iter()
            .map(|&(share, good, years, weight)| {
                let z = stilldays::units::normal_quantile((share * 32.0 + 0.5) / 33.0);
                let slope = 0.398_942 * libm::exp(-0.5 * z * z);
                let own = (share * (1.0 - share)).max(0.02) / 32.0 / (slope * slope);
                let sd = (e * e + own).sqrt();
                let sum: f64 = nodes
                    .iter()
                    .map(|(x, w)| {
                        let p = 0.5 * libm::erfc(-(z + sd * x) * std::f64::consts::FRAC_1_SQRT_2);
                        let p = p.clamp(1e-6, 1.0 - 1e-6);
                        w * libm::exp(good * libm::log(p) + (years - good) * libm::log(1.0 - p))
                    })
                    .sum();
                weight * libm::log(sum.max(1e-300))
            })
            .sum()
    };
    let tried = (0..=60).map(|i| 0.025 * f64::from(i));
    tried.max_by(|a, b| likelihood(*a).total_cmp(&likelihood(*b))).unwrap_or(f64::NAN)
}

/// Sampled share of good years, good years among those the files do not know, their number, weight: by the wish whose share
/// is nearest to 80 %.
fn good_years(case: &Case, truth: &Truth) -> Option<(f64, f64, f64, f64)> {
    let years = &truth[&(case.record.clone(), case.build)];
    let off = |w: &usize| (case.answer.good[*w] - 0.8).abs();
    let fits = |w: &usize| (0.3..=0.97).contains(&case.answer.good[*w]);
    let w = (1..case.answer.good.len()).filter(fits).min_by(|a, b| off(a).total_cmp(&off(b)))?;
    let known = |y: &usize| case.known.contains(y) && case.known.len() < years.len();
    let other: Vec<usize> = (0..years.len()).filter(|y| !known(y)).collect();
    let good: f64 = other.iter().map(|&y| years[y].good[w]).sum();
    Some((case.answer.good[w], good, other.len() as f64, case.weight))
}

/// Share of cases covered, with errors from the cases of all other groups, by a key of the case.
pub fn coverage(cases: &[Case], truth: &Truth, key: impl Fn(&Case) -> String) -> BTreeMap<String, [f64; 2]> {
    let mut out: BTreeMap<String, [f64; 2]> = BTreeMap::new();
    let mut known: BTreeMap<(String, (Kind, usize), usize), f64> = BTreeMap::new();
    for case in cases {
        let of = (case.group.clone(), case.files, case.store());
        let e = *known.entry(of).or_insert_with(|| {
            let like =
                |c: &&Case| c.group != case.group && c.files == case.files && c.store() == case.store();
            errors(cases.iter().filter(like), truth).0
        });
        if let Some(covered) = covered(case, truth, e) {
            let s = out.entry(key(case)).or_default();
            *s = [s[0] + case.weight * f64::from(u8::from(covered)), s[1] + case.weight];
        }
    }
    out
}

/// Level of a build, for people.
pub fn level(build: usize) -> String {
    format!("{} a month", LEVELS[build / STORES])
}
