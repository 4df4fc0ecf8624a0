//! What the search for the cheapest build comes to.

use super::field::Field;
use super::refusal::Refusals;
use super::sequential_selection::{ERROR_RATE, SequentialSelection, Standing};
use crate::design::shelf::{GIVEN_WAY, Kind, Shelf};
use crate::source::Problem;
use crate::study::compare;
use crate::study::plan::Plan;
use crate::tally::Summary;
use crate::tally::summary::Estimate;
use serde::Serialize;

/// Schema name of `choose.json`.
pub const SCHEMA: &str = "stilldays.choose/1";

/// The answer.
#[derive(Debug, Serialize)]
pub struct Choice {
    /// [`SCHEMA`].
    pub schema: &'static str,
    /// What it comes to.
    pub verdict: Verdict,
    /// Whether no cheaper build is in question any more.
    pub settled: bool,
    /// Chance that the answer is wrong, at most.
    pub error_rate: f64,
    /// Still days a month that are bearable.
    pub still_days: f64,
    /// Share of years that must bear it out.
    pub share_of_years: f64,
    /// What the shelf is called.
    pub shelf: String,
    /// Its file.
    pub shelf_file: String,
    /// SHA-256 of its text.
    pub shelf_sha256: String,
    /// Whether its parts and prices are invented.
    pub shelf_invented: bool,
    /// Combinations of its parts.
    pub combinations: usize,
    /// Trials that a build gets at most.
    pub budget: u64,
    /// Trials of all builds together.
    pub trials: u64,
    /// The build that is named: the cheapest that surely meets the wish, or else the nearest to it.
    pub best: Option<Candidate>,
    /// Every number of that build.
    pub summary: Summary,
    /// Cheaper builds that are still in question; the answer is not settled because of them.
    pub open: Vec<Candidate>,
    /// The cheapest others that do not surely fail.
    pub runners_up: Vec<Candidate>,
    /// Builds that no cheaper one undercuts in mean still days, cheapest first.
    pub frontier: Vec<Candidate>,
    /// All builds that go together, cheapest first.
    pub builds: Vec<Candidate>,
    /// Why the others do not go together.
    pub refused: Vec<Refusals>,
    /// What a reader should know.
    pub notes: Vec<String>,
}

/// What the search comes to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// A build surely meets the wish.
    Found,
    /// Surely none does.
    None,
    /// None surely does, and some are still in question.
    NotSettled,
}

/// One build as the trials show it.
#[derive(Clone, Debug, Serialize)]
pub struct Candidate {
    /// Place in the order of prices, from 1.
    pub place: usize,
    /// Its parts of the shelf: kind and name.
    pub parts: Vec<(Kind, String)>,
    /// Price of the whole build.
    pub price: f64,
    /// Where it stands.
    pub standing: Standing,
    /// Trials it was simulated for.
    pub trials: u64,
    /// Share of good years.
    pub good_years: Option<f64>,
    /// Its 95 % limits, which hold whenever one looks.
    pub good_years_low: f64,
    /// The upper one.
    pub good_years_high: f64,
    /// Still days a month.
    pub still_days_per_month: Option<Estimate>,
    /// Still days of the worst month.
    pub worst_month_still_days: Option<Estimate>,
    /// Mean dusk run, min.
    pub dusk_run_min: Option<Estimate>,
}

impl Candidate {
    /// Its parts in words.
    pub fn name(&self) -> String {
        self.parts.iter().map(|(_, name)| name.as_str()).collect::<Vec<_>>().join(" + ")
    }
}

/// A search that has come to its end.
pub(super) struct Decided<'a> {
    /// The design as it is.
    pub design: &'a Plan,
    pub shelf: &'a Shelf,
    /// All builds, and where each stands.
    pub field: &'a Field,
    pub selection: &'a SequentialSelection,
    /// Places of the builds that come next.
    pub runners_up: &'a [usize],
    /// Place of the build that is named, and every number of it.
    pub best: usize,
    pub summary: Summary,
    /// Whether somebody stopped it.
    pub stopped: bool,
}

/// Everything there is to say.
pub(super) fn choice(decided: Decided<'_>) -> Choice {
    let Decided { design, shelf, field, selection, .. } = decided;
    let builds: Vec<Candidate> = (0..field.len()).map(|i| candidate(field, selection, i)).collect();
    let pick = |list: &[usize]| list.iter().map(|&i| builds[i].clone()).collect::<Vec<_>>();
    let open: Vec<usize> = (0..selection.chosen().unwrap_or(field.len()))
        .filter(|&i| selection.standing(i) == Standing::Open)
        .collect();
    let verdict = match (selection.chosen(), selection.settled()) {
        (Some(_), _) => Verdict::Found,
        (None, true) => Verdict::None,
        (None, false) => Verdict::NotSettled,
    };
    let mut notes = notes(design, shelf);
    if decided.stopped {
        notes.push("Stopped before its end.".to_owned());
    }
    Choice {
        schema: SCHEMA,
        verdict,
        settled: selection.settled(),
        error_rate: ERROR_RATE,
        still_days: field.wish.0,
        share_of_years: field.wish.1,
        shelf: shelf.title.clone(),
        shelf_file: shelf.path.display().to_string(),
        shelf_sha256: shelf.sha256.clone(),
        shelf_invented: shelf.invented,
        combinations: field.combinations,
        budget: selection.budget(),
        trials: builds.iter().map(|b| b.trials).sum(),
        best: Some(builds[decided.best].clone()),
        summary: decided.summary,
        open: pick(&open),
        runners_up: pick(decided.runners_up),
        frontier: pick(&field.frontier()),
        refused: field.refused.clone(),
        notes,
        builds,
    }
}

fn candidate(field: &Field, selection: &SequentialSelection, i: usize) -> Candidate {
    let (contender, test) = (&field.contenders[i], selection.test(i));
    let limits = test.interval(compare::CONFIDENCE);
    let months = contender.plan.layout.months_long();
    let estimate = |m: &crate::tally::Moments, part: f64| {
        m.mean().map(|mean| Estimate { mean: mean / part, se: m.se().map(|se| se / part) })
    };
    Candidate {
        place: i + 1,
        parts: contender.parts.clone(),
        price: contender.price,
        standing: selection.standing(i),
        trials: selection.trials(i),
        good_years: test.estimate(),
        good_years_low: limits.lo,
        good_years_high: limits.hi,
        still_days_per_month: estimate(&contender.still_days, months),
        worst_month_still_days: estimate(&contender.worst_month, 1.0),
        dusk_run_min: estimate(&contender.dusk_run_min, 1.0),
    }
}

fn notes(design: &Plan, shelf: &Shelf) -> Vec<String> {
    let mut notes: Vec<String> = shelf.warnings.list.iter().map(Problem::one_line).collect();
    let file = &design.file;
    let given = |key: &&str| file.inputs.iter().any(|i| i.given && i.key == **key);
    let bound: Vec<&str> = GIVEN_WAY.into_iter().filter(|k| given(k)).collect();
    if !bound.is_empty() && shelf.of(Kind::Battery).next().is_some() {
        notes.push(format!(
            "{} hold for the design's own battery: with one of another chemistry or voltage they follow from that.",
            bound.join(", ")
        ));
    }
    // A price under a name of its own stays: it may be for a part that has gone.
    let known = |name: &str| name == "charger" || Kind::ALL.iter().any(|k| k.name() == name);
    let kept: Vec<&str> = file.design.prices.iter().map(|(n, _)| n.as_str()).filter(|n| !known(n)).collect();
    if !kept.is_empty() {
        notes.push(format!("Counted in every build: {} of the design's prices.", kept.join(", ")));
    }
    notes
}
