//! `remedies`: what one change to a design would be worth.

use super::answer;
use super::compare::{self, Against};
use super::contest::{Contest, Entrant};
use super::engine::Engine;
use super::paired::Pairs;
use super::plan::Plan;
use super::run::LEAST_TRIALS;
use crate::design::{Change, Charging, Chemistry, DayTime, DesignFile, FedFirst, MountKind, Remedy};
use crate::plant::Cause;
use crate::source::Problems;
use crate::tally::{Summary, TrialOutcome};
use serde::Serialize;
use std::cmp::Ordering;
use std::sync::Arc;

/// Schema name of `remedies.json`.
pub const SCHEMA: &str = "stilldays.remedies/1";

/// Chance, over all looks at the data, that the order of the first three is called settled though it is wrong.
pub const ERROR_RATE: f64 = 0.05;

/// Places whose order is to be settled.
const PLACES: usize = 3;

/// What remedies are ranked by.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum By {
    /// Still days avoided.
    StillDays,
    /// Minutes of dusk run won.
    DuskRun,
    /// Money for each still day avoided.
    Money,
}

/// What each remedy is worth.
#[derive(Debug, Serialize)]
pub struct Remedies {
    /// [`SCHEMA`].
    pub schema: &'static str,
    /// The design as it is.
    pub design: Summary,
    /// What they are ranked by.
    pub by: By,
    /// Best first.
    pub ranked: Vec<Weighed>,
    /// Whether the order of the first three is settled at [`ERROR_RATE`].
    pub settled: bool,
    /// Trials of the design as it is.
    pub trials: u64,
    /// Remedies that make no valid design, and why.
    pub refused: Vec<Refused>,
}

/// One remedy, weighed.
#[derive(Debug, Serialize)]
pub struct Weighed {
    /// What is done.
    pub name: String,
    /// Whether the design file names it itself.
    pub own: bool,
    /// What it costs, if known.
    pub price: Option<f64>,
    /// Trials it was simulated for; those that could not come among the first three stop early.
    pub trials: u64,
    /// Held against the design as it is.
    pub against: Against,
    /// Which cause shrank most, in a sentence.
    pub why: String,
}

/// A remedy that makes no valid design.
#[derive(Debug, Serialize)]
pub struct Refused {
    /// What would have been done.
    pub name: String,
    /// What the checker says, first line.
    pub why: String,
}

/// The remedies that fit a design without being asked for.
pub fn built_in(file: &DesignFile) -> Vec<Remedy> {
    let d = &file.design;
    let mut list = Vec::new();
    let mut add = |name: &str, price: Option<f64>, changes: Vec<(String, Change)>| {
        list.push(Remedy { name: name.to_owned(), price, changes });
    };
    let set = |key: &str, value: &str| (key.to_owned(), Change::Set(toml::Value::String(value.to_owned())));
    let scale = |key: &str, factor: f64| {
        let mut all = vec![(key.to_owned(), Change::Scale(factor))];
        all.extend(file.companions(key, factor));
        all
    };

    if let Some(battery) = &d.battery {
        add("battery twice as big", d.price_of("battery"), scale("battery.capacity", 2.0));
        let lithium = matches!(battery.chemistry, Chemistry::LithiumIon | Chemistry::LithiumIronPhosphate);
        if lithium && !battery.kept_above_freezing {
            let on = Change::Set(toml::Value::Boolean(true));
            add("battery kept above freezing", None, vec![("battery.kept_above_freezing".to_owned(), on)]);
        }
        if d.electronics.charging != Charging::Mppt {
            add("charger with power tracking", None, vec![set("electronics.charging", "mppt")]);
        }
        let (cut_off, reconnect) = (d.electronics.cut_off_v.nominal, d.electronics.reconnect_v.nominal);
        let sooner = cut_off + 0.6 * (reconnect - cut_off);
        add(
            "pump reconnected sooner",
            Some(0.0),
            vec![set("electronics.reconnect", &format!("{sooner:.3} V"))],
        );
    }
    add("panel twice as big", d.price_of("panel"), scale("panel.rated_power", 2.0));
    if d.mount.kind == MountKind::Fixed {
        add(
            "light-seeking mount",
            d.price_of("mount"),
            vec![("mount".to_owned(), Change::Remove), set("mount.kind", "light-seeking")],
        );
    } else {
        add(
            "fixed panel of the same size",
            d.price_of("mount").map(|p| -p),
            vec![("mount".to_owned(), Change::Remove), set("mount.kind", "fixed")],
        );
        if d.battery.is_none() && d.electronics.fed_first == FedFirst::Pump {
            add("mount fed first", None, vec![set("electronics.fed_first", "mount")]);
        }
    }
    if !d.site.skyline.is_empty() {
        add("skyline cleared", None, vec![("site.skyline".to_owned(), Change::Remove)]);
    }
    add("pump run slower", Some(0.0), scale("pump.highest_voltage", 0.85));
    let halved = ["electronics.standby_current", "mount.standby_current"]
        .into_iter()
        .filter(|key| file.quantity(key).is_some_and(|q| q.nominal > 0.0))
        .filter(|key| d.mount.kind != MountKind::Fixed || !key.starts_with("mount"))
        .map(|key| (key.to_owned(), Change::Scale(0.5)))
        .collect::<Vec<_>>();
    if !halved.is_empty() {
        add("standby draw halved", None, halved);
    }
    if let Some(hours) = one_hour_shorter(d.wish.from, d.wish.to) {
        add("wanted one hour less in the evening", Some(0.0), vec![set("wish.hours", &hours)]);
    }
    list
}

fn one_hour_shorter(from: DayTime, to: DayTime) -> Option<String> {
    let to = match to {
        DayTime::Sunrise(m) => DayTime::Sunrise(m - 60.0),
        DayTime::Sunset(m) => DayTime::Sunset(m - 60.0),
        DayTime::Clock(m) if m >= 60.0 => DayTime::Clock(m - 60.0),
        DayTime::Clock(_) => return None,
    };
    Some(format!("{} to {}", words(from), words(to)))
}

fn words(time: DayTime) -> String {
    let offset = |name: &str, m: f64| format!("{name} {} {} min", if m < 0.0 { "-" } else { "+" }, m.abs());
    match time {
        DayTime::Sunrise(m) => offset("sunrise", m),
        DayTime::Sunset(m) => offset("sunset", m),
        DayTime::Clock(m) => format!("{:02}:{:02}", (m / 60.0) as u32, (m % 60.0) as u32),
    }
}

/// Weighs the design's own remedies and the built-in ones, until the order of the first three is settled
/// or `budget` trials are done.
pub fn weigh(engine: &Engine<'_>, plan: Plan, by: By, budget: u64, command: &str) -> Remedies {
    let base_price = plan.file.design.price();
    let own = plan.file.remedies.len();
    // What the builder has thought of already is not offered a second time.
    let more = built_in(&plan.file)
        .into_iter()
        .filter(|offered| plan.file.remedies.iter().all(|own| own.changes != offered.changes));
    let list: Vec<Remedy> = plan.file.remedies.iter().cloned().chain(more).collect();
    let (mut names, mut refused) = (Vec::new(), Vec::new());
    let mut plans = Vec::new();
    for (k, remedy) in list.into_iter().enumerate() {
        match plan.file.patched(&remedy.name, &remedy.changes) {
            Ok(file) => {
                plans.push(Plan::at(file, Arc::clone(&plan.site)));
                names.push((remedy.name, k < own, remedy.price));
            }
            // A built-in remedy that does not fit this design is none: only the user's own are worth a word.
            Err(problems) if k < own => {
                refused.push(Refused { name: remedy.name, why: first_line(&problems) });
            }
            Err(_) => {}
        }
    }
    plans.insert(0, plan);
    let mut race = Race::new(plans, by, names.iter().map(|n| n.2).collect());
    let settled = race.run(engine, budget);

    let summaries: Vec<Summary> = race
        .contest
        .entrants
        .iter()
        .map(|e| answer::summary(&e.plan, &e.tally, engine.seed, None, command.to_owned()))
        .collect();
    let mut weighed: Vec<(usize, Weighed)> = Vec::new();
    for (k, (name, own, price)) in names.into_iter().enumerate() {
        let entrant = &race.contest.entrants[k + 1];
        let first = (&summaries[0], &race.contest.entrants[0]);
        let Some(mut against) = compare::against(k + 1, first, (&summaries[k + 1], entrant), true) else {
            continue;
        };
        // The remedy's own price; the part list of the file knows nothing of it.
        against.price = price.or(against.price.filter(|_| base_price.is_some() && own));
        let avoided = against.still_days.told_apart() == Some(Ordering::Less);
        against.price_per_still_day = price.filter(|_| avoided).map(|p| p / -against.still_days.mean);
        let why = why(entrant);
        weighed.push((k + 1, Weighed { name, own, price, trials: entrant.tally.trials(), against, why }));
    }
    let order = race.order();
    weighed.sort_by_key(|(k, _)| order.iter().position(|o| o == k));
    let mut summaries = summaries.into_iter();
    Remedies {
        schema: SCHEMA,
        trials: race.contest.trials(),
        // The first entrant is the design itself: a contest always has it.
        design: summaries.next().unwrap_or_else(|| unreachable!("a contest has its first entrant")),
        by,
        ranked: weighed.into_iter().map(|(_, w)| w).collect(),
        settled,
        refused,
    }
}

fn first_line(problems: &Problems) -> String {
    problems.list.first().map(|p| p.one_line()).unwrap_or_default()
}

/// Which cause shrank most; or which grew.
fn why(entrant: &Entrant) -> String {
    let changes: Vec<(Cause, f64)> = Cause::ALL
        .into_iter()
        .zip(&entrant.against_first.causes_min)
        .filter_map(|(cause, pairs)| Some((cause, pairs.difference(compare::CONFIDENCE)?.mean)))
        .collect();
    let extreme = |sign: f64| {
        changes.iter().filter(|(_, m)| m * sign > 30.0).max_by(|a, b| (a.1 * sign).total_cmp(&(b.1 * sign)))
    };
    let fewer_still = entrant
        .against_first
        .still_days
        .difference(compare::CONFIDENCE)
        .is_some_and(|d| d.told_apart() == Some(Ordering::Less));
    let hours = |minutes: f64| format!("{:.0} h a season", minutes.abs() / 60.0);
    match (extreme(-1.0), extreme(1.0)) {
        (Some((less, a)), Some((more, b))) if b.abs() > 0.25 * a.abs() => {
            format!("Less {}: {}; but more {}: {}.", less.words(), hours(*a), more.words(), hours(*b))
        }
        (Some((less, a)), _) => format!("Less {}: {}.", less.words(), hours(*a)),
        (None, Some((more, b))) if fewer_still => format!(
            "Fewer still days, yet more {}: {}; those minutes are lost on days that run anyway.",
            more.words(),
            hours(*b)
        ),
        (None, Some((more, b))) => format!("More {}: {}.", more.words(), hours(*b)),
        (None, None) => "No cause changes by as much as half an hour a season.".to_owned(),
    }
}

/// Remedies raced against one another.
struct Race {
    contest: Contest,
    by: By,
    prices: Vec<Option<f64>>,
    /// Metric of entrant j less that of entrant i, i < j, over the trials both have.
    pairs: Vec<Vec<Pairs>>,
    looks: u32,
}

impl Race {
    fn new(plans: Vec<Plan>, by: By, prices: Vec<Option<f64>>) -> Race {
        let n = plans.len();
        let pairs = (0..n).map(|i| vec![Pairs::default(); n - i]).collect();
        Race { contest: Contest::new(plans), by, prices, pairs, looks: 0 }
    }

    /// What is to be small; `None` where it cannot be computed (a season without sunsets).
    fn metric(by: By, outcome: &TrialOutcome) -> Option<f64> {
        match by {
            By::StillDays | By::Money => Some(f64::from(outcome.still_days)),
            By::DuskRun => outcome.dusk_run_min.map(|minutes| -minutes),
        }
    }

    fn run(&mut self, engine: &Engine<'_>, budget: u64) -> bool {
        while self.contest.trials() < budget && !engine.stopped() {
            let by = self.by;
            let pairs = &mut self.pairs;
            self.contest.wave_with(engine, budget, &mut |alive, outcomes| {
                for (a, &i) in alive.iter().enumerate() {
                    for (b, &j) in alive.iter().enumerate().skip(a + 1) {
                        for (x, y) in outcomes[a].iter().zip(outcomes[b]) {
                            if let (Some(x), Some(y)) = (Race::metric(by, x), Race::metric(by, y)) {
                                pairs[i][j - i].push(x, y);
                            }
                        }
                    }
                }
            });
            if self.contest.trials() >= LEAST_TRIALS && self.settle() {
                return true;
            }
        }
        false
    }

    /// Drops who cannot come among the first three, and says whether their order is settled.
    ///
    /// At look k the error spent is `ERROR_RATE · 6/(π k)²`, shared by all pairs (union bound): summed over
    /// all looks it stays below [`ERROR_RATE`].
    fn settle(&mut self) -> bool {
        self.looks += 1;
        let n = self.contest.entrants.len();
        let pairs = (n * (n - 1) / 2).max(1) as f64;
        let k = f64::from(self.looks) * std::f64::consts::PI;
        let confidence = 1.0 - ERROR_RATE * 6.0 / (k * k) / pairs;
        let order = self.order();
        if self.by == By::Money {
            // A ratio to prices: no paired test; run the budget.
            return false;
        }
        let mut settled = true;
        for (place, &j) in order.iter().enumerate() {
            if place == 0 {
                continue;
            }
            if place <= PLACES {
                settled &= self.worse(j, order[place - 1], confidence) || self.alike(j, order[place - 1]);
            }
            if place >= PLACES && self.worse(j, order[PLACES - 1], confidence) {
                self.contest.entrants[j].alive = false;
            }
        }
        settled
    }

    /// Whether entrant `j` is surely worse than entrant `i`.
    fn worse(&self, j: usize, i: usize, confidence: f64) -> bool {
        let (low, high) = (i.min(j), i.max(j));
        let sign = self.pairs[low][high - low].difference(confidence).and_then(|d| d.told_apart());
        sign == Some(if j > i { Ordering::Greater } else { Ordering::Less })
    }

    /// Whether two never differed in any trial: their order is no question.
    fn alike(&self, j: usize, i: usize) -> bool {
        let (low, high) = (i.min(j), i.max(j));
        self.pairs[low][high - low].difference(0.5).is_some_and(|d| d.never_differed())
    }

    /// Entrants but the first, best first.
    fn order(&self) -> Vec<usize> {
        let mean = |k: usize| {
            let against = &self.contest.entrants[k].against_first;
            let still = against.still_days.difference(0.95);
            match self.by {
                By::StillDays => still.map_or(0.0, |d| d.mean),
                By::DuskRun => against.dusk_run_min.difference(0.95).map_or(f64::INFINITY, |d| -d.mean),
                By::Money => match (self.prices[k - 1], still) {
                    (Some(p), Some(d)) if d.told_apart() == Some(Ordering::Less) => p / -d.mean,
                    _ => f64::INFINITY,
                },
            }
        };
        let mut order: Vec<usize> = (1..self.contest.entrants.len()).collect();
        // Those still alive have the fuller record; a dropped one never outranks the first three.
        order.sort_by(|&a, &b| mean(a).total_cmp(&mean(b)).then(a.cmp(&b)));
        order
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hours_are_written_as_the_file_would() {
        assert_eq!(
            one_hour_shorter(DayTime::Sunrise(30.0), DayTime::Sunset(120.0)).as_deref(),
            Some("sunrise + 30 min to sunset + 60 min")
        );
        assert_eq!(
            one_hour_shorter(DayTime::Clock(480.0), DayTime::Clock(1290.0)).as_deref(),
            Some("08:00 to 20:30")
        );
        assert_eq!(one_hour_shorter(DayTime::Clock(0.0), DayTime::Clock(30.0)), None);
    }
}
