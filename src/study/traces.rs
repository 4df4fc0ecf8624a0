//! Single days picked from simulated trials, and traced minute by minute.

use super::block_history::{BlockHistory, DayFeatures};
use super::block_weather::BlockWeather;
use super::engine::Engine;
use super::plan::Plan;
use crate::lanes::BLOCK;
use crate::plant::{self, DayInput, DayTrace, Light};
use crate::weather::BlockDay;

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
}

/// One day of one trial; `None` if the season does not have that day.
pub fn one(engine: &Engine<'_>, plan: &Plan, trial: u64, pick: Pick) -> Option<DayTrace> {
    let history = engine.history(plan, trial / BLOCK as u64);
    let lane = (trial % BLOCK as u64) as usize;
    let chosen = match pick {
        // Any day of the season, also one on which nothing is wanted or the sun does not rise.
        Pick::Date(day) => {
            let index = plan.scene.days.iter().position(|d| d.season_day >= 0 && d.day_of_year == day)?;
            DayFeatures { lane, index, jet_share: 0.0, clearness: 0.0 }
        }
        Pick::Bright | Pick::Typical | Pick::Dull | Pick::Still => choose(plan, &history.lane(lane), pick)?,
    };
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
    let mut tracer = DayTracer::of(engine, plan, &history);
    chosen.into_iter().filter_map(|(day, pick)| Some(tracer.trace(day?, pick))).collect()
}

fn label(pick: Pick, plan: &Plan, chosen: DayFeatures) -> String {
    match pick {
        Pick::Date(_) => "asked for".to_owned(),
        Pick::Bright => "bright".to_owned(),
        Pick::Typical => "typical".to_owned(),
        Pick::Dull => "dull".to_owned(),
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
    day: BlockDay,
    light: Light,
}

impl<'a> DayTracer<'a> {
    fn of(engine: &'a Engine<'a>, plan: &'a Plan, history: &'a BlockHistory) -> Self {
        DayTracer {
            engine,
            plan,
            history,
            weather: BlockWeather::new(
                &plan.site.sampler,
                engine.seed,
                history.first_trial,
                plan.chain_days(),
            ),
            day: BlockDay::default(),
            light: Light::default(),
        }
    }

    /// Simulates one day of one trial again, minute by minute.
    fn trace(&mut self, chosen: DayFeatures, pick: Pick) -> DayTrace {
        let DayTracer { engine, plan, history, weather, day, light } = self;
        let (isa, scene, index) = (engine.isa, &plan.scene, chosen.index);
        weather.fill(isa, plan.chain_offset() + index, day);
        light.compute(isa, scene, index, &history.units, day);
        let mut state = history.before[index].clone();
        let input = DayInput { scene, index, units: &history.units, weather: day, light };
        let mut trace = plant::trace_day(input, chosen.lane, &mut state);
        trace.label = label(pick, plan, chosen);
        trace.trial = history.first_trial + chosen.lane as u64;
        trace
    }
}
