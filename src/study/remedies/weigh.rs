//! Simulates each remedy beside the unchanged design, compares the two, and ranks the remedies.

use super::built_in::{Basin, built_in};
use super::sequential_ranking::SequentialRanking;
use crate::design::Remedy;
use crate::plant::Cause;
use crate::source::Problems;
use crate::study::compare::{self, Against};
use crate::study::engine::Engine;
use crate::study::paired::Difference;
use crate::study::paired_run::{PairedBuild, PairedRun};
use crate::study::plan::Plan;
use crate::study::reconnect_note;
use crate::study::run::Until;
use crate::study::simulate::simulate;
use crate::study::summary;
use crate::tally::{Summary, TrialOutcome, WishPart};
use crate::units::letters::capital;

use serde::Serialize;
use std::cmp::Ordering;
use std::sync::Arc;

/// Schema name of `remedies.json`.
pub const SCHEMA: &str = "stilldays.remedies/1";

/// How much two remedies may differ in a rare season, even if no such season was seen: still days, or minutes of the mean
/// dusk run. Twenty still days are most of a month; as many days without a dusk run of three hours reduce the mean of half a
/// year by twenty minutes. A larger value would need more trials to settle small leads.
pub(super) const AT_LEAST: f64 = 20.0;

/// The same for minutes lost to low water: twenty days of ten wanted hours.
const AT_LEAST_LOW_WATER_MIN: f64 = 20.0 * 600.0;

/// What remedies are ranked by.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum By {
    /// Still days avoided.
    StillDays,
    /// Minutes of dusk run gained.
    DuskRun,
    /// Wanted minutes no longer lost to low water.
    LowWater,
    /// Price of each still day avoided.
    Money,
}

/// The remedies, ranked.
#[derive(Debug, Serialize)]
pub struct Remedies {
    /// [`SCHEMA`].
    pub schema: &'static str,
    /// The unchanged design.
    pub design: Summary,
    /// What they are ranked by.
    pub by: By,
    /// Best first.
    pub ranked: Vec<Weighed>,
    /// Whether the order of the first three is settled at [`ERROR_RATE`](super::sequential_ranking::ERROR_RATE).
    pub settled: bool,
    /// Trials of the unchanged design.
    pub trials: u64,
    /// Remedies that give an invalid design, and why.
    pub refused: Vec<Refused>,
}

/// One remedy and what it is worth.
#[derive(Debug, Serialize)]
pub struct Weighed {
    /// What is changed.
    pub name: String,
    /// Whether the design file names it itself.
    pub own: bool,
    /// What it costs, if known.
    pub price: Option<f64>,
    /// Its trials; remedies that cannot be among the first three stop early.
    pub trials: u64,
    /// The comparison with the unchanged design.
    pub against: Against,
    /// Wanted minutes of a season lost to low water, compared with the unchanged design.
    pub low_water_min: Option<Difference>,
    /// Which cause decreased most, as a sentence.
    pub why: String,
}

/// A remedy that gives an invalid design.
#[derive(Debug, Serialize)]
pub struct Refused {
    /// What would have been changed.
    pub name: String,
    /// The first problem that the checker finds.
    pub why: String,
}

/// Compares the remedies of the design file and the built-in ones with the unchanged design, until the order of the first
/// three is settled or `budget` trials are done; `None` if it was stopped before the first trial.
///
/// Without `by` they are ranked by what the wish lacks: see [`lacking`].
pub fn weigh(
    engine: &Engine<'_>,
    plan: Plan,
    by: Option<By>,
    budget: u64,
    command: &str,
) -> Option<Remedies> {
    let as_it_is = simulate(engine, &plan, Until::Trials(LACKING_TRIALS), String::new())?;
    let by = by.unwrap_or_else(|| lacking(&as_it_is));
    let seen = |cause: Cause| as_it_is.season.causes_min.get(cause.key()).is_some_and(|min| *min > 0.0);
    let basin = Basin { runs_low: seen(Cause::LowWater), freezes: seen(Cause::Frozen) };
    let Field { remedies, plans, refused } = Field::of(plan, basin);
    let mut ranking = SequentialRanking::new(remedies.len(), least(by));
    let mut paired_run = PairedRun::new(plans);
    let settled = run(&mut paired_run, &mut ranking, by, engine, budget);

    let summaries: Option<Vec<Summary>> = paired_run
        .builds
        .iter()
        .map(|e| summary::summarise(&e.plan, &e.tally, engine.seed, command.to_owned()))
        .collect();
    let mut summaries = summaries?;
    let mut weighed: Vec<(usize, Weighed)> = remedies
        .into_iter()
        .enumerate()
        .filter_map(|(k, remedy)| Some((k, weighed(remedy, k + 1, &summaries, &paired_run)?)))
        .collect();
    for (k, w) in &mut weighed {
        let plans = [&paired_run.builds[0].plan, &paired_run.builds[*k + 1].plan];
        let pair = (&w.against.still_days, w.against.jet_min.as_ref());
        let found = reconnect_note::tried(engine, plans, pair, paired_run.trials());
        w.against.notes.extend(found);
    }
    Some(Remedies {
        schema: SCHEMA,
        trials: paired_run.trials(),
        by,
        ranked: in_order(weighed, by, &ranking),
        settled,
        refused,
        // The first build is the unchanged design.
        design: summaries.swap_remove(0),
    })
}

/// Trials of the unchanged design that tell what the wish lacks, before the others.
pub const LACKING_TRIALS: u64 = 64;

/// What remedies should mend: the part of the wish that most years miss, else still days.
fn lacking(as_it_is: &Summary) -> By {
    match as_it_is.season.wish.fails_most {
        Some(WishPart::DuskRun) => By::DuskRun,
        Some(WishPart::Water) => By::LowWater,
        Some(WishPart::StillDays) | None => By::StillDays,
    }
}

/// A remedy that gives a valid design.
struct Candidate {
    name: String,
    /// Whether the design file names it itself.
    own: bool,
    price: Option<f64>,
}

/// What is simulated.
struct Field {
    remedies: Vec<Candidate>,
    /// The unchanged design, then the design with each of `remedies`.
    plans: Vec<Plan>,
    refused: Vec<Refused>,
}

impl Field {
    fn of(plan: Plan, basin: Basin) -> Field {
        let own = plan.file.remedies.len();
        // A built-in remedy that the design file has, too, is not tried twice.
        let more = built_in(&plan.file, basin)
            .into_iter()
            .filter(|offered| plan.file.remedies.iter().all(|own| own.changes != offered.changes));
        let list: Vec<Remedy> = plan.file.remedies.iter().cloned().chain(more).collect();
        let (mut remedies, mut refused) = (Vec::new(), Vec::new());
        let mut plans = vec![plan];
        for (k, remedy) in list.into_iter().enumerate() {
            let own = k < own;
            match plans[0].file.patched(&remedy.name, &remedy.changes) {
                Ok(file) => {
                    plans.push(Plan::at(file, Arc::clone(&plans[0].site)));
                    remedies.push(Candidate { name: remedy.name, own, price: remedy.price });
                }
                // A built-in remedy that does not fit is skipped silently; one of the user's own is reported.
                Err(problems) if own => {
                    refused.push(Refused { name: remedy.name, why: first_line(&problems) });
                }
                Err(_) => {}
            }
        }
        Field { remedies, plans, refused }
    }
}

/// Compares one remedy with the unchanged design, which is the first of `summaries` and builds; `at` is its own index.
fn weighed(remedy: Candidate, at: usize, summaries: &[Summary], paired_run: &PairedRun) -> Option<Weighed> {
    let (design, build) = (&paired_run.builds[0], &paired_run.builds[at]);
    let mut against = compare::against(at, (&summaries[0], design), (&summaries[at], build), true)?;
    // The price of the remedy itself; the prices of the design file do not include it.
    let priced = design.plan.file.design.price().is_some() && remedy.own;
    against.price = remedy.price.or(against.price.filter(|_| priced));
    let avoided = against.still_days.told_apart() == Some(Ordering::Less);
    against.price_per_still_day = remedy.price.filter(|_| avoided).map(|p| p / -against.still_days.mean);
    let Candidate { name, own, price } = remedy;
    Some(Weighed {
        name,
        own,
        price,
        trials: build.tally.trials(),
        against,
        low_water_min: build.against_first.causes_min[Cause::LowWater as usize]
            .difference(compare::CONFIDENCE),
        why: why(build),
    })
}

/// Sorts the remedies, best first. Each comes with its index in the ranking.
fn in_order(mut weighed: Vec<(usize, Weighed)>, by: By, ranking: &SequentialRanking) -> Vec<Weighed> {
    match by {
        By::StillDays | By::DuskRun | By::LowWater => {
            let order = ranking.order();
            weighed.sort_by_key(|(k, _)| order.iter().position(|o| o == k));
        }
        By::Money => {
            let each = |w: &Weighed| w.against.price_per_still_day.unwrap_or(f64::INFINITY);
            weighed.sort_by(|(_, a), (_, b)| each(a).total_cmp(&each(b)));
        }
    }
    weighed.into_iter().map(|(_, w)| w).collect()
}

/// Simulates until the order of the first three is settled or the budget is used up; tells whether it is settled. For
/// [`By::Money`] the whole budget is used: ratios of prices are not tested.
fn run(
    paired_run: &mut PairedRun,
    ranking: &mut SequentialRanking,
    by: By,
    engine: &Engine<'_>,
    budget: u64,
) -> bool {
    while paired_run.trials() < budget && !engine.stopped() {
        paired_run.wave_with(engine, budget, &mut |alive, outcomes| {
            // The unchanged design comes first and never drops out.
            let Some((as_it_is, others)) = outcomes.split_first() else { return };
            for (t, before) in as_it_is.iter().enumerate() {
                let changes: Vec<(usize, Option<f64>)> = alive[1..]
                    .iter()
                    .zip(others)
                    .map(|(&i, after)| {
                        let both = metric(by, before).zip(metric(by, &after[t]));
                        (i - 1, both.map(|(b, a)| a - b))
                    })
                    .collect();
                ranking.take(&changes);
            }
        });
        if by == By::Money {
            continue;
        }
        if ranking.look() {
            return true;
        }
        for (k, build) in paired_run.builds.iter_mut().skip(1).enumerate() {
            build.alive = ranking.alive(k);
        }
    }
    false
}

/// The least bound on unseen differences, in the unit of [`metric`].
fn least(by: By) -> f64 {
    match by {
        By::StillDays | By::DuskRun | By::Money => AT_LEAST,
        By::LowWater => AT_LEAST_LOW_WATER_MIN,
    }
}

/// The quantity to minimise; `None` if it is not computable (a season without sunsets).
fn metric(by: By, outcome: &TrialOutcome) -> Option<f64> {
    match by {
        By::StillDays | By::Money => Some(f64::from(outcome.still_days)),
        By::DuskRun => outcome.dusk_run_min.map(|minutes| -minutes),
        By::LowWater => Some(outcome.causes_min[Cause::LowWater as usize]),
    }
}

fn first_line(problems: &Problems) -> String {
    problems.list.first().map(|p| p.one_line()).unwrap_or_default()
}

/// A sentence on the cause that decreased most, or increased.
fn why(build: &PairedBuild) -> String {
    let changes: Vec<(Cause, f64)> = Cause::ALL
        .into_iter()
        .zip(&build.against_first.causes_min)
        .filter_map(|(cause, pairs)| Some((cause, pairs.difference(compare::CONFIDENCE)?.mean)))
        .collect();
    let extreme = |sign: f64| {
        changes.iter().filter(|(_, m)| m * sign > 30.0).max_by(|a, b| (a.1 * sign).total_cmp(&(b.1 * sign)))
    };
    let fewer_still = build
        .against_first
        .still_days
        .difference(compare::CONFIDENCE)
        .is_some_and(|d| d.told_apart() == Some(Ordering::Less));
    let hours = |minutes: f64| format!("{:.0} h", minutes.abs() / 60.0);
    match (extreme(-1.0), extreme(1.0)) {
        (Some((less, a)), Some((more, b))) if b.abs() > 0.25 * a.abs() => format!(
            "{} stops the jet for {} a season less, {} for {} more.",
            capital(less.words()),
            hours(*a),
            more.words(),
            hours(*b)
        ),
        (Some((less, a)), _) => {
            format!("{} stops the jet for {} a season less.", capital(less.words()), hours(*a))
        }
        (None, Some((more, b))) if fewer_still => format!(
            "Fewer still days, though {} stops the jet for {} a season more: on days that run anyway.",
            more.words(),
            hours(*b)
        ),
        (None, Some((more, b))) => {
            format!("{} stops the jet for {} a season more.", capital(more.words()), hours(*b))
        }
        (None, None) => "No cause changes by as much as half an hour a season.".to_owned(),
    }
}
