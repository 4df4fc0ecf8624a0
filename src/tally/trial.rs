//! One trial: adds up its days.
//!
//! The sums of a trial are floating-point numbers, because its days always come in the same order. They are rounded to
//! integer steps once, when the trial is finished (`Tally::add_trial`).

use super::charge_count::{ChargeCount, Cycles, DAY_DEPTH_BINS, depth_bin};
use super::season_layout::{DAYS_PER_ROW, ROUNDING, SeasonLayout};
use super::verdict::YearVerdict;
use crate::design::Design;
use crate::lanes::{Isa, RowF64};
use crate::plant::SceneDay;
use crate::plant::ageing::wear::Wear;
use crate::plant::{Cause, DayBlock, Flow};
use serde::{Deserialize, Serialize};

/// One trial. Days are added in order; nothing is allocated after [`Trial::new`].
#[derive(Clone, Debug)]
pub struct Trial {
    /// Months of the season (0..12); their sums are in `months`.
    calendar: Vec<u8>,
    pub(super) months: Vec<MonthSum>,
    pub(super) marks: Vec<DayMark>,
    pub(super) hours: Vec<[f64; 24]>,
    pub(super) sums: Sums,
    pub(super) longest_spell: u32,
    pub(super) calendar_life_y: Option<f64>,
    /// Water above the low-water mark when full, L.
    pub(super) usable_l: f64,
    /// Whether the basin was at its low-water mark at the end of a day of the season.
    fell_low: bool,
    spell: u32,
    charge: ChargeCount,
    battery: bool,
}

/// Sums over the days of a month.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct MonthSum {
    pub still: u32,
    pub short: u32,
    pub jet_min: f64,
    pub cause_min: [f64; Cause::COUNT],
    pub still_by_cause: [u32; Cause::COUNT],
    pub evenings: u32,
    pub dusk_run_min: f64,
    pub wish_met: u32,
    pub dusk_cut: u32,
    pub ghi_wh_m2: f64,
    pub plane_wh_m2: f64,
}

/// What is kept of a single day until the trial ends.
#[derive(Clone, Copy, Debug)]
pub(super) struct DayMark {
    /// Whole minutes of dusk run; [`NONE`] without a sunset.
    pub dusk_run: u16,
    /// State of charge at sunset, %.
    pub soc_at_sunset: u8,
    /// Lowest state of charge, %.
    pub soc_low: u8,
    /// Largest fall of the state of charge within the day, steps of 1 %.
    pub depth: u8,
    /// Water lost and rained.
    pub water: DayWater,
}

/// The water of one day: what leaves the basin, and the rain that falls on it, L.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct DayWater {
    pub lost_l: f64,
    pub rain_l: f64,
}

/// Mark of a day without a sunset.
pub(super) const NONE: u16 = u16::MAX;

const UNMARKED: DayMark = DayMark {
    dusk_run: NONE,
    soc_at_sunset: 0,
    soc_low: 0,
    depth: 0,
    water: DayWater { lost_l: 0.0, rain_l: 0.0 },
};

/// Sums over the season.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Sums {
    pub flow_wh: [f64; Flow::COUNT],
    pub worst_wh: f64,
    pub worst_relative: f64,
    pub worst_ah: f64,
    pub worst_l: f64,
    pub over_label_wh: f64,
    pub evaporated_l: f64,
    pub drifted_l: f64,
    pub pump_h: f64,
    pub moves: f64,
    pub travel_deg: f64,
    pub spilled_ah: f64,
    /// Irradiation on the panel, and what dirt and snow took of it, Wh/m²; days with litter on it.
    pub plane_wh_m2: f64,
    pub dirt_wh_m2: f64,
    pub snow_wh_m2: f64,
    pub littered_days: f64,
    /// Hours at 25 °C that would age the battery as much; and the number of days added.
    pub shelf_h: f64,
    pub days: u32,
    pub too_cold_h: f64,
    /// Hours in which ice reached the pump's intake.
    pub intake_iced_h: f64,
    /// Days on which it never gets above [`EMPTY`].
    pub empty_days: u32,
}

/// A battery lies empty on a day on which its state of charge stays below this (own choice).
const EMPTY: f64 = 0.05;

/// Share of its usable water below which a basin is low at the end of a day; above what the plant rounds.
const LOW_WATER: f64 = 1e-4;

/// The results of a trial, for paired comparison.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct TrialOutcome {
    /// Still days of the season.
    pub still_days: u32,
    /// Still days by month (0..12); `None` for months outside the season.
    pub still_days_by_month: [Option<u32>; 12],
    /// Most still days in any month.
    pub worst_month_still_days: u32,
    /// Mean dusk run, min; `None` without evenings.
    pub dusk_run_min: Option<f64>,
    /// Share of evenings that meet the wish.
    pub wish_met: Option<f64>,
    /// Which parts of the wish the year meets.
    pub year: YearVerdict,
    /// Jet minutes that count.
    pub jet_min: f64,
    /// Wanted minutes without a jet that counts, by cause.
    pub causes_min: [f64; Cause::COUNT],
    /// Years until cycles and calendar together end the battery.
    pub life_years: Option<f64>,
}

impl Trial {
    /// A trial without days yet. `isa`: for the wear of the battery; results do not depend on it.
    pub(crate) fn new(layout: &SeasonLayout, isa: Isa) -> Trial {
        Trial {
            calendar: layout.months.clone(),
            months: vec![MonthSum::default(); layout.months.len()],
            marks: vec![UNMARKED; layout.days.len()],
            hours: vec![[0.0; 24]; layout.rows()],
            sums: Sums::default(),
            longest_spell: 0,
            calendar_life_y: layout.calendar_life_y,
            usable_l: layout.usable_l,
            fell_low: false,
            spell: 0,
            charge: ChargeCount::new(layout.life, isa),
            battery: layout.battery,
        }
    }

    /// Uses the battery life and the basin of this trial's draw of parts instead of the nominal ones. Call it before the first day.
    pub(crate) fn set_drawn_parts(&mut self, design: &Design<f64>) {
        self.usable_l = design.water.usable_l;
        if let Some(b) = &design.battery {
            self.charge.of_battery(b);
            self.calendar_life_y = Some(b.calendar_life_y);
        }
    }

    /// Adds the next day; days of the run-in (before the season) are ignored.
    pub(crate) fn add_day(
        &mut self,
        layout: &SeasonLayout,
        scene_day: &SceneDay,
        block: &DayBlock,
        lane: usize,
    ) {
        let Ok(index) = usize::try_from(scene_day.season_day) else { return };
        let Some(day) = layout.days.get(index) else { return };
        let Some(slot) = layout.month_slot(day.month) else { return };
        let at = |row: &RowF64| row.0[lane];

        let month = &mut self.months[slot];
        let jet = at(&block.jet_min);
        month.jet_min += jet;
        month.ghi_wh_m2 += at(&block.ghi_wh_m2);
        month.plane_wh_m2 += at(&block.plane_wh_m2);
        let (mut chief, mut most) = (0, 0.0);
        for (k, row) in block.cause_min.iter().enumerate() {
            let minutes = at(row);
            month.cause_min[k] += minutes;
            if minutes > most {
                (chief, most) = (k, minutes);
            }
        }
        if day.is_still(jet) {
            month.still += 1;
            month.still_by_cause[chief] += 1;
            self.spell += 1;
            self.longest_spell = self.longest_spell.max(self.spell);
        } else {
            self.spell = 0;
            month.short += u32::from(day.is_short(jet));
        }

        let mark = &mut self.marks[index];
        if day.sunset_min.is_some() {
            let dusk = at(&block.dusk_run_min);
            month.evenings += 1;
            month.dusk_run_min += dusk;
            month.dusk_cut += u32::from(at(&block.dusk_cut) > 0.0);
            month.wish_met += u32::from(dusk >= layout.dusk_run_min * ROUNDING);
            mark.dusk_run = (dusk + 0.5) as u16;
        }

        let mark = &mut self.marks[index];
        mark.water =
            DayWater { lost_l: at(&block.evaporated_l) + at(&block.drifted_l), rain_l: at(&block.rain_l) };
        self.fell_low |= at(&block.water_l) <= LOW_WATER * self.usable_l;

        let hours = &mut self.hours[index / DAYS_PER_ROW];
        for (sum, row) in hours.iter_mut().zip(&block.jet_by_hour_min) {
            *sum += at(row);
        }

        self.sums.add(block, lane);
        if layout.battery {
            let depth = self.charge.day(block, lane);
            let mark = &mut self.marks[index];
            mark.soc_at_sunset = per_cent(at(&block.soc_at_sunset));
            mark.soc_low = per_cent(at(&block.soc_low));
            mark.depth = depth_bin(depth, DAY_DEPTH_BINS) as u8;
        }
    }

    /// Cycles so far; open ranges count as half cycles.
    pub(super) fn cycles(&self) -> Cycles {
        self.charge.cycles()
    }

    /// Shares of its life that the battery loses a year, by so many cycles' use and by the calendar, as if all the year were like
    /// the season; none without a battery. At 25 °C before the first day.
    pub(super) fn wear(&self, by_cycles: f64) -> Option<Wear> {
        let hours = 24.0 * f64::from(self.sums.days);
        let pace = if self.sums.shelf_h > 0.0 { self.sums.shelf_h / hours } else { 1.0 };
        let years = self.calendar_life_y.filter(|_| self.battery)?;
        Some(Wear { cycles: by_cycles, calendar: pace / years })
    }

    /// Largest residuals of its accounts on any day: energy, Wh; charge, Ah; water, L.
    pub(crate) fn worst_residuals(&self) -> [f64; 3] {
        [self.sums.worst_wh, self.sums.worst_ah, self.sums.worst_l]
    }

    /// Years until cycles and calendar together end the battery; none without a battery.
    pub(super) fn life_years(&self) -> Option<f64> {
        self.wear(self.battery.then(|| self.cycles().used)?)?.years()
    }

    /// Whether the basin fell to its low-water mark in the season: from then on it lost less than a full one would have.
    pub(crate) fn fell_low(&self) -> bool {
        self.fell_low
    }

    /// Still days of the season.
    pub(super) fn still_days(&self) -> u32 {
        self.months.iter().map(|m| m.still).sum()
    }

    /// Most still days in any month.
    pub(super) fn worst_month(&self) -> u32 {
        self.months.iter().map(|m| m.still).max().unwrap_or(0)
    }

    /// Which parts of the wish the year meets.
    pub(super) fn verdict(&self, layout: &SeasonLayout) -> YearVerdict {
        let low_water: f64 = self.months.iter().map(|m| m.cause_min[Cause::LowWater as usize]).sum();
        YearVerdict::new(layout, self.worst_month(), self.wish_met(), low_water)
    }

    /// Mean dusk run of the season, min; none without evenings.
    pub(super) fn mean_dusk_run(&self) -> Option<f64> {
        let evenings: u32 = self.months.iter().map(|m| m.evenings).sum();
        ratio(self.months.iter().map(|m| m.dusk_run_min).sum(), evenings)
    }

    /// Share of the season's evenings that meet the wish.
    pub(super) fn wish_met(&self) -> Option<f64> {
        let evenings: u32 = self.months.iter().map(|m| m.evenings).sum();
        ratio(f64::from(self.months.iter().map(|m| m.wish_met).sum::<u32>()), evenings)
    }

    /// Share of the season's evenings whose dusk run the hours cut off.
    pub(super) fn dusk_cut(&self) -> Option<f64> {
        let evenings: u32 = self.months.iter().map(|m| m.evenings).sum();
        ratio(f64::from(self.months.iter().map(|m| m.dusk_cut).sum::<u32>()), evenings)
    }

    /// Whether every sum is finite.
    pub(super) fn all_finite(&self) -> bool {
        let s = &self.sums;
        let months = self.months.iter().all(|m| {
            (m.jet_min + m.dusk_run_min + m.ghi_wh_m2 + m.plane_wh_m2 + m.cause_min.iter().sum::<f64>())
                .is_finite()
        });
        let season = s.flow_wh.iter().sum::<f64>() + s.evaporated_l + s.drifted_l + s.pump_h + s.moves;
        let worst = s.worst_wh + s.worst_ah + s.worst_l + s.over_label_wh;
        months
            && (season
                + worst
                + s.travel_deg
                + s.spilled_ah
                + s.too_cold_h
                + s.intake_iced_h
                + self.charge.equivalent())
            .is_finite()
    }

    /// Its results, for paired comparison.
    pub(crate) fn outcome(&self, layout: &SeasonLayout) -> TrialOutcome {
        let mut still_days_by_month = [None; 12];
        let mut causes_min = [0.0; Cause::COUNT];
        for (&month, sum) in self.calendar.iter().zip(&self.months) {
            still_days_by_month[usize::from(month)] = Some(sum.still);
            for (total, minutes) in causes_min.iter_mut().zip(sum.cause_min) {
                *total += minutes;
            }
        }
        TrialOutcome {
            still_days: self.still_days(),
            still_days_by_month,
            worst_month_still_days: self.worst_month(),
            dusk_run_min: self.mean_dusk_run(),
            wish_met: self.wish_met(),
            year: self.verdict(layout),
            jet_min: self.months.iter().map(|m| m.jet_min).sum(),
            causes_min,
            life_years: self.life_years(),
        }
    }
}

impl Sums {
    /// Share of the light on the panel that so much is, Wh/m².
    pub(super) fn of_light(&self, wh_m2: f64) -> f64 {
        if self.plane_wh_m2 > 0.0 { wh_m2 / self.plane_wh_m2 } else { 0.0 }
    }

    fn add(&mut self, block: &DayBlock, lane: usize) {
        let at = |row: &RowF64| row.0[lane];
        let mut turnover = 0.0;
        for (sum, row) in self.flow_wh.iter_mut().zip(&block.flow_wh) {
            *sum += at(row);
            turnover += at(row).abs();
        }
        let residual = at(&block.residual_wh);
        self.worst_wh = larger(self.worst_wh, residual);
        // Every Wh appears once as supply and once as use. The energy of a dark day counts as 1 Wh.
        self.worst_relative = larger(self.worst_relative, residual / (0.5 * turnover).max(1.0));
        self.worst_ah = larger(self.worst_ah, at(&block.charge_residual_ah));
        self.worst_l = larger(self.worst_l, at(&block.water_residual_l));
        self.over_label_wh = larger(self.over_label_wh, at(&block.over_label_wh));
        self.evaporated_l += at(&block.evaporated_l);
        self.drifted_l += at(&block.drifted_l);
        self.pump_h += at(&block.pump_h);
        self.moves += at(&block.moves);
        self.travel_deg += at(&block.travel_deg);
        self.spilled_ah += at(&block.spilled_ah);
        self.plane_wh_m2 += at(&block.plane_wh_m2);
        self.dirt_wh_m2 += at(&block.dirt_wh_m2);
        self.snow_wh_m2 += at(&block.snow_wh_m2);
        self.littered_days += at(&block.littered);
        self.shelf_h += at(&block.shelf_h);
        self.days += 1;
        self.too_cold_h += at(&block.too_cold_h);
        self.intake_iced_h += at(&block.intake_iced_h);
        self.empty_days += u32::from(at(&block.soc_high) < EMPTY);
    }
}

/// The larger absolute value; NaN counts as infinite, so that it is noticed.
fn larger(worst: f64, value: f64) -> f64 {
    worst.max(if value.is_nan() { f64::INFINITY } else { value.abs() })
}

/// A share (0..=1) in whole per cent, 0..=100.
fn per_cent(share: f64) -> u8 {
    (share * 100.0 + 0.5).clamp(0.0, 100.0) as u8
}

/// A mean; none for a count of 0.
pub(super) fn ratio(sum: f64, count: u32) -> Option<f64> {
    (count > 0).then(|| sum / f64::from(count))
}
