//! What builds cost over some years, side by side: the cheapest to buy need not be the cheapest to keep.

use super::plans::{BATTERY_BELOW, FAILED_DAYS};
use super::{lives, outcome};
use crate::design::Care;
use crate::study::engine::Engine;
use crate::study::paired::{Difference, Pairs};
use crate::study::plan::Plan;
use crate::tally::summary::Estimate;
use serde::Serialize;

/// Lives of each build.
const LIVES: u64 = 96;
/// Most builds that are kept over the years.
pub(in crate::study) const MOST_BUILDS: usize = 12;
/// Chance that any of the intervals of the differences is wrong.
const ERROR_RATE: f64 = 0.05;

/// Builds over some years. `B` says which build it is.
#[derive(Clone, Debug, Serialize)]
pub struct OverYears<B> {
    /// How many years.
    pub years: u16,
    /// Lives of each build; those of one number have the same weather and luck.
    pub lives: u64,
    /// The plan of care, one line each.
    pub care: Vec<String>,
    /// Whether the design has no plan of care, so that this one was assumed.
    pub care_assumed: bool,
    /// Real rate of interest.
    pub interest: f64,
    /// Each build, the cheapest over the years first.
    pub builds: Vec<Kept<B>>,
}

/// A build that is kept over some years.
#[derive(Clone, Debug, Serialize)]
pub struct Kept<B> {
    /// Which it is.
    #[serde(flatten)]
    pub build: B,
    /// Whether it is the build named, or the closest.
    pub named: bool,
    /// Price of the build.
    pub price: f64,
    /// Build, parts and visits over all years, at what they are worth on the first day.
    pub cost: Estimate,
    /// The same for a year of use, as an annuity.
    pub cost_per_year: Estimate,
    /// What it costs more than that build, life by life; `None` for that build itself. All these intervals hold together (95 %).
    pub cost_against_named: Option<Difference>,
    /// Batteries that are replaced over all years; `None` without a battery.
    pub batteries: Option<Estimate>,
    /// Parts and visits without a price, which cost nothing here.
    pub unpriced: Vec<&'static str>,
    /// Share of lives that meet the whole wish in every year.
    pub wish_met: f64,
    /// Its 95 % interval.
    pub wish_met_95: [f64; 2],
}

/// A build to be kept, with its price.
pub(in crate::study) struct ToKeep<'p, B> {
    pub build: B,
    pub plan: &'p Plan,
    pub price: f64,
}

/// Keeps builds, one of which is named, over some years with the plan of care of that one; `None` if it was stopped.
pub(in crate::study) fn over_years<B>(
    engine: &Engine<'_>,
    list: Vec<ToKeep<'_, B>>,
    named: usize,
    years: u16,
) -> Option<OverYears<B>> {
    let (care, care_assumed) = care_of(list.get(named)?.plan.file.design.care);
    let (mut care_lines, mut builds, mut costs) = (Vec::new(), Vec::new(), Vec::new());
    for (k, ToKeep { build, plan, price }) in list.into_iter().enumerate() {
        let plan = plan.with_care(care);
        let lived = lives::live(engine, &plan, LIVES, years)?;
        let summary = outcome::summary(&plan, &lived, engine.seed, String::new())?;
        let of_lives = outcome::costs(&plan, &lived)?;
        let cost = outcome::estimate(of_lives.iter().copied())?;
        let last = summary.years.last()?;
        if k == named || care_lines.is_empty() {
            care_lines.clone_from(&summary.care);
        }
        costs.push(of_lives);
        builds.push(Kept {
            build,
            named: k == named,
            price,
            cost_per_year: cost.times(1.0 / super::money::annuity(years, care.interest)),
            cost,
            cost_against_named: None,
            batteries: summary.parts.iter().find(|p| p.part == "battery").map(|p| p.replaced),
            unpriced: summary.money?.unpriced,
            wish_met: last.wish_met_so_far,
            wish_met_95: last.wish_met_so_far_95,
        });
    }
    let confidence = 1.0 - ERROR_RATE / (builds.len() as f64 - 1.0).max(1.0);
    for (k, build) in builds.iter_mut().enumerate().filter(|(k, _)| *k != named) {
        let pairs = costs[named].iter().copied().zip(costs[k].iter().copied());
        build.cost_against_named = Pairs::of(pairs).difference(confidence);
    }
    // Stable: of equal costs the cheaper to buy comes first.
    builds.sort_by(|a, b| a.cost.mean.total_cmp(&b.cost.mean));
    Some(OverYears { years, lives: LIVES, care: care_lines, care_assumed, interest: care.interest, builds })
}

/// The plan of care of a design, or, where nobody replaces anything, one in which somebody does; and whether it was assumed.
fn care_of(own: Care) -> (Care, bool) {
    let nobody = own.replace_pump_after_days.is_none()
        && own.replace_mount_after_days.is_none()
        && own.replace_battery_below.is_none()
        && own.replace_battery_every_years.is_none();
    if !nobody {
        return (own, false);
    }
    let care = Care {
        replace_pump_after_days: Some(FAILED_DAYS),
        replace_mount_after_days: Some(FAILED_DAYS),
        replace_battery_below: Some(BATTERY_BELOW),
        ..own
    };
    (care, true)
}
