//! Computes the numbers of a summary from a tally. What they are: [`super::summary`].

use super::fixed_point::{Moments, STEPS_PER_UNIT};
use super::intervals;
use super::season_layout::{DAYS_PER_ROW, LayoutDay, SeasonLayout};
use super::summary::*;
use super::tally::{BatteryTally, CHARGE_BINS, MonthTally, Tally};
use super::trial::{DAY_DEPTH_BINS, DEPTH_BINS};
use super::verdict::WishPart;
use crate::plant::{Cause, Flow};
use crate::units::dates::month_day;
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
    let months: Option<Vec<Month>> = layout
        .months
        .iter()
        .zip(&tally.months)
        .map(|(&month, sums)| month_summary(month, sums, layout, tally.trials))
        .collect();
    let battery = match &tally.battery {
        Some(b) => Some(battery_summary(b, layout, tally.trials)?),
        None => None,
    };
    let (shares, shares_total) = shares(tally, layout);
    Some(Summary {
        schema: SCHEMA.to_owned(),
        run: RunInfo { trials: tally.trials, ..meta.run },
        design: meta.design,
        weather: meta.weather,
        season: season_summary(tally, layout)?,
        battery,
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

/// Mean and standard error, each times `factor`; none without values.
fn estimate(m: &Moments, factor: f64) -> Option<Estimate> {
    Some(Estimate { mean: mean(m, factor)?, se: m.se().map(|se| se * factor) })
}

/// Mean times `factor`; none without values.
fn mean(m: &Moments, factor: f64) -> Option<f64> {
    Some(m.mean()? * factor)
}

/// Mean of a trial, from a sum of steps over trials (at least one).
fn per_trial(sum: i128, trials: u64) -> f64 {
    sum as f64 / STEPS_PER_UNIT / trials as f64
}

/// The bin of a quantile (P10, P50, P90): the smallest up to which at least `tenths`/10 of all counts lie; none without
/// counts. Computed in integers, so that rounding cannot shift it.
fn quantile_bin(bins: &[u64], tenths: u64) -> Option<usize> {
    let total: u128 = bins.iter().map(|&b| u128::from(b)).sum();
    let mut below = 0u128;
    bins.iter().position(|&b| {
        below += u128::from(b);
        below > 0 && 10 * below >= u128::from(tenths) * total
    })
}

/// The quantile `tenths`/10 of counts, where `value` gives the value of a bin; none without counts.
fn quantile(bins: &[u64], tenths: u64, value: impl Fn(usize) -> f64) -> Option<f64> {
    quantile_bin(bins, tenths).map(value)
}

/// A number of days over trials, from the counts of trials with 0, 1, 2, … of them; none without trials.
fn day_count(histogram: &[u64]) -> Option<DayCount> {
    let n: u128 = histogram.iter().map(|&c| u128::from(c)).sum();
    let weighted = |f: fn(u128) -> u128| -> u128 {
        histogram
            .iter()
            .enumerate()
            .map(|(k, &c)| f(k as u128).wrapping_mul(u128::from(c)))
            .fold(0, u128::wrapping_add)
    };
    let (sum, squares) = (weighted(|k| k), weighted(|k| k * k));
    if n == 0 {
        return None;
    }
    let n_ = n as f64;
    let mean = sum as f64 / n_;
    let se = (n >= 2).then(|| {
        let spread = n.wrapping_mul(squares).saturating_sub(sum.wrapping_mul(sum)) as f64;
        (spread / (n_ * n_ * (n_ - 1.0))).sqrt()
    });
    let at_least = [1usize, 3, 7]
        .into_iter()
        .map(|k| {
            let many: u128 = histogram.iter().skip(k).map(|&c| u128::from(c)).sum();
            (k.to_string(), many as f64 / n_)
        })
        .collect();
    let q = |tenths| quantile(histogram, tenths, |k| k as f64);
    Some(DayCount { mean, se, p10: q(1)?, p50: q(5)?, p90: q(9)?, at_least, histogram: histogram.to_vec() })
}

/// Dusk runs: `dusk` counts evenings by the minute, the moments are over trials.
fn minutes(dusk: &[u64], mean: &Moments, met: &Moments) -> Option<Minutes> {
    let met_mean = met.mean()?;
    let q = |tenths| quantile(dusk, tenths, |k| k as f64);
    Some(Minutes {
        mean: mean.mean()?,
        se: mean.se(),
        p10: q(1)?,
        p50: q(5)?,
        p90: q(9)?,
        meets_wish: met_mean,
        meets_wish_se: met.se(),
        step_min: DUSK_STEP_MIN as f64,
        histogram: dusk.chunks(DUSK_STEP_MIN).map(|c| c.iter().sum()).collect(),
    })
}

fn by_cause<T: Copy>(values: &[T; Cause::COUNT], mean: impl Fn(T) -> f64) -> BTreeMap<String, f64> {
    Cause::ALL.iter().zip(values).map(|(c, &v)| (c.key().to_owned(), mean(v))).collect()
}

fn month_summary(month: u8, sums: &MonthTally, layout: &SeasonLayout, trials: u64) -> Option<Month> {
    let of_month = || layout.days.iter().filter(|d| d.month == month);
    let days = of_month().count();
    let per_day = 1.0 / days.max(1) as f64;
    Some(Month {
        month: month + 1,
        days: days as u32,
        wanted_min: of_month().map(LayoutDay::wanted_min).sum(),
        jet_min: estimate(&sums.jet_min, 1.0)?,
        still_days: day_count(&sums.still)?,
        short_days: day_count(&sums.short)?,
        dusk_run_min: minutes(&sums.dusk, &sums.dusk_run_min, &sums.wish_met),
        causes_min: by_cause(&sums.cause_min, |s| per_trial(s, trials)),
        still_days_by_cause: by_cause(&sums.still_by_cause, |d| d as f64 / trials as f64),
        ghi_kwh_m2_day: mean(&sums.ghi_kwh_m2, per_day)?,
        plane_kwh_m2_day: mean(&sums.plane_kwh_m2, per_day)?,
    })
}

fn season_summary(tally: &Tally, layout: &SeasonLayout) -> Option<Season> {
    let s = &tally.season;
    let mut dusk = vec![0u64; super::tally::DUSK_BINS];
    let mut causes = [0i128; Cause::COUNT];
    for month in &tally.months {
        for (total, &count) in dusk.iter_mut().zip(&month.dusk) {
            *total = total.wrapping_add(count);
        }
        for (total, &sum) in causes.iter_mut().zip(&month.cause_min) {
            *total = total.wrapping_add(sum);
        }
    }
    let n = tally.trials as f64;
    let keeping = s.years_met.parts[WishPart::StillDays as usize];
    let bearable = keeping as f64 / n;
    Some(Season {
        from: month_day(layout.season.0),
        to: month_day(layout.season.1),
        days: layout.days.len() as u32,
        wanted_min: layout.days.iter().map(LayoutDay::wanted_min).sum(),
        jet_min: estimate(&s.jet_min, 1.0)?,
        still_days: day_count(&s.still)?,
        still_days_per_month: tally.still_days_per_month()?,
        worst_month: day_count(&s.worst_month)?,
        short_days: day_count(&s.short)?,
        dusk_run_min: minutes(&dusk, &s.dusk_run_min, &s.wish_met),
        longest_still_spell: day_count(&s.spell)?,
        causes_min: by_cause(&causes, |sum| per_trial(sum, tally.trials)),
        bearable_years: Estimate {
            mean: bearable,
            se: (tally.trials >= 2).then(|| (bearable * (1.0 - bearable) / (n - 1.0)).max(0.0).sqrt()),
        },
        bearable_years_95: (tally.trials > 0).then(|| {
            let i = intervals::wilson(keeping.min(tally.trials), tally.trials, 0.95);
            [i.lo, i.hi]
        }),
        bearable_still_days: layout.still_days_a_month,
        wish_dusk_run_min: layout.dusk_run_min,
        wish: s.years_met.verdict(layout, tally.trials)?,
    })
}

/// Share of the missing minutes from which the battery's frost lock is worth a word.
const FROST_DECIDES: f64 = 0.2;

/// Whether frost, which forbids charging, decides much of the answer.
fn frost_decides(tally: &Tally) -> Option<String> {
    let minutes = |cause: usize| tally.months.iter().map(|m| m.cause_min[cause] as f64).sum::<f64>();
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

fn battery_summary(b: &BatteryTally, layout: &SeasonLayout, trials: u64) -> Option<BatteryUse> {
    // The middle of a step stands for its days.
    let depth = |k: usize| (k as f64 + 0.5) / DAY_DEPTH_BINS as f64;
    let charge = |k: usize| k as f64 / (CHARGE_BINS - 1) as f64;
    let n = trials as f64;
    let used = estimate(&b.used, 1.0)?;
    let calendar = b.calendar_life_y.mean();
    let by_cycles = (used.mean > 0.0).then(|| 1.0 / used.mean);
    let (life_years, ends_by) = match (by_cycles, calendar) {
        (Some(cycles), Some(calendar)) if cycles < calendar => (Some(cycles), Some(LifeEnd::Cycles)),
        (_, Some(calendar)) => (Some(calendar), Some(LifeEnd::Calendar)),
        (Some(cycles), None) => (Some(cycles), Some(LifeEnd::Cycles)),
        (None, None) => (None, None),
    };
    let weeks = b.sunset.iter().zip(&b.low).zip(layout.days.chunks(7)).map(|((sunset, low), days)| {
        Some(WeekCharge {
            day_of_year: days[0].day_of_year,
            sunset_p10: quantile(sunset, 1, charge)?,
            sunset_p50: quantile(sunset, 5, charge)?,
            sunset_p90: quantile(sunset, 9, charge)?,
            low_p10: quantile(low, 1, charge)?,
            low_p50: quantile(low, 5, charge)?,
            low_p90: quantile(low, 9, charge)?,
        })
    });
    Some(BatteryUse {
        daily_depth: ShareSpread {
            p10: quantile(&b.depth, 1, depth)?,
            p50: quantile(&b.depth, 5, depth)?,
            p90: quantile(&b.depth, 9, depth)?,
            histogram: b.depth.chunks(DAY_DEPTH_BINS / DEPTH_BINS).map(|c| c.iter().sum()).collect(),
        },
        cycles_per_year: mean(&b.cycles, 1.0)?,
        equivalent_full_cycles_per_year: estimate(&b.equivalent, 1.0)?,
        cycle_depth_histogram: b.half_cycles.iter().map(|&h| 0.5 * h as f64 / n).collect(),
        life_used_per_year: used,
        life_years,
        life_ends_by: ends_by,
        weeks: weeks.collect::<Option<_>>()?,
        spilled_ah_per_day: mean(&b.spilled_ah, per_day(layout))?,
        too_cold_h_per_year: mean(&b.too_cold_h, 1.0)?,
    })
}

fn per_day(layout: &SeasonLayout) -> f64 {
    1.0 / layout.days.len().max(1) as f64
}

fn hour_map(tally: &Tally, layout: &SeasonLayout) -> HourMap {
    let clock = |min: f64| min / 60.0 + f64::from(layout.first_hour);
    let rows = layout.days.chunks(DAYS_PER_ROW).zip(&tally.hours).map(|(days, minutes)| {
        let hours = 60.0 * days.len() as f64;
        let whole = hours * tally.trials as f64 * STEPS_PER_UNIT;
        let wanted = |slot: usize| {
            let (from, to) = (60.0 * slot as f64, 60.0 * (slot + 1) as f64);
            days.iter().map(|d| (d.wanted_to.min(to) - d.wanted_from.max(from)).max(0.0)).sum::<f64>() / hours
        };
        HourRow {
            day_of_year: days[0].day_of_year,
            sunrise_h: days[0].sunrise_min.map(clock),
            sunset_h: days[0].sunset_min.map(clock),
            jet_share: minutes.iter().map(|&m| m as f64 / whole).collect(),
            wanted_share: (0..24).map(wanted).collect(),
        }
    });
    HourMap { days_per_row: DAYS_PER_ROW as u32, first_hour: layout.first_hour, rows: rows.collect() }
}

fn water_use(tally: &Tally, layout: &SeasonLayout) -> Option<WaterUse> {
    let s = &tally.season;
    let week = layout.of_a_week();
    Some(WaterUse {
        litres_per_week: estimate(&s.lost_l, week)?,
        litres_per_week_spread: s.week_l.spread()?,
        evaporated_l_per_week: mean(&s.evaporated_l, week)?,
        drifted_l_per_week: mean(&s.drifted_l, week)?,
        full_basin: tally.full_basin.summary(layout, week),
    })
}

fn wear(tally: &Tally, layout: &SeasonLayout) -> Option<Wear> {
    let s = &tally.season;
    let day = per_day(layout);
    let pump_h = estimate(&s.pump_h, 1.0)?;
    let flow = |f: Flow| mean(&s.flow_wh[f as usize], day);
    let of_mount = |m: &Moments| mean(m, day).filter(|_| layout.moving);
    let names = [
        ("panel", Flow::Panel),
        ("pump", Flow::Pump),
        ("motors", Flow::Motors),
        ("standby", Flow::Standby),
        ("diode", Flow::Diode),
        ("charger", Flow::Charger),
        ("battery", Flow::Battery),
    ];
    let flows: Option<_> = names.into_iter().map(|(name, f)| Some((name.to_owned(), flow(f)?))).collect();
    Some(Wear {
        pump_h_per_year: pump_h,
        pump_life_years: layout.pump_rated_h.filter(|_| pump_h.mean > 0.0).map(|rated| rated / pump_h.mean),
        mount_moves_per_day: of_mount(&s.moves),
        mount_travel_deg_per_day: of_mount(&s.travel_deg),
        motor_wh_per_day: of_mount(&s.flow_wh[Flow::Motors as usize]),
        flows_wh_per_day: flows?,
    })
}

/// Variance shares of the uncertain quantities, largest first, then the rest ("weather"); and the sum of the former.
fn shares(tally: &Tally, layout: &SeasonLayout) -> (Vec<Share>, Option<Share>) {
    if layout.unknown.is_empty() {
        return (Vec::new(), None);
    }
    let (still, dusk) = (&tally.season.still_days, &tally.season.dusk_run_min);
    let as_estimate = |p: super::variance_shares::Portion| Estimate { mean: p.share, se: Some(p.se) };
    let low_water: i128 = tally.months.iter().map(|m| m.cause_min[Cause::LowWater as usize]).sum();
    let mut shares: Vec<Share> = layout
        .unknown
        .iter()
        .zip(&tally.unknown)
        .filter(|(key, _)| acts(key, low_water > 0))
        .map(|(key, binned)| Share {
            key: key.clone(),
            still_days: binned.of_still_days(still).map(as_estimate),
            dusk_run: binned.of_dusk_run(dusk).map(as_estimate),
        })
        .collect();
    let total = |pick: fn(&Share) -> Option<Estimate>| -> Option<Estimate> {
        let parts: Option<Vec<Estimate>> = shares.iter().map(pick).collect();
        let parts = parts?;
        Some(Estimate {
            mean: parts.iter().map(|e| e.mean).sum(),
            // The estimates of different quantities are nearly independent.
            se: Some(parts.iter().filter_map(|e| e.se).map(|se| se * se).sum::<f64>().sqrt()),
        })
    };
    let sum = Share {
        key: ALL_PARTS.to_owned(),
        still_days: total(|s| s.still_days),
        dusk_run: total(|s| s.dusk_run),
    };
    let left = |e: Option<Estimate>| e.map(|e| Estimate { mean: 1.0 - e.mean, se: e.se });
    let weather =
        Share { key: WEATHER.to_owned(), still_days: left(sum.still_days), dusk_run: left(sum.dusk_run) };
    let size = |s: &Share| s.still_days.map_or(0.0, |e| e.mean).max(s.dusk_run.map_or(0.0, |e| e.mean));
    shares.sort_by(|a, b| size(b).total_cmp(&size(a)).then_with(|| a.key.cmp(&b.key)));
    shares.push(weather);
    (shares, Some(sum))
}

/// Whether a quantity can act on still days and dusk run at all: how long a battery lives does not stop a jet, and water does only
/// where the basin was low.
fn acts(key: &str, low_water: bool) -> bool {
    const OF_LIFE: [&str; 3] =
        ["battery.cycles_at_full_depth", "battery.cycle_exponent", "battery.calendar_life"];
    !OF_LIFE.contains(&key) && (low_water || !key.starts_with("water."))
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
        loss_of_load: estimate(&tally.season.unserved, 1.0),
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
            Some(SampledMonth {
                month: month + 1,
                file_ghi_kwh_m2_day: file[usize::from(month)],
                sampled_ghi_kwh_m2_day: estimate(ghi, 1.0 / of_month(&pair).max(1) as f64)?,
                sampled_cov: ghi
                    .variance()
                    .zip(ghi.mean())
                    .filter(|&(_, m)| m > 0.0)
                    .map(|(v, m)| v.sqrt() / m),
            })
        })
        .collect()
}
