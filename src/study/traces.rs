//! Days worth looking at, picked from simulated trials and traced minute by minute.

use super::engine::{Engine, chains, donors};
use super::parts;
use super::plan::Plan;
use crate::lanes::BLOCK;
use crate::plant::{self, DayBlock, DayTrace, State, Units};
use crate::sky::CalendarDay;
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

/// One simulated day, as far as picking needs it.
#[derive(Clone, Copy)]
struct Seen {
    lane: usize,
    index: usize,
    /// Share of the wanted minutes with a jet that counts.
    jet_share: f64,
    /// Global irradiation over that of a clear day.
    clearness: f64,
}

/// One day of one trial; `None` if the season does not have that day.
pub fn one(engine: &Engine<'_>, plan: &Plan, trial: u64, pick: Pick) -> Option<DayTrace> {
    let block = trial / BLOCK as u64;
    let lane = (trial % BLOCK as u64) as usize;
    let seen: Vec<Seen> = survey(engine, plan, block).into_iter().filter(|s| s.lane == lane).collect();
    let chosen = choose(plan, &seen, pick)?;
    trace(engine, plan, block, &[(chosen, label(pick, plan, chosen))]).pop()
}

/// A bright, a typical and a still day out of the first sixteen trials: for the report.
pub fn three_days(engine: &Engine<'_>, plan: &Plan) -> Vec<DayTrace> {
    let seen = survey(engine, plan, 0);
    let first: Vec<Seen> = seen.iter().copied().filter(|s| s.lane == 0).collect();
    let picks = [
        (choose(plan, &first, Pick::Bright), Pick::Bright),
        (choose(plan, &first, Pick::Typical), Pick::Typical),
        // A still day may be rare: look for it in all sixteen trials.
        (choose(plan, &seen, Pick::Still), Pick::Still),
    ];
    let chosen: Vec<_> =
        picks.into_iter().filter_map(|(seen, pick)| seen.map(|s| (s, label(pick, plan, s)))).collect();
    trace(engine, plan, 0, &chosen)
}

fn label(pick: Pick, plan: &Plan, seen: Seen) -> String {
    match pick {
        Pick::Date(_) => "asked for".to_owned(),
        Pick::Bright => "bright".to_owned(),
        Pick::Typical => "typical".to_owned(),
        Pick::Dull => "dull".to_owned(),
        Pick::Still => {
            let wish = &plan.file.design.wish;
            let jet_min = seen.jet_share * plan.scene.days[seen.index].wanted_min();
            if jet_min < wish.still_below_min { "still" } else { "worst seen" }.to_owned()
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

/// Simulates a block and notes every day of the season.
fn survey(engine: &Engine<'_>, plan: &Plan, block: u64) -> Vec<Seen> {
    let mut out = DayBlock::new();
    let mut seen = Vec::new();
    walk(engine, plan, block, usize::MAX, &mut |index, units, weather, state| {
        plant::step_day(engine.isa, &plan.scene, index, units, weather, state, &mut out);
        let day = &plan.scene.days[index];
        let clear = clear_ghi_wh_m2(&plan.site.calendar.days[usize::from(day.day_of_year)]);
        if day.season_day < 0 || day.wanted_min() <= 0.0 || clear <= 0.0 {
            return;
        }
        for lane in 0..BLOCK {
            seen.push(Seen {
                lane,
                index,
                jet_share: out.jet_min.0[lane] / day.wanted_min(),
                clearness: out.ghi_wh_m2.0[lane] / clear,
            });
        }
    });
    seen
}

/// Simulates a block again and traces the chosen days.
fn trace(engine: &Engine<'_>, plan: &Plan, block: u64, chosen: &[(Seen, String)]) -> Vec<DayTrace> {
    let mut out = DayBlock::new();
    let mut traces: Vec<Option<DayTrace>> = vec![None; chosen.len()];
    let last = chosen.iter().map(|(s, _)| s.index).max().unwrap_or(0);
    walk(engine, plan, block, last, &mut |index, units, weather, state| {
        for (slot, (seen, label)) in traces.iter_mut().zip(chosen) {
            if seen.index == index {
                let mut copy = state.clone();
                let mut trace = plant::trace_day(&plan.scene, index, units, seen.lane, weather, &mut copy);
                trace.label.clone_from(label);
                trace.trial = block * BLOCK as u64 + seen.lane as u64;
                *slot = Some(trace);
            }
        }
        plant::step_day(engine.isa, &plan.scene, index, units, weather, state, &mut out);
    });
    traces.into_iter().flatten().collect()
}

/// Walks a block's days up to `last`, handing each to `day` before it is stepped.
fn walk(
    engine: &Engine<'_>,
    plan: &Plan,
    block: u64,
    last: usize,
    day: &mut dyn FnMut(usize, &Units, &BlockDay, &mut State),
) {
    let first_trial = block * BLOCK as u64;
    let sampler = &plan.site.sampler;
    let chains = chains(sampler, engine.seed, first_trial, plan.chain_days());
    let designs: Vec<_> = (0..BLOCK as u64)
        .map(|lane| parts::draw(&plan.file.design, engine.seed, first_trial + lane).0)
        .collect();
    let units = Units::new(&designs);
    let mut state = State::start(&units, &plan.scene);
    let mut weather = BlockDay::default();
    for index in 0..plan.scene.days.len().min(last.saturating_add(1)) {
        let k = plan.chain_offset() + index;
        let donors = donors(&chains, k);
        let day_of_year = plan.scene.days[index].day_of_year;
        sampler.fill(engine.isa, engine.seed, first_trial, k, day_of_year, donors, &mut weather);
        day(index, &units, &weather, &mut state);
    }
}

/// Global irradiation of a clear day, Wh/m².
fn clear_ghi_wh_m2(day: &CalendarDay) -> f64 {
    day.minutes.iter().map(|m| m.dni_clear_w_m2 * m.up + m.dhi_clear_w_m2).sum::<f64>() / 60.0
}
