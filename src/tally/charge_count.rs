//! Counts what wears a battery: its cycles, and how long lead-acid has not been full.

use super::life::CycleLife;
use super::rainflow::Rainflow;
use crate::design::{Battery, Chemistry};
use crate::lanes::{BLOCK, Isa, RowF64};
use crate::plant::DayBlock;
use crate::plant::ageing::wear::{Wear, lead_weight};

/// Number of bins of the depth of cycles, 5 % each.
pub(crate) const DEPTH_BINS: usize = 20;
/// Number of bins of the depth of days, 1 % each, because quantiles of them are computed.
pub(crate) const DAY_DEPTH_BINS: usize = 100;

/// Counts the states of charge of one battery, day by day.
#[derive(Clone, Debug)]
pub(super) struct ChargeCount {
    rainflow: Rainflow,
    cycles: CycleCounter,
    /// Lead-acid only.
    since_full: Option<SinceFull>,
}

impl ChargeCount {
    /// `life`: its cycle life, if it is known by now.
    pub(super) fn new(life: Option<CycleLife>, isa: Isa) -> ChargeCount {
        ChargeCount { rainflow: Rainflow::new(), cycles: CycleCounter::new(life, isa), since_full: None }
    }

    /// Counts for this battery. Call it before the first day.
    pub(super) fn of_battery(&mut self, b: &Battery<f64>) {
        self.cycles.life =
            Some(CycleLife { at_full_depth: b.cycles_at_full_depth, exponent: b.cycle_exponent });
        self.since_full = (b.chemistry == Chemistry::LeadAcid).then_some(SinceFull::START);
    }

    /// Feeds the day's states of charge to the cycle counter; returns the day's depth of discharge: the
    /// largest fall from any state of charge to a later one of the same day.
    pub(super) fn day(&mut self, block: &DayBlock, lane: usize) -> f64 {
        let (mut highest, mut fall) = (0.0f64, 0.0f64);
        let cycles = &mut self.cycles;
        for row in &block.soc {
            let soc = row.0[lane];
            // Plain comparisons: `f64::max` also handles NaN, and is slower.
            highest = if soc > highest { soc } else { highest };
            fall = if highest - soc > fall { highest - soc } else { fall };
            self.rainflow.push(soc, &mut |depth, count| cycles.count(depth, count));
            if let Some(since_full) = &mut self.since_full {
                since_full.take(soc);
            }
        }
        fall
    }

    /// Cycles so far; open ranges count as half cycles (ASTM E1049-85 §5.4.4.1).
    pub(super) fn cycles(&self) -> Cycles {
        let mut cycles = self.cycles;
        self.rainflow.clone().finish(&mut |depth, count| cycles.count(depth, count));
        let cycles = cycles.end();
        let weight = self.since_full.map_or(1.0, |since_full| since_full.weight());
        Cycles { used: cycles.used * weight, ..cycles }
    }

    /// Equivalent full cycles that are closed.
    pub(super) fn equivalent(&self) -> f64 {
        self.cycles.equivalent
    }
}

/// What has worn one battery since it was new, over seasons and winters.
#[derive(Clone, Debug)]
pub(crate) struct BatteryAge {
    charge: ChargeCount,
    calendar_life_y: f64,
    /// Hours at 25 °C that would age it as much.
    shelf_h: f64,
    /// Days at a stretch on which it lay empty; and the hours at 25 °C of all such days beyond those it bears.
    empty_days: u32,
    empty_h: f64,
}

impl BatteryAge {
    /// A new battery. `isa`: results do not depend on it.
    pub(crate) fn new(b: &Battery<f64>, isa: Isa) -> BatteryAge {
        let mut charge = ChargeCount::new(None, isa);
        charge.of_battery(b);
        BatteryAge { charge, calendar_life_y: b.calendar_life_y, shelf_h: 0.0, empty_days: 0, empty_h: 0.0 }
    }

    /// A day of its life.
    pub(crate) fn day(&mut self, block: &DayBlock, lane: usize) {
        self.charge.day(block, lane);
        self.shelf_h += block.shelf_h.0[lane];
        self.empty_days = if block.soc_high.0[lane] < HARMFUL_SOC { self.empty_days + 1 } else { 0 };
        if self.empty_days > BORNE_DAYS {
            self.empty_h += block.shelf_h.0[lane];
        }
    }

    /// Days (as at 25 °C) for which it has lain so empty that lead-acid is harmed.
    pub(crate) fn empty_days(&self) -> f64 {
        self.empty_h / 24.0
    }

    /// It rests, and ages as in so many hours at 25 °C.
    pub(crate) fn rests(&mut self, shelf_h: f64) {
        self.shelf_h += shelf_h;
    }

    /// Shares of its life that are used up.
    pub(crate) fn wear(&self) -> Wear {
        Wear { cycles: self.charge.cycles().used, calendar: self.shelf_h / (YEAR_H * self.calendar_life_y) }
    }
}

/// Below this state of charge lead-acid is harmed, after so many days (common practice, no source).
const HARMFUL_SOC: f64 = 0.2;
const BORNE_DAYS: u32 = 7;

/// Hours of a simulated year.
const YEAR_H: f64 = 8760.0;

/// How long lead-acid has not been full, and how much faster its discharges wear it for that.
#[derive(Clone, Copy, Debug)]
struct SinceFull {
    hours: f64,
    lowest_soc: f64,
    last_soc: f64,
    /// Sum of all falls of the state of charge, plain and weighted.
    fallen: f64,
    weighted: f64,
}

impl SinceFull {
    const START: SinceFull =
        SinceFull { hours: 0.0, lowest_soc: 1.0, last_soc: 0.0, fallen: 0.0, weighted: 0.0 };

    fn take(&mut self, soc: f64) {
        if soc >= FULL {
            (self.hours, self.lowest_soc) = (0.0, 1.0);
        } else {
            self.hours += DayBlock::SOC_EVERY_MIN as f64 / 60.0;
            self.lowest_soc = self.lowest_soc.min(soc);
        }
        let fall = (self.last_soc - soc).max(0.0);
        self.fallen += fall;
        self.weighted += fall * lead_weight(self.hours, self.lowest_soc);
        self.last_soc = soc;
    }

    /// Mean weight of its discharges, at least 1.
    fn weight(&self) -> f64 {
        if self.fallen > 0.0 { self.weighted / self.fallen } else { 1.0 }
    }
}

/// State of charge from which lead-acid counts as full (own choice). Schiffer et al. 2007 say 0.9999, for chargers that hold a battery
/// for hours; by day on a small panel the charge voltage is reached near 0.95, and nothing between two long summer days would ever
/// count as full: batteries that are charged to 95 % every day would end within months.
const FULL: f64 = 0.95;

/// Counts the cycles of the battery. Depths are collected until a row of lanes is full, so that their powers are computed
/// side by side.
#[derive(Clone, Copy, Debug)]
struct CycleCounter {
    half_cycles: [u32; DEPTH_BINS],
    equivalent: f64,
    life: Option<CycleLife>,
    isa: Isa,
    waiting: usize,
    depths: RowF64,
    counts: RowF64,
    used: RowF64,
}

/// The result of a [`CycleCounter`].
pub(super) struct Cycles {
    /// Half cycles by depth: the k-th holds depths above k·5 % up to (k+1)·5 %.
    pub half_cycles: [u32; DEPTH_BINS],
    /// Equivalent full cycles: Σ range · count.
    pub equivalent: f64,
    /// Share of life used (Miner).
    pub used: f64,
}

impl CycleCounter {
    fn new(life: Option<CycleLife>, isa: Isa) -> CycleCounter {
        let (none, ones) = (RowF64::splat(0.0), RowF64::splat(1.0));
        CycleCounter {
            half_cycles: [0; DEPTH_BINS],
            equivalent: 0.0,
            life,
            isa,
            waiting: 0,
            depths: ones,
            counts: none,
            used: none,
        }
    }

    #[inline]
    fn count(&mut self, depth: f64, count: f64) {
        if depth < NO_CYCLE {
            return;
        }
        self.half_cycles[depth_bin(depth, DEPTH_BINS)] += (2.0 * count) as u32;
        self.equivalent += depth * count;
        (self.depths.0[self.waiting], self.counts.0[self.waiting]) = (depth, count);
        self.waiting += 1;
        if self.waiting == BLOCK {
            self.flush();
        }
    }

    fn flush(&mut self) {
        self.counts.0[self.waiting..].fill(0.0);
        self.waiting = 0;
        if let Some(life) = self.life {
            life.use_up(self.isa, &self.depths, &self.counts, &mut self.used);
        }
    }

    fn end(mut self) -> Cycles {
        self.flush();
        Cycles { half_cycles: self.half_cycles, equivalent: self.equivalent, used: self.used.0.iter().sum() }
    }
}

/// Depth below which a reversal of the state of charge is only rounding in single precision.
const NO_CYCLE: f64 = 1e-6;

/// The bin of a depth (0..=1) among so many equal ones; the upper edge belongs to a bin.
pub(super) fn depth_bin(depth: f64, bins: usize) -> usize {
    // `as` truncates, and gives 0 for negative values and NaN.
    let steps = depth * bins as f64;
    let whole = steps as usize;
    whole.saturating_sub(usize::from(whole as f64 == steps)).min(bins - 1)
}
