//! Days worth looking at, picked from simulated trials and traced minute by minute.

use super::engine::{Engine, chains, donors};
use super::parts;
use super::plan::Plan;
use crate::lanes::BLOCK;
use crate::plant::{self, DayBlock, DayTrace, Light, State, Today, Units};
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
    let mut survey = Survey::of(engine, plan, trial / BLOCK as u64);
    let chosen = choose(plan, &survey.lane((trial % BLOCK as u64) as usize), pick)?;
    Some(survey.trace(chosen, pick))
}

/// A bright, a typical and a still day out of the first sixteen trials: for the report.
pub fn three_days(engine: &Engine<'_>, plan: &Plan) -> Vec<DayTrace> {
    let mut survey = Survey::of(engine, plan, 0);
    let first = survey.lane(0);
    let chosen = [
        (choose(plan, &first, Pick::Bright), Pick::Bright),
        (choose(plan, &first, Pick::Typical), Pick::Typical),
        // A still day may be rare: look for it in all sixteen trials.
        (choose(plan, &survey.seen, Pick::Still), Pick::Still),
    ];
    chosen.into_iter().filter_map(|(seen, pick)| Some(survey.trace(seen?, pick))).collect()
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

/// A block simulated once: what its days were like, and all that is needed to meet one of them again.
struct Survey<'a> {
    engine: &'a Engine<'a>,
    plan: &'a Plan,
    first_trial: u64,
    chains: Vec<Vec<u32>>,
    units: Units,
    /// State before each day of the scene.
    before: Vec<State>,
    /// The days that were wanted and had a sun.
    seen: Vec<Seen>,
    weather: BlockDay,
    light: Light,
}

impl<'a> Survey<'a> {
    fn of(engine: &'a Engine<'a>, plan: &'a Plan, block: u64) -> Self {
        let first_trial = block * BLOCK as u64;
        let designs: Vec<_> = (0..BLOCK as u64)
            .map(|lane| parts::draw(&plan.file.design, engine.seed, first_trial + lane).0)
            .collect();
        let mut survey = Survey {
            engine,
            plan,
            first_trial,
            chains: chains(&plan.site.sampler, engine.seed, first_trial, plan.chain_days()),
            units: Units::new(&designs),
            before: Vec::with_capacity(plan.scene.days.len()),
            seen: Vec::new(),
            weather: BlockDay::default(),
            light: Light::default(),
        };
        let mut state = State::start(&survey.units, &plan.scene);
        let mut out = DayBlock::new();
        for index in 0..plan.scene.days.len() {
            survey.before.push(state.clone());
            plant::step_day(engine.isa, survey.today(index), &mut state, &mut out);
            survey.note(index, &out);
        }
        survey
    }

    /// Draws the weather of a day again, and its light.
    fn today(&mut self, index: usize) -> Today<'_> {
        let (isa, seed, scene) = (self.engine.isa, self.engine.seed, &self.plan.scene);
        let k = self.plan.chain_offset() + index;
        let (donors, date) = (donors(&self.chains, k), scene.days[index].day_of_year);
        self.plan.site.sampler.fill(isa, seed, self.first_trial, k, date, donors, &mut self.weather);
        self.light.fall(isa, scene, index, &self.units, &self.weather);
        Today { scene, index, units: &self.units, weather: &self.weather, light: &self.light }
    }

    fn note(&mut self, index: usize, out: &DayBlock) {
        let day = &self.plan.scene.days[index];
        let clear = clear_ghi_wh_m2(&self.plan.site.calendar.days[usize::from(day.day_of_year)]);
        if day.season_day < 0 || day.wanted_min() <= 0.0 || clear <= 0.0 {
            return;
        }
        self.seen.extend((0..BLOCK).map(|lane| Seen {
            lane,
            index,
            jet_share: out.jet_min.0[lane] / day.wanted_min(),
            clearness: out.ghi_wh_m2.0[lane] / clear,
        }));
    }

    /// The days of one lane.
    fn lane(&self, lane: usize) -> Vec<Seen> {
        self.seen.iter().copied().filter(|s| s.lane == lane).collect()
    }

    /// Meets a day once more, minute by minute.
    fn trace(&mut self, seen: Seen, pick: Pick) -> DayTrace {
        let mut state = self.before[seen.index].clone();
        let mut trace = plant::trace_day(self.today(seen.index), seen.lane, &mut state);
        trace.label = label(pick, self.plan, seen);
        trace.trial = self.first_trial + seen.lane as u64;
        trace
    }
}

/// Global irradiation of a clear day, Wh/m².
fn clear_ghi_wh_m2(day: &CalendarDay) -> f64 {
    day.minutes.iter().map(|m| m.dni_clear_w_m2 * m.up + m.dhi_clear_w_m2).sum::<f64>() / 60.0
}
