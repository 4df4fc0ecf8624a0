//! Which unknown to measure, in a sentence: one is named only if it leads after all comparisons.

use super::names::key_in_words;
use crate::report::number::{self, NOT_COMPUTABLE};
use crate::tally::summary::Estimate;
use crate::units::normal_quantile;

/// Share of the spread below which a quantity is not worth a meter.
const LEAST: f64 = 0.02;
/// Chance that a quantity is named although another leads, or although it has no share at all.
const WRONG: f64 = 0.05;
/// Names that a sentence holds.
const NAMED: usize = 3;

/// What to measure for `of` ("still days"): the quantities with their shares, largest first.
pub(crate) fn leading(of: &str, parts: &[(&str, Estimate)]) -> String {
    let Some(&(first, share)) = parts.first() else {
        return format!("For {of} the shares are {NOT_COMPUTABLE}");
    };
    // The largest of many noisy shares is large by chance: each is compared at its part of the error rate (Bonferroni).
    let z = normal_quantile(1.0 - WRONG / parts.len() as f64);
    let error = |e: Estimate| e.se.unwrap_or(0.0);
    if share.mean < LEAST || share.mean < z * error(share) {
        return format!("For {of}, no part clearly accounts for any of the spread");
    }
    let beside = |e: Estimate| {
        let apart = z * (error(share) * error(share) + error(e) * error(e)).sqrt();
        e.mean > LEAST && share.mean - e.mean < apart
    };
    let also: Vec<String> = parts[1..]
        .iter()
        .filter(|(_, e)| beside(*e))
        .map(|(key, _)| format!("the {}", key_in_words(key)))
        .collect();
    if also.is_empty() {
        return format!(
            "For {of}, measure the {} first: it accounts for {} of the spread",
            key_in_words(first),
            number::percent_estimate(share, "±")
        );
    }
    if also.len() >= NAMED {
        return format!("For {of}, several parts have a share; more trials would tell which leads");
    }
    format!(
        "For {of}, the {} or {} leads; more trials would tell which",
        key_in_words(first),
        also.join(" or ")
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand_distr::{Distribution, Normal};

    fn est(mean: f64, se: f64) -> Estimate {
        Estimate::new(mean, Some(se))
    }

    #[test]
    fn one_is_named_only_if_it_leads() {
        let clear =
            leading("still days", &[("pump.bench", est(0.4, 0.03)), ("battery.capacity", est(0.1, 0.02))]);
        assert!(clear.contains("measure the bench of the pump first"), "{clear}");
        let close =
            leading("still days", &[("pump.bench", est(0.2, 0.04)), ("battery.capacity", est(0.17, 0.04))]);
        assert!(close.contains("bench of the pump or the capacity of the battery"), "{close}");
        let none =
            leading("still days", &[("pump.bench", est(0.05, 0.04)), ("battery.capacity", est(0.03, 0.04))]);
        assert!(none.contains("no part clearly"), "{none}");
        assert!(leading("still days", &[]).contains(NOT_COMPUTABLE));
    }

    /// Of 1,000 runs with 34 quantities none of which has a share, hardly any names one; with a true leader hardly any names another.
    #[test]
    fn chance_alone_names_nothing() {
        let mut rng = crate::seed::stream(5, crate::seed::Purpose::Resample, 0, 0);
        let noise = Normal::new(0.0, 0.06).expect("a law");
        let names: Vec<String> = (0..34).map(|k| format!("part.k{k}")).collect();
        let (mut named, mut wrong) = (0, 0);
        for _ in 0..1000 {
            let mut draw = |truth: &dyn Fn(usize) -> f64| {
                let mut list: Vec<(&str, Estimate)> = names
                    .iter()
                    .enumerate()
                    .map(|(k, name)| (name.as_str(), est(truth(k) + noise.sample(&mut rng), 0.06)))
                    .collect();
                list.sort_by(|a, b| b.1.mean.total_cmp(&a.1.mean));
                leading("still days", &list)
            };
            named += usize::from(draw(&|_| 0.0).contains("measure"));
            let of_two = draw(&|k| match k {
                0 => 0.30,
                1 => 0.22,
                _ => 0.0,
            });
            wrong += usize::from(of_two.contains("measure") && !of_two.contains("k0 of the part"));
        }
        assert!(named <= 50 && wrong <= 50, "{named} {wrong}");
    }
}
