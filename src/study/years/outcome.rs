//! The numbers of all lives, ready to be shown: what `years.json` holds (schema `stilldays.years/1`).
//!
//! What cannot be computed is `None` (null in JSON), never 0. Lives are independent, so every number has the error of lives.

use super::care;
use super::lives::Lived;
use super::money::{annuity, worth};
use super::promise;
use super::year::Year;
use crate::design::MountKind;
use crate::study::plan::Plan;
use crate::study::summary;
use crate::tally::summary::{DayCount, Estimate};
use crate::tally::{Moments, Summary, WishPart, intervals};
use serde::Serialize;

/// Schema name written into the file.
pub const SCHEMA: &str = "stilldays.years/1";

/// Every number of `years`.
#[derive(Clone, Debug, Serialize)]
pub struct YearsSummary {
    /// [`SCHEMA`].
    pub schema: &'static str,
    /// The command that makes this again.
    pub command: String,
    /// Simulated lives.
    pub lives: u64,
    /// Each year of age, from the first.
    pub years: Vec<LivedYear>,
    /// What can be promised.
    pub promise: Promise,
    /// What is replaced over all years.
    pub parts: Vec<PartLife>,
    /// Visits to replace something or to clean the panel, over all years.
    pub visits: Estimate,
    /// What it costs; `None` without prices.
    pub money: Option<Money>,
    /// Largest residuals of the accounts on any day of any life, winters too: energy, Wh; charge, Ah; water, L.
    pub accounts: Accounts,
    /// The plan of care, one line each.
    pub care: Vec<String>,
    /// How long parts live, one line each.
    pub lives_of_parts: Vec<String>,
    /// What was broken or used up where the wish is missed for the first time.
    pub first_missed_with: Vec<MissedWith>,
    /// What this leaves out, one line each.
    pub not_counted: Vec<&'static str>,
    /// The first year, as a run shows it.
    pub first_year: Summary,
}

/// How well the accounts close.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct Accounts {
    /// Largest residual of the energy of a day, Wh.
    pub worst_wh: f64,
    /// Largest residual of the battery's charge on a day, Ah.
    pub worst_ah: f64,
    /// Largest residual of the water of a day, L.
    pub worst_l: f64,
}

/// What was broken or used up in the year in which the wish is missed for the first time.
#[derive(Clone, Debug, Serialize)]
pub struct MissedWith {
    /// "pump" or "mount": broken on some day; "battery": used up; "nothing".
    pub part: &'static str,
    /// Share of the lives that ever miss the wish; the first of these that applies.
    pub share: f64,
    /// Its 95 % interval.
    pub share_95: [f64; 2],
}

/// One year of age.
#[derive(Clone, Debug, Serialize)]
pub struct LivedYear {
    /// 1 for the first.
    pub year: u16,
    /// Still days of the season.
    pub still_days: DayCount,
    /// Share of lives whose year meets the whole wish.
    pub wish_met: f64,
    /// Its 95 % interval.
    pub wish_met_95: [f64; 2],
    /// Share of lives that have met it in this year and all before.
    pub wish_met_so_far: f64,
    /// Its 95 % interval.
    pub wish_met_so_far_95: [f64; 2],
    /// Share of lives that miss it in this year for the first time.
    pub first_missed: f64,
    /// Its 95 % interval.
    pub first_missed_95: [f64; 2],
    /// The part of the wish that most lives miss this year; `None` if none is missed.
    pub misses_most: Option<WishPart>,
    /// Share of evenings that reach the wished dusk run; `None` without evenings.
    pub evenings_met: Option<Estimate>,
    /// Hours of jet that count.
    pub jet_h: Estimate,
    /// Share of lives in which the pump does not work on some day of the season.
    pub pump_broken: f64,
    /// Its 95 % interval.
    pub pump_broken_95: [f64; 2],
    /// Share of lives in which the mount is broken on some day of the season; `None` if it does not move.
    pub mount_broken: Option<f64>,
    /// Its 95 % interval.
    pub mount_broken_95: Option<[f64; 2]>,
    /// What the battery holds at the start of the year, as a share of what it held when new; `None` without a battery.
    pub battery_holds: Option<Tenths>,
    /// Share of lives whose battery is used up by the end of the year; `None` without a battery.
    pub battery_worn_out: Option<f64>,
    /// Its 95 % interval.
    pub battery_worn_out_95: Option<[f64; 2]>,
}

/// P10, P50 and P90 over lives, each with its 95 % interval.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct Tenths {
    /// In one life of ten no more than this.
    pub p10: f64,
    /// In half of the lives no more than this.
    pub p50: f64,
    /// In nine lives of ten no more than this.
    pub p90: f64,
    /// 95 % interval of P10 (order statistics).
    pub p10_95: [f64; 2],
    /// 95 % interval of P50.
    pub p50_95: [f64; 2],
    /// 95 % interval of P90.
    pub p90_95: [f64; 2],
}

/// A part that is replaced.
#[derive(Clone, Debug, Serialize)]
pub struct PartLife {
    /// Its name in `[prices]`: "battery", "pump", "mount".
    pub part: &'static str,
    /// How many are replaced over all years.
    pub replaced: Estimate,
    /// Chance of at least one.
    pub any: f64,
    /// Its 95 % interval.
    pub any_95: [f64; 2],
}

/// What can be promised: it holds in at least `share` of gardens like this, with this confidence.
#[derive(Clone, Debug, Serialize)]
pub struct Promise {
    /// Share of gardens.
    pub share: f64,
    /// How surely.
    pub confidence: f64,
    /// For the first y years, from y = 1 on.
    pub first_years: Vec<Promised>,
    /// The longest span of first years in each of which the whole wish is met in so many gardens; 0 if not even in the first.
    pub wish_years: u16,
}

/// A promise for the first years.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct Promised {
    /// In each of the first so many years ...
    pub years: u16,
    /// ... the water stands still on at most so many days of the season; `None`: too few lives to say.
    pub still_days_at_most: Option<u32>,
}

/// What it costs over all years, in the currency of the design.
#[derive(Clone, Debug, Serialize)]
pub struct Money {
    /// Real rate of interest.
    pub interest: f64,
    /// Price of the build.
    pub first: f64,
    /// Whether parts that are replaced lack a price and cost nothing here.
    pub unpriced: Vec<&'static str>,
    /// Build, parts and visits, at what they are worth on the first day.
    pub total: Tenths,
    /// The mean of that.
    pub total_mean: Estimate,
    /// For a year of use: the mean, spread over the years as an annuity.
    pub per_year: Estimate,
    /// For an hour of jet: mean cost over mean hours, both at what they are worth on the first day; `None` without jet.
    pub per_jet_hour: Option<Estimate>,
}

/// The numbers of all lives; `None` without any.
pub(super) fn summary(plan: &Plan, lived: &Lived, seed: u64, command: String) -> Option<YearsSummary> {
    let first_year = summary::summarise(plan, &lived.first, seed, command.clone())?;
    let lives = lived.lives.len() as u64;
    let moves = plan.file.design.mount.kind != MountKind::Fixed;
    let parts = [
        part("battery", lived, plan.file.design.battery.is_some(), |y| y.replaced.batteries),
        part("pump", lived, true, |y| y.replaced.pumps),
        part("mount", lived, moves, |y| y.replaced.mounts),
    ];
    Some(YearsSummary {
        schema: SCHEMA,
        command,
        lives,
        years: (0..lived.years).map(|year| year_of_age(plan, lived, year)).collect::<Option<_>>()?,
        promise: promised(lived),
        parts: parts.into_iter().flatten().collect(),
        visits: estimate(lived.lives.iter().map(|life| total(life, |y| y.replaced.visits)))?,
        money: money(plan, lived),
        accounts: accounts(lived),
        care: care::lines(&plan.file.design),
        lives_of_parts: care::lives_of_parts(&plan.file.design),
        first_missed_with: first_missed_with(plan, lived),
        not_counted: NOT_COUNTED.to_vec(),
        first_year,
    })
}

fn accounts(lived: &Lived) -> Accounts {
    let worst = |k: usize| lived.lives.iter().flatten().map(|y| y.residuals[k]).fold(0.0, f64::max);
    Accounts { worst_wh: worst(0), worst_ah: worst(1), worst_l: worst(2) }
}

/// What `years` leaves out.
const NOT_COUNTED: [&str; 7] = [
    "Weather that lasts from one season into the next: each year is drawn anew.",
    "Faults of electronics, lithium cells that are lost to water or to lying empty, leaks, corroded joints.",
    "Wear of sensors.",
    "Scale in pump and nozzle, blocked strainers; dirt that grows, where the design does not say how.",
    "Panels behind plastic that come apart or crack at once.",
    "A replaced battery or pump is like the first one: same make, same luck in its capacity.",
    "A changing climate, and prices that change otherwise than all prices do.",
];

fn year_of_age(plan: &Plan, lived: &Lived, year: u16) -> Option<LivedYear> {
    let of_year: Vec<&Year> = lived.lives.iter().filter_map(|life| life.get(usize::from(year))).collect();
    let n = of_year.len() as u64;
    let days = plan.layout.days.len();
    let mut histogram = vec![0u64; days + 1];
    for y in &of_year {
        histogram[(y.still_days as usize).min(days)] += 1;
    }
    let count = |with: &dyn Fn(&Year) -> bool| of_year.iter().filter(|y| with(y)).count() as u64;
    let (wish_met, wish_met_95) = share(count(&|y| y.wish.met()), n);
    let so_far =
        lived.lives.iter().filter(|life| life.iter().take(usize::from(year) + 1).all(|y| y.wish.met()));
    let (wish_met_so_far, wish_met_so_far_95) = share(so_far.count() as u64, n);
    let first_miss = |life: &&Vec<Year>| missed_first(life) == Some(usize::from(year));
    let (first_missed, first_missed_95) = share(lived.lives.iter().filter(first_miss).count() as u64, n);
    let missed = |part: WishPart| count(&|y| y.wish.part(part) == Some(false));
    let misses_most =
        WishPart::ALL.into_iter().max_by_key(|part| missed(*part)).filter(|part| missed(*part) > 0);
    let (pump_broken, pump_broken_95) = share(count(&|y| y.broken_days > 0), n);
    let moves = plan.file.design.mount.kind != MountKind::Fixed;
    let stuck = moves.then(|| share(count(&|y| y.stuck_days > 0), n));
    let has_battery = plan.file.design.battery.is_some();
    let worn = has_battery.then(|| share(count(&|y| y.battery_worn_out), n));
    Some(LivedYear {
        year: year + 1,
        still_days: DayCount::of(&histogram, days)?,
        wish_met,
        wish_met_95,
        wish_met_so_far,
        wish_met_so_far_95,
        first_missed,
        first_missed_95,
        misses_most,
        evenings_met: estimate(of_year.iter().filter_map(|y| y.evenings_met)),
        jet_h: estimate(of_year.iter().map(|y| y.jet_h))?,
        pump_broken,
        pump_broken_95,
        mount_broken: stuck.map(|(share, _)| share),
        mount_broken_95: stuck.map(|(_, interval)| interval),
        battery_holds: tenths(of_year.iter().filter_map(|y| y.capacity_left)),
        battery_worn_out: worn.map(|(share, _)| share),
        battery_worn_out_95: worn.map(|(_, interval)| interval),
    })
}

/// The year (from 0) in which a life misses the wish for the first time.
fn missed_first(life: &[Year]) -> Option<usize> {
    life.iter().position(|y| !y.wish.met())
}

fn first_missed_with(plan: &Plan, lived: &Lived) -> Vec<MissedWith> {
    let design = &plan.file.design;
    let years: Vec<&Year> = lived.lives.iter().filter_map(|life| life.get(missed_first(life)?)).collect();
    if years.is_empty() {
        return Vec::new();
    }
    let with = |y: &Year| {
        if y.broken_days > 0 {
            "pump"
        } else if y.stuck_days > 0 {
            "mount"
        } else if y.battery_worn_out {
            "battery"
        } else {
            "nothing"
        }
    };
    let there = [
        ("pump", true),
        ("mount", design.mount.kind != MountKind::Fixed),
        ("battery", design.battery.is_some()),
        ("nothing", true),
    ];
    let of = |part: &'static str| {
        let (share, share_95) =
            share(years.iter().filter(|y| with(y) == part).count() as u64, years.len() as u64);
        MissedWith { part, share, share_95 }
    };
    there.into_iter().filter(|(_, is_there)| *is_there).map(|(part, _)| of(part)).collect()
}

/// A share of lives and its 95 % interval (Clopper and Pearson); `n` > 0.
fn share(with: u64, n: u64) -> (f64, [f64; 2]) {
    let i = intervals::clopper_pearson(with, n, 0.95);
    (with as f64 / n as f64, [i.lo, i.hi])
}

/// Mean over lives with its error; none without values.
pub(super) fn estimate(values: impl Iterator<Item = f64>) -> Option<Estimate> {
    let mut moments = Moments::default();
    values.for_each(|v| moments.push(v));
    Estimate::of(&moments)
}

/// P10 to P90 over lives; none without values.
fn tenths(values: impl Iterator<Item = f64>) -> Option<Tenths> {
    let mut sorted: Vec<f64> = values.collect();
    sorted.sort_unstable_by(f64::total_cmp);
    let last = sorted.len().checked_sub(1)?;
    let one_each = vec![1u64; sorted.len()];
    let tenth = |tenths: usize| {
        // The smallest value up to which at least so many lie.
        let at = (tenths * sorted.len()).div_ceil(10).max(1) - 1;
        let [lo, hi] = intervals::quantile_of_counts(&one_each, tenths as f64 / 10.0, 0.95);
        (sorted[at], [sorted[lo.unwrap_or(0)], sorted[hi.unwrap_or(last)]])
    };
    let [p10, p50, p90] = [tenth(1), tenth(5), tenth(9)];
    Some(Tenths { p10: p10.0, p50: p50.0, p90: p90.0, p10_95: p10.1, p50_95: p50.1, p90_95: p90.1 })
}

fn total(life: &[Year], of: impl Fn(&Year) -> u32) -> f64 {
    life.iter().map(|y| f64::from(of(y))).sum()
}

fn part(name: &'static str, lived: &Lived, is_there: bool, of: fn(&Year) -> u32) -> Option<PartLife> {
    let replaced = || lived.lives.iter().map(|life| total(life, of));
    let (any, any_95) = share(replaced().filter(|n| *n > 0.0).count() as u64, lived.lives.len() as u64);
    let mut moments = Moments::default();
    replaced().for_each(|n| moments.push(n));
    // At most one of each a year is common; a rare one has the interval of rare events.
    let most = f64::from(lived.years) * 10.0;
    let replaced = Estimate::of_rare(&moments, most, 1.0)?;
    is_there.then_some(PartLife { part: name, replaced, any, any_95 })
}

fn promised(lived: &Lived) -> Promise {
    let worst = |life: &[Year], years: u16| {
        life.iter().take(usize::from(years)).map(|y| y.still_days).max().unwrap_or(0)
    };
    let first_years = (1..=lived.years)
        .map(|years| {
            let values: Vec<u32> = lived.lives.iter().map(|life| worst(life, years)).collect();
            Promised { years, still_days_at_most: promise::at_most(&values) }
        })
        .collect();
    let kept = |years: u16| {
        lived.lives.iter().filter(|life| life.iter().take(usize::from(years)).all(|y| y.wish.met())).count()
    };
    let n = lived.lives.len() as u64;
    // Tested year after year up to the first that fails, which needs no correction for the number of tests.
    let wish_years = (1..=lived.years).take_while(|&years| promise::surely(kept(years) as u64, n)).count();
    Promise {
        share: promise::SHARE,
        confidence: promise::CONFIDENCE,
        first_years,
        wish_years: wish_years as u16,
    }
}

/// What comes in each year of a life, added up at what it is worth on the first day.
fn today(life: &[Year], interest: f64, of: impl Fn(&Year) -> f64) -> f64 {
    life.iter().zip(1u16..).map(|(y, year)| of(y) * worth(f64::from(year), interest)).sum()
}

/// Build, parts and visits of each life, at what they are worth on the first day; `None` without prices.
pub(super) fn costs(plan: &Plan, lived: &Lived) -> Option<Vec<f64>> {
    let design = &plan.file.design;
    let first = design.price()?;
    let [battery, pump, mount] =
        ["battery", "pump", "mount"].map(|part| design.price_of(part).unwrap_or(0.0));
    let visit = design.care.visit_price.unwrap_or(0.0);
    let of_year = |y: &Year| {
        f64::from(y.replaced.batteries) * battery
            + f64::from(y.replaced.pumps) * pump
            + f64::from(y.replaced.mounts) * mount
            + f64::from(y.replaced.visits) * visit
    };
    Some(lived.lives.iter().map(|life| first + today(life, design.care.interest, of_year)).collect())
}

fn money(plan: &Plan, lived: &Lived) -> Option<Money> {
    let design = &plan.file.design;
    let (first, interest) = (design.price()?, design.care.interest);
    let [battery, pump, mount] = ["battery", "pump", "mount"].map(|part| design.price_of(part));
    let costs = costs(plan, lived)?;
    let hours: Vec<f64> = lived.lives.iter().map(|life| today(life, interest, |y| y.jet_h)).collect();
    let total_mean = estimate(costs.iter().copied())?;
    let needs = |part: &'static str, priced: bool, of: fn(&Year) -> u32| {
        (!priced && lived.lives.iter().any(|life| total(life, of) > 0.0)).then_some(part)
    };
    let unpriced = [
        needs("battery", battery.is_some(), |y| y.replaced.batteries),
        needs("pump", pump.is_some(), |y| y.replaced.pumps),
        needs("mount", mount.is_some(), |y| y.replaced.mounts),
        needs("visits", design.care.visit_price.is_some(), |y| y.replaced.visits),
    ];
    Some(Money {
        interest,
        first,
        unpriced: unpriced.into_iter().flatten().collect(),
        total: tenths(costs.iter().copied())?,
        per_year: total_mean.times(1.0 / annuity(lived.years, interest)),
        total_mean,
        per_jet_hour: ratio(&costs, &hours),
    })
}

/// Ratio of two means over lives, with its error (from the residuals cost - ratio x hours); none if the second is 0.
fn ratio(costs: &[f64], hours: &[f64]) -> Option<Estimate> {
    let n = costs.len() as f64;
    let (cost, hour) = (costs.iter().sum::<f64>() / n, hours.iter().sum::<f64>() / n);
    if hour <= 0.0 {
        return None;
    }
    let ratio = cost / hour;
    let residuals = estimate(costs.iter().zip(hours).map(|(c, h)| c - ratio * h))?;
    Some(Estimate::new(ratio, residuals.se.map(|se| se / hour)))
}
