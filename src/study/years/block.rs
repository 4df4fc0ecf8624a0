//! Sixteen units on their way through their years.

use super::unit::{Replaced, Unit};
use super::winter::{Between, indoors};
use super::year::Year;
use crate::design::{Care, Design};
use crate::lanes::BLOCK;
use crate::plant::{DayBlock, SceneDay, State, UnitBlock};
use crate::study::block_weather::BlockWeather;
use crate::study::engine::{Engine, Walk};
use crate::study::parts::PartDraws;
use crate::study::plan::{Plan, RUN_IN_DAYS};
use crate::tally::{Known, Tally, Trial};

/// Trials between the weather of one year and that of the next: year y of life k has the weather of trial k + y times this.
const YEAR_STRIDE: u64 = 1 << 32;

/// A block of units, and where they are on their way.
pub(super) struct Block<'a> {
    engine: &'a Engine<'a>,
    plan: &'a Plan,
    between: &'a Between,
    care: Care,
    first_life: u64,
    /// How many of its lives count.
    keep: usize,
    units: Vec<Unit>,
    luck: Vec<Vec<f64>>,
    /// As they are this year.
    designs: Vec<Design<f64>>,
    packed: UnitBlock,
    state: State,
    /// State of charge of batteries that were taken in.
    stored_soc: [f64; BLOCK],
}

/// What happens to a unit in a year.
#[derive(Clone, Copy, Default)]
struct Happened {
    replaced: Replaced,
    broken_days: u32,
    stuck_days: u32,
    residuals: [f64; 3],
}

impl Happened {
    /// Books the accounts of a day.
    fn close(&mut self, out: &DayBlock, lane: usize) {
        let of_day = [&out.residual_wh, &out.charge_residual_ah, &out.water_residual_l].map(|r| r.0[lane]);
        self.widen(of_day);
    }

    fn widen(&mut self, others: [f64; 3]) {
        for (worst, other) in self.residuals.iter_mut().zip(others) {
            // What is no number must be noticed.
            *worst = if other.is_nan() { f64::MAX } else { worst.max(other.abs()) };
        }
    }
}

impl<'a> Block<'a> {
    /// New units: the lives from `first_life` on, of which so many count.
    pub(super) fn new(
        engine: &'a Engine<'a>,
        plan: &'a Plan,
        between: &'a Between,
        (first_life, keep): (u64, usize),
    ) -> Block<'a> {
        let draws = PartDraws::new(&plan.file);
        let lives = first_life..first_life + BLOCK as u64;
        let (drawn, luck): (Vec<_>, Vec<_>) = lives.clone().map(|life| draws.draw(engine.seed, life)).unzip();
        let units: Vec<Unit> = drawn
            .into_iter()
            .zip(lives)
            .map(|(design, life)| Unit::new(design, (engine.seed, life), engine.isa))
            .collect();
        let designs: Vec<_> = units.iter().map(Unit::design).collect();
        let packed = UnitBlock::new(&designs);
        let state = packed.start_state();
        let care = plan.file.design.care;
        let stored_soc = [0.0; BLOCK];
        Block {
            engine,
            plan,
            between,
            care,
            first_life,
            keep,
            units,
            luck,
            designs,
            packed,
            state,
            stored_soc,
        }
    }

    /// A year, from its spring to the next; the first one is tallied, too.
    pub(super) fn year(&mut self, year: u16, first: &mut Tally) -> Vec<Year> {
        let mut happened = [Happened::default(); BLOCK];
        if year > 0 {
            self.spring(&mut happened);
        }
        let capacity_left: Vec<_> = self.units.iter().map(Unit::capacity_left).collect();
        let plan = self.plan;
        let weather = BlockWeather::new(
            &plan.site.sampler,
            self.engine.seed,
            self.first_life + u64::from(year) * YEAR_STRIDE,
            plan.chain_days() + self.between.days_out(),
        );
        let dull_light = weather.dull_light(plan, self.keep);
        let trials = self.season(year, &weather, &mut happened);
        self.autumn(&weather, &mut happened);
        let mut years = Vec::with_capacity(self.keep);
        for (lane, trial) in trials.iter().enumerate() {
            let outcome = trial.outcome(&plan.layout);
            let mut now = happened[lane];
            now.widen(trial.worst_residuals());
            years.push(Year {
                still_days: outcome.still_days,
                wish: outcome.year,
                evenings_met: outcome.wish_met,
                jet_h: outcome.jet_min / 60.0,
                broken_days: now.broken_days,
                stuck_days: now.stuck_days,
                capacity_left: capacity_left[lane],
                battery_worn_out: self.units[lane].battery_is_worn_out(),
                residuals: now.residuals,
                replaced: now.replaced,
            });
            if let Some(dull_light) = dull_light.get(lane).copied().filter(|_| year == 0) {
                let known = Known { unknowns_u: &self.luck[lane], dull_light };
                first.add_trial(&plan.layout, trial, &known);
            }
        }
        self.units.iter_mut().for_each(Unit::end_year);
        years
    }

    /// Before a season: what is to be replaced is, and all else has aged. The charge goes on as it was, in a smaller battery the same share of it.
    fn spring(&mut self, happened: &mut [Happened; BLOCK]) {
        let old_ah: [f64; BLOCK] = std::array::from_fn(|lane| self.packed.capacity_ah(lane));
        let mut fresh = [false; BLOCK];
        for (lane, unit) in self.units.iter_mut().enumerate() {
            (happened[lane].replaced, fresh[lane]) = unit.spring(&self.care);
        }
        self.designs = self.units.iter().map(Unit::design).collect();
        self.packed = UnitBlock::new(&self.designs);
        let taken_in = self.between.is_taken_in();
        if taken_in {
            self.state = self.packed.start_state();
            // Putting out and replacing take one visit.
            happened.iter_mut().for_each(|now| now.replaced.visits = 1);
        } else if self.between.days_out() > 0 {
            self.packed.fill_up(&mut self.state);
        }
        for (lane, unit) in self.units.iter().enumerate() {
            if fresh[lane] {
                self.packed.new_battery(&mut self.state, lane);
            } else if taken_in {
                self.packed.charge_to(&mut self.state, lane, self.stored_soc[lane]);
            } else if old_ah[lane] > 0.0 {
                let share = self.packed.capacity_ah(lane) / old_ah[lane];
                self.state.drain(lane, share.min(1.0));
            }
            unit.tell(&mut self.state, lane);
        }
    }

    fn season(
        &mut self,
        year: u16,
        weather: &BlockWeather<'_>,
        happened: &mut [Happened; BLOCK],
    ) -> Vec<Trial> {
        let (plan, care, units) = (self.plan, &self.care, &mut self.units);
        let cleanings = cleanings(care.clean_panel_every_days, plan.layout.days.len());
        happened.iter_mut().for_each(|now| now.replaced.visits += cleanings);
        let mut trials: Vec<Trial> = self.designs[..self.keep]
            .iter()
            .map(|unit| {
                let mut trial = Trial::new(&plan.layout, self.engine.isa);
                trial.set_drawn_parts(unit);
                trial
            })
            .collect();
        // The days before the first season stand for those that nobody simulates, and wear nothing. Later years go on from the winter.
        let from = if year == 0 || self.between.is_taken_in() { 0 } else { RUN_IN_DAYS };
        let walk = Walk {
            scene: &plan.scene,
            days: from..plan.scene.days.len(),
            weather,
            chain_at: plan.chain_offset(),
        };
        self.engine.walk(&walk, &self.packed, &mut self.state, &mut |day, out, state| {
            let in_season = day.season_day >= 0;
            for (lane, unit) in units.iter_mut().enumerate().filter(|_| in_season || year > 0) {
                let now = &mut happened[lane];
                let [pump, mount] = unit.broken();
                unit.wears(out, lane);
                if in_season {
                    now.broken_days += u32::from(pump);
                    now.stuck_days += u32::from(mount);
                    unit.evening(care, &mut now.replaced);
                } else {
                    now.close(out, lane);
                }
                unit.tell(state, lane);
            }
            for (lane, trial) in trials.iter_mut().enumerate() {
                trial.add_day(&plan.layout, day, out, lane);
            }
        });
        trials
    }

    /// The days up to the next season.
    fn autumn(&mut self, weather: &BlockWeather<'_>, happened: &mut [Happened; BLOCK]) {
        match self.between {
            Between::Nothing => {}
            Between::Out(scene) => {
                let (plan, units) = (self.plan, &mut self.units);
                let walk = Walk { scene, days: 0..scene.days.len(), weather, chain_at: plan.chain_days() };
                let alone = self.packed.left_alone();
                let mut after_day = |_: &SceneDay, out: &DayBlock, state: &mut State| {
                    for (lane, unit) in units.iter_mut().enumerate() {
                        unit.wears(out, lane);
                        happened[lane].close(out, lane);
                        unit.tell(state, lane);
                    }
                };
                self.engine.walk(&walk, &alone, &mut self.state, &mut after_day);
            }
            Between::In { days } => {
                for (lane, unit) in self.units.iter_mut().enumerate() {
                    happened[lane].replaced.visits += 1;
                    let capacity_ah = self.packed.capacity_ah(lane);
                    if let Some(b) = self.designs[lane].battery.as_ref().filter(|_| capacity_ah > 0.0) {
                        let (soc, shelf_h) = indoors(b, self.state.charge_ah(lane) / capacity_ah, *days);
                        self.stored_soc[lane] = soc;
                        unit.rests(shelf_h);
                    }
                }
            }
        }
    }
}

/// How often the panel is cleaned in a season, the first time on its first day.
fn cleanings(every_days: Option<u16>, season_days: usize) -> u32 {
    every_days.map_or(0, |every| season_days.div_ceil(usize::from(every.max(1))) as u32)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::study::Sites;

    /// An invented demo design (mill 3) with this plan of care and this season, and parts that outlive all.
    fn plan(care: &str, season: &str) -> Plan {
        let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("scenarios/mill-3-seeking-small-battery.toml");
        let text = std::fs::read_to_string(&path).expect("a demo design");
        let text = text.replace("04-01 to 10-31", season).replace("\"8000 h\"", "\"900000 h\"");
        let text = text.replace("[mount]", "[mount]\nrated_hours = \"900000 h\"");
        let file = crate::design::parse(&path, format!("{text}\n[care]\n{care}\n"))
            .unwrap_or_else(|p| panic!("{p}"));
        Plan::new(file, &Sites::new()).expect("its weather")
    }

    fn engine() -> Engine<'static> {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(1).build().expect("a thread");
        Engine::new(5, std::sync::Arc::new(pool))
    }

    fn soc(block: &Block<'_>) -> Vec<f64> {
        (0..BLOCK).map(|lane| block.state.charge_ah(lane) / block.packed.capacity_ah(lane)).collect()
    }

    /// The charge account closes from year to year: what a smaller battery holds is the same share of it, a new one comes as it is sold.
    #[test]
    fn charge_goes_on_from_winter_to_spring() {
        let (plan, engine) = (plan("replace_battery_every = \"2 years\"", "09-20 to 10-03"), engine());
        let between = Between::new(&plan);
        let mut block = Block::new(&engine, &plan, &between, (0, BLOCK));
        let mut first = Tally::new(&plan.layout);
        let start = soc(&block);
        block.year(0, &mut first);
        let autumn = soc(&block);
        assert!(autumn.iter().zip(&start).all(|(a, b)| a != b), "the winter was simulated");
        let water = block.state.clone();
        let held: Vec<f64> = block.units.iter().map(|u| u.capacity_left().expect("a battery")).collect();
        assert!(held.iter().all(|h| *h < 1.0));
        block.spring(&mut [Happened::default(); BLOCK]);
        for (before, after) in autumn.iter().zip(soc(&block)) {
            assert!((before - after).abs() < 1e-12, "{before} {after}");
        }
        // Somebody fills the basin; what lies on the panel goes on.
        assert_eq!(block.state.rows.water_l, block.packed.basins.rows.usable_l);
        assert_eq!(block.state.surface, water.surface);
        block.year(1, &mut first);
        block.spring(&mut [Happened::default(); BLOCK]);
        assert!(soc(&block).iter().all(|s| (s - 0.8).abs() < 1e-12), "new ones: {:?}", soc(&block));
        assert!(block.units.iter().all(|u| u.capacity_left() == Some(1.0)));
    }

    #[test]
    fn a_battery_indoors_only_leaks() {
        let (plan, engine) = (plan("winter = \"taken in\"", "09-20 to 10-03"), engine());
        let between = Between::new(&plan);
        assert!(matches!(between, Between::In { days: 331 }), "365 less 14 of season and 20 of setting up");
        let mut block = Block::new(&engine, &plan, &between, (0, BLOCK));
        block.year(0, &mut Tally::new(&plan.layout));
        let autumn = soc(&block);
        block.spring(&mut [Happened::default(); BLOCK]);
        for ((before, after), design) in autumn.iter().zip(soc(&block)).zip(&block.designs) {
            let month = design.battery.as_ref().expect("a battery").self_discharge_month;
            // Half as much at 10 K less, so 0.5^(1/2) at 15 °C.
            let kept = libm::pow(1.0 - month, 331.0 * 24.0 / 730.5 * libm::sqrt(0.5));
            assert!((after - before * kept).abs() < 1e-9, "{after} {before} {kept}");
        }
    }

    /// Where the season is all year, one year follows the other without a day between.
    #[test]
    fn a_season_of_all_year_has_no_winter() {
        let plan = plan("", "01-01 to 12-31");
        assert!(matches!(Between::new(&plan), Between::Nothing));
        let short = self::plan("", "09-20 to 10-03");
        let Between::Out(scene) = Between::new(&short) else { panic!("it stays out") };
        assert_eq!(
            (scene.days.len(), scene.days[0].day_of_year),
            (351, short.scene.days[33].day_of_year + 1)
        );
        let last = scene.days.last().expect("days");
        assert_eq!(last.day_of_year + 1, short.scene.days[RUN_IN_DAYS].day_of_year);
        assert!(scene.days.iter().all(|d| d.wanted_min() == 0.0 && d.season_day < 0));
    }
}
