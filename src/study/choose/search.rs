//! The search for the cheapest build of a shelf that meets the wish.

use super::choice::{Choice, Decided, choice};
use super::field::Field;
use super::over_years::over_years;
use super::refusal::nothing_fits;
use super::sequential_selection::{SequentialSelection, Standing};
use crate::design::DesignFile;
use crate::design::shelf::Shelf;
use crate::source::{Problem, Problems};
use crate::study::engine::Engine;
use crate::study::plan::Plan;
use crate::study::run::Until;
use crate::study::simulate::simulate;
use crate::study::years::kept::MOST_BUILDS;
use crate::tally::Summary;
use std::sync::Arc;

/// Minimum number of trials of the builds shown beside the answer, if the budget allows it.
const SHOWN_TRIALS: u64 = 96;

/// Number of builds shown as the next ones.
const RUNNERS_UP: usize = 5;

/// Finds the cheapest build of the shelf that meets the wish of `design`; no build gets more than `budget` trials. Gives the
/// answer, and the design file of the build chosen. With `cost_over_years`, the builds beside it that seem to meet the wish are kept over so
/// many years, too.
///
/// # Errors
/// No combination of the shelf is valid in this design, or it was stopped before the first trial.
pub fn choose(
    engine: &Engine<'_>,
    design: &Plan,
    shelf: &Shelf,
    budget: u64,
    cost_over_years: Option<u16>,
    command: &str,
) -> Result<(Choice, Option<DesignFile>), Problems> {
    let mut field = Field::new(design, shelf);
    if field.is_empty() {
        return Err(nothing_fits(shelf, &field.refused));
    }
    let mut selection = SequentialSelection::new(field.len(), field.wish.1, budget);
    loop {
        let next = selection.next();
        if next.is_empty() || engine.stopped() {
            break;
        }
        field.simulate(engine, &mut selection, &next);
    }

    // Builds shown beside the answer get more than one block. This cannot change the answer: cheaper builds that are
    // undecided have used up their budget.
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
    let Some(best) = selection.chosen().or_else(|| nearest(&field, &selection)) else {
        return Err(nothing_fits(shelf, &field.refused));
    };
    let summary = summary(engine, &field.contenders[best].plan, selection.trials(best), command)
        .ok_or_else(|| Problem::error("stopped before the first trial"))?;
    let file = field.file(best).cloned();
    let kept = cost_over_years.and_then(|years| {
        let members = contenders(&field, &selection, best, &runners_up);
        over_years(engine, &field, (&members, best), years)
    });
    let (field, selection, runners_up) = (&field, &selection, &runners_up[..]);
    let stopped = engine.stopped();
    let decided =
        Decided { design, shelf, field, selection, runners_up, best, summary, over_years: kept, stopped };
    Ok((choice(decided), file))
}

/// The build named and those beside it that seem to meet the wish, cheapest first.
fn contenders(
    field: &Field,
    selection: &SequentialSelection,
    named: usize,
    runners_up: &[usize],
) -> Vec<usize> {
    let seems_to = |&i: &usize| {
        selection.standing(i) != Standing::Fails
            && selection.test(i).estimate().is_some_and(|share| share >= field.wish.1)
    };
    let mut members: Vec<usize> =
        runners_up.iter().copied().chain(field.frontier()).filter(seems_to).collect();
    members.push(named);
    members.sort_unstable();
    members.dedup();
    while members.len() > MOST_BUILDS {
        // The dearest first, but not the one that is named.
        let last = members.iter().rposition(|&i| i != named).unwrap_or(0);
        members.remove(last);
    }
    members
}

/// Simulates the same trials of one build again, now with a full tally. Ignores the stop flag: the build is chosen already.
fn summary(engine: &Engine<'_>, plan: &Plan, trials: u64, command: &str) -> Option<Summary> {
    let engine = Engine { isa: engine.isa, ..Engine::new(engine.seed, Arc::clone(&engine.pool)) };
    simulate(&engine, plan, Until::Trials(trials), command.to_owned())
}

/// The build with the largest share of good years, the cheapest of ties: named if none surely meets the wish.
fn nearest(field: &Field, selection: &SequentialSelection) -> Option<usize> {
    (0..field.len()).fold(None, |best: Option<usize>, i| {
        let share = |i: usize| selection.test(i).estimate();
        match best {
            Some(b) if share(b) >= share(i) => Some(b),
            _ => Some(i),
        }
    })
}
