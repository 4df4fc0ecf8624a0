//! Selects the cheapest build that meets a wish: which builds get the next trials, which drop out, and what is settled.
//!
//! Builds are in the order of their prices. After each trial a test decides whether the share of good years of a build
//! reaches the wished share. A build that surely fails drops out; once one surely meets the wish, all more expensive ones
//! drop out. Trials go to the cheapest builds that are undecided, so expensive ones wait until they matter.
//!
//! **Error rate.** Let b be the cheapest build that truly meets the wish. The answer is wrong only if b is said to fail, or
//! a build that fails is said to meet the wish. The first concerns one build, whichever it is, and has a chance of at most
//! [`ERROR_RATE`]/2. The second may happen to any of n builds; each gets [`ERROR_RATE`]/2n (union bound). The test
//! ([`SequentialProportion`]) is valid at every trial, so looking often costs nothing. The bound holds although all builds
//! meet the same weather. "No build meets it" is wrong only if b is said to fail.

use crate::tally::sequential_proportion::{SequentialProportion, Side};

/// Maximum chance that the build chosen is not the cheapest one that meets the wish, or that none is said to meet it though
/// one does.
pub const ERROR_RATE: f64 = 0.05;

/// Number of builds that get trials at a time: the cheapest undecided ones.
pub(crate) const WINDOW: usize = 32;

/// What is known of a build.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Standing {
    /// It surely meets the wish.
    Meets,
    /// It surely fails.
    Fails,
    /// Undecided, with its trials used up.
    Open,
    /// Undecided, but it does not matter: a cheaper one surely meets the wish.
    Dearer,
}

/// The tests of all builds, cheapest first.
#[derive(Clone, Debug)]
pub(crate) struct SequentialSelection {
    tests: Vec<SequentialProportion>,
    budget: u64,
}

impl SequentialSelection {
    /// For so many builds. Each must reach this share of good years, and gets at most `budget` trials (>= 1).
    pub(crate) fn new(builds: usize, share: f64, budget: u64) -> SequentialSelection {
        let half = 0.5 * ERROR_RATE;
        let test = SequentialProportion::new(share, half / builds.max(1) as f64, half);
        SequentialSelection { tests: vec![test; builds], budget: budget.max(1) }
    }

    /// The builds that get trials next, cheapest first; none once all is settled or used up. At first every build gets
    /// trials once, because the price frontier needs the expensive ones, too.
    pub(crate) fn next(&self) -> Vec<usize> {
        let unseen: Vec<usize> =
            (0..self.tests.len()).filter(|&i| self.tests[i].trials() == 0).take(WINDOW).collect();
        if !unseen.is_empty() {
            return unseen;
        }
        let end = self.chosen().unwrap_or(self.tests.len());
        (0..end).filter(|&i| self.in_question(i) && self.trials(i) < self.budget).take(WINDOW).collect()
    }

    /// Adds trials of a build: whether each was a good year.
    pub(crate) fn take(&mut self, build: usize, years: impl IntoIterator<Item = bool>) {
        if let Some(test) = self.tests.get_mut(build) {
            years.into_iter().for_each(|good| test.push(good));
        }
    }

    /// The cheapest build that surely meets the wish.
    pub(crate) fn chosen(&self) -> Option<usize> {
        self.tests.iter().position(|t| t.decided() == Some(Side::Above))
    }

    /// Whether no cheaper build is undecided.
    pub(crate) fn settled(&self) -> bool {
        let end = self.chosen().unwrap_or(self.tests.len());
        (0..end).all(|i| !self.in_question(i))
    }

    fn in_question(&self, build: usize) -> bool {
        self.tests[build].decided().is_none()
    }

    /// What is known of a build.
    pub(crate) fn standing(&self, build: usize) -> Standing {
        match self.tests[build].decided() {
            Some(Side::Above) => Standing::Meets,
            Some(Side::Below) => Standing::Fails,
            None if self.chosen().is_some_and(|c| c < build) => Standing::Dearer,
            None => Standing::Open,
        }
    }

    /// Trials of a build.
    pub fn trials(&self, build: usize) -> u64 {
        self.tests[build].trials()
    }

    /// The test of a build.
    pub(crate) fn test(&self, build: usize) -> &SequentialProportion {
        &self.tests[build]
    }

    /// Maximum number of trials of a build.
    pub(crate) fn budget(&self) -> u64 {
        self.budget
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::seed::{Purpose, stream};
    use crate::study::tests::{REPETITIONS, luck, wrong_as_rarely_as_said};
    use crate::tally::verdict::YearVerdict;
    use rand::RngExt;

    /// Runs a selection on drawn years: a common weather and a luck of its own decide each.
    fn selected(chances: &[f64], share: f64, budget: u64, seed: u64) -> SequentialSelection {
        selected_among(chances.len(), share, budget, &|build, trial| {
            let weather: f64 = stream(seed, Purpose::Resample, trial, 0).random();
            let own: f64 = stream(seed, Purpose::Resample, trial, 1 + build as u64).random();
            luck(weather, own) < chances[build]
        })
    }

    /// Runs a selection among so many builds; `good` tells of a build and a trial whether that year was good.
    fn selected_among(
        builds: usize,
        share: f64,
        budget: u64,
        good: &dyn Fn(usize, u64) -> bool,
    ) -> SequentialSelection {
        let mut selection = SequentialSelection::new(builds, share, budget);
        loop {
            let next = selection.next();
            if next.is_empty() {
                return selection;
            }
            for build in next {
                let first = selection.trials(build);
                let years: Vec<bool> =
                    (first..(first + 16).min(budget)).map(|trial| good(build, trial)).collect();
                selection.take(build, years);
            }
        }
    }

    #[test]
    fn the_cheapest_that_meets_the_wish_is_chosen_and_dear_ones_are_hardly_tried() {
        let mut chances = vec![0.3; 20];
        chances.extend([0.99; 100]);
        let selection = selected(&chances, 0.9, 400, 1);
        assert_eq!((selection.chosen(), selection.settled()), (Some(20), true));
        assert!((0..20).all(|i| selection.standing(i) == Standing::Fails && selection.trials(i) <= 32));
        // Those beyond the window have had their one look and no more.
        assert!((60..120).all(|i| selection.standing(i) == Standing::Dearer && selection.trials(i) == 16));
    }

    #[test]
    fn that_none_meets_it_is_an_answer_and_a_close_call_is_left_open() {
        let none = selected(&[0.2, 0.4, 0.5], 0.9, 400, 2);
        assert_eq!((none.chosen(), none.settled()), (None, true));
        let close = selected(&[0.2, 0.9, 0.999], 0.9, 200, 2);
        assert_eq!((close.chosen(), close.settled()), (Some(2), false));
        assert_eq!(close.standing(1), Standing::Open);
        assert_eq!(close.trials(1), 200);
        let nothing = selected(&[], 0.9, 200, 2);
        assert_eq!((nothing.chosen(), nothing.settled()), (None, true));
    }

    /// The hardest setting: thirty builds a hair below the wished share, then one a hair above, then one well above.
    /// Wrong: a build below is chosen, or the one above is said to fail. Since the bound covers any number of trials, fewer than
    /// 5 % are.
    #[test]
    fn wrong_choices_are_as_rare_as_said() {
        let mut chances = vec![0.699; 30];
        chances.extend([0.701, 0.95]);
        let mut settled = 0;
        wrong_as_rarely_as_said("near the wish", ERROR_RATE, 1000, |seed| {
            let selection = selected(&chances, 0.7, 320, seed);
            settled += u64::from(selection.chosen() == Some(31));
            selection.chosen().is_some_and(|c| c < 30) || selection.standing(30) == Standing::Fails
        });
        println!("{settled} found the one well above");
        assert!(settled >= 380, "{settled}");
    }

    /// The chance that a year meets all three parts of the wish, if each is met with chance `t`: half of the time by the weather,
    /// which the parts share, half of the time by a luck of its own.
    fn joint(t: f64) -> f64 {
        let (kind, unkind) = (0.5 + 0.5 * t, 0.5 * t);
        t * kind * kind * kind + (1.0 - t) * unkind * unkind * unkind
    }

    /// The chance of one part that gives the whole wish this chance.
    fn part_of(whole: f64) -> f64 {
        let (mut lo, mut hi) = (0.0, 1.0);
        for _ in 0..60 {
            let mid = 0.5 * (lo + hi);
            if joint(mid) < whole { lo = mid } else { hi = mid }
        }
        lo
    }

    /// The hardest setting for the whole wish: still days, dusk run and water by the verdict of a year. Each part alone is met
    /// far more often than asked for, so that a rule which forgets one, or takes the parts for independent, is wrong here.
    #[test]
    fn wrong_choices_by_the_whole_wish_are_as_rare_as_said() {
        let mut wholes = vec![0.699; 30];
        wholes.extend([0.701, 0.95]);
        let parts: Vec<f64> = wholes.iter().map(|whole| part_of(*whole)).collect();
        assert!(parts.iter().zip(&wholes).all(|(t, whole)| t > whole && (joint(*t) - whole).abs() < 1e-9));
        let layout = crate::tally::tests::layout();
        let mut met = [0u32; 2];
        let mut settled = 0;
        wrong_as_rarely_as_said("the whole wish near what is asked for", ERROR_RATE, 9000, |seed| {
            let good = |build: usize, trial: u64| {
                let weather: f64 = stream(seed, Purpose::Resample, trial, 0).random();
                let mut own = stream(seed, Purpose::Resample, trial, 1 + build as u64);
                let [still, dusk, water] =
                    std::array::from_fn(|_| luck(weather, own.random()) < parts[build]);
                // Acceptable are 2 still days a month; the dusk run is wished on 80 % of evenings.
                let worst_month = if still { 2 } else { 3 };
                let (evenings, low_min) = (if dusk { 0.8 } else { 0.79 }, if water { 0.0 } else { 5.0 });
                YearVerdict::new(&layout, worst_month, Some(evenings), low_min).met()
            };
            (0..20).for_each(|trial| met[0] += u32::from(good(30, trial)));
            met[1] += 20;
            let selection = selected_among(parts.len(), 0.7, 320, &good);
            settled += u64::from(selection.chosen() == Some(31));
            selection.chosen().is_some_and(|c| c < 30) || selection.standing(30) == Standing::Fails
        });
        println!("{settled} found the one well above; {} of {} years met all", met[0], met[1]);
        assert!(settled >= 380, "{settled}");
        // 8,000 years: the drawn chance is the one computed, within four standard errors of 0.5 %.
        assert!((f64::from(met[0]) / f64::from(met[1]) - 0.701).abs() < 0.021);
    }

    /// The same where a decision is easy: five builds below, one above. Nearly all are settled, and right.
    #[test]
    fn easy_decisions_are_right() {
        let mut right = 0;
        wrong_as_rarely_as_said("decided", ERROR_RATE, 5000, |seed| {
            let selection = selected(&[0.3, 0.5, 0.6, 0.6, 0.65, 0.93, 0.97], 0.8, 400, seed);
            let named = selection.settled() && selection.chosen() == Some(5);
            right += u64::from(named);
            selection.settled() && !named
        });
        println!("{right} of {REPETITIONS} right");
        assert!(right >= 360, "{right}");
    }
}
