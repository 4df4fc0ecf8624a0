//! What a logbook taught, as numbers to be shown: quantities before and now, each entry against what the units expect, explanations, and
//! still days and dusk run before and now.

use super::case::Case;
use super::density::{Shown, noted};
use super::doubts::{FLAGGED, in_order, named, spoken};
use super::explanation::Explanation;
use super::filter::{EntryRecord, Weighing};
use super::parting::parting;
use super::posterior::{LearnEffort, Posterior, effort_for, learn, likelihoods, mean, sd};
use super::rivals::{Weighed, weighed};
use super::tempering::Row;
use super::verdict::verdict;
use crate::design::{Design, LearnedUnits, dimension_of};
use crate::logbook::{Entry, Kind, Logbook, What};
use crate::seed::{Purpose, open_unit, stream};
use crate::study::run::Until;
use crate::study::{Engine, Plan, SiteModel, simulate};
use crate::tally::Summary;
use crate::units::{Dimension, Uncertain, normal_quantile};
use serde::Serialize;

/// Errors of an island's computation by which a mean must have moved in each, or a spread narrowed, to be shown.
const MOVED_ERRORS: f64 = 2.5;
/// Different rows that are worth one independent unit, about: 512 rows of two islands were worth 80 to 260.
const ROWS_A_UNIT: f64 = 5.0;
/// Shift beyond which it is odd that the design was believed.
const ODD_SD: f64 = 2.0;
/// Trials of before and now.
const TRIALS: u64 = 400;

/// One quantity before and now.
#[derive(Clone, Debug, Serialize)]
pub struct Quantity {
    /// Its key.
    pub key: String,
    /// Unit of the numbers below.
    pub unit: &'static str,
    /// Mean and standard deviation believed before.
    pub before: [f64; 2],
    /// Mean and standard deviation now.
    pub now: [f64; 2],
    /// 80 % of the units lie between these.
    pub now_80: [f64; 2],
    /// Whether it moved or became better known by more than the computation's own error.
    pub moved: bool,
    /// Kind, for showing.
    #[serde(skip)]
    pub dimension: Option<Dimension>,
}

/// One entry against what the units expect of it.
#[derive(Clone, Debug, Serialize)]
pub struct EntryFinding {
    /// Line in the logbook.
    pub line: usize,
    /// The entry as written.
    pub text: String,
    /// The same, read.
    #[serde(skip)]
    pub entry: Entry,
    /// What was noted: a value in the base unit, or minutes after midnight by the owner's clock.
    pub noted: Option<f64>,
    /// Median, and ends of the range that holds 80 % of what the units that agree with the whole logbook would have shown.
    pub expected: Option<[f64; 3]>,
    /// Share of them that show nothing to read (it never stopped, the pump did not run), or that agree with a yes or no.
    pub share: f64,
    /// Whether `share` counts those that agree; else those with nothing to read.
    pub is_yes_no: bool,
    /// Probability that it is wrong.
    pub wrong: f64,
    /// Whether it is probably wrong, or the design is.
    pub flagged: bool,
    /// Kind of its value; none for times and words.
    #[serde(skip)]
    pub dimension: Option<Dimension>,
}

/// What a logbook taught.
#[derive(Serialize)]
pub struct Findings {
    /// The design before.
    pub before: Summary,
    /// The same with what was learned; none if the result is refused.
    pub now: Option<Summary>,
    /// Logbook and its fingerprint.
    pub logbook: [String; 2],
    /// Entries, days with entries, days simulated.
    pub size: [usize; 3],
    /// File of actual days, if given.
    pub actual: Option<String>,
    /// Quantities, those that moved first.
    pub quantities: Vec<Quantity>,
    /// Entries in the order of the calendar.
    pub entries: Vec<EntryFinding>,
    /// Explanations, likeliest first; empty if none but the sound one was weighed.
    pub explanations: Vec<Weighed>,
    /// What the explanations say, in words.
    pub verdict: String,
    /// How the sampler did: units and paths of each island, acceptance, different units, islands' still days and their spread, difference
    /// of evidence, noise of the likelihood.
    pub sampler: Sampler,
    /// Why the result is refused, if it is.
    pub refusals: Vec<String>,
    /// What else the user should know.
    pub notes: Vec<String>,
    /// The units; none if the result is refused.
    #[serde(skip)]
    pub units: Option<LearnedUnits>,
}

/// How the sampler did.
#[derive(Clone, Debug, Serialize)]
pub struct Sampler {
    /// Units of an island.
    pub rows: usize,
    /// Paths of weather of a unit.
    pub draws: usize,
    /// Temperatures of each island.
    pub temperatures: Vec<usize>,
    /// Acceptance of the last moves, the lower of the islands.
    pub acceptance: f64,
    /// Different units in the result.
    pub distinct: usize,
    /// Mean still days a season of each island.
    pub still_days: Vec<f64>,
    /// Standard deviation of still days between units.
    pub still_days_sd: f64,
    /// Difference of the islands' ln evidence.
    pub evidence_apart: f64,
    /// Standard deviation of a unit's estimated ln likelihood.
    pub noise: f64,
}

/// What is asked for.
pub struct Request<'a> {
    /// The logbook.
    pub logbook: &'a Logbook,
    /// The actual days.
    pub actual: Option<&'a SiteModel>,
    /// How hard to try.
    pub effort: LearnEffort,
    /// Weigh rival explanations even if nothing is odd.
    pub explain: bool,
    /// The command, to make the result again.
    pub command: &'a str,
}

/// Learns; `None` if it was stopped.
///
/// # Errors
/// The logbook asks for more than can be computed.
pub fn findings(
    engine: &Engine<'_>,
    plan: &Plan,
    request: &Request<'_>,
    (expect, tick): (&dyn Fn(u64), &(dyn Fn() + Sync)),
) -> Result<Option<Findings>, String> {
    let case = Case::new(plan, request.logbook, request.actual, engine.isa, engine.seed);
    let effort = effort_for(&case, request.effort)?;
    expect(likelihoods(effort.0, 2));
    let sound = Weighing { case: &case, explanation: Explanation::Sound };
    let Some(posterior) = learn(engine, plan, &sound, effort, tick) else { return Ok(None) };
    let entries = entry_findings(engine, &sound, &posterior);
    let quantities = quantities(&case, &posterior);
    let odd = entries.iter().any(|e| e.flagged)
        || quantities.iter().any(|q| ((q.now[0] - q.before[0]) / q.before[1].max(1e-12)).abs() > ODD_SD);
    let mut explanations = Vec::new();
    if odd || request.explain {
        let sound = Weighed::sound(posterior.log_evidence(), posterior.rows.clone(), flagged(&entries));
        match weighed(engine, &case, (effort.0, sound), (expect, tick)) {
            Some(found) => explanations = found,
            None => return Ok(None),
        }
    }
    let parting = parting(engine, plan, &case, &explanations);
    let summary = |plan: &Plan| simulate(engine, plan, Until::Trials(TRIALS), request.command.to_owned());
    let Some(before) = summary(plan) else { return Ok(None) };
    let units = posterior.refusals.is_empty().then(|| units_file(&case, plan, &posterior, request));
    let now = units.clone().and_then(|units| summary(&plan.with_units(units)));
    if engine.stopped() {
        return Ok(None);
    }
    let mut notes = notes(&posterior, &entries, explanations.first());
    notes.extend(case.law.warnings.clone());
    notes.extend(request.logbook.warnings.clone());
    Ok(Some(Findings {
        verdict: verdict(&explanations, posterior.evidence_apart(), parting.as_ref(), case.entries),
        before,
        now,
        logbook: [request.logbook.path.display().to_string(), request.logbook.sha256.clone()],
        size: [case.entries.len(), case.schedule.logged(), case.schedule.days.len()],
        actual: request.actual.and_then(|a| a.years.first()).map(|y| y.path.display().to_string()),
        quantities,
        entries,
        explanations,
        sampler: Sampler {
            rows: posterior.effort.rows,
            draws: posterior.effort.draws,
            temperatures: posterior.islands.iter().map(|i| i.temperatures.len()).collect(),
            acceptance: posterior.acceptance(),
            distinct: posterior.distinct,
            still_days: posterior.still_days.clone(),
            still_days_sd: posterior.still_days_sd,
            evidence_apart: posterior.evidence_apart(),
            noise: posterior.noise,
        },
        refusals: posterior.refusals,
        notes,
        units,
    }))
}

/// What the user should know of the computation.
fn notes(posterior: &Posterior, entries: &[EntryFinding], likeliest: Option<&Weighed>) -> Vec<String> {
    let mut notes = posterior.notes.clone();
    let refused = !posterior.refusals.is_empty();
    if likeliest.is_some_and(|w| w.explanation != Explanation::Sound) && !refused {
        notes.push(
            "What was learned takes the fountain for sound. If a fault is found, mend it, and learn from what is noted after that."
                .to_owned(),
        );
    }
    let doubted = flagged(entries);
    if refused && !doubted.is_empty() {
        notes.push(format!(
            "An entry that hardly any weather explains makes the computation hard: check {} first.",
            named(&doubted)
        ));
    }
    notes
}

/// Lines of the doubted entries, in their order.
fn flagged(entries: &[EntryFinding]) -> Vec<usize> {
    in_order(entries.iter().filter(|e| e.flagged).map(|e| e.line))
}

/// Values of the uncertain quantities of a unit, as the design draws them.
fn values(case: &Case<'_>, z: &[f64]) -> Vec<f64> {
    let beliefs = beliefs(&case.design);
    beliefs.iter().zip(z).map(|((_, belief), z)| belief.at(super::normal::below(*z))).collect()
}

fn beliefs(design: &Design<Uncertain>) -> Vec<(String, Uncertain)> {
    let mut all = Vec::new();
    let _ = design.map(&mut |key, q| {
        if !q.is_exact() {
            all.push((key.to_owned(), *q));
        }
    });
    all
}

/// Kind of a key, rows of the bench included.
fn kind_of(key: &str) -> Option<Dimension> {
    dimension_of(key).or_else(|| match key.rsplit_once('.')?.1 {
        "voltage" => Some(Dimension::Voltage),
        "current" => Some(Dimension::Current),
        "jet" => Some(Dimension::Length),
        _ => None,
    })
}

fn units_file(case: &Case<'_>, plan: &Plan, posterior: &Posterior, request: &Request<'_>) -> LearnedUnits {
    let (a, b) = (posterior.still_days.first(), posterior.still_days.last());
    let apart = a.zip(b).map_or(0.0, |(a, b)| (a - b).abs());
    LearnedUnits {
        path: "units.csv".into(),
        sha256: String::new(),
        beliefs: beliefs(&case.design),
        units: posterior.rows.iter().map(|r| values(case, &r.z)).collect(),
        origin: vec![
            format!("learned by stilldays {} with: {}", crate::VERSION, one_line(request.command)),
            format!(
                "design: {} sha256 {}",
                one_line(&plan.file.path.display().to_string()),
                plan.file.sha256
            ),
            format!("weather sha256 {}", plan.site.sha256),
            format!(
                "logbook: {} sha256 {}",
                one_line(&request.logbook.path.display().to_string()),
                request.logbook.sha256
            ),
            format!(
                "{} rows, equally likely, {} different; two independent runs differ by {apart:.2} still days a season",
                posterior.rows.len(),
                posterior.distinct
            ),
            "values in base units; `belief`: what the design said of each key before".to_owned(),
        ],
    }
}

/// Text without line ends, for a comment.
fn one_line(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
}

fn quantities(case: &Case<'_>, posterior: &Posterior) -> Vec<Quantity> {
    let beliefs = beliefs(&case.design);
    let columns = |rows: &[Row]| -> Vec<Vec<f64>> { rows.iter().map(|r| values(case, &r.z)).collect() };
    let pooled = columns(&posterior.rows);
    let islands: Vec<Vec<Vec<f64>>> = posterior.islands.iter().map(|i| columns(&i.rows)).collect();
    let mut all: Vec<Quantity> = beliefs
        .iter()
        .enumerate()
        .map(|(k, (key, belief))| {
            let prior: Vec<f64> = (0..2000).map(|i| belief.at((f64::from(i) + 0.5) / 2000.0)).collect();
            let column = |rows: &[Vec<f64>]| -> Vec<f64> { rows.iter().map(|row| row[k]).collect() };
            let mut now = column(&pooled);
            now.sort_by(f64::total_cmp);
            let at = |share: f64| now[((now.len() - 1) as f64 * share) as usize];
            let before = [mean(&prior), sd(&prior)];
            let seen: Vec<Seen> = islands
                .iter()
                .zip(&posterior.islands)
                .map(|(rows, island)| Seen::of(before, &column(rows), island.distinct))
                .collect();
            Quantity {
                key: key.clone(),
                unit: kind_of(key).map_or("", Dimension::base_unit_of_numbers),
                moved: Seen::agree(&seen),
                before,
                now: [mean(&now), sd(&now)],
                now_80: [at(0.1), at(0.9)],
                dimension: kind_of(key),
            }
        })
        .collect();
    let gain = |q: &Quantity| {
        let shift = (q.now[0] - q.before[0]).abs() / q.before[1].max(1e-12);
        shift + libm::log(q.before[1].max(1e-12) / q.now[1].max(1e-12)).max(0.0)
    };
    all.sort_by(|a, b| b.moved.cmp(&a.moved).then(gain(b).total_cmp(&gain(a))));
    all
}

/// What one island saw of a quantity, in errors of its own computation.
struct Seen {
    /// Shift of the mean.
    shift: f64,
    /// Loss of standard deviation.
    narrowing: f64,
}

impl Seen {
    fn of(before: [f64; 2], now: &[f64], distinct: usize) -> Seen {
        // Rows that moved together are not independent: some five of them are worth one.
        let error = 1.0 / (distinct as f64 / ROWS_A_UNIT).max(4.0).sqrt();
        let sd_before = before[1].max(1e-12);
        Seen {
            shift: (mean(now) - before[0]) / sd_before / error,
            narrowing: (1.0 - sd(now) / sd_before) / (error / 2f64.sqrt()),
        }
    }

    /// Whether all islands saw the same: a shift to one side, or a narrowing. One alone sees both by chance in quantities that no entry
    /// tells of.
    fn agree(seen: &[Seen]) -> bool {
        let all = |saw: &dyn Fn(&Seen) -> bool| !seen.is_empty() && seen.iter().all(saw);
        all(&|s| s.shift > MOVED_ERRORS)
            || all(&|s| s.shift < -MOVED_ERRORS)
            || all(&|s| s.narrowing > MOVED_ERRORS)
    }
}

/// Lets some units speak of each entry.
fn entry_findings(engine: &Engine<'_>, weighing: &Weighing<'_>, posterior: &Posterior) -> Vec<EntryFinding> {
    let case = weighing.case;
    let spoken = spoken(engine, weighing, &posterior.rows, posterior.effort.draws);
    (0..case.entries.len())
        .filter(|&k| case.entries[k].is_observation())
        .map(|k| {
            let all: Vec<&EntryRecord> = spoken.iter().map(|r| &r[k]).collect();
            entry_finding(case, k, &all)
        })
        .collect()
}

fn entry_finding(case: &Case<'_>, k: usize, spoken: &[&EntryRecord]) -> EntryFinding {
    let entry = &case.entries[k];
    let wrong = mean(&spoken.iter().map(|r| r.wrong).collect::<Vec<_>>());
    let mut rng = stream(case.seed, Purpose::Learn("noted"), k as u64, 0);
    let (mut expected, mut agreed, mut nothing, mut yes_no) = (Vec::new(), 0.0, 0.0, false);
    let mut n = 0.0;
    for shown in spoken.iter().flat_map(|r| r.under_the_sky_noted()) {
        n += 1.0;
        match shown {
            Shown::Value(value) => expected.push(noted(entry, value, normal_quantile(open_unit(&mut rng)))),
            Shown::Nothing => nothing += 1.0,
            Shown::Agrees(chance) => {
                yes_no = true;
                agreed += chance;
            }
        }
    }
    expected.sort_by(f64::total_cmp);
    // Minutes of the simulated day as the owner's clock shows them.
    let clock = |x: f64| match entry.value {
        Some(_) => x,
        None => x + case.clock_shift(k),
    };
    let at = |share: f64| clock(expected[((expected.len() - 1) as f64 * share) as usize]);
    EntryFinding {
        line: entry.line,
        text: entry.text.clone(),
        entry: entry.clone(),
        noted: (!yes_no).then(|| clock(case.observed(k))),
        expected: (!expected.is_empty()).then(|| [at(0.5), at(0.1), at(0.9)]),
        share: if yes_no { agreed / f64::max(n, 1.0) } else { nothing / f64::max(n, 1.0) },
        is_yes_no: yes_no,
        wrong,
        flagged: wrong > FLAGGED,
        dimension: match &entry.what {
            What::Quantity(key) => dimension_of(key),
            what => Kind::of(what).and_then(|k| k.value),
        },
    }
}
