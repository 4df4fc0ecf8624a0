//! Plans of care, weighed: still days against money over the years, under the same weather and with the same luck.
//!
//! **Error.** Each plan is compared with the plan of the design life by life. The intervals of the differences hold all together
//! with 95 % (each has its share of the error, Bonferroni), and so do the promises, from which the cheapest plan is taken.

use super::lives::{self, Lived};
use super::outcome::{self, Promise, YearsSummary};
use super::promise;
use super::year::Year;
use crate::design::{Care, Design, MountKind, Winter};
use crate::study::engine::Engine;
use crate::study::paired::{Difference, Pairs};
use crate::study::plan::Plan;
use crate::tally::summary::Estimate;
use crate::units::Uncertain;
use serde::Serialize;

/// Schema name of `care.json`.
pub const SCHEMA: &str = "stilldays.care/1";

/// Chance that any of the intervals or promises of a weighing is wrong.
pub const ERROR_RATE: f64 = 0.05;

/// Days until a part that failed is replaced, in plans where somebody comes for it (own choice).
pub(in crate::study) const FAILED_DAYS: u16 = 14;
/// Share of its capacity when new below which a battery is replaced, in plans that name no other (own choice).
pub(in crate::study) const BATTERY_BELOW: f64 = 0.6;

/// The plans, the one of the design first, then by still days.
#[derive(Clone, Debug, Serialize)]
pub struct Plans {
    /// [`SCHEMA`].
    pub schema: &'static str,
    /// The command that makes this again.
    pub command: String,
    /// Lives of each, and their years.
    pub lives: u64,
    /// Years of each life.
    pub years: u16,
    /// Each plan.
    pub list: Vec<WeighedPlan>,
    /// The cheapest that keeps the whole wish in every year, as surely as a promise; its place in `list`. `None`: no plan
    /// does, or there are no prices.
    pub cheapest_that_keeps: Option<usize>,
    /// The cheapest (without prices: the first) of those that do not surely have more still days than the best; its place in `list`.
    pub cheapest_as_good: usize,
}

/// One plan.
#[derive(Clone, Debug, Serialize)]
pub struct WeighedPlan {
    /// In a few words.
    pub name: String,
    /// Keys of `[care]` that make it, as they are written in a design.
    pub keys: Vec<String>,
    /// Still days of a season, mean over all years.
    pub still_days: Estimate,
    /// The same less that of the design's own plan, life by life; `None` for that plan itself.
    pub still_days_against_own: Option<Difference>,
    /// Share of lives that meet the whole wish in every year, and its 95 % interval.
    pub wish_met: f64,
    /// Its 95 % interval.
    pub wish_met_95: [f64; 2],
    /// Whether so many gardens surely keep it that it can be promised for all years ([`Promise`]).
    pub kept: bool,
    /// Still days of a season that most gardens surely do not exceed in any year; `None`: too few lives.
    pub still_days_at_most: Option<u32>,
    /// Visits over all years.
    pub visits: Estimate,
    /// Build, parts and visits over all years; `None` without prices.
    pub cost: Option<Estimate>,
    /// Its difference from that of the own plan.
    pub cost_against_own: Option<f64>,
    /// Parts and visits without a price, which cost nothing here.
    pub unpriced: Vec<&'static str>,
    /// Whether it surely has more still days than the plan with the fewest.
    pub worse_than_best: bool,
    /// Whether no other plan has fewer still days for less money.
    pub on_frontier: bool,
}

/// The plans that are tried: the design's own, then others that differ from it, each with its name.
fn candidates(design: &Design<Uncertain>) -> Vec<(String, Care)> {
    let own = design.care;
    let base = Care {
        replace_pump_after_days: None,
        replace_mount_after_days: None,
        replace_battery_below: None,
        replace_battery_every_years: None,
        ..own
    };
    let days = own.replace_pump_after_days.or(own.replace_mount_after_days).unwrap_or(FAILED_DAYS);
    let moves = design.mount.kind != MountKind::Fixed;
    let failed = Care {
        replace_pump_after_days: Some(days),
        replace_mount_after_days: moves.then(|| own.replace_mount_after_days.unwrap_or(days)),
        ..base
    };
    let with_battery = design.battery.is_some().then_some(BATTERY_BELOW);
    let mut list = vec![
        ("as the design says".to_owned(), own),
        ("nobody comes".to_owned(), Care { clean_panel_every_days: None, winter: Winter::LeftOut, ..base }),
        ("what fails is replaced".to_owned(), failed),
    ];
    if design.battery.is_some() {
        for share in [0.8, 0.6, 0.4] {
            let care = Care { replace_battery_below: Some(share), ..failed };
            list.push((format!("what fails, battery below {:.0} %", 100.0 * share), care));
        }
        for years in [3.0, 4.0, 5.0, 7.0] {
            let care = Care { replace_battery_every_years: Some(years), ..failed };
            list.push((format!("what fails, battery every {years} years"), care));
        }
    }
    if design.panel.dirt.grows || design.panel.litter.falls {
        let replaced = Care { replace_battery_below: own.replace_battery_below.or(with_battery), ..failed };
        for (days, when) in [(Some(30), "monthly"), (Some(365), "yearly"), (None, "never")] {
            let care = Care { clean_panel_every_days: days, ..replaced };
            list.push((format!("what fails, panel cleaned {when}"), care));
        }
    }
    let mut seen: Vec<Care> = Vec::new();
    list.retain(|(_, care)| {
        let fresh = !seen.contains(care);
        seen.push(*care);
        fresh
    });
    list
}

/// The design with each plan that is tried for it, or as it is.
pub(super) fn to_live(plan: &Plan, weigh_care: bool) -> Vec<Plan> {
    let design = &plan.file.design;
    match weigh_care {
        true => candidates(design).into_iter().map(|(_, care)| plan.with_care(care)).collect(),
        false => vec![plan.with_care(design.care)],
    }
}

/// How many plans are tried for a design.
pub fn count(plan: &Plan) -> u64 {
    candidates(&plan.file.design).len() as u64
}

/// What makes a plan, as it is written under `[care]`.
fn keys(care: &Care) -> Vec<String> {
    let mut keys = Vec::new();
    if let Some(days) = care.replace_pump_after_days {
        keys.push(format!("replace_pump_after = {days}"));
    }
    if let Some(days) = care.replace_mount_after_days {
        keys.push(format!("replace_mount_after = {days}"));
    }
    if let Some(share) = care.replace_battery_below {
        keys.push(format!("replace_battery_below = \"{:.0} %\"", 100.0 * share));
    }
    if let Some(years) = care.replace_battery_every_years {
        keys.push(format!("replace_battery_every = \"{years} years\""));
    }
    if let Some(days) = care.clean_panel_every_days {
        keys.push(format!("clean_panel_every = {days}"));
    }
    if care.winter == Winter::TakenIn {
        keys.push("winter = \"taken in\"".to_owned());
    }
    keys
}

/// Still days of a season of one life, mean over its years.
fn still_days(life: &[Year]) -> f64 {
    life.iter().map(|y| f64::from(y.still_days)).sum::<f64>() / life.len().max(1) as f64
}

/// Weighs plans of care over so many lives of so many years, and tells the years of the design's own plan, which is one of them; `None` if
/// it was stopped before all were done.
pub fn weigh(
    engine: &Engine<'_>,
    plan: &Plan,
    lives: u64,
    years: u16,
    command: String,
) -> Option<(YearsSummary, Plans)> {
    let candidates = candidates(&plan.file.design);
    let tests = candidates.len() as f64;
    let mut lived: Vec<(String, Care, Lived, YearsSummary)> = Vec::with_capacity(candidates.len());
    for (name, care) in candidates {
        let with_care = plan.with_care(care);
        let all = lives::live(engine, &with_care, lives, years)?;
        let summary = outcome::summary(&with_care, &all, engine.seed, command.clone())?;
        lived.push((name, care, all, summary));
    }
    let own: Vec<f64> = lived[0].2.lives.iter().map(|life| still_days(life)).collect();
    let own_cost = lived[0].3.money.as_ref().map(|m| m.total_mean.mean);
    let days = |all: &Lived| all.lives.iter().map(|life| still_days(life)).collect::<Vec<f64>>();
    let mean = |all: &Lived| days(all).iter().sum::<f64>();
    let best =
        lived.iter().min_by(|a, b| mean(&a.2).total_cmp(&mean(&b.2))).map(|(_, _, all, _)| days(all))?;
    let mut list: Vec<WeighedPlan> = lived
        .iter()
        .enumerate()
        .map(|(k, (name, care, all, summary))| {
            let against = (k > 0).then(|| against(&own, all, ERROR_RATE / (tests - 1.0).max(1.0))).flatten();
            let worse = against_best(&best, all, ERROR_RATE / tests);
            Some(WeighedPlan {
                worse_than_best: worse,
                ..weighed(name, care, (all, summary), against, ERROR_RATE / tests)?
            })
        })
        .collect::<Option<_>>()?;
    for plan in &mut list {
        plan.cost_against_own = plan.cost.zip(own_cost).map(|(cost, own)| cost.mean - own);
    }
    mark_frontier(&mut list);
    let days = |p: &WeighedPlan| p.still_days.mean;
    list[1..].sort_by(|a, b| days(a).total_cmp(&days(b)));
    let cost = |k: &usize| list[*k].cost.map_or(f64::INFINITY, |c| c.mean);
    let cheapest_that_keeps = (0..list.len())
        .filter(|&k| list[k].kept && list[k].cost.is_some())
        .min_by(|a, b| cost(a).total_cmp(&cost(b)));
    let cheapest_as_good =
        (0..list.len()).filter(|&k| !list[k].worse_than_best).min_by(|a, b| cost(a).total_cmp(&cost(b)))?;
    let (_, _, _, summary) = lived.swap_remove(0);
    Some((
        summary,
        Plans { schema: SCHEMA, command, lives, years, list, cheapest_that_keeps, cheapest_as_good },
    ))
}

/// Whether a plan surely has more still days than the one with the fewest.
fn against_best(best: &[f64], all: &Lived, error: f64) -> bool {
    against(best, all, error).and_then(|d| d.told_apart()) == Some(std::cmp::Ordering::Greater)
}

/// The difference in still days from the own plan, life by life, with this chance of error.
fn against(own: &[f64], all: &Lived, error: f64) -> Option<Difference> {
    Pairs::of(own.iter().zip(&all.lives).map(|(own, life)| (*own, still_days(life)))).difference(1.0 - error)
}

fn weighed(
    name: &str,
    care: &Care,
    (all, summary): (&Lived, &YearsSummary),
    still_days_against_own: Option<Difference>,
    error: f64,
) -> Option<WeighedPlan> {
    let last = summary.years.last()?;
    let n = all.lives.len() as u64;
    let kept = all.lives.iter().filter(|life| life.iter().all(|y| y.wish.met())).count() as u64;
    let Promise { first_years, .. } = &summary.promise;
    Some(WeighedPlan {
        name: name.to_owned(),
        keys: keys(care),
        still_days: outcome::estimate(all.lives.iter().map(|life| still_days(life)))?,
        still_days_against_own,
        wish_met: last.wish_met_so_far,
        wish_met_95: last.wish_met_so_far_95,
        kept: promise::surely_at(kept, n, 1.0 - error),
        still_days_at_most: first_years.last().and_then(|p| p.still_days_at_most),
        visits: summary.visits,
        cost: summary.money.as_ref().map(|m| m.total_mean),
        cost_against_own: None,
        unpriced: summary.money.as_ref().map_or(Vec::new(), |m| m.unpriced.clone()),
        worse_than_best: false,
        on_frontier: false,
    })
}

/// Marks the plans that no other beats in still days and money. Those of equal figures are all marked.
fn mark_frontier(list: &mut [WeighedPlan]) {
    let of = |p: &WeighedPlan| p.cost.map(|c| (p.still_days.mean, c.mean));
    let all: Vec<Option<(f64, f64)>> = list.iter().map(of).collect();
    for (plan, own) in list.iter_mut().zip(&all) {
        let Some((days, cost)) = own else { continue };
        let beaten = all.iter().flatten().any(|(d, c)| d <= days && c <= cost && (d < days || c < cost));
        plan.on_frontier = !beaten;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plan(days: f64, cost: Option<f64>) -> WeighedPlan {
        WeighedPlan {
            name: String::new(),
            keys: Vec::new(),
            still_days: Estimate::alone(days),
            still_days_against_own: None,
            wish_met: 0.0,
            wish_met_95: [0.0, 1.0],
            kept: false,
            still_days_at_most: None,
            visits: Estimate::alone(0.0),
            cost: cost.map(Estimate::alone),
            cost_against_own: None,
            unpriced: Vec::new(),
            worse_than_best: false,
            on_frontier: false,
        }
    }

    #[test]
    fn the_frontier_holds_what_nothing_beats() {
        let mut list = [
            (9.0, Some(80.0)),
            (5.0, Some(100.0)),
            (5.0, Some(120.0)),
            (6.0, Some(110.0)),
            (1.0, None),
            (1.0, Some(300.0)),
        ]
        .map(|(days, cost)| plan(days, cost));
        mark_frontier(&mut list);
        assert_eq!(list.map(|p| p.on_frontier), [true, true, false, false, false, true]);
    }

    #[test]
    fn plans_differ_and_the_own_comes_first() {
        let file = crate::design::read(
            &std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios/mill-6-fixed-battery.toml"),
        )
        .expect("a demo design");
        let list = candidates(&file.design);
        assert_eq!(list[0].1, file.design.care);
        for (k, (name, care)) in list.iter().enumerate() {
            assert!(list[..k].iter().all(|(other, before)| other != name && before != care), "{name}");
        }
        let mut without = file.design.clone();
        without.battery = None;
        assert!(candidates(&without).iter().all(|(_, c)| c.replace_battery_below.is_none()));
        // Every plan can be written into a design.
        for (_, care) in &list[1..] {
            let text = format!(
                "{}\n[care]\n{}\n",
                file.text.split("[care]").next().unwrap_or(""),
                keys(care).join("\n")
            );
            let read = crate::design::parse(file.path.as_path(), text).unwrap_or_else(|p| panic!("{p}"));
            assert_eq!(read.design.care.replace_battery_below, care.replace_battery_below);
            assert_eq!(read.design.care.replace_battery_every_years, care.replace_battery_every_years);
            assert_eq!(read.design.care.replace_pump_after_days, care.replace_pump_after_days);
        }
    }
}
