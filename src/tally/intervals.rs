//! Confidence intervals of means and proportions, and what trials without an event tell. Tests that are valid at every
//! trial: [`super::sequential_mean`], [`super::sequential_proportion`].
//!
//! Distribution functions come from `statrs` without its `std` feature, which then uses `libm`: the same
//! bits on every processor.

use crate::units::bisection::bisect;
use crate::units::normal_quantile;
use statrs::distribution::{ContinuousCDF, StudentsT};
use statrs::function::beta::beta_reg;
use std::cell::Cell;

/// An interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Interval {
    /// Lower limit.
    pub lo: f64,
    /// Upper limit.
    pub hi: f64,
}

/// Degrees of freedom from which Student's t is taken for normal: its quantiles then differ by less than 1e-5, and the
/// library's inverse may not end.
const NORMAL_FROM: f64 = 1e6;

thread_local! {
    /// The last quantile of Student's t that was asked for: (p, degrees of freedom, quantile). A summary asks for the same one
    /// hundreds of times.
    static LAST_T: Cell<(f64, f64, f64)> = const { Cell::new((f64::NAN, f64::NAN, f64::NAN)) };
}

/// Quantile of Student's t with `df` > 0 degrees of freedom (infinite: normal).
pub fn t_quantile(p: f64, df: f64) -> f64 {
    let (last_p, last_df, last) = LAST_T.get();
    if (last_p, last_df) == (p, df) {
        return last;
    }
    let t = computed_t_quantile(p, df);
    LAST_T.set((p, df, t));
    t
}

fn computed_t_quantile(p: f64, df: f64) -> f64 {
    match StudentsT::new(0.0, 1.0, df) {
        Ok(t) if df < NORMAL_FROM => {
            // The library's inverse has about ten digits; one Newton step makes it as precise as its cdf.
            let q = t.inverse_cdf(p.clamp(0.0, 1.0));
            let slope = statrs::distribution::Continuous::pdf(&t, q);
            let better = q - (t.cdf(q) - p) / slope;
            if better.is_finite() { better } else { q }
        }
        _ => normal_quantile(p),
    }
}

fn upper_tail(confidence: f64) -> f64 {
    0.5 + 0.5 * confidence
}

/// Wilson's interval (1927) of a proportion, `x` of `n` > 0.
pub fn wilson(x: u64, n: u64, confidence: f64) -> Interval {
    wilson_of_share(x as f64 / n as f64, n as f64, normal_quantile(upper_tail(confidence)))
}

/// The same of a share `p`, 0..=1, known as well as from `n` > 0 independent trials; `z`: half-width in standard errors.
pub(crate) fn wilson_of_share(p: f64, n: f64, z: f64) -> Interval {
    let denominator = 1.0 + z * z / n;
    let centre = (p + z * z / (2.0 * n)) / denominator;
    let half = z * (p * (1.0 - p) / n + z * z / (4.0 * n * n)).sqrt() / denominator;
    // At the ends the limit is 0 or 1 exactly; rounding must not say otherwise.
    Interval {
        lo: if p <= 0.0 { 0.0 } else { (centre - half).max(0.0) },
        hi: if p >= 1.0 { 1.0 } else { (centre + half).min(1.0) },
    }
}

/// Clopper and Pearson's interval (1934) of a proportion, `x` of `n` > 0: covers at least as often as stated.
pub fn clopper_pearson(x: u64, n: u64, confidence: f64) -> Interval {
    let tail = 0.5 - 0.5 * confidence;
    let (x_, n_) = (x as f64, n as f64);
    Interval {
        lo: match x {
            0 => 0.0,
            // All or none: the distribution function is a power.
            _ if x == n => libm::pow(tail, 1.0 / n_),
            _ => beta_quantile(x_, n_ - x_ + 1.0, tail),
        },
        hi: match x {
            _ if x == n => 1.0,
            0 => 1.0 - libm::pow(tail, 1.0 / n_),
            _ => beta_quantile(x_ + 1.0, n_ - x_, 1.0 - tail),
        },
    }
}

/// How far rounding may blur a quantile, as a share of the range that it is looked for in.
pub(super) const BLUR: f64 = 1e-12;

/// Quantile of the beta distribution, from its distribution function `beta_reg`.
fn beta_quantile(a: f64, b: f64, p: f64) -> f64 {
    bisect((0.0, 1.0), (-p, 1.0 - p), (80, BLUR), |x| beta_reg(a, b, x) - p)
}

/// First and last of `bins` that may hold the quantile `p` at this confidence, where `share` gives the share of values up to a
/// bin and the number of independent values it rests on. `None`: even the end of the range may not reach it. `exact`: covers at
/// least as often as said (Clopper and Pearson); else as often on average (mid-P), for numbers that are themselves estimates.
pub(crate) fn quantile_bins(
    bins: usize,
    p: f64,
    (confidence, exact): (f64, bool),
    share: impl Fn(usize) -> (f64, f64),
) -> [Option<usize>; 2] {
    let tail = 0.5 - 0.5 * confidence;
    // Chance of more values below the quantile than were seen, and of as many or more.
    let more = |(share, n): (f64, f64)| {
        if share < 1.0 { beta_reg(share * n + 1.0, n * (1.0 - share), p) } else { 0.0 }
    };
    let as_many = |(share, n): (f64, f64)| {
        if share > 0.0 { beta_reg(share * n, n * (1.0 - share) + 1.0, p) } else { 1.0 }
    };
    let middle = |seen| 0.5 * (more(seen) + as_many(seen));
    // Most bins are far from the quantile: a bound saves their distribution functions.
    let far = -libm::log(0.5 * tail);
    let upper_reaches =
        |seen| !surely_below(seen, p, far) && if exact { more(seen) } else { middle(seen) } <= 1.0 - tail;
    let lower_reaches =
        |seen| !surely_below(seen, p, far) && if exact { as_many(seen) } else { middle(seen) } <= tail;
    let first = (0..bins).find(|&bin| upper_reaches(share(bin)));
    let open_below = first == Some(0) && upper_reaches((0.0, share(0).1));
    [first.filter(|_| !open_below), (0..bins).find(|&bin| lower_reaches(share(bin)))]
}

/// Whether a share is so far below `p` that both chances of [`quantile_bins`] are surely above `1 - exp(-far)`: a beta distribution of
/// parameters a and b is sub-Gaussian with variance proxy 1/(4 (a + b + 1)) (Marchal & Arbel 2017, Electron. Commun. Probab. 22:54).
fn surely_below((share, n): (f64, f64), p: f64, far: f64) -> bool {
    // The larger of the two means: that of `more`.
    let short = p - (share * n + 1.0) / (n + 1.0);
    short > 0.0 && 2.0 * (n + 2.0) * short * short > far
}

/// First and last value that the quantile `p` (0..1) of independent values may have at this confidence, from the counts of 0, 1,
/// 2, …: order statistics, free of any distribution. `None` for an end that so few values do not have.
pub fn quantile_of_counts(counts: &[u64], p: f64, confidence: f64) -> [Option<usize>; 2] {
    let mut up_to = 0u64;
    let cumulative: Vec<f64> = counts
        .iter()
        .map(|&count| {
            up_to = up_to.saturating_add(count);
            up_to as f64
        })
        .collect();
    let total = up_to as f64;
    if total <= 0.0 {
        return [None, None];
    }
    quantile_bins(counts.len(), p, (confidence, true), |bin| (cumulative[bin] / total, total))
}

/// Half-width of the interval of a mean of `n` values with this standard error (Student's t); none for fewer than two.
pub fn half_width(se: Option<f64>, n: u64, confidence: f64) -> Option<f64> {
    let se = se?;
    (n >= 2).then(|| t_quantile(upper_tail(confidence), (n - 1) as f64) * se)
}

/// Welch's interval of the difference of two independent means (first minus second), each given as
/// (mean, standard error, number); none for fewer than two values.
pub(crate) fn welch(first: (f64, f64, u64), second: (f64, f64, u64), confidence: f64) -> Option<Interval> {
    let ((ma, ea, na), (mb, eb, nb)) = (first, second);
    if na < 2 || nb < 2 {
        return None;
    }
    let (va, vb) = (ea * ea, eb * eb);
    let (mean, variance) = (ma - mb, va + vb);
    if variance == 0.0 {
        return Some(Interval { lo: mean, hi: mean });
    }
    // Welch-Satterthwaite.
    let df = variance * variance / (va * va / (na - 1) as f64 + vb * vb / (nb - 1) as f64);
    let half = t_quantile(upper_tail(confidence), df) * variance.sqrt();
    Some(Interval { lo: mean - half, hi: mean + half })
}

/// Number of trials without an event after which its chance is below `p0` at this confidence; both within 0..1.
pub fn trials_without_event(p0: f64, confidence: f64) -> u64 {
    (libm::log1p(-confidence) / libm::log1p(-p0)).ceil() as u64
}

/// Upper limit of the chance of an event that did not occur in `n` > 0 trials, at this confidence: the exact form of the
/// rule of three, 3/n at 95 % (Hanley & Lippman-Hand 1983, JAMA 249:1743).
pub(crate) fn chance_without_event(n: u64, confidence: f64) -> f64 {
    -libm::expm1(libm::log1p(-confidence) / n as f64)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_seen_still_leaves_a_chance() {
        for n in [1, 48, 400, 100_000] {
            let p = chance_without_event(n, 0.95);
            // (1 - p)^n = 5 %, and the rule of three from above.
            assert!((libm::pow(1.0 - p, n as f64) - 0.05).abs() < 1e-9, "{n}");
            assert!(p < 3.0 / n as f64);
        }
        assert_eq!(trials_without_event(chance_without_event(299, 0.95), 0.95), 299);
    }

    #[test]
    fn the_bound_never_calls_a_near_share_far() {
        let tail = 0.025;
        let mut far = 0;
        for n in [1.0, 2.5, 17.3, 96.0, 400.0, 25_000.0] {
            for p in [0.1, 0.5, 0.9] {
                for share in (0..200).map(|k| f64::from(k) / 200.0) {
                    if surely_below((share, n), p, -libm::log(tail)) {
                        far += 1;
                        assert!(
                            beta_reg(share * n + 1.0, n * (1.0 - share), p) > 1.0 - tail,
                            "{share} {n} {p}"
                        );
                    }
                }
            }
        }
        assert!(far > 500, "{far}");
    }
}
