//! `choose`: the cheapest build from a shelf that meets the wish, what comes next, and what money buys.
//!
//! Every combination of the shelf's parts is put into the design. What does not go together is refused with its
//! reason; the rest is tested ([`sequential_selection`]) under common weather and part luck. A year is good if no month of its season
//! has more still days than are bearable.

mod choice;
pub mod sequential_selection;

pub use choice::{Candidate, Choice, Refusals, Verdict};
pub use sequential_selection::Standing;

use super::engine::{Engine, Task};
use super::plan::Plan;
use crate::design::shelf::{Build, Kind, Shelf};
use crate::design::{DesignFile, misfit};
use crate::lanes::BLOCK;
use crate::source::Problems;
use crate::tally::{Moments, TrialOutcome};
use sequential_selection::SequentialSelection;
use std::collections::BTreeMap;

/// Schema name of `choose.json`.
pub const SCHEMA: &str = "stilldays.choose/1";

/// Trials that the builds shown beside the answer have at least, if the budget allows it.
const SHOWN_TRIALS: u64 = 96;

/// Builds shown as those that come next.
const RUNNERS_UP: usize = 5;

/// Builds of one task: they meet one weather, drawn once.
const TASK_BUILDS: usize = 8;

/// A build in the selection.
struct Contender {
    /// Names of its parts, in the order of the shelf's kinds.
    parts: Vec<(Kind, String)>,
    price: f64,
    plan: Plan,
    still_days: Moments,
    worst_month: Moments,
    dusk_run_min: Moments,
}

/// All builds of a shelf: those that go together, cheapest first, and why the others do not.
pub struct Field {
    contenders: Vec<Contender>,
    refused: Vec<Refusals>,
    combinations: usize,
    /// Bearable still days a month, and the share of years.
    wish: (f64, f64),
}

impl Field {
    /// Puts a shelf's parts into a design; builds that cannot be are counted and listed.
    pub fn new(design: &Plan, shelf: &Shelf) -> Field {
        let builds = shelf.builds();
        let mut contenders: Vec<Contender> = Vec::new();
        let mut refused: BTreeMap<(String, Vec<String>), Refusals> = BTreeMap::new();
        for build in &builds {
            match checked(build, &design.file) {
                Ok(file) => contenders.push(Contender::new(build, design.beside(file))),
                Err(no) => {
                    let key = (no.rule.clone(), no.parts.clone());
                    refused.entry(key).and_modify(|r| r.builds += 1).or_insert(no);
                }
            }
        }
        // Stable: builds of one price stay in the order of the shelf.
        contenders.sort_by(|a, b| a.price.total_cmp(&b.price));
        let mut refused: Vec<Refusals> = refused.into_values().collect();
        refused.sort_by_key(|r| std::cmp::Reverse(r.builds));
        let wish = &design.file.design.wish;
        Field {
            contenders,
            refused,
            combinations: builds.len(),
            wish: (wish.still_days_a_month, wish.confidence),
        }
    }

    /// Builds that go together.
    pub fn len(&self) -> usize {
        self.contenders.len()
    }

    /// Whether none does.
    pub fn is_empty(&self) -> bool {
        self.contenders.is_empty()
    }

    /// The build at this place in the order of prices.
    pub fn file(&self, place: usize) -> Option<&DesignFile> {
        self.contenders.get(place).map(|e| &e.plan.file)
    }

    /// Gives builds a block each, whichever comes next for each.
    fn simulate(&mut self, engine: &Engine<'_>, selection: &mut SequentialSelection, builds: &[usize]) {
        let mut by_block: BTreeMap<u64, Vec<usize>> = BTreeMap::new();
        for &build in builds {
            by_block.entry(selection.trials(build) / BLOCK as u64).or_default().push(build);
        }
        let tasks: Vec<(u64, &[usize])> = by_block
            .iter()
            .flat_map(|(block, members)| members.chunks(TASK_BUILDS).map(|some| (*block, some)))
            .collect();
        let work: Vec<Task<'_>> = tasks
            .iter()
            .map(|&(block, some)| Task {
                block,
                plans: some.iter().map(|&i| &self.contenders[i].plan).collect(),
            })
            .collect();
        let results = engine.outcomes(&work, selection.budget());
        drop(work);
        let bearable = self.wish.0;
        for (&(_, some), outcomes) in tasks.iter().zip(results) {
            for (&build, years) in some.iter().zip(outcomes) {
                let good = years.iter().map(|y| f64::from(y.worst_month_still_days) <= bearable);
                selection.take(build, good);
                years.iter().for_each(|year| self.contenders[build].take(year));
            }
        }
    }

    /// Raises builds to at least so many trials, a block at a time.
    fn raise(
        &mut self,
        engine: &Engine<'_>,
        selection: &mut SequentialSelection,
        builds: &[usize],
        trials: u64,
    ) {
        loop {
            let short: Vec<usize> =
                builds.iter().copied().filter(|&i| selection.trials(i) < trials).collect();
            if short.is_empty() || engine.stopped() {
                return;
            }
            self.simulate(engine, selection, &short);
        }
    }

    /// Builds that no cheaper one undercuts in mean still days, as far as these trials show.
    fn frontier(&self) -> Vec<usize> {
        let mut best = f64::INFINITY;
        let mut members = Vec::new();
        for (i, e) in self.contenders.iter().enumerate() {
            if let Some(mean) = e.still_days.mean().filter(|m| *m < best) {
                best = mean;
                members.push(i);
            }
        }
        members
    }
}

/// A build put into the design and held against what goes together.
fn checked(build: &Build<'_>, design: &DesignFile) -> Result<DesignFile, Refusals> {
    let file = build.of(design).map_err(|problems| Refusals::by_reader(build, &problems))?;
    match misfit(&file.design) {
        None => Ok(file),
        Some(no) => Err(Refusals::by_rule(build, &no)),
    }
}

impl Contender {
    fn new(build: &Build<'_>, plan: Plan) -> Contender {
        Contender {
            parts: build.parts.iter().map(|p| (p.kind, p.name.clone())).collect(),
            // Every part of a shelf has a price: there is always one.
            price: plan.file.design.price().unwrap_or(0.0),
            plan,
            still_days: Moments::default(),
            worst_month: Moments::default(),
            dusk_run_min: Moments::default(),
        }
    }

    fn take(&mut self, year: &TrialOutcome) {
        self.still_days.push(f64::from(year.still_days));
        self.worst_month.push(f64::from(year.worst_month_still_days));
        if let Some(minutes) = year.dusk_run_min {
            self.dusk_run_min.push(minutes);
        }
    }
}

/// Races all builds of the shelf; no build gets more than `budget` trials. `design` holds the wish.
///
/// # Errors
/// If no two parts of the shelf go together in this design.
pub fn choose(
    engine: &Engine<'_>,
    design: &Plan,
    shelf: &Shelf,
    budget: u64,
    command: &str,
) -> Result<(Choice, Option<DesignFile>), Problems> {
    let mut field = Field::new(design, shelf);
    if field.is_empty() {
        return Err(choice::nothing_fits(shelf, &field.refused));
    }
    let mut selection = SequentialSelection::new(field.len(), field.wish.1, budget);
    loop {
        let next = selection.next();
        if next.is_empty() || engine.stopped() {
            break;
        }
        field.simulate(engine, &mut selection, &next);
    }

    // What is shown beside the answer is to be known better than by one look. None of this can change the answer:
    // what is cheaper and in question has had its whole budget.
    let shown = SHOWN_TRIALS.min(budget);
    let runners_up: Vec<usize> = (0..field.len())
        .filter(|&i| Some(i) != selection.chosen() && selection.standing(i) != Standing::Fails)
        .take(RUNNERS_UP)
        .collect();
    field.raise(engine, &mut selection, &runners_up, shown);
    loop {
        let frontier = field.frontier();
        if frontier.iter().all(|&i| selection.trials(i) >= shown) || engine.stopped() {
            break;
        }
        field.raise(engine, &mut selection, &frontier, shown);
    }
    let best = selection.chosen().or_else(|| choice::nearest(&field, &selection));
    let file = best.and_then(|i| field.file(i)).cloned();
    Ok((choice::choice(engine, design, shelf, &field, &selection, &runners_up, best, command), file))
}
