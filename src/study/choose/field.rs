//! All builds of a shelf: the valid ones, simulated block by block, and why the others are refused.

use super::refusal::Refusals;
use super::sequential_selection::SequentialSelection;
use crate::design::shelf::{Build, Kind, Shelf};
use crate::design::{DesignFile, misfit};
use crate::lanes::BLOCK;
use crate::study::engine::{Engine, Task};
use crate::study::plan::Plan;
use crate::tally::{Moments, TrialOutcome};
use std::collections::BTreeMap;

/// Builds per task; the weather of a task is drawn once.
const TASK_BUILDS: usize = 8;

/// A build in the search, with sums over its trials.
pub(super) struct Contender {
    /// Names of its parts, in the order of the shelf's kinds.
    pub parts: Vec<(Kind, String)>,
    pub price: f64,
    pub plan: Plan,
    pub still_days: Moments,
    pub worst_month: Moments,
    pub dusk_run_min: Moments,
}

/// All builds of a shelf: the valid ones, cheapest first, and why the others are refused.
pub(super) struct Field {
    pub contenders: Vec<Contender>,
    pub refused: Vec<Refusals>,
    pub combinations: usize,
    /// Bearable still days a month, and the share of years.
    pub wish: (f64, f64),
}

impl Field {
    /// Puts every combination of the shelf's parts into a design.
    pub(crate) fn new(design: &Plan, shelf: &Shelf) -> Field {
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
        // Stable: builds of equal price stay in the order of the shelf.
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

    /// Number of valid builds.
    pub(crate) fn len(&self) -> usize {
        self.contenders.len()
    }

    /// Whether there is none.
    pub(crate) fn is_empty(&self) -> bool {
        self.contenders.is_empty()
    }

    /// The design file of build `place`, in the order of prices.
    pub(crate) fn file(&self, place: usize) -> Option<&DesignFile> {
        self.contenders.get(place).map(|e| &e.plan.file)
    }

    /// Simulates the next block of each of these builds.
    pub fn simulate(&mut self, engine: &Engine<'_>, selection: &mut SequentialSelection, builds: &[usize]) {
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
        for (&(_, some), outcomes) in tasks.iter().zip(results) {
            for (&build, years) in some.iter().zip(outcomes) {
                let good = years.iter().map(|y| y.year.met());
                selection.take(build, good);
                years.iter().for_each(|year| self.contenders[build].take(year));
            }
        }
    }

    /// Simulates builds until each has at least so many trials.
    pub(crate) fn raise(
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

    /// Builds with fewer still days than all cheaper ones, by their means so far.
    pub(crate) fn frontier(&self) -> Vec<usize> {
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

/// The design with the parts of a build, if they fit together.
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
            // Every part of a shelf has a price, so there always is one.
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
