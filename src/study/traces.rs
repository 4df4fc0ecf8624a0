//! Single days picked from simulated trials, and traced minute by minute.

use super::block_history::{BlockHistory, DayFeatures};
use super::block_weather::BlockWeather;
use super::engine::Engine;
use super::plan::Plan;
use crate::lanes::BLOCK;
use crate::plant::{self, Cause, DayInput, DayTrace, Light};
use crate::weather::BlockDay;
use rayon::prelude::*;

/// Which day of a trial to trace.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pick {
    /// This day of the year, 0..365; must lie in the season.
    Date(u16),
    /// The day with the most sun for its date.
    Bright,
    /// The day with the median share of wanted minutes that have a jet.
    Typical,
    /// The day with the least sun for its date.
    Dull,
    /// The day with the fewest jet minutes.
    Still,
    /// The day with the most wanted minutes without a jet for this cause.
    Worst(Cause),
}

/// Causes for each of which an album has its worst day, at most: those that cost most.
const CAUSES: usize = 5;

/// A day and all it was picked for.
#[derive(Clone, Debug)]
pub struct PickedDay {
    /// What it was picked for; the first is what its trace is labelled by.
    pub picks: Vec<Pick>,
    /// The day.
    pub trace: DayTrace,
}

/// A day chosen from a history, and all it was picked for.
struct ChosenDay {
    day: DayFeatures,
    picks: Vec<Pick>,
}

/// The days that are worth a look: bright, typical, dull and still, and the worst of each cause.
///
/// Bright, typical and dull are days of one trial; the others may be rare and are looked for in its whole block of sixteen.
/// `asked`: a day that comes first, of the trial itself. The block is simulated again.
pub fn album(engine: &Engine<'_>, plan: &Plan, (trial, asked): (u64, Option<Pick>)) -> Vec<PickedDay> {
    let history = engine.history(plan, trial / BLOCK as u64);
    let chosen = album_days(plan, &history, (trial % BLOCK as u64) as usize, asked);
    DayTracer::of(engine, plan, &history).all(chosen)
}

/// The three days of [`three_days`] and the [`album`] of the first trial, each day traced once.
pub fn of_run(
    engine: &Engine<'_>,
    plan: &Plan,
    history: Option<BlockHistory>,
) -> (Vec<DayTrace>, Vec<PickedDay>) {
    let history = history.unwrap_or_else(|| engine.history(plan, 0));
    let chosen = album_days(plan, &history, 0, None);
    let features: Vec<DayFeatures> = chosen.iter().map(|c| c.day).collect();
    let album = DayTracer::of(engine, plan, &history).all(chosen);
    let three = [Pick::Bright, Pick::Typical, Pick::Still].into_iter().filter_map(|pick| {
        let (day, features) = album.iter().zip(&features).find(|(d, _)| d.picks.contains(&pick))?;
        Some(DayTrace { label: label(pick, plan, *features), ..day.trace.clone() })
    });
    (three.collect(), album)
}

fn album_days(plan: &Plan, history: &BlockHistory, lane: usize, asked: Option<Pick>) -> Vec<ChosenDay> {
    let own = history.lane(lane);
    let first = asked.and_then(|pick| Some((of_lane(plan, &own, lane, pick)?, pick)));
    let kinds = [Pick::Bright, Pick::Typical, Pick::Dull].map(|pick| (choose(plan, &own, pick), pick));
    // A still day is the trial's own if one was asked for.
    let among = if asked == Some(Pick::Still) { &own } else { &history.features };
    let still = [(choose(plan, among, Pick::Still), Pick::Still)];
    let causes = costliest(&history.features)
        .map(|c| (choose(plan, &history.features, Pick::Worst(c)), Pick::Worst(c)));
    let found = kinds.into_iter().chain(still).chain(causes).filter_map(|(day, pick)| Some((day?, pick)));
    let mut chosen: Vec<ChosenDay> = Vec::new();
    for (day, pick) in first.into_iter().chain(found) {
        match chosen.iter_mut().find(|c| (c.day.lane, c.day.index) == (day.lane, day.index)) {
            Some(c) if !c.picks.contains(&pick) => c.picks.push(pick),
            Some(_) => {}
            None => chosen.push(ChosenDay { day, picks: vec![pick] }),
        }
    }
    chosen
}

/// The causes that cost most minutes in all these days, the costliest first.
fn costliest(days: &[DayFeatures]) -> impl Iterator<Item = Cause> {
    let mut sums: Vec<(f64, Cause)> =
        Cause::ALL.map(|c| (days.iter().map(|d| d.cause_min[c as usize]).sum(), c)).to_vec();
    sums.retain(|(minutes, _)| *minutes > 0.0);
    sums.sort_by(|a, b| b.0.total_cmp(&a.0));
    sums.into_iter().take(CAUSES).map(|(_, cause)| cause)
}

/// The day of a lane.
fn of_lane(plan: &Plan, own: &[DayFeatures], lane: usize, pick: Pick) -> Option<DayFeatures> {
    match pick {
        // Any day of the season, also one on which nothing is wanted or the sun does not rise.
        Pick::Date(day) => {
            let index = plan.scene.days.iter().position(|d| d.season_day >= 0 && d.day_of_year == day)?;
            Some(DayFeatures {
                lane,
                index,
                jet_share: 0.0,
                clearness: 0.0,
                cause_min: [0.0; Cause::ALL.len()],
            })
        }
        Pick::Bright | Pick::Typical | Pick::Dull | Pick::Still | Pick::Worst(_) => choose(plan, own, pick),
    }
}

/// One day of one trial; `None` if the season does not have that day.
pub fn one(engine: &Engine<'_>, plan: &Plan, trial: u64, pick: Pick) -> Option<DayTrace> {
    let history = engine.history(plan, trial / BLOCK as u64);
    let lane = (trial % BLOCK as u64) as usize;
    let chosen = of_lane(plan, &history.lane(lane), lane, pick)?;
    Some(DayTracer::of(engine, plan, &history).trace(chosen, pick))
}

/// A bright, a typical and a still day of the first sixteen trials, for the report. `history`: what a run kept of them
/// ([`super::run::FinishedRun`]); without it they are simulated again.
pub fn three_days(engine: &Engine<'_>, plan: &Plan, history: Option<BlockHistory>) -> Vec<DayTrace> {
    let history = history.unwrap_or_else(|| engine.history(plan, 0));
    let first = history.lane(0);
    let chosen = [
        (choose(plan, &first, Pick::Bright), Pick::Bright),
        (choose(plan, &first, Pick::Typical), Pick::Typical),
        // A still day may be rare: look for it in all sixteen trials.
        (choose(plan, &history.features, Pick::Still), Pick::Still),
    ];
    let tracer = DayTracer::of(engine, plan, &history);
    chosen.into_par_iter().filter_map(|(day, pick)| Some(tracer.trace(day?, pick))).collect()
}

fn label(pick: Pick, plan: &Plan, chosen: DayFeatures) -> String {
    match pick {
        Pick::Date(_) => "asked for".to_owned(),
        Pick::Bright => "bright".to_owned(),
        Pick::Typical => "typical".to_owned(),
        Pick::Dull => "dull".to_owned(),
        Pick::Worst(cause) => format!("most minutes of {}", cause.words()),
        Pick::Still => {
            let day = &plan.scene.days[chosen.index];
            let jet_min = chosen.jet_share * day.wanted_min();
            let in_season = usize::try_from(day.season_day).ok().and_then(|k| plan.layout.days.get(k));
            let still = in_season.is_some_and(|layout_day| layout_day.is_still(jet_min));
            if still { "still" } else { "worst seen" }.to_owned()
        }
    }
}

fn choose(plan: &Plan, days: &[DayFeatures], pick: Pick) -> Option<DayFeatures> {
    let by =
        |key: fn(&DayFeatures) -> f64| move |a: &&DayFeatures, b: &&DayFeatures| key(a).total_cmp(&key(b));
    match pick {
        Pick::Date(day) => days.iter().find(|s| plan.scene.days[s.index].day_of_year == day).copied(),
        Pick::Bright => days.iter().max_by(by(|s| s.clearness)).copied(),
        Pick::Dull => days.iter().min_by(by(|s| s.clearness)).copied(),
        Pick::Still => days
            .iter()
            .min_by(|a, b| a.jet_share.total_cmp(&b.jet_share).then(a.clearness.total_cmp(&b.clearness)))
            .copied(),
        Pick::Worst(cause) => days
            .iter()
            .filter(|s| s.cause_min[cause as usize] > 0.0)
            .max_by(|a, b| a.cause_min[cause as usize].total_cmp(&b.cause_min[cause as usize]))
            .copied(),
        Pick::Typical => {
            let mut sorted: Vec<DayFeatures> = days.to_vec();
            sorted.sort_by(|a, b| a.jet_share.total_cmp(&b.jet_share));
            sorted.get(sorted.len() / 2).copied()
        }
    }
}

/// Traces days of a history: draws their weather and light again.
struct DayTracer<'a> {
    engine: &'a Engine<'a>,
    plan: &'a Plan,
    history: &'a BlockHistory,
    weather: BlockWeather<'a>,
}

impl<'a> DayTracer<'a> {
    fn of(engine: &'a Engine<'a>, plan: &'a Plan, history: &'a BlockHistory) -> Self {
        let (sampler, days) = (&plan.site.sampler, plan.chain_days());
        let weather = BlockWeather::new(sampler, engine.seed, history.first_trial, days);
        DayTracer { engine, plan, history, weather }
    }

    /// All of these days, side by side.
    fn all(&self, chosen: Vec<ChosenDay>) -> Vec<PickedDay> {
        chosen
            .into_par_iter()
            .map(|ChosenDay { day, picks }| PickedDay { trace: self.trace(day, picks[0]), picks })
            .collect()
    }

    /// Simulates one day of one trial again, minute by minute.
    fn trace(&self, chosen: DayFeatures, pick: Pick) -> DayTrace {
        let DayTracer { engine, plan, history, weather } = self;
        let (isa, scene, index) = (engine.isa, &plan.scene, chosen.index);
        let (mut day, mut light) = (BlockDay::default(), Light::default());
        weather.fill(isa, plan.chain_offset() + index, &mut day);
        light.compute(isa, scene, index, &history.units, &day);
        let input = DayInput { scene, index, units: &history.units, weather: &day, light: &light };
        let mut trace = plant::trace_day(input, chosen.lane, history.before[index].clone());
        trace.label = label(pick, plan, chosen);
        trace.trial = history.first_trial + chosen.lane as u64;
        trace
    }
}
