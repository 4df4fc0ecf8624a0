//! The answer of the search for the cheapest build.

use super::field::Field;
use super::over_years::OverYears;
use super::refusal::Refusals;
use super::sequential_selection::{ERROR_RATE, SequentialSelection, Standing};
use crate::design::shelf::{GIVEN_WAY, Kind, Shelf};
use crate::source::Problem;
use crate::study::compare;
use crate::study::plan::Plan;
use crate::tally::summary::Estimate;
use crate::tally::{Meets, Summary, input_range};
use serde::Serialize;

/// Schema name of `choose.json`.
pub const SCHEMA: &str = "stilldays.choose/1";

/// The answer.
#[derive(Debug, Serialize)]
pub struct Choice {
    /// [`SCHEMA`].
    pub schema: &'static str,
    /// In one word.
    pub verdict: Verdict,
    /// Whether every cheaper build is known to fail.
    pub settled: bool,
    /// Maximum chance that the answer is wrong.
    pub error_rate: f64,
    /// Still days a month that are bearable.
    pub still_days: f64,
    /// Share of years in which this must hold.
    pub share_of_years: f64,
    /// Title of the shelf.
    pub shelf: String,
    /// Its file.
    pub shelf_file: String,
    /// SHA-256 of its text.
    pub shelf_sha256: String,
    /// Whether its parts and prices are invented.
    pub shelf_invented: bool,
    /// Number of combinations of its parts.
    pub combinations: usize,
    /// Maximum number of trials of a build.
    pub budget: u64,
    /// Trials of all builds together.
    pub trials: u64,
    /// The build chosen: the cheapest that surely meets the wish, or the one that comes nearest to it.
    pub best: Option<Candidate>,
    /// Every number of that build.
    pub summary: Summary,
    /// Cheaper builds that are still undecided; because of them the answer is not settled.
    pub open: Vec<Candidate>,
    /// The cheapest other builds that may meet the wish.
    pub runners_up: Vec<Candidate>,
    /// Builds with fewer still days than all cheaper ones, cheapest first.
    pub frontier: Vec<Candidate>,
    /// What the build named and those beside it cost over some years, if that was asked for.
    pub over_years: Option<OverYears>,
    /// All valid builds, cheapest first.
    pub builds: Vec<Candidate>,
    /// Why the other combinations are refused.
    pub refused: Vec<Refusals>,
    /// Remarks for the reader.
    pub notes: Vec<String>,
}

/// The answer in one word.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// A build surely meets the wish.
    Found,
    /// Surely no build does.
    None,
    /// No build surely does, and some are undecided.
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
    /// Lower end of its 95 % interval, valid at any time of looking.
    pub good_years_low: f64,
    /// The upper end.
    pub good_years_high: f64,
    /// Still days a month.
    pub still_days_per_month: Option<Estimate>,
    /// What places see whose weather files look like these, 80 % of them.
    pub still_days_per_month_places_80: Option<[f64; 2]>,
    /// Whether where it stands also holds with what the weather files leave open; `None` for a build that is not settled.
    pub holds_at_places: Option<bool>,
    /// Still days of the worst month.
    pub worst_month_still_days: Option<Estimate>,
    /// Mean dusk run, min.
    pub dusk_run_min: Option<Estimate>,
}

impl Candidate {
    /// The names of its parts.
    pub fn name(&self) -> String {
        self.parts.iter().map(|(_, name)| name.as_str()).collect::<Vec<_>>().join(" + ")
    }
}

/// A search that has ended.
pub(super) struct Decided<'a> {
    /// The unchanged design.
    pub design: &'a Plan,
    pub shelf: &'a Shelf,
    /// All builds, and what is known of each.
    pub field: &'a Field,
    pub selection: &'a SequentialSelection,
    /// Indices of the builds that come next.
    pub runners_up: &'a [usize],
    /// Index of the build chosen, and its summary.
    pub best: usize,
    pub summary: Summary,
    /// What builds cost over some years.
    pub over_years: Option<OverYears>,
    /// Whether it was stopped.
    pub stopped: bool,
}

/// Puts the answer together.
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
        notes.push("The search was stopped before its end.".to_owned());
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
        over_years: decided.over_years,
        refused: field.refused.clone(),
        notes,
        builds,
    }
}

fn candidate(field: &Field, selection: &SequentialSelection, i: usize) -> Candidate {
    let (contender, test) = (&field.contenders[i], selection.test(i));
    let limits = test.interval(compare::CONFIDENCE);
    let months = contender.plan.layout.months_long();
    let days = contender.plan.layout.days.len() as f64;
    let still = Estimate::of_days(&contender.still_days, days).map(|e| e.times(1.0 / months));
    let error = contender.plan.site.input().error(input_range::store_d(&contender.plan.layout));
    let years = input_range::years_met(test.estimate().unwrap_or_default(), [limits.lo, limits.hi], error);
    let holds = |meets| test.estimate().map(|_| input_range::holds(meets, years, field.wish.1));
    Candidate {
        place: i + 1,
        parts: contender.parts.clone(),
        price: contender.price,
        standing: selection.standing(i),
        trials: selection.trials(i),
        good_years: test.estimate(),
        good_years_low: limits.lo,
        good_years_high: limits.hi,
        still_days_per_month: still,
        still_days_per_month_places_80: still.map(|e| input_range::still_days(e, error)),
        holds_at_places: match selection.standing(i) {
            Standing::Meets => holds(Meets::Yes),
            Standing::Fails => holds(Meets::No),
            Standing::Open | Standing::Dearer => None,
        },
        worst_month_still_days: Estimate::of_days(&contender.worst_month, days.min(31.0)),
        dusk_run_min: Estimate::of(&contender.dusk_run_min),
    }
}

fn notes(design: &Plan, shelf: &Shelf) -> Vec<String> {
    let mut notes: Vec<String> = shelf.warnings.list.iter().map(Problem::one_line).collect();
    let file = &design.file;
    let given = |key: &&str| file.inputs.iter().any(|i| i.given && i.key == **key);
    let bound: Vec<&str> = GIVEN_WAY.into_iter().filter(|k| given(k)).collect();
    if !bound.is_empty() && shelf.of(Kind::Battery).next().is_some() {
        notes.push(format!(
            "{} apply to the design's own battery; for one of another chemistry or voltage the defaults are used.",
            bound.join(", ")
        ));
    }
    // A price under another name stays in every build, though it may be for a part that was replaced.
    let known = |name: &str| name == "charger" || Kind::ALL.iter().any(|k| k.name() == name);
    let kept: Vec<&str> = file.design.prices.iter().map(|(n, _)| n.as_str()).filter(|n| !known(n)).collect();
    if !kept.is_empty() {
        notes.push(format!("Included in the price of every build: {} (from the design).", kept.join(", ")));
    }
    notes
}
