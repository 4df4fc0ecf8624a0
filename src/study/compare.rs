//! `compare`: designs side by side under the same weather. How two designs are paired trial by trial: [`super::paired`].

use super::engine::Engine;
pub(crate) use super::paired::CONFIDENCE;
use super::paired::{Alone, Difference, Paired, Pairs, independent_means};
use super::paired_run::{PairedBuild, PairedRun};
use super::plan::Plan;
use super::reconnect_note;
use super::run::{LEAST_TRIALS, SEQUENTIAL_MARGIN, Until};
use super::summary;
use crate::tally::summary::DayCount;
use crate::tally::{Moments, Summary, intervals};
use crate::units::dates::MEAN_MONTH_DAYS;
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
    /// Each design but the first, compared with the first.
    pub differences: Vec<Against>,
}

/// One design compared with the first.
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
    /// Currency of the prices, if the designs name one.
    pub currency: Option<String>,
    /// Price of each still day avoided a season; `None` if it is not sure that any is avoided, or no price is given.
    pub price_per_still_day: Option<f64>,
    /// Remarks for the reader.
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

/// Simulates the designs and compares each with the first.
///
/// Designs at the place of the first one meet the same weather and are compared trial by trial; others are simulated on
/// their own and compared as independent samples. `None` without designs, or if it was stopped before the first trial of
/// each.
pub fn compare(engine: &Engine<'_>, plans: Vec<Plan>, until: Until, command: &str) -> Option<Comparison> {
    let place = plans.first().map(|p| Arc::clone(&p.site))?;
    let mut order: Vec<(bool, usize)> = Vec::with_capacity(plans.len());
    let (mut here, mut elsewhere) = (Vec::new(), Vec::new());
    for plan in plans {
        let same = Arc::ptr_eq(&plan.site, &place);
        let group = if same { &mut here } else { &mut elsewhere };
        order.push((same, group.len()));
        group.push(plan);
    }
    let here = run_until_known(engine, PairedRun::new(here), until);
    let elsewhere: Vec<PairedRun> = elsewhere
        .into_iter()
        .map(|plan| run_until_known(engine, PairedRun::new(vec![plan]), until))
        .collect();

    let build = |&(same, i): &(bool, usize)| {
        if same { &here.builds[i] } else { &elsewhere[i].builds[0] }
    };
    let designs: Option<Vec<Summary>> = order
        .iter()
        .map(|at| {
            let e = build(at);
            summary::summarise(&e.plan, &e.tally, engine.seed, command.to_owned())
        })
        .collect();
    let designs = designs?;
    let differences = order
        .iter()
        .enumerate()
        .skip(1)
        .filter_map(|(k, at)| {
            let (one, two) = (&here.builds[0], build(at));
            let mut against = against(k, (&designs[0], one), (&designs[k], two), at.0)?;
            let trials = here.trials();
            let found = (&against.still_days, against.jet_min.as_ref());
            against.notes.extend(reconnect_note::tried(engine, [&one.plan, &two.plan], found, trials));
            against.notes.extend(wish_note(&one.plan, &two.plan));
            Some(against)
        })
        .collect();
    Some(Comparison { schema: SCHEMA, designs, differences })
}

/// Simulates until every design and every difference is known as precisely as asked.
fn run_until_known(engine: &Engine<'_>, mut paired_run: PairedRun, until: Until) -> PairedRun {
    let most = until.most();
    while paired_run.trials() < most && !engine.stopped() {
        paired_run.wave(engine, most);
        let known = |half: f64| match until {
            Until::Trials(_) => false,
            Until::HalfWidth(goal) => half * SEQUENTIAL_MARGIN <= goal,
        };
        let months = paired_run.builds[0].plan.layout.months_long();
        let enough = paired_run.trials() >= LEAST_TRIALS
            && paired_run.builds.iter().skip(1).all(|e| {
                e.against_first
                    .still_days
                    .difference(CONFIDENCE)
                    .and_then(|d| Some(known((d.high? - d.low?) / 2.0 / months)))
                    .unwrap_or(false)
            })
            && (paired_run.builds.len() > 1 || until.met(&paired_run.builds[0].tally));
        if enough {
            break;
        }
    }
    paired_run
}

/// The difference of still days of two designs in the same trials, of a month (0..12) or of the season. The means of both are corrected by what is
/// known of their trials, and so is their difference.
fn corrected(
    d: Difference,
    month: Option<u8>,
    [one, two]: [&PairedBuild; 2],
    [a, b]: [&DayCount; 2],
) -> Difference {
    let layouts = [&one.plan.layout, &two.plan.layout];
    let left = d.spread().and_then(|seen| one.tally.corrected_difference(&two.tally, layouts, month, seen));
    left.filter(|_| !d.never_differed()).map_or(d, |c| d.about(b.mean - a.mean, c.variance, c.freedom))
}

/// How the two were compared, where it is not as usual.
fn notes(paired: bool, seasons_alike: bool) -> Vec<String> {
    let mut notes = Vec::new();
    if !paired {
        notes.push(
            "Different places or weather files: the two are compared as independent samples.".to_owned(),
        );
    }
    if !seasons_alike {
        notes.push(
            "The seasons differ in length: still days a month are per month of each design's own season."
                .to_owned(),
        );
    }
    notes
}

/// One design compared with the first, trial by trial if `paired`; `None` before the first trial.
pub(super) fn against(
    k: usize,
    (first, one): (&Summary, &PairedBuild),
    (other, two): (&Summary, &PairedBuild),
    paired: bool,
) -> Option<Against> {
    let months = |s: &Summary| f64::from(s.season.days) / MEAN_MONTH_DAYS;
    let p = paired.then_some(&two.against_first);
    let still = match p {
        Some(p) => {
            let means = [&first.season.still_days, &other.season.still_days];
            corrected(p.still_days.difference(CONFIDENCE)?, None, [one, two], means)
        }
        None => independent(&first.season.still_days, &other.season.still_days, (1.0, 1.0))?,
    };
    // If the seasons differ in length, each mean is per month of its own season.
    let per_month = if first.season.days == other.season.days {
        still.scaled(1.0 / months(first))
    } else {
        let scales = (1.0 / months(first), 1.0 / months(other));
        independent(&first.season.still_days, &other.season.still_days, scales)?
    };
    let by_month = first
        .months
        .iter()
        .filter_map(|m| {
            let o = other.months.iter().find(|o| o.month == m.month)?;
            let still_days = match p {
                Some(p) => {
                    let of_month = p.by_month[usize::from(m.month) - 1].difference(CONFIDENCE)?;
                    corrected(of_month, Some(m.month - 1), [one, two], [&m.still_days, &o.still_days])
                }
                None => independent(&m.still_days, &o.still_days, (1.0, 1.0))?,
            };
            Some(MonthAgainst { month: m.month, still_days })
        })
        .collect();
    let means = |pairs: fn(&Paired) -> &Pairs, alone: fn(&Alone) -> &Moments| match p {
        Some(p) => pairs(p).difference(CONFIDENCE),
        None => {
            let of = |e: &PairedBuild| *alone(&e.against_first.alone);
            independent_means(&of(one), &of(two), CONFIDENCE)
        }
    };
    // Amounts in two currencies have no difference.
    let one_currency = first.design.currency == other.design.currency;
    let price = first.design.price.zip(other.design.price).filter(|_| one_currency).map(|(a, b)| b - a);
    let avoided = matches!(still.told_apart(), Some(std::cmp::Ordering::Less));
    let jet_min = means(|p| &p.jet_min, |a| &a.jet_min);
    Some(Against {
        design: k,
        paired,
        still_days_per_month: per_month,
        still_days: still,
        months: by_month,
        dusk_run_min: means(|p| &p.dusk_run_min, |a| &a.dusk_run_min),
        life_years: means(|p| &p.life_years, |a| &a.life_years),
        price,
        currency: first.design.currency.clone().filter(|_| one_currency),
        price_per_still_day: price.filter(|_| avoided).map(|p| p / -still.mean),
        notes: notes(paired, first.season.days == other.season.days),
        jet_min,
    })
}

/// Says in which keys two designs wish for different things: their figures then do not answer the same question.
fn wish_note(one: &Plan, two: &Plan) -> Option<String> {
    let list: Vec<String> = one
        .file
        .wish_differences(&two.file)
        .into_iter()
        .map(|(key, here, there)| format!("{key} {there} (design 1: {here})"))
        .collect();
    (!list.is_empty()).then(|| {
        format!(
            "The designs are held to different wishes: {}. Compare them under the wish of the first with --same-wish.",
            list.join(", ")
        )
    })
}

/// Difference of two independent counts, each times its scale: Welch's interval, and chances from the two histograms.
fn independent(first: &DayCount, other: &DayCount, scales: (f64, f64)) -> Option<Difference> {
    let n = |c: &DayCount| c.histogram.iter().sum::<u64>();
    let (n1, n2) = (n(first), n(other));
    if n1 == 0 || n2 == 0 {
        return None;
    }
    let (mean1, mean2) = (first.mean * scales.0, other.mean * scales.1);
    let errors = first.se.zip(other.se).map(|(a, b)| (a * scales.0, b * scales.1));
    let interval =
        errors.and_then(|(se1, se2)| intervals::welch((mean2, se2, n2), (mean1, se1, n1), CONFIDENCE));
    let (mut lower, mut same) = (0.0, 0.0);
    for (k, &a) in first.histogram.iter().enumerate() {
        for (l, &b) in other.histogram.iter().enumerate() {
            let (x, y) = (k as f64 * scales.0, l as f64 * scales.1);
            if y < x {
                lower += a as f64 * b as f64;
            } else if y == x {
                same += a as f64 * b as f64;
            }
        }
    }
    let all = n1 as f64 * n2 as f64;
    Some(Difference {
        mean: mean2 - mean1,
        se: errors.map(|(a, b)| (a * a + b * b).sqrt()),
        low: interval.map(|i| i.lo),
        high: interval.map(|i| i.hi),
        chance_lower: Some(lower / all),
        chance_same: Some(same / all),
        chance_higher: Some(1.0 - (lower + same) / all),
        trials: None,
        differs_at_most: None,
    })
}
