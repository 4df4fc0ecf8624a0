//! `compare`: designs side by side under the same weather.

use super::answer;
use super::contest::Contest;
use super::engine::Engine;
use super::paired::{Difference, Paired};
use super::plan::Plan;
use super::run::{LEAST_TRIALS, SEQUENTIAL_MARGIN, Until};
use crate::tally::summary::DayCount;
use crate::tally::{Summary, intervals};
use serde::Serialize;
use std::sync::Arc;

/// Schema name of `compare.json`.
pub const SCHEMA: &str = "stilldays.compare/1";

/// Designs side by side.
#[derive(Debug, Serialize)]
pub struct Comparison {
    /// [`SCHEMA`].
    pub schema: &'static str,
    /// Every number of each design alone, in the order given.
    pub designs: Vec<Summary>,
    /// Each design but the first, held against the first.
    pub differences: Vec<Against>,
}

/// One design held against the first.
#[derive(Debug, Serialize)]
pub struct Against {
    /// Place in `designs`.
    pub design: usize,
    /// Whether both met the same weather, so that differences are taken trial by trial.
    pub paired: bool,
    /// Still days a month.
    pub still_days_per_month: Difference,
    /// Still days of a season.
    pub still_days: Difference,
    /// Still days by month.
    pub months: Vec<MonthAgainst>,
    /// Mean dusk run, min.
    pub dusk_run_min: Option<Difference>,
    /// Jet minutes of a season.
    pub jet_min: Option<Difference>,
    /// Battery life, years.
    pub life_years: Option<Difference>,
    /// Price of this one less that of the first.
    pub price: Option<f64>,
    /// Money for each still day a season avoided; `None` where none is surely avoided or no price is given.
    pub price_per_still_day: Option<f64>,
    /// What stands out, in words.
    pub notes: Vec<String>,
}

/// One month of a comparison.
#[derive(Debug, Serialize)]
pub struct MonthAgainst {
    /// 1..=12.
    pub month: u8,
    /// Still days.
    pub still_days: Difference,
}

/// Confidence of all intervals of a comparison.
pub const CONFIDENCE: f64 = 0.95;

/// Runs the designs (at least one) and holds them against the first.
///
/// Designs at the first one's place meet its weather and are compared trial by trial; others are
/// run on their own and compared as independent samples.
pub fn compare(engine: &Engine<'_>, plans: Vec<Plan>, until: Until, command: &str) -> Comparison {
    let Some(place) = plans.first().map(|p| Arc::clone(&p.site)) else {
        return Comparison { schema: SCHEMA, designs: Vec::new(), differences: Vec::new() };
    };
    let mut order: Vec<(bool, usize)> = Vec::with_capacity(plans.len());
    let (mut here, mut elsewhere) = (Vec::new(), Vec::new());
    for plan in plans {
        let same = Arc::ptr_eq(&plan.site, &place);
        let group = if same { &mut here } else { &mut elsewhere };
        order.push((same, group.len()));
        group.push(plan);
    }
    let here = settle(engine, Contest::new(here), until);
    let elsewhere: Vec<Contest> =
        elsewhere.into_iter().map(|plan| settle(engine, Contest::new(vec![plan]), until)).collect();

    let entrant = |&(same, i): &(bool, usize)| {
        if same { &here.entrants[i] } else { &elsewhere[i].entrants[0] }
    };
    let designs: Vec<Summary> = order
        .iter()
        .map(|at| {
            let e = entrant(at);
            answer::summary(&e.plan, &e.tally, engine.seed, None, command.to_owned())
        })
        .collect();
    let differences = order
        .iter()
        .enumerate()
        .skip(1)
        .filter_map(|(k, at)| {
            let paired = at.0.then(|| &entrant(at).against_first);
            against(k, &designs[0], &designs[k], paired)
        })
        .collect();
    Comparison { schema: SCHEMA, designs, differences }
}

/// Runs until every design, and every difference, is known as well as asked.
fn settle(engine: &Engine<'_>, mut contest: Contest, until: Until) -> Contest {
    let most = until.most();
    while contest.trials() < most && !engine.stopped() {
        contest.wave(engine, most);
        let known = |half: f64| match until {
            Until::Trials(_) => false,
            Until::HalfWidth(goal) => half * SEQUENTIAL_MARGIN <= goal,
        };
        let months = contest.entrants[0].plan.shape.months_long();
        let enough = contest.trials() >= LEAST_TRIALS
            && contest.entrants.iter().skip(1).all(|e| {
                e.against_first
                    .still_days
                    .difference(CONFIDENCE)
                    .and_then(|d| Some(known((d.high? - d.low?) / 2.0 / months)))
                    .unwrap_or(false)
            })
            && (contest.entrants.len() > 1 || until.met(&contest.entrants[0].tally));
        if enough {
            break;
        }
    }
    contest
}

/// One design held against the first; `None` before any trial.
pub(super) fn against(
    k: usize,
    first: &Summary,
    other: &Summary,
    paired: Option<&Paired>,
) -> Option<Against> {
    let months = f64::from(first.season.days) / MEAN_MONTH_DAYS;
    let (still, by_month) = match paired {
        Some(p) => (
            p.still_days.difference(CONFIDENCE)?,
            first
                .months
                .iter()
                .filter_map(|m| {
                    let pairs = &p.by_month[usize::from(m.month) - 1];
                    Some(MonthAgainst { month: m.month, still_days: pairs.difference(CONFIDENCE)? })
                })
                .collect(),
        ),
        None => (
            independent(&first.season.still_days, &other.season.still_days)?,
            first
                .months
                .iter()
                .filter_map(|m| {
                    let o = other.months.iter().find(|o| o.month == m.month)?;
                    Some(MonthAgainst {
                        month: m.month,
                        still_days: independent(&m.still_days, &o.still_days)?,
                    })
                })
                .collect(),
        ),
    };
    let price = first.design.price.zip(other.design.price).map(|(a, b)| b - a);
    let avoided = matches!(still.told_apart(), Some(std::cmp::Ordering::Less));
    let jet_min = paired.and_then(|p| p.jet_min.difference(CONFIDENCE));
    Some(Against {
        design: k,
        paired: paired.is_some(),
        still_days_per_month: still.scaled(1.0 / months),
        still_days: still,
        months: by_month,
        dusk_run_min: paired.and_then(|p| p.dusk_run_min.difference(CONFIDENCE)),
        life_years: paired.and_then(|p| p.life_years.difference(CONFIDENCE)),
        price,
        price_per_still_day: price.filter(|_| avoided).map(|p| p / -still.mean),
        notes: notes(paired.is_some(), &still, jet_min.as_ref()),
        jet_min,
    })
}

/// Mean length of a month of a 365-day year, d.
const MEAN_MONTH_DAYS: f64 = 365.0 / 12.0;

/// What a reader would trip over.
pub fn notes(paired: bool, still: &Difference, jet_min: Option<&Difference>) -> Vec<String> {
    use std::cmp::Ordering::Greater;
    let mut notes = Vec::new();
    if !paired {
        notes.push("Different places or weather: the two are compared as independent samples.".to_owned());
    }
    if still.told_apart() == Some(Greater) && jet_min.is_some_and(|j| j.told_apart() == Some(Greater)) {
        notes.push(
            "More still days, yet more jet minutes: after a cut-off the pump waits until the battery is back at \
             its reconnect voltage, and a larger store takes longer to get there. A lower \
             electronics.reconnect cures it."
                .to_owned(),
        );
    }
    notes
}

/// Difference of two independent counts: Welch's interval, and chances from the two histograms.
fn independent(first: &DayCount, other: &DayCount) -> Option<Difference> {
    let n = |c: &DayCount| c.histogram.iter().sum::<u64>();
    let (n1, n2) = (n(first), n(other));
    if n1 == 0 || n2 == 0 {
        return None;
    }
    let interval = first
        .se
        .zip(other.se)
        .and_then(|(se1, se2)| intervals::welch((other.mean, se2, n2), (first.mean, se1, n1), CONFIDENCE));
    let (mut lower, mut same) = (0.0, 0.0);
    let mut below = 0u64;
    for (k, &a) in first.histogram.iter().enumerate() {
        let b = other.histogram.get(k).copied().unwrap_or(0);
        lower += a as f64 * below as f64;
        same += a as f64 * b as f64;
        below += b;
    }
    let all = n1 as f64 * n2 as f64;
    Some(Difference {
        mean: other.mean - first.mean,
        se: first.se.zip(other.se).map(|(a, b)| (a * a + b * b).sqrt()),
        low: interval.map(|i| i.lo),
        high: interval.map(|i| i.hi),
        chance_lower: lower / all,
        chance_same: same / all,
        chance_higher: 1.0 - (lower + same) / all,
    })
}
