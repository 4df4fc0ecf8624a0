//! Days worth looking at, picked from simulated trials and traced minute by minute.

use super::diary::{Diary, Seen};
use super::engine::{Engine, chains, donors};
use super::plan::Plan;
use crate::lanes::BLOCK;
use crate::plant::{self, DayTrace, Light, Today};
use crate::weather::BlockDay;

/// Which day of a trial to trace.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pick {
    /// This day of the year, 0..365; must lie in the season.
    Date(u16),
    /// The day with the most sun for its date.
    Bright,
    /// The day whose share of wanted minutes with a jet is the median one.
    Typical,
    /// The day with the least sun for its date.
    Dull,
    /// The day with the fewest jet minutes.
    Still,
}

/// One day of one trial; `None` if the season does not have that day.
pub fn one(engine: &Engine<'_>, plan: &Plan, trial: u64, pick: Pick) -> Option<DayTrace> {
    let diary = engine.diary(plan, trial / BLOCK as u64);
    let chosen = choose(plan, &diary.lane((trial % BLOCK as u64) as usize), pick)?;
    Some(Reader::of(engine, plan, &diary).trace(chosen, pick))
}

/// A bright, a typical and a still day out of the first sixteen trials: for the report. `diary` is what a run kept of them
/// ([`super::run::Run`]); without it they are simulated again.
pub fn three_days(engine: &Engine<'_>, plan: &Plan, diary: Option<Diary>) -> Vec<DayTrace> {
    let diary = diary.unwrap_or_else(|| engine.diary(plan, 0));
    let first = diary.lane(0);
    let chosen = [
        (choose(plan, &first, Pick::Bright), Pick::Bright),
        (choose(plan, &first, Pick::Typical), Pick::Typical),
        // A still day may be rare: look for it in all sixteen trials.
        (choose(plan, &diary.seen, Pick::Still), Pick::Still),
    ];
    let mut reader = Reader::of(engine, plan, &diary);
    chosen.into_iter().filter_map(|(seen, pick)| Some(reader.trace(seen?, pick))).collect()
}

fn label(pick: Pick, plan: &Plan, seen: Seen) -> String {
    match pick {
        Pick::Date(_) => "asked for".to_owned(),
        Pick::Bright => "bright".to_owned(),
        Pick::Typical => "typical".to_owned(),
        Pick::Dull => "dull".to_owned(),
        Pick::Still => {
            let day = &plan.scene.days[seen.index];
            let jet_min = seen.jet_share * day.wanted_min();
            let is_still =
                |k: usize| plan.shape.days.get(k).is_some_and(|shape_day| jet_min < shape_day.still_below);
            if usize::try_from(day.season_day).is_ok_and(is_still) { "still" } else { "worst seen" }
                .to_owned()
        }
    }
}

fn choose(plan: &Plan, seen: &[Seen], pick: Pick) -> Option<Seen> {
    let by = |key: fn(&Seen) -> f64| move |a: &&Seen, b: &&Seen| key(a).total_cmp(&key(b));
    match pick {
        Pick::Date(day) => seen.iter().find(|s| plan.scene.days[s.index].day_of_year == day).copied(),
        Pick::Bright => seen.iter().max_by(by(|s| s.clearness)).copied(),
        Pick::Dull => seen.iter().min_by(by(|s| s.clearness)).copied(),
        Pick::Still => seen
            .iter()
            .min_by(|a, b| a.jet_share.total_cmp(&b.jet_share).then(a.clearness.total_cmp(&b.clearness)))
            .copied(),
        Pick::Typical => {
            let mut sorted: Vec<Seen> = seen.to_vec();
            sorted.sort_by(|a, b| a.jet_share.total_cmp(&b.jet_share));
            sorted.get(sorted.len() / 2).copied()
        }
    }
}

/// A diary and what meeting one of its days takes beside it.
struct Reader<'a> {
    engine: &'a Engine<'a>,
    plan: &'a Plan,
    diary: &'a Diary,
    chains: Vec<Vec<u32>>,
    weather: BlockDay,
    light: Light,
}

impl<'a> Reader<'a> {
    fn of(engine: &'a Engine<'a>, plan: &'a Plan, diary: &'a Diary) -> Self {
        Reader {
            engine,
            plan,
            diary,
            chains: chains(&plan.site.sampler, engine.seed, diary.first_trial, plan.chain_days()),
            weather: BlockDay::default(),
            light: Light::default(),
        }
    }

    /// Meets a day once more, minute by minute: draws its weather and its light again.
    fn trace(&mut self, seen: Seen, pick: Pick) -> DayTrace {
        let Reader { engine, plan, diary, chains, weather, light } = self;
        let (isa, seed, scene, index) = (engine.isa, engine.seed, &plan.scene, seen.index);
        let k = plan.chain_offset() + index;
        let (donors, date) = (donors(chains, k), scene.days[index].day_of_year);
        plan.site.sampler.fill(isa, seed, diary.first_trial, k, date, donors, weather);
        light.fall(isa, scene, index, &diary.units, weather);
        let mut state = diary.before[index].clone();
        let today = Today { scene, index, units: &diary.units, weather, light };
        let mut trace = plant::trace_day(today, seen.lane, &mut state);
        trace.label = label(pick, plan, seen);
        trace.trial = diary.first_trial + seen.lane as u64;
        trace
    }
}
