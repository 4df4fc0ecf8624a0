//! Computes the numbers of a summary from a tally. What they are: [`super::summary`].

use super::charge_count::{DAY_DEPTH_BINS, DEPTH_BINS};
use super::estimate::share_of_years;
use super::fixed_point::Moments;
use super::intervals;
use super::places::InputRange;
use super::rare::UNSEEN_DAYS;
use super::season_layout::{DAYS_PER_ROW, LayoutDay, SeasonLayout};
use super::spread::{Spread, quantile};
use super::summary::*;
use super::surface::{PanelSurface, Within};
use super::tally::{BatteryTally, CHARGE_BINS, LIFE_BINS_A_YEAR, MonthTally, Tally};
use super::verdict::WishPart;
use crate::plant::{Cause, Flow};
use crate::units::dates::month_day;
use crate::weather::input::WeatherInput;
use std::collections::BTreeMap;

/// What a summary holds beside the numbers of the tally.
#[derive(Clone, Debug)]
pub struct Meta {
    /// Seed, version, command. `trials` is taken from the tally.
    pub run: RunInfo,
    /// The design file.
    pub design: DesignId,
    /// The weather.
    pub weather: WeatherId,
    /// What its files are.
    pub weather_input: WeatherInput,
    /// Mean daily irradiation on the horizontal in the weather files, kWh/m², by month (0..12); none if they have no hour of it.
    pub file_ghi_kwh_m2_day: [Option<f64>; 12],
    /// Every value of the design.
    pub inputs: Vec<Input>,
    /// Warnings.
    pub warnings: Vec<String>,
    /// Usual cautions.
    pub cautions: Vec<String>,
}

/// Width of the steps of dusk runs in a summary, min.
const DUSK_STEP_MIN: usize = 5;

/// The summary of a tally; `None` before the first trial. `tally` must have this `layout`; what does not fit is left out.
pub fn summarise(tally: &Tally, layout: &SeasonLayout, meta: Meta) -> Option<Summary> {
    if tally.trials == 0 {
        return None;
    }
    let mut warnings = meta.warnings;
    if tally.not_finite > 0 {
        warnings.push(format!(
            "{} of {} trials hold a value that is not a number: this is a fault of the program, do not trust them",
            tally.not_finite, tally.trials
        ));
    }
    warnings.extend(frost_decides(tally));
    let still_days = still_days_by_month(tally, layout)?;
    let months: Option<Vec<Month>> = layout
        .months
        .iter()
        .zip(tally.months.iter().zip(&still_days))
        .map(|(&month, (sums, still_days))| month_summary(month, sums, still_days.clone(), layout))
        .collect();
    let battery = match &tally.battery {
        Some(b) => Some(battery_summary(b, layout)?),
        None => None,
    };
    let (shares, shares_total) = shares(tally, layout);
    let season = season_summary(tally, layout)?;
    Some(Summary {
        schema: SCHEMA.to_owned(),
        run: RunInfo { trials: tally.trials, ..meta.run },
        design: meta.design,
        weather: meta.weather,
        weather_input: Some(InputRange::of(meta.weather_input, layout, &season)),
        season,
        battery,
        panel_surface: panel_surface(tally, layout),
        hours: hour_map(tally, layout),
        water: water_use(tally, layout)?,
        wear: wear(tally, layout)?,
        shares,
        shares_total,
        sizing: worksheet(tally, layout),
        ledger: Ledger {
            worst_residual_wh: tally.ledger.wh.get(),
            worst_relative: tally.ledger.relative.get(),
            worst_charge_residual_ah: tally.ledger.ah.get(),
            worst_water_residual_l: tally.ledger.l.get(),
            worst_over_label_wh: tally.ledger.over_label_wh.get(),
        },
        sampled: sampled(tally, layout, &meta.file_ghi_kwh_m2_day)?,
        months: months?,
        inputs: meta.inputs,
        warnings,
        cautions: meta.cautions,
    })
}

/// Mean and errors, each times `factor`; none without values.
fn estimate(m: &Moments, factor: f64) -> Option<Estimate> {
    Some(Estimate::of(m)?.times(factor))
}

/// Mean times `factor`; none without values.
fn mean(m: &Moments, factor: f64) -> Option<f64> {
    Some(m.mean()? * factor)
}

/// Dusk runs: `dusk` counts evenings by the minute, the moments are over trials, `evenings` is the number of them a trial.
fn minutes(dusk: &Spread, mean: &Moments, [met, cut]: [&Moments; 2], evenings: usize) -> Option<Minutes> {
    let value = |k: usize| k as f64;
    let q = |tenths| quantile(&dusk.counts, tenths, value);
    let unseen = UNSEEN_DAYS / evenings.max(1) as f64;
    let met = Estimate::of_rare(met, 1.0, unseen)?;
    let cut = Estimate::of_rare(cut, 1.0, unseen)?;
    let longest = (dusk.counts.len().saturating_sub(1)) as f64;
    let mean = Estimate::of_rare(mean, longest, unseen * UNSEEN_DUSK_MIN)?;
    Some(Minutes {
        mean: mean.mean,
        se: mean.se,
        mean_95: mean.interval_95?,
        p10: q(1)?,
        p50: q(5)?,
        p90: q(9)?,
        p10_95: dusk.interval(1, value)?,
        p50_95: dusk.interval(5, value)?,
        p90_95: dusk.interval(9, value)?,
        meets_wish: met.mean,
        meets_wish_se: met.se,
        meets_wish_95: met.interval_95?,
        cut_by_hours: cut.mean,
        cut_by_hours_se: cut.se,
        cut_by_hours_95: cut.interval_95?,
        step_min: DUSK_STEP_MIN as f64,
        histogram: dusk.counts.chunks(DUSK_STEP_MIN).map(|c| c.iter().sum()).collect(),
    })
}

/// Dusk run of an evening on which the jet goes on, while nobody has seen one, min. (Own choice.)
const UNSEEN_DUSK_MIN: f64 = 60.0;

/// Means and 95 % intervals.
type WithErrors = (BTreeMap<String, f64>, BTreeMap<String, [f64; 2]>);

/// Means by cause and their intervals, of amounts of which `most` are possible and `unseen` are lost in a bad year.
fn by_cause(values: &[Moments; Cause::COUNT], most: f64, unseen: f64) -> Option<WithErrors> {
    let mut both: WithErrors = Default::default();
    for (cause, moments) in Cause::ALL.iter().zip(values) {
        let e = Estimate::of_rare(moments, most, unseen)?;
        both.0.insert(cause.key().to_owned(), e.mean);
        both.1.insert(cause.key().to_owned(), e.interval_95?);
    }
    Some(both)
}

/// Still days of each month, their means corrected where there are enough trials.
fn still_days_by_month(tally: &Tally, layout: &SeasonLayout) -> Option<Vec<DayCount>> {
    let regression = tally.regression();
    let of_month = |(place, (&month, sums)): (usize, (&u8, &MonthTally))| {
        let days = layout.days.iter().filter(|d| d.month == month).count();
        let seen = DayCount::of(&sums.still, days)?;
        let variance = seen.se.map(|se| se * se * tally.trials as f64);
        let corrected = regression.as_ref().zip(variance).and_then(|(regression, variance)| {
            regression.corrected(Some(place), seen.mean, variance)?.days(tally.trials, days as f64)
        });
        Some(match corrected {
            Some(mean) => seen.with_mean(mean),
            None => seen,
        })
    };
    layout.months.iter().zip(&tally.months).enumerate().map(of_month).collect()
}

/// Mean still days by cause, so that they add up to the mean of the month, and their intervals.
fn still_days_by_cause(sums: &MonthTally, still_days: &DayCount, days: usize) -> Option<WithErrors> {
    let (mut means, mut intervals) = by_cause(&sums.still_by_cause, days as f64, UNSEEN_DAYS)?;
    let seen: f64 = means.values().sum();
    if seen > 0.0 {
        let factor = still_days.mean / seen;
        means.values_mut().for_each(|mean| *mean *= factor);
        intervals.values_mut().flatten().for_each(|end| *end *= factor);
    }
    Some((means, intervals))
}

fn month_summary(month: u8, sums: &MonthTally, still_days: DayCount, layout: &SeasonLayout) -> Option<Month> {
    let of_month = || layout.days.iter().filter(|d| d.month == month);
    let days = of_month().count();
    let per_day = 1.0 / days.max(1) as f64;
    let wanted_min: f64 = of_month().map(LayoutDay::wanted_min).sum();
    let (causes_min, causes_min_95) =
        by_cause(&sums.cause_min, wanted_min, UNSEEN_DAYS * per_day * wanted_min)?;
    let (still_days_by_cause, still_days_by_cause_95) = still_days_by_cause(sums, &still_days, days)?;
    let evenings = of_month().filter(|d| d.sunset_min.is_some()).count();
    let ghi = estimate(&sums.ghi_kwh_m2, per_day)?;
    let plane = estimate(&sums.plane_kwh_m2, per_day)?;
    Some(Month {
        month: month + 1,
        days: days as u32,
        wanted_min,
        jet_min: estimate(&sums.jet_min, 1.0)?,
        still_days,
        short_days: DayCount::of(&sums.short, days)?,
        dusk_run_min: minutes(&sums.dusk, &sums.dusk_run_min, [&sums.wish_met, &sums.dusk_cut], evenings),
        causes_min,
        causes_min_95,
        still_days_by_cause,
        still_days_by_cause_95,
        ghi_kwh_m2_day: ghi.mean,
        ghi_kwh_m2_day_95: ghi.interval_95,
        plane_kwh_m2_day: plane.mean,
        plane_kwh_m2_day_95: plane.interval_95,
    })
}

fn season_summary(tally: &Tally, layout: &SeasonLayout) -> Option<Season> {
    let s = &tally.season;
    let days = layout.days.len();
    let wanted_min: f64 = layout.days.iter().map(LayoutDay::wanted_min).sum();
    let (causes_min, causes_min_95) =
        by_cause(&s.cause_min, wanted_min, UNSEEN_DAYS * per_day(layout) * wanted_min)?;
    let longest_month =
        layout.months.iter().map(|m| layout.days.iter().filter(|d| d.month == *m).count()).max();
    let keeping = s.years_met.parts[WishPart::StillDays as usize];
    let (bearable, bearable_95) = share_of_years(keeping, tally.trials);
    let n = tally.trials as f64;
    let evenings = layout.days.iter().filter(|d| d.sunset_min.is_some()).count();
    Some(Season {
        from: month_day(layout.season.0),
        to: month_day(layout.season.1),
        days: days as u32,
        wanted_min,
        jet_min: estimate(&s.jet_min, 1.0)?,
        still_days: DayCount::of(&s.still, days)?.with_mean(tally.still_days_of_season()?),
        still_days_per_month: tally.still_days_per_month()?,
        worst_month: DayCount::of(&s.worst_month, longest_month.unwrap_or(0))?,
        short_days: DayCount::of(&s.short, days)?,
        dusk_run_min: minutes(&s.dusk, &s.dusk_run_min, [&s.wish_met, &s.dusk_cut], evenings),
        longest_still_spell: DayCount::of(&s.spell, days)?,
        causes_min,
        causes_min_95,
        bearable_years: Estimate {
            mean: bearable,
            se: (tally.trials >= 2).then(|| (bearable * (1.0 - bearable) / (n - 1.0)).max(0.0).sqrt()),
            interval_95: Some(bearable_95),
        },
        bearable_years_95: Some(bearable_95),
        bearable_still_days: layout.still_days_a_month,
        wish_dusk_run_min: layout.dusk_run_min,
        wish: s.years_met.verdict(layout, tally.trials)?,
    })
}

/// What lay on the panel; `None` where nothing ever did.
fn panel_surface(tally: &Tally, layout: &SeasonLayout) -> Option<PanelSurface> {
    let s = &tally.season;
    let of = |e: Estimate| Within { mean: e.mean, interval_95: e.interval_95 };
    let surface = PanelSurface {
        dirt_share: of(Estimate::of(&s.dirt_share)?),
        snow_share: of(Estimate::of(&s.snow_share)?),
        littered_days: of(Estimate::of_days(&s.littered_days, layout.days.len() as f64)?),
    };
    let means = [surface.dirt_share.mean, surface.snow_share.mean, surface.littered_days.mean];
    means.iter().any(|mean| *mean > 0.0).then_some(surface)
}

/// Share of the missing minutes from which the battery's frost lock is worth a word.
const FROST_DECIDES: f64 = 0.2;

/// Whether frost, which forbids charging, decides much of the answer.
fn frost_decides(tally: &Tally) -> Option<String> {
    let minutes = |cause: usize| tally.season.cause_min[cause].mean().unwrap_or(0.0);
    let missing: f64 = (0..Cause::COUNT).map(minutes).sum();
    let share = minutes(Cause::TooCold as usize) / missing.max(1.0);
    (share > FROST_DECIDES).then(|| {
        format!(
            "{:.0} % of the missing minutes are laid to frost, which forbids charging the battery: the answer hangs on \
             `battery.frost_lock` and `battery.temperature_lag`; read the pack's data sheet",
            100.0 * share
        )
    })
}

fn battery_summary(b: &BatteryTally, layout: &SeasonLayout) -> Option<BatteryUse> {
    // The middle of a step stands for its days.
    let depth = |k: usize| (k as f64 + 0.5) / DAY_DEPTH_BINS as f64;
    let charge = |k: usize| k as f64 / (CHARGE_BINS - 1) as f64;
    let used = estimate(&b.used, 1.0)?;
    let life = battery_life(b);
    let ends_by = life.map(|l| if l.by_cycles.mean > 0.5 { LifeEnd::Cycles } else { LifeEnd::Calendar });
    let weeks = b.sunset.iter().zip(&b.low).zip(layout.days.chunks(7)).map(|((sunset, low), days)| {
        let [sunset_p10, sunset_p50, sunset_p90] = tenths(sunset, charge)?;
        let [low_p10, low_p50, low_p90] = tenths(low, charge)?;
        Some(WeekCharge {
            day_of_year: days[0].day_of_year,
            sunset_p10: sunset_p10.0,
            sunset_p50: sunset_p50.0,
            sunset_p90: sunset_p90.0,
            low_p10: low_p10.0,
            low_p50: low_p50.0,
            low_p90: low_p90.0,
            sunset_95: [sunset_p10.1, sunset_p50.1, sunset_p90.1],
            low_95: [low_p10.1, low_p50.1, low_p90.1],
        })
    });
    let season_days = layout.days.len() as f64;
    let by_depth: Option<Vec<Estimate>> = b
        .half_cycles
        .iter()
        .map(|m| {
            Some(Estimate::of_rare(m, 2.0 * MOST_CYCLES_A_DAY * season_days, 2.0 * UNSEEN_DAYS)?.times(0.5))
        })
        .collect();
    let by_depth = by_depth?;
    let cycles = estimate(&b.cycles, 1.0)?;
    let spilled = estimate(&b.spilled_ah, per_day(layout))?;
    let too_cold = Estimate::of_rare(&b.too_cold_h, 24.0 * season_days, 12.0 * UNSEEN_DAYS)?;
    let [p10, p50, p90] = tenths(&b.depth, depth)?;
    Some(BatteryUse {
        daily_depth: ShareSpread {
            p10: p10.0,
            p50: p50.0,
            p90: p90.0,
            p10_95: p10.1,
            p50_95: p50.1,
            p90_95: p90.1,
            histogram: b.depth.counts.chunks(DAY_DEPTH_BINS / DEPTH_BINS).map(|c| c.iter().sum()).collect(),
        },
        cycles_per_year: cycles.mean,
        cycles_per_year_95: cycles.interval_95,
        equivalent_full_cycles_per_year: estimate(&b.equivalent, 1.0)?,
        cycle_depth_histogram: by_depth.iter().map(|e| e.mean).collect(),
        cycle_depth_histogram_95: by_depth.iter().filter_map(|e| e.interval_95).collect(),
        life_used_per_year: used,
        life,
        life_ends_by: ends_by,
        empty_days_per_year: Estimate::of_days(&b.empty_days, season_days)?,
        weeks: weeks.collect::<Option<_>>()?,
        spilled_ah_per_day: spilled.mean,
        spilled_ah_per_day_95: spilled.interval_95,
        too_cold_h_per_year: too_cold.mean,
        too_cold_h_per_year_95: too_cold.interval_95,
    })
}

/// Life of the battery over trials; none if no trial knows it.
fn battery_life(b: &BatteryTally) -> Option<BatteryLife> {
    let years = |bin: usize| (bin as f64 + 0.5) / LIFE_BINS_A_YEAR;
    let last = b.life.len().saturating_sub(1);
    let tenth = |tenths: u64| {
        let [lo, hi] = intervals::quantile_of_counts(&b.life, tenths as f64 / 10.0, 0.95);
        let ends = [years(lo.unwrap_or(0)), years(hi.unwrap_or(last))];
        Some((quantile(&b.life, tenths, years)?, ends))
    };
    let [p10, p50, p90] = [tenth(1)?, tenth(5)?, tenth(9)?];
    Some(BatteryLife {
        p10: p10.0,
        p50: p50.0,
        p90: p90.0,
        p10_95: p10.1,
        p50_95: p50.1,
        p90_95: p90.1,
        by_cycles: estimate(&b.by_cycles, 1.0)?,
    })
}

/// More cycles of one step of depth than a battery can make in a day.
const MOST_CYCLES_A_DAY: f64 = 72.0;

/// P10, P50, P90 of days by value, each with its 95 % interval; none without days.
fn tenths(spread: &Spread, value: impl Fn(usize) -> f64 + Copy) -> Option<[(f64, [f64; 2]); 3]> {
    let one = |tenths| Some((quantile(&spread.counts, tenths, value)?, spread.interval(tenths, value)?));
    Some([one(1)?, one(5)?, one(9)?])
}

fn per_day(layout: &SeasonLayout) -> f64 {
    1.0 / layout.days.len().max(1) as f64
}

fn hour_map(tally: &Tally, layout: &SeasonLayout) -> HourMap {
    let clock = |min: f64| min / 60.0 + f64::from(layout.first_hour);
    let rows = layout.days.chunks(DAYS_PER_ROW).zip(&tally.hours).map(|(days, minutes)| {
        let hours = 60.0 * days.len() as f64;
        let wanted = |slot: usize| {
            let (from, to) = (60.0 * slot as f64, 60.0 * (slot + 1) as f64);
            days.iter().map(|d| (d.wanted_to.min(to) - d.wanted_from.max(from)).max(0.0)).sum::<f64>() / hours
        };
        HourRow {
            day_of_year: days[0].day_of_year,
            sunrise_h: days[0].sunrise_min.map(clock),
            sunset_h: days[0].sunset_min.map(clock),
            jet_share: minutes.iter().map(|m| mean(m, 1.0 / hours).unwrap_or(0.0)).collect(),
            // A bad year that nobody has seen: the jet differs on all days of the row.
            jet_share_95: minutes
                .iter()
                .filter_map(|m| Estimate::of_rare(m, hours, hours)?.times(1.0 / hours).interval_95)
                .collect(),
            wanted_share: (0..24).map(wanted).collect(),
        }
    });
    HourMap { days_per_row: DAYS_PER_ROW as u32, first_hour: layout.first_hour, rows: rows.collect() }
}

fn water_use(tally: &Tally, layout: &SeasonLayout) -> Option<WaterUse> {
    let s = &tally.season;
    let week = layout.of_a_week();
    let amount = |m: &Moments| Some(Estimate::of_amount(m)?.times(week));
    let (evaporated, drifted) = (amount(&s.evaporated_l)?, amount(&s.drifted_l)?);
    let intake_iced =
        Estimate::of_rare(&s.intake_iced_h, 24.0 * layout.days.len() as f64, 24.0 * UNSEEN_DAYS);
    Some(WaterUse {
        litres_per_week: amount(&s.lost_l)?,
        litres_per_week_spread: s.week_l.spread()?,
        evaporated_l_per_week: evaporated.mean,
        evaporated_l_per_week_95: evaporated.interval_95,
        drifted_l_per_week: drifted.mean,
        drifted_l_per_week_95: drifted.interval_95,
        intake_iced_h_per_year: intake_iced.filter(|e| e.mean > 0.0),
        full_basin: tally.full_basin.summary(layout, week),
    })
}

fn wear(tally: &Tally, layout: &SeasonLayout) -> Option<Wear> {
    let s = &tally.season;
    let day = per_day(layout);
    let pump_h = estimate(&s.pump_h, 1.0)?;
    let of_mount = |m: &Moments| estimate(m, day).filter(|_| layout.moving);
    let (moves, travel) = (of_mount(&s.moves), of_mount(&s.travel_deg));
    let motor = of_mount(&s.flow_wh[Flow::Motors as usize]);
    let names = [
        ("panel", Flow::Panel),
        ("pump", Flow::Pump),
        ("motors", Flow::Motors),
        ("standby", Flow::Standby),
        ("diode", Flow::Diode),
        ("charger", Flow::Charger),
        ("battery", Flow::Battery),
    ];
    let flows: Option<Vec<(String, Estimate)>> = names
        .into_iter()
        .map(|(name, f)| Some((name.to_owned(), estimate(&s.flow_wh[f as usize], day)?)))
        .collect();
    let flows = flows?;
    let rated_h = layout.pump_rated_h.filter(|_| pump_h.mean > 0.0);
    Some(Wear {
        pump_h_per_year: pump_h,
        pump_life_years: rated_h.map(|rated| rated / pump_h.mean),
        pump_life_years_95: rated_h
            .zip(pump_h.interval_95)
            .filter(|(_, [lo, _])| *lo > 0.0)
            .map(|(rated, [lo, hi])| [rated / hi, rated / lo]),
        mount_moves_per_day: moves.map(|e| e.mean),
        mount_moves_per_day_95: moves.and_then(|e| e.interval_95),
        mount_travel_deg_per_day: travel.map(|e| e.mean),
        mount_travel_deg_per_day_95: travel.and_then(|e| e.interval_95),
        motor_wh_per_day: motor.map(|e| e.mean),
        motor_wh_per_day_95: motor.and_then(|e| e.interval_95),
        flows_wh_per_day: flows.iter().map(|(name, e)| (name.clone(), e.mean)).collect(),
        flows_wh_per_day_95: flows.into_iter().filter_map(|(name, e)| Some((name, e.interval_95?))).collect(),
    })
}

/// Variance shares of the uncertain quantities, largest first, then the rest ("weather"); and the sum of the former.
fn shares(tally: &Tally, layout: &SeasonLayout) -> (Vec<Share>, Option<Share>) {
    if layout.unknown.is_empty() {
        return (Vec::new(), None);
    }
    let (still, dusk) = (&tally.season.still_days, &tally.season.dusk_run_min);
    let as_estimate = |p: super::variance_shares::Portion| Estimate::new(p.share, Some(p.se));
    let minutes = |cause: Cause| tally.season.cause_min[cause as usize].mean().unwrap_or(0.0);
    let by_water_min = minutes(Cause::LowWater) + minutes(Cause::Frozen);
    let mut shares: Vec<Share> = layout
        .unknown
        .iter()
        .zip(&tally.unknown)
        .filter(|(key, _)| acts(key, by_water_min > 0.0))
        .map(|(key, binned)| Share {
            key: key.clone(),
            still_days: binned.of_still_days(still).map(as_estimate),
            dusk_run: binned.of_dusk_run(dusk).map(as_estimate),
        })
        .collect();
    let total = |pick: fn(&Share) -> Option<Estimate>| -> Option<Estimate> {
        let parts: Option<Vec<Estimate>> = shares.iter().map(pick).collect();
        let parts = parts?;
        // The estimates of different quantities are nearly independent.
        let variance = parts.iter().filter_map(|e| e.se).map(|se| se * se).sum::<f64>();
        Some(Estimate::new(parts.iter().map(|e| e.mean).sum(), Some(variance.sqrt())))
    };
    let sum = Share {
        key: ALL_PARTS.to_owned(),
        still_days: total(|s| s.still_days),
        dusk_run: total(|s| s.dusk_run),
    };
    let left = |e: Option<Estimate>| e.map(|e| Estimate::new(1.0 - e.mean, e.se));
    let weather =
        Share { key: WEATHER.to_owned(), still_days: left(sum.still_days), dusk_run: left(sum.dusk_run) };
    let size = |s: &Share| s.still_days.map_or(0.0, |e| e.mean).max(s.dusk_run.map_or(0.0, |e| e.mean));
    shares.sort_by(|a, b| size(b).total_cmp(&size(a)).then_with(|| a.key.cmp(&b.key)));
    shares.push(weather);
    (shares, Some(sum))
}

/// Whether a quantity can act on still days and dusk run at all: how long a battery lives does not stop a jet, and water does only
/// where the basin was low or frozen.
fn acts(key: &str, by_water: bool) -> bool {
    const OF_LIFE: [&str; 3] =
        ["battery.cycles_at_full_depth", "battery.cycle_exponent", "battery.calendar_life"];
    !OF_LIFE.contains(&key) && (by_water || !key.starts_with("water."))
}

/// The handbook's figures, in the month in which the panel gives least for what is asked; none where nothing is asked.
///
/// The load is what the plant was seen to take: the pump, at the voltages it ran at, for all wanted hours, and the mount's motors. Only a pump that
/// never ran is reckoned at the wished height.
pub fn worksheet(tally: &Tally, layout: &SeasonLayout) -> Option<Sizing> {
    let inputs = &layout.sizing;
    let seen = |flow: Flow| mean(&tally.season.flow_wh[flow as usize], 1.0);
    let running_h = mean(&tally.season.pump_h, 1.0).filter(|h| *h > 0.0);
    let pump_w = running_h.zip(seen(Flow::Pump)).map_or(inputs.pump_w, |(h, wh)| wh / h);
    let motors_wh_day = seen(Flow::Motors).map_or(0.0, |wh| wh * per_day(layout));
    // Day's load and array energy (peak sun hours on the plane times rated power) of each month.
    let months = layout.months.iter().zip(&tally.months).filter_map(|(&month, sums)| {
        let of_month: Vec<&LayoutDay> = layout.days.iter().filter(|d| d.month == month).collect();
        let days = of_month.len() as f64;
        let wanted_h = of_month.iter().map(|d| d.wanted_min()).sum::<f64>() / 60.0 / days;
        let load = pump_w * wanted_h + 24.0 * inputs.standby_w + motors_wh_day;
        let array = inputs.panel_w * sums.plane_kwh_m2.mean()? / days;
        (load > 0.0).then_some((month, load, array))
    });
    let (month, load, array) = months.min_by(|a, b| (a.2 / a.1).total_cmp(&(b.2 / b.1)))?;
    let storage = inputs.usable_wh.map(|wh| wh / load);
    Some(Sizing {
        load_wh_day: load,
        array_wh_day_worst_month: array,
        worst_month: month + 1,
        array_to_load: array / load,
        c_a: array / load,
        c_s: storage,
        days_of_autonomy: storage,
        loss_of_load: Estimate::of_rare(&tally.season.unserved, 1.0, UNSEEN_DAYS * per_day(layout)),
    })
}

fn sampled(tally: &Tally, layout: &SeasonLayout, file: &[Option<f64>; 12]) -> Option<Vec<SampledMonth>> {
    let of_month =
        |&(&month, _): &(&u8, &MonthTally)| layout.days.iter().filter(|d| d.month == month).count();
    layout
        .months
        .iter()
        .zip(&tally.months)
        .map(|pair| {
            let (&month, sums) = pair;
            let ghi = &sums.ghi_kwh_m2;
            let cov = ghi.variance().zip(ghi.mean()).filter(|&(_, m)| m > 0.0).map(|(v, m)| v.sqrt() / m);
            Some(SampledMonth {
                month: month + 1,
                file_ghi_kwh_m2_day: file[usize::from(month)],
                sampled_ghi_kwh_m2_day: estimate(ghi, 1.0 / of_month(&pair).max(1) as f64)?,
                sampled_cov: cov,
                // Of normal sums: the error of their spread, and of their mean.
                sampled_cov_95: cov.map(|c| {
                    let n = ghi.n() as f64;
                    let half = 2.0 * c * (0.5 / (n - 1.0) + c * c / n).sqrt();
                    [(c - half).max(0.0), c + half]
                }),
            })
        })
        .collect()
}
