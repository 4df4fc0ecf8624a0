//! The likelihood of a unit: paths of weather and charge through the days of a logbook, weighed and resampled where something was noted.
//!
//! A particle filter (Gordon, Salmond & Smith 1993, IEE Proc. F 140:107-113, from memory): the likelihood is the mean over weather of the
//! *product* over days, because charge is carried from day to day; the entries of one day are multiplied on the same path first. Days without
//! entries, on which no path is told from another, are stepped with one block of paths only; the estimate stays without bias.

use super::case::Case;
use super::density::{Shown, density};
use super::explanation::{Explanation, Unit};
use super::predict::{DayReadings, UnitReadings};
use super::resample::systematic;
use super::tempering::Target;
use super::weather_law::word_of_minute;
use crate::lanes::BLOCK;
use crate::logbook::Entry;
use crate::plant::{self, DayBlock, DayInput, Light, State, UnitBlock, Watch};
use crate::seed::{Purpose, open_unit, stream};
use crate::weather::{BlockDay, BlockKey, SampledDay};
use rand::rngs::ChaCha8Rng;

/// Charge of a battery before the first day, share of full: from, to.
const FIRST_CHARGE: (f64, f64) = (0.1, 1.0);
/// Far more than the rounding of a sum of logarithms.
const ROUNDING: f64 = 1e-6;
/// First trial of the clouds: far from those of any run.
const FIRST_TRIAL: u64 = 1 << 45;

/// An explanation of a logbook, by which units are weighed.
pub struct Weighing<'c> {
    /// Design and logbook.
    pub case: &'c Case<'c>,
    /// The explanation.
    pub explanation: Explanation,
}

/// What a unit says of an entry.
#[derive(Clone, Debug, Default)]
pub struct EntryRecord {
    /// What it shows on each path before the entry's day is weighed.
    pub shown: Vec<Shown>,
    /// The chance of the word for the sky beside it in the light of its minute, on each path.
    pub words: Vec<f64>,
    /// Probability that the entry is wrong.
    pub wrong: f64,
}

impl Target for Weighing<'_> {
    fn dimensions(&self) -> usize {
        self.case.keys.len() + self.explanation.unknowns()
    }

    fn log_likelihood(&self, z: &[f64], draws: usize, key: u64, floor: f64) -> f64 {
        let unit = self.case.unit(self.explanation, z);
        Filter::new(self.case, &unit, draws, key).run(floor, None)
    }

    fn is_noisy(&self) -> bool {
        !self.case.schedule.days.is_empty()
    }
}

/// Runs the paths of a unit again and keeps what it says of each entry.
pub fn records(weighing: &Weighing<'_>, z: &[f64], draws: usize, key: u64) -> Vec<EntryRecord> {
    let case = weighing.case;
    let unit = case.unit(weighing.explanation, z);
    let mut records = vec![EntryRecord::default(); case.entries.len()];
    Filter::new(case, &unit, draws, key).run(f64::NEG_INFINITY, Some(&mut records));
    records
}

impl EntryRecord {
    /// What it shows where the sky of the minute is as the word says, as far as that is known.
    pub fn under_the_sky_noted(&self) -> impl Iterator<Item = Shown> {
        let best = self.words.iter().copied().fold(0.0, f64::max);
        self.shown.iter().zip(&self.words).filter(move |(_, word)| **word >= 0.5 * best).map(|(s, _)| *s)
    }
}

/// What a unit shows of each entry on one path of weather, whatever was noted; `key` names the weather.
pub fn unweighed(case: &Case<'_>, design: &crate::design::Design<f64>, key: u64) -> Vec<Shown> {
    let unit = Unit { design: design.clone(), stuck: None };
    unweighed_unit(case, &unit, key)
}

/// The same of a unit with a fault.
pub fn unweighed_unit(case: &Case<'_>, unit: &Unit, key: u64) -> Vec<Shown> {
    let mut records = vec![EntryRecord::default(); case.entries.len()];
    let mut filter = Filter::new(case, unit, BLOCK, (11 << 36) | key);
    filter.weighed = false;
    filter.run(f64::NEG_INFINITY, Some(&mut records));
    // Whoever reads what depends on the light does so under the sky that stands beside it: a path in proportion to that.
    let fits: Vec<f64> = (0..BLOCK)
        .map(|path| records.iter().map(|r| r.words.get(path).copied().unwrap_or(1.0)).product())
        .collect();
    let u = open_unit(&mut stream(case.seed, Purpose::Learn("path"), key, 0));
    let path = systematic(&fits, 1, u)[0];
    let at = |r: &EntryRecord| r.shown.get(path).or(r.shown.first()).copied().unwrap_or(Shown::Nothing);
    records.iter().map(at).collect()
}

/// The paths of one unit.
struct Filter<'f> {
    case: &'f Case<'f>,
    unit: &'f Unit,
    key: u64,
    units: UnitBlock,
    /// Blocks of paths on days with entries.
    blocks: usize,
    states: Vec<State>,
    /// Clear-sky index of each path's last day.
    before: Vec<f32>,
    rng: ChaCha8Rng,
    buffers: Buffers,
    /// Whether paths are resampled by how well they fit.
    weighed: bool,
}

#[derive(Default)]
struct Buffers {
    weather: BlockDay,
    light: Light,
    out: DayBlock,
    watch: Watch,
}

impl<'f> Filter<'f> {
    fn new(case: &'f Case<'f>, unit: &'f Unit, draws: usize, key: u64) -> Self {
        let blocks = if case.schedule.days.is_empty() { 0 } else { draws.div_ceil(BLOCK) };
        let units = UnitBlock::new(&vec![unit.design.clone(); BLOCK]);
        let mut rng = stream(case.seed, Purpose::Learn("paths"), key, 0);
        let mut start = units.start_state();
        units.charge_fully(&mut start);
        let states = (0..blocks)
            .map(|block| {
                let mut state = start.clone();
                for lane in 0..BLOCK {
                    let path = (block * BLOCK + lane) as f64;
                    let u = (path + open_unit(&mut rng)) / (blocks * BLOCK) as f64;
                    let share = FIRST_CHARGE.0 + u * (FIRST_CHARGE.1 - FIRST_CHARGE.0);
                    state.drain(lane, share);
                    if let Some(aim) = unit.stuck {
                        state.aim_at(lane, aim);
                    }
                }
                state
            })
            .collect();
        Filter {
            case,
            unit,
            key,
            units,
            blocks,
            states,
            before: vec![f32::NAN; blocks * BLOCK],
            rng,
            buffers: Buffers::default(),
            weighed: true,
        }
    }

    /// ln of the likelihood; negative infinity as soon as it is sure to lie below `floor`.
    fn run(mut self, floor: f64, mut records: Option<&mut Vec<EntryRecord>>) -> f64 {
        let readings = UnitReadings::new(&self.unit.design);
        let mut sum = self.parts(&readings, records.as_deref_mut());
        for index in 0..self.case.schedule.days.len() {
            if sum + self.case.best[index] + ROUNDING < floor {
                return f64::NEG_INFINITY;
            }
            sum += self.day(index, &readings, records.as_deref_mut());
        }
        sum
    }

    /// Entries about parts alone: the weather does not matter.
    fn parts(&self, readings: &UnitReadings<'_>, mut records: Option<&mut Vec<EntryRecord>>) -> f64 {
        let mut sum = 0.0;
        for &k in &self.case.schedule.of_parts {
            let entry = &self.case.entries[k];
            let days = self.case.schedule.days.iter().filter(|d| d.date < entry.date).count();
            let shown = readings.of_part(entry, days);
            let (full, wrong) = density(entry, self.case.observed(k), shown, self.case.ranges[k]);
            sum += libm::log(full);
            if let Some(records) = records.as_deref_mut() {
                records[k] = EntryRecord { shown: vec![shown], words: vec![1.0], wrong: wrong / full };
            }
        }
        sum
    }

    /// One day of all paths; gives ln of the mean density of its entries.
    fn day(
        &mut self,
        index: usize,
        readings: &UnitReadings<'_>,
        mut records: Option<&mut Vec<EntryRecord>>,
    ) -> f64 {
        let case = self.case;
        let day = &case.schedule.days[index];
        self.regroup(if day.entries.is_empty() { self.blocks.min(1) } else { self.blocks });
        let mut weights = vec![1.0; self.before.len()];
        let mut wrong: Vec<Vec<f64>> = vec![Vec::new(); day.entries.len()];
        let points = self.points();
        for block in 0..self.states.len() {
            self.step(index, block, &points[block * BLOCK..(block + 1) * BLOCK]);
            if day.entries.is_empty() {
                continue;
            }
            let Buffers { weather, out, watch, .. } = &self.buffers;
            let seen = DayReadings { scene: &case.scene, index, weather, out, watch };
            for lane in 0..BLOCK {
                for (j, &k) in day.entries.iter().enumerate() {
                    let entry = &case.entries[k];
                    let noted = case.minutes[k].and_then(|m| watch.noted.iter().find(|n| n.minute == m));
                    let shown = readings.of_day(entry, &seen, noted, lane);
                    let (full, part) = density(entry, case.observed(k), shown, case.ranges[k]);
                    let word = noted.map_or(1.0, |noted| word_of(entry, &seen, noted.minute, lane));
                    weights[block * BLOCK + lane] *= full * word;
                    if let Some(records) = records.as_deref_mut() {
                        records[k].shown.push(shown);
                        records[k].words.push(word);
                        wrong[j].push(part / full);
                    }
                }
            }
        }
        if day.entries.is_empty() {
            return 0.0;
        }
        let sum: f64 = weights.iter().sum();
        if let Some(records) = records {
            for (j, &k) in day.entries.iter().enumerate() {
                records[k].wrong = weights.iter().zip(&wrong[j]).map(|(w, p)| w * p).sum::<f64>() / sum;
            }
        }
        if self.weighed {
            self.resample(&weights);
        }
        libm::log(sum / weights.len() as f64)
    }

    /// A number in 0..1 for each path, by which its day is drawn: each evenly spread, all of them and those of paths of like charge even
    /// more evenly than chance would spread them. Their mean over paths stays without bias, and varies less (array-RQMC: L'Ecuyer,
    /// Lécot & Tuffin 2008, Oper. Res. 56:958-975, from memory; here the bit-reversed rank by charge, shifted at random).
    fn points(&mut self) -> Vec<f64> {
        let shift = open_unit(&mut self.rng);
        let mut points = vec![0.0; self.before.len()];
        for (rank, path) in self.by_charge().into_iter().enumerate() {
            let reversed = f64::from((rank as u32).reverse_bits()) / 4_294_967_296.0;
            points[path] = (reversed + shift).fract();
        }
        points
    }

    /// Steps one block of paths through a day; `points` draw the day of each.
    fn step(&mut self, index: usize, block: usize, points: &[f64]) {
        let case = self.case;
        let day = &case.schedule.days[index];
        let law = &case.law.days[index];
        let lanes = block * BLOCK..(block + 1) * BLOCK;
        let mut days = [SampledDay::default(); BLOCK];
        for ((sampled, before), u) in days.iter_mut().zip(&mut self.before[lanes]).zip(points) {
            *sampled = law.draw(*before, *u);
            *before = sampled.index;
        }
        let Buffers { weather, light, out, watch } = &mut self.buffers;
        let sampler = match (law.actual, case.actual) {
            (true, Some(actual)) => &actual.sampler,
            _ => &case.site.sampler,
        };
        let first_trial = FIRST_TRIAL + (self.key * 16 + block as u64) * BLOCK as u64;
        let key = BlockKey { seed: case.seed, first_trial, day_index: index };
        sampler.fill(case.isa, key, case.scene.days[index].day_of_year, days, weather);
        light.compute(case.isa, &case.scene, index, &self.units, weather);
        let state = &mut self.states[block];
        if day.charged {
            self.units.charge_fully(state);
        }
        if day.filled_up {
            self.units.fill_up(state);
        }
        let input = DayInput { scene: &case.scene, index, units: &self.units, weather, light };
        if day.entries.is_empty() {
            plant::step_day(case.isa, input, state, out);
        } else {
            watch.begin(day.entries.iter().filter_map(|&k| case.minutes[k]));
            plant::watch_day(case.isa, input, state, out, watch);
        }
    }

    /// The paths by their charge.
    fn by_charge(&self) -> Vec<usize> {
        let charge = |k: &usize| self.states[k / BLOCK].charge_ah(k % BLOCK);
        let mut order: Vec<usize> = (0..self.before.len()).collect();
        order.sort_by(|a, b| charge(a).total_cmp(&charge(b)).then(a.cmp(b)));
        order
    }

    /// Paths in proportion to their weights. They are sorted by charge first: then resampling disturbs little.
    fn resample(&mut self, weights: &[f64]) {
        let order = self.by_charge();
        let sorted: Vec<f64> = order.iter().map(|&k| weights[k]).collect();
        let u = open_unit(&mut self.rng);
        let taken: Vec<usize> = systematic(&sorted, weights.len(), u).into_iter().map(|k| order[k]).collect();
        self.take(&taken);
    }

    /// As many blocks of paths as wanted: fewer by an even choice over charge, more by taking each as often as the others.
    fn regroup(&mut self, blocks: usize) {
        let (paths, wanted) = (self.before.len(), blocks * BLOCK);
        if wanted < paths {
            let order = self.by_charge();
            let u = open_unit(&mut self.rng);
            let stride = paths as f64 / wanted as f64;
            let taken: Vec<usize> =
                (0..wanted).map(|k| order[(((k as f64 + u) * stride) as usize).min(paths - 1)]).collect();
            self.take(&taken);
        } else if wanted > paths {
            let taken: Vec<usize> = (0..wanted).map(|k| k % paths).collect();
            self.take(&taken);
        }
    }

    /// Goes on with these paths: whole blocks of them.
    fn take(&mut self, taken: &[usize]) {
        let mut states = vec![self.states[0].clone(); taken.len() / BLOCK];
        for (to, &from) in taken.iter().enumerate() {
            states[to / BLOCK].take(to % BLOCK, &self.states[from / BLOCK], from % BLOCK);
        }
        self.states = states;
        self.before = taken.iter().map(|&k| self.before[k]).collect();
    }
}

/// The chance of the word for the sky that stands beside a reading, in the light of its minute.
fn word_of(entry: &Entry, seen: &DayReadings<'_>, minute: usize, lane: usize) -> f64 {
    seen.sun(minute).map_or(1.0, |(k, sun)| word_of_minute(entry, sun, seen.weather.light(k, lane)))
}
