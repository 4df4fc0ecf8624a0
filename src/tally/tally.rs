//! The tally of all finished trials: counts and sums from which every number of a summary is computed
//! ([`super::summarise`](super::summarise())).

use super::charge_count::{DAY_DEPTH_BINS, DEPTH_BINS};
use super::codec::{ByteReader, Damage, TallyField, tally_field};
use super::controls::{Controls, Known};
use super::fixed_point::{Moments, Peak};
use super::full_basin::FullBasinTally;
use super::season_layout::SeasonLayout;
use super::spread::Spread;
use super::trial::{NONE, Trial, ratio};
use super::variance_shares::Binned;
use super::verdict::{WishPart, YearsMet};
use super::week_litres::WeekLitres;
use crate::plant::{Cause, Flow};
use sha2::{Digest, Sha256};
use std::fmt;

/// Number of bins of dusk runs, one minute each; the last takes the rest.
pub(crate) const DUSK_BINS: usize = 601;
/// Number of bins of the state of charge, 2 % each.
pub(crate) const CHARGE_BINS: usize = 51;
/// Number of bins of the life of a battery, a tenth of a year each; the last takes the rest.
const LIFE_BINS: usize = 601;
/// Bins of a year.
pub(super) const LIFE_BINS_A_YEAR: f64 = 10.0;

/// The tally of all finished trials. Its size does not depend on their number, and tallies of any groups of trials merge to
/// the same bytes.
#[derive(Clone, Debug, PartialEq)]
pub struct Tally {
    pub(super) fingerprint: [u8; 32],
    pub(super) trials: u64,
    /// Trials that contain NaN: 0 unless this program has a fault.
    pub(super) not_finite: u64,
    pub(super) months: Vec<MonthTally>,
    pub(super) season: SeasonTally,
    /// Minutes of jet of a trial, by rows of days and hour slots.
    pub(super) hours: Vec<[Moments; 24]>,
    pub(super) battery: Option<BatteryTally>,
    pub(super) unknown: Vec<Binned>,
    pub(super) controls: Controls,
    pub(super) ledger: LedgerTally,
    pub(super) full_basin: FullBasinTally,
}

/// One month, over trials.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct MonthTally {
    /// Trials by still days, 0..=31.
    pub still: [u64; 32],
    /// Trials by short days.
    pub short: [u64; 32],
    /// Jet minutes of the month.
    pub jet_min: Moments,
    /// Minutes of the month by cause.
    pub cause_min: [Moments; Cause::COUNT],
    /// Still days of a trial by chief cause.
    pub still_by_cause: [Moments; Cause::COUNT],
    /// Mean dusk run of a trial's evenings, min.
    pub dusk_run_min: Moments,
    /// Share of a trial's evenings that meet the wish.
    pub wish_met: Moments,
    /// Evenings by whole minutes of dusk run.
    pub dusk: Spread,
    /// Share of a trial's evenings whose dusk run the hours cut off.
    pub dusk_cut: Moments,
    /// Irradiation of the month on the horizontal, kWh/m².
    pub ghi_kwh_m2: Moments,
    /// On the panel, kWh/m².
    pub plane_kwh_m2: Moments,
}
tally_field!(MonthTally {
    still,
    short,
    jet_min,
    cause_min,
    still_by_cause,
    dusk_run_min,
    wish_met,
    dusk,
    dusk_cut,
    ghi_kwh_m2,
    plane_kwh_m2
});

/// The season, over trials. Histograms count trials by days, up to the length of the season.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct SeasonTally {
    pub still: Vec<u64>,
    pub short: Vec<u64>,
    pub spell: Vec<u64>,
    pub worst_month: [u64; 32],
    pub years_met: YearsMet,
    pub still_days: Moments,
    pub jet_min: Moments,
    pub dusk_run_min: Moments,
    pub wish_met: Moments,
    /// Minutes of the season by cause.
    pub cause_min: [Moments; Cause::COUNT],
    /// Evenings by whole minutes of dusk run.
    pub dusk: Spread,
    /// Share of a trial's evenings whose dusk run the hours cut off.
    pub dusk_cut: Moments,
    /// Share of the wanted minutes without a jet.
    pub unserved: Moments,
    pub flow_wh: [Moments; Flow::COUNT],
    pub evaporated_l: Moments,
    pub drifted_l: Moments,
    pub lost_l: Moments,
    /// Trials by what the basin loses a week.
    pub week_l: WeekLitres,
    pub intake_iced_h: Moments,
    pub pump_h: Moments,
    pub moves: Moments,
    pub travel_deg: Moments,
    /// Shares of the light on the panel that dirt and snow took; days with litter on it.
    pub dirt_share: Moments,
    pub snow_share: Moments,
    pub littered_days: Moments,
}
impl TallyField for YearsMet {
    fn add(&mut self, o: &Self) {
        self.parts.iter_mut().zip(&o.parts).for_each(|(a, b)| a.add(b));
        self.all.add(&o.all);
    }
    fn write(&self, out: &mut Vec<u8>) {
        self.parts.iter().for_each(|n| n.write(out));
        self.all.write(out);
    }
    fn read(from: &mut ByteReader<'_>) -> Result<Self, Damage> {
        let mut parts = [0; WishPart::COUNT];
        for n in &mut parts {
            *n = TallyField::read(from)?;
        }
        Ok(YearsMet { parts, all: TallyField::read(from)? })
    }
}
tally_field!(SeasonTally {
    still,
    short,
    spell,
    worst_month,
    years_met,
    still_days,
    jet_min,
    dusk_run_min,
    wish_met,
    cause_min,
    dusk,
    dusk_cut,
    unserved,
    flow_wh,
    evaporated_l,
    drifted_l,
    lost_l,
    week_l,
    intake_iced_h,
    pump_h,
    moves,
    travel_deg,
    dirt_share,
    snow_share,
    littered_days
});

/// The battery, over trials.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct BatteryTally {
    /// Days by depth of discharge.
    pub depth: Spread,
    /// Half cycles of a trial by depth.
    pub half_cycles: [Moments; DEPTH_BINS],
    pub cycles: Moments,
    pub equivalent: Moments,
    pub used: Moments,
    /// Trials by years of life.
    pub life: Vec<u64>,
    /// Share of the wear that cycles do, the calendar the rest.
    pub by_cycles: Moments,
    /// Days on which it lies empty.
    pub empty_days: Moments,
    /// Days by state of charge, week by week: at sunset.
    pub sunset: Vec<Spread>,
    /// Lowest of the day.
    pub low: Vec<Spread>,
    pub spilled_ah: Moments,
    pub too_cold_h: Moments,
}
tally_field!(BatteryTally {
    depth,
    half_cycles,
    cycles,
    equivalent,
    used,
    life,
    by_cycles,
    empty_days,
    sunset,
    low,
    spilled_ah,
    too_cold_h
});

/// The largest residuals of the accounts of single days.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct LedgerTally {
    pub wh: Peak,
    pub relative: Peak,
    pub ah: Peak,
    pub l: Peak,
    pub over_label_wh: Peak,
}
tally_field!(LedgerTally { wh, relative, ah, l, over_label_wh });

/// Two tallies with different layouts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Mismatch;

impl fmt::Display for Mismatch {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("these tallies are of different designs or seasons and cannot be added")
    }
}
impl std::error::Error for Mismatch {}

impl Tally {
    /// Maximum size for [`Tally::from_bytes`], bytes; far more than any tally has.
    pub const LARGEST_BYTES: usize = 4 << 20;

    /// Without trials yet.
    pub fn new(layout: &SeasonLayout) -> Tally {
        let none = Moments::default();
        let month = MonthTally {
            still: [0; 32],
            short: [0; 32],
            jet_min: none,
            cause_min: [none; Cause::COUNT],
            still_by_cause: [none; Cause::COUNT],
            dusk_run_min: none,
            wish_met: none,
            dusk: Spread::new(DUSK_BINS),
            dusk_cut: none,
            ghi_kwh_m2: none,
            plane_kwh_m2: none,
        };
        let days = layout.days.len() + 1;
        Tally {
            fingerprint: layout.fingerprint(),
            trials: 0,
            not_finite: 0,
            months: vec![month; layout.months.len()],
            season: SeasonTally {
                still: vec![0; days],
                short: vec![0; days],
                spell: vec![0; days],
                worst_month: [0; 32],
                years_met: YearsMet::default(),
                still_days: none,
                jet_min: none,
                dusk_run_min: none,
                wish_met: none,
                dusk_cut: none,
                cause_min: [none; Cause::COUNT],
                dusk: Spread::new(DUSK_BINS),
                unserved: none,
                flow_wh: [none; Flow::COUNT],
                evaporated_l: none,
                drifted_l: none,
                lost_l: none,
                week_l: WeekLitres::default(),
                intake_iced_h: none,
                pump_h: none,
                moves: none,
                travel_deg: none,
                dirt_share: none,
                snow_share: none,
                littered_days: none,
            },
            hours: vec![[none; 24]; layout.rows()],
            battery: layout.battery.then(|| BatteryTally {
                depth: Spread::new(DAY_DEPTH_BINS),
                half_cycles: [none; DEPTH_BINS],
                cycles: none,
                equivalent: none,
                used: none,
                life: vec![0; LIFE_BINS],
                by_cycles: none,
                empty_days: none,
                sunset: vec![Spread::new(CHARGE_BINS); layout.weeks()],
                low: vec![Spread::new(CHARGE_BINS); layout.weeks()],
                spilled_ah: none,
                too_cold_h: none,
            }),
            unknown: vec![Binned::default(); layout.unknown.len()],
            controls: Controls::new(layout),
            ledger: LedgerTally::default(),
            full_basin: FullBasinTally::new(layout.months.len()),
        }
    }

    /// Trials finished.
    pub fn trials(&self) -> u64 {
        self.trials
    }

    /// Adds a trial whose days are all known.
    pub(crate) fn add_trial(&mut self, layout: &SeasonLayout, trial: &Trial, known: &Known<'_>) {
        debug_assert_eq!(known.unknowns_u.len(), self.unknown.len());
        self.trials = self.trials.wrapping_add(1);
        self.add_months(trial);
        self.add_season(layout, trial);
        self.add_days(layout, trial);
        let (still, dusk) = (f64::from(trial.still_days()), trial.mean_dusk_run());
        self.controls.push(layout, known, trial.months.iter().map(|m| m.still));
        for (binned, &u) in self.unknown.iter_mut().zip(known.unknowns_u) {
            binned.push(u, still, dusk);
        }
        let sums = &trial.sums;
        self.ledger.wh.see(sums.worst_wh);
        self.ledger.relative.see(sums.worst_relative);
        self.ledger.ah.see(sums.worst_ah);
        self.ledger.l.see(sums.worst_l);
        self.ledger.over_label_wh.see(sums.over_label_wh);
        if !trial.all_finite() {
            self.not_finite = self.not_finite.wrapping_add(1);
        }
    }

    /// Adds a trial whose basin was never low: how long a full basin lasts. Not all trials of a tally need to be followed.
    pub(crate) fn add_full_basin(&mut self, layout: &SeasonLayout, trial: &Trial) {
        debug_assert!(!trial.fell_low());
        self.full_basin.add(layout, &trial.marks, trial.usable_l);
    }

    fn add_months(&mut self, trial: &Trial) {
        for (month, sum) in self.months.iter_mut().zip(&trial.months) {
            bump(&mut month.still, sum.still as usize);
            bump(&mut month.short, sum.short as usize);
            month.jet_min.push(sum.jet_min);
            for (total, &minutes) in month.cause_min.iter_mut().zip(&sum.cause_min) {
                total.push(minutes);
            }
            for (total, &days) in month.still_by_cause.iter_mut().zip(&sum.still_by_cause) {
                total.push(f64::from(days));
            }
            if let Some(mean) = ratio(sum.dusk_run_min, sum.evenings) {
                month.dusk_run_min.push(mean);
                month.wish_met.push(f64::from(sum.wish_met) / f64::from(sum.evenings));
                month.dusk_cut.push(f64::from(sum.dusk_cut) / f64::from(sum.evenings));
            }
            month.ghi_kwh_m2.push(sum.ghi_wh_m2 / 1000.0);
            month.plane_kwh_m2.push(sum.plane_wh_m2 / 1000.0);
        }
    }

    fn add_season(&mut self, layout: &SeasonLayout, trial: &Trial) {
        let season = &mut self.season;
        let still = trial.still_days();
        let worst = trial.months.iter().map(|m| m.still).max().unwrap_or(0);
        bump(&mut season.still, still as usize);
        bump(&mut season.short, trial.months.iter().map(|m| m.short as usize).sum());
        bump(&mut season.spell, trial.longest_spell as usize);
        bump(&mut season.worst_month, worst as usize);
        season.years_met.add(trial.verdict(layout));
        season.still_days.push(f64::from(still));
        season.jet_min.push(trial.months.iter().map(|m| m.jet_min).sum());
        for (cause, total) in season.cause_min.iter_mut().enumerate() {
            total.push(trial.months.iter().map(|m| m.cause_min[cause]).sum());
        }
        let wanted: f64 = layout.days.iter().map(super::season_layout::LayoutDay::wanted_min).sum();
        let missed: f64 = trial.months.iter().flat_map(|m| m.cause_min).sum();
        if wanted > 0.0 {
            season.unserved.push(missed / wanted);
        }
        if let (Some(mean), Some(met)) = (trial.mean_dusk_run(), trial.wish_met()) {
            season.dusk_run_min.push(mean);
            season.wish_met.push(met);
            season.dusk_cut.push(trial.dusk_cut().unwrap_or(0.0));
        }
        let sums = &trial.sums;
        for (flow, &wh) in season.flow_wh.iter_mut().zip(&sums.flow_wh) {
            flow.push(wh);
        }
        season.evaporated_l.push(sums.evaporated_l);
        season.drifted_l.push(sums.drifted_l);
        season.lost_l.push(sums.evaporated_l + sums.drifted_l);
        season.week_l.count((sums.evaporated_l + sums.drifted_l) * layout.of_a_week());
        season.intake_iced_h.push(sums.intake_iced_h);
        season.pump_h.push(sums.pump_h);
        season.moves.push(sums.moves);
        season.travel_deg.push(sums.travel_deg);
        season.dirt_share.push(sums.of_light(sums.dirt_wh_m2));
        season.snow_share.push(sums.of_light(sums.snow_wh_m2));
        season.littered_days.push(sums.littered_days);
    }

    fn add_days(&mut self, layout: &SeasonLayout, trial: &Trial) {
        for (row, minutes) in self.hours.iter_mut().zip(&trial.hours) {
            for (total, &m) in row.iter_mut().zip(minutes) {
                total.push(m);
            }
        }
        let evenings = || {
            let marks = layout.days.iter().zip(&trial.marks).filter(|(_, mark)| mark.dusk_run != NONE);
            marks.map(|(day, mark)| (day.month, usize::from(mark.dusk_run)))
        };
        self.season.dusk.push(evenings().map(|(_, minutes)| minutes));
        for (month, &name) in self.months.iter_mut().zip(&layout.months) {
            month.dusk.push(evenings().filter(|(of, _)| *of == name).map(|(_, minutes)| minutes));
        }
        if let Some(battery) = &mut self.battery {
            battery.depth.push(trial.marks.iter().map(|mark| usize::from(mark.depth)));
            for ((sunset, low), week) in
                battery.sunset.iter_mut().zip(&mut battery.low).zip(trial.marks.chunks(7))
            {
                sunset.push(week.iter().map(|mark| usize::from(mark.soc_at_sunset / 2)));
                low.push(week.iter().map(|mark| usize::from(mark.soc_low / 2)));
            }
            let cycles = trial.cycles();
            let mut halves = 0;
            for (total, &count) in battery.half_cycles.iter_mut().zip(&cycles.half_cycles) {
                total.push(f64::from(count));
                halves += count;
            }
            battery.cycles.push(0.5 * f64::from(halves));
            battery.equivalent.push(cycles.equivalent);
            battery.used.push(cycles.used);
            if let Some(wear) = trial.wear(cycles.used)
                && let Some(years) = wear.years()
            {
                bump(&mut battery.life, (years * LIFE_BINS_A_YEAR) as usize);
                battery.by_cycles.push(wear.cycles / wear.total());
            }
            battery.empty_days.push(f64::from(trial.sums.empty_days));
            battery.spilled_ah.push(trial.sums.spilled_ah);
            battery.too_cold_h.push(trial.sums.too_cold_h);
        }
    }

    /// Adds the trials of another tally of the same layout. The order and grouping do not matter.
    pub fn merge(&mut self, other: &Tally) -> Result<(), Mismatch> {
        if self.fingerprint != other.fingerprint || !self.same_shape(other) {
            return Err(Mismatch);
        }
        self.add(other);
        Ok(())
    }

    /// Its bytes: the same for the same trials, in whatever order they were merged.
    pub fn to_bytes(&self) -> Vec<u8> {
        let mut out = Vec::with_capacity(1 << 15);
        out.extend_from_slice(MAGIC);
        out.extend_from_slice(&FORMAT.to_le_bytes());
        out.extend_from_slice(&self.fingerprint);
        self.write(&mut out);
        let sum: [u8; 32] = Sha256::digest(&out).into();
        out.extend_from_slice(&sum);
        out
    }

    /// Reads a tally. Never panics, and never allocates more than a small multiple of the input.
    pub fn from_bytes(bytes: &[u8]) -> Result<Tally, Damage> {
        if bytes.len() > Self::LARGEST_BYTES {
            return Err(Damage::TooLarge);
        }
        let rest = bytes.strip_prefix(MAGIC.as_slice()).ok_or(Damage::NotATally)?;
        let (format, rest) = rest.split_first_chunk::<4>().ok_or(Damage::Length)?;
        let format = u32::from_le_bytes(*format);
        if format != FORMAT {
            return Err(Damage::Version(format));
        }
        let (body, sum) = rest.split_last_chunk::<32>().ok_or(Damage::Length)?;
        let found: [u8; 32] = Sha256::digest(&bytes[..bytes.len() - 32]).into();
        if found != *sum {
            return Err(Damage::Checksum);
        }
        let (fingerprint, body) = body.split_first_chunk::<32>().ok_or(Damage::Length)?;
        let mut reader = ByteReader(body);
        let mut tally = Tally::read(&mut reader)?;
        tally.fingerprint = *fingerprint;
        if !reader.0.is_empty() {
            return Err(Damage::Length);
        }
        Ok(tally)
    }
}

const MAGIC: &[u8; 8] = b"stltally";
/// Raised whenever the meaning of a byte changes.
const FORMAT: u32 = 9;

impl TallyField for Tally {
    fn add(&mut self, o: &Self) {
        self.trials.add(&o.trials);
        self.not_finite.add(&o.not_finite);
        self.months.add(&o.months);
        self.season.add(&o.season);
        self.hours.add(&o.hours);
        self.battery.add(&o.battery);
        self.unknown.add(&o.unknown);
        self.controls.add(&o.controls);
        self.ledger.add(&o.ledger);
        TallyField::add(&mut self.full_basin, &o.full_basin);
    }
    fn same_shape(&self, o: &Self) -> bool {
        self.months.same_shape(&o.months)
            && self.season.same_shape(&o.season)
            && self.hours.same_shape(&o.hours)
            && self.battery.same_shape(&o.battery)
            && self.unknown.same_shape(&o.unknown)
            && self.controls.same_shape(&o.controls)
            && self.full_basin.same_shape(&o.full_basin)
    }
    fn write(&self, out: &mut Vec<u8>) {
        self.trials.write(out);
        self.not_finite.write(out);
        self.months.write(out);
        self.season.write(out);
        self.hours.write(out);
        self.battery.write(out);
        self.unknown.write(out);
        self.controls.write(out);
        self.ledger.write(out);
        self.full_basin.write(out);
    }
    fn read(from: &mut ByteReader<'_>) -> Result<Self, Damage> {
        Ok(Tally {
            fingerprint: [0; 32],
            trials: TallyField::read(from)?,
            not_finite: TallyField::read(from)?,
            months: TallyField::read(from)?,
            season: TallyField::read(from)?,
            hours: TallyField::read(from)?,
            battery: TallyField::read(from)?,
            unknown: TallyField::read(from)?,
            controls: TallyField::read(from)?,
            ledger: TallyField::read(from)?,
            full_basin: TallyField::read(from)?,
        })
    }
}

/// Counts one more in a bin; the last bin takes the rest.
fn bump(bins: &mut [u64], bin: usize) {
    if let Some(last) = bins.len().checked_sub(1) {
        let bin = &mut bins[bin.min(last)];
        *bin = bin.wrapping_add(1);
    }
}
