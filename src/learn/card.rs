//! The field card: which readings would tell most about a fountain, by what each is expected to narrow.

use super::case::Case;
use super::density::{Shown, noted};
use super::explanation::Explanation;
use super::filter::{Weighing, unweighed};
use super::posterior::{LearnEffort, effort_for, learn, likelihoods};
use super::value::{Gain, Readings, gain};
use crate::design::{Design, MountKind, dimension_of};
use crate::logbook::{Date, Entry, Kind, Logbook, Sky, Test, What};
use crate::seed::{Purpose, open_unit, stream};
use crate::study::unit_figures::unit_figures;
use crate::study::{Engine, Plan};
use crate::units::{Dimension, Uncertain, normal_quantile};
use rayon::prelude::*;
use serde::Serialize;

/// Units drawn from what is believed.
const UNITS: usize = 1024;
/// Seasons of each, the same weather for all.
const SEASONS: usize = 2;

/// One reading of the card.
#[derive(Clone, Debug, Serialize)]
pub struct CardReading {
    /// What to read.
    pub name: String,
    /// How, step by step.
    pub how: &'static str,
    /// What can go wrong for people or parts.
    pub caution: Option<&'static str>,
    /// Minutes that it takes.
    pub minutes: u32,
    /// The line of a logbook, its value left open.
    pub line: String,
    /// Expected drop of the variance of still days: share, its standard error, and whether it is clearly more than nothing.
    pub still_days: Worth,
    /// The same of the dusk run; none without evenings.
    pub dusk_run: Option<Worth>,
    /// The same of still days together with the first reading of the card; none for the first.
    pub with_first: Option<Worth>,
    /// 80 % of readings are expected between these, in the base unit; times are minutes after midnight in standard time.
    pub expect: Option<[f64; 2]>,
    /// Share of the units that show nothing to read.
    pub nothing: f64,
    /// Kind of its value; none for times.
    #[serde(skip)]
    pub dimension: Option<Dimension>,
}

/// What a reading is worth for a figure.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct Worth {
    /// Share of the variance that is expected to go, 0..=1.
    pub share: f64,
    /// Its standard error.
    pub se: f64,
    /// Whether it is clearly more than nothing.
    pub clear: bool,
}

impl From<Gain> for Worth {
    fn from(g: Gain) -> Worth {
        Worth { share: g.share(), se: g.se / g.variance.max(1e-300), clear: g.is_clear() && g.variance > 0.0 }
    }
}

/// The field card of a design.
#[derive(Serialize)]
pub struct FieldCard {
    /// Title and file of the design.
    pub design: [String; 2],
    /// Whether its weather is invented.
    pub invented: bool,
    /// Logbook that was learned first, if one was given.
    pub logbook: Option<String>,
    /// Day that the readings are thought to be taken on.
    pub day: String,
    /// Units that the worth is computed from.
    pub units: usize,
    /// Mean and standard deviation between units of still days a season and of the dusk run, min.
    pub still_days: [f64; 2],
    /// See `still_days`; none without evenings.
    pub dusk_run_min: Option<[f64; 2]>,
    /// Readings, best first.
    pub readings: Vec<CardReading>,
    /// Seed.
    pub seed: u64,
    /// What the user should know.
    pub notes: Vec<String>,
}

/// A reading that could be taken.
struct Candidate {
    name: String,
    how: &'static str,
    caution: Option<&'static str>,
    minutes: u32,
    what: What,
    tests: Vec<Test>,
    /// Hour of the day by standard time, or after sunset.
    at: At,
}

#[derive(Clone, Copy)]
enum At {
    Noon,
    Morning,
    Sunset,
    Evening,
    None,
}

const SUN_CAUTION: &str = "Joining the wires of a small panel through a meter is harmless; never do so with a battery: that is a fire. Set the meter to its 10 A range first.";
const METER_CAUTION: &str = "The meter goes in line, on its 10 A range first; across a battery a meter set to amperes is a short circuit.";
const BATTERY_CAUTION: &str = "Never charge a frozen or swollen lithium battery; charge lead-acid where gas can escape; keep metal off the terminals. Follow the maker's sheet.";

/// The card; `None` if it was stopped.
///
/// # Errors
/// The logbook asks for more than can be computed, or could not be learned from.
pub fn card(
    engine: &Engine<'_>,
    plan: &Plan,
    logbook: Option<&Logbook>,
    (expect, tick): (&dyn Fn(u64), &(dyn Fn() + Sync)),
) -> Result<Option<FieldCard>, String> {
    let believed = match logbook {
        None => drawn(plan, engine.seed),
        Some(logbook) => match learned(engine, plan, logbook, (expect, tick))? {
            Some(units) => units,
            None => return Ok(None),
        },
    };
    expect((believed.len() * (SEASONS + 1)) as u64);
    let day = reading_day(plan);
    let candidates = candidates(&plan.file.design);
    let book = candidate_book(plan);
    let case = Case::new(plan, &book, None, engine.isa, engine.seed);
    let shown: Vec<Vec<Shown>> = engine.pool.install(|| {
        believed
            .par_iter()
            .enumerate()
            .map(|(k, unit)| {
                tick();
                unweighed(&case, unit, k as u64)
            })
            .collect()
    });
    let figures = unit_figures(engine, plan, &believed, SEASONS);
    if engine.stopped() || figures.len() < believed.len() {
        return Ok(None);
    }
    let still: Vec<f64> = figures.iter().map(|f| f.still_days).collect();
    let dusk: Option<Vec<f64>> = figures.iter().map(|f| f.dusk_run_min).collect();
    let simulated: Vec<Readings> = (0..candidates.len()).map(|k| readings(&case, k, &shown)).collect();
    let mut list: Vec<(usize, CardReading)> = candidates
        .iter()
        .enumerate()
        .map(|(k, c)| {
            let worth = |f: &[f64]| Worth::from(gain(f, &[&simulated[k]]));
            (k, reading(c, &case, (k, &simulated[k]), worth(&still), dusk.as_deref().map(worth)))
        })
        .collect();
    let rank = |r: &CardReading| r.still_days.share + r.dusk_run.map_or(0.0, |d| d.share);
    list.sort_by(|a, b| rank(&b.1).total_cmp(&rank(&a.1)).then(a.0.cmp(&b.0)));
    if let Some(first) = list.first().map(|(k, _)| *k) {
        for (k, r) in list.iter_mut().skip(1) {
            r.with_first = Some(gain(&still, &[&simulated[first], &simulated[*k]]).into());
        }
    }
    let of = |f: &[f64]| [super::posterior::mean(f), super::posterior::sd(f)];
    Ok(Some(FieldCard {
        design: [plan.file.design.title.clone(), plan.file.path.display().to_string()],
        invented: plan.site.years.iter().any(|y| y.invented),
        logbook: logbook.map(|l| l.path.display().to_string()),
        day: day.to_string(),
        units: believed.len(),
        still_days: of(&still),
        dusk_run_min: dusk.as_deref().map(of),
        readings: list.into_iter().map(|(_, r)| r).collect(),
        seed: engine.seed,
        notes: case.law.warnings,
    }))
}

/// The readings of the card as a logbook of one day, their values left open.
pub(super) fn candidate_book(plan: &Plan) -> Logbook {
    let day = reading_day(plan);
    Logbook {
        path: "field card".into(),
        sha256: String::new(),
        entries: candidates(&plan.file.design).iter().map(|c| entry(c, plan, day)).collect(),
        warnings: Vec::new(),
    }
}

/// Their names, in the same order.
pub(super) fn candidate_names(plan: &Plan) -> Vec<String> {
    candidates(&plan.file.design).into_iter().map(|c| c.name).collect()
}

/// Units as the design draws them.
fn drawn(plan: &Plan, seed: u64) -> Vec<Design<f64>> {
    let draws = crate::study::parts::PartDraws::new(&plan.file);
    (0..UNITS as u64).map(|trial| draws.draw(seed, trial).0).collect()
}

/// Units that agree with a logbook.
fn learned(
    engine: &Engine<'_>,
    plan: &Plan,
    logbook: &Logbook,
    (expect, tick): (&dyn Fn(u64), &(dyn Fn() + Sync)),
) -> Result<Option<Vec<Design<f64>>>, String> {
    let case = Case::new(plan, logbook, None, engine.isa, engine.seed);
    let effort = effort_for(&case, LearnEffort { rows: None, draws: None })?;
    expect(likelihoods(effort.0, 2));
    let weighing = Weighing { case: &case, explanation: Explanation::Sound };
    let Some(posterior) = learn(engine, plan, &weighing, effort, tick) else { return Ok(None) };
    if let Some(why) = posterior.refusals.first() {
        return Err(format!("nothing could be learned from the logbook: {why}"));
    }
    Ok(Some(super::posterior::spread(&case, &posterior.rows, UNITS)))
}

/// A day in the middle of the season, in a year that does not matter.
fn reading_day(plan: &Plan) -> Date {
    let days: Vec<u16> = plan.file.design.wish.days().collect();
    let (month, day) = crate::units::dates::month_and_day(days[days.len() / 2]);
    Date { year: 2025, month: month as u8, day: day as u8 }
}

/// The line of a logbook that a reading becomes.
fn entry(c: &Candidate, plan: &Plan, date: Date) -> Entry {
    let day = &plan.site.calendar.days[usize::from(date.day_of_year())];
    let start = 60.0 * f64::from(plan.site.calendar.day_start_h);
    let up = day.first as f64;
    let down = (day.first + day.minutes.len()) as f64;
    let minute = match c.at {
        At::Noon => Some(0.5 * (up + down)),
        At::Morning => Some(up + 0.2 * (down - up)),
        At::Sunset => Some(day.sunset_min.unwrap_or(down)),
        At::Evening => Some(day.sunset_min.unwrap_or(down) + 30.0),
        At::None => None,
    };
    let minute = minute.map(|m| (m + start) / 5.0).map(|m| 5.0 * m.round());
    let kind = Kind::of(&c.what);
    Entry {
        line: 0,
        text: c.name.clone(),
        date,
        minute,
        clock_minute: minute,
        what: c.what.clone(),
        value: kind.map_or(Some(0.0), |k| k.value.map(|_| 0.0)),
        sd: 0.0,
        sky: (minute.is_some()).then_some(Sky::Clear),
        tests: c.tests.clone(),
        remark: String::new(),
    }
}

/// A reading of each unit, with its error.
pub(super) fn readings(case: &Case<'_>, k: usize, shown: &[Vec<Shown>]) -> Readings {
    let kind = Kind::of(&case.entries[k].what);
    shown
        .iter()
        .enumerate()
        .map(|(unit, all)| {
            let mut rng = stream(case.seed, Purpose::Learn("readings"), unit as u64, k as u64);
            match all[k] {
                Shown::Value(value) => {
                    // How well it is read depends on the value.
                    let sd = match (kind, &case.entries[k].what) {
                        (_, What::JetHeight) => 0.1,
                        (Some(kind), _) => kind.sd(value),
                        (None, _) => 0.03 * value.abs(),
                    };
                    let entry = Entry { sd, ..case.entries[k].clone() };
                    Some(noted(&entry, value, normal_quantile(open_unit(&mut rng))))
                }
                Shown::Nothing => None,
                Shown::Agrees(chance) => Some(f64::from(u8::from(open_unit(&mut rng) < chance))),
            }
        })
        .collect()
}

fn reading(
    c: &Candidate,
    case: &Case<'_>,
    (k, readings): (usize, &Readings),
    still_days: Worth,
    dusk_run: Option<Worth>,
) -> CardReading {
    let mut known: Vec<f64> = readings.iter().flatten().copied().collect();
    known.sort_by(f64::total_cmp);
    let at = |share: f64| known[((known.len() - 1) as f64 * share) as usize];
    let shift = if case.entries[k].value.is_none() { case.clock_shift(k) } else { 0.0 };
    let time = match case.entries[k].minute {
        Some(m) if !matches!(c.what, What::Stopped) => {
            let m = (m as i64).rem_euclid(1440);
            format!("{:02}:{:02}", m / 60, m % 60)
        }
        _ => String::new(),
    };
    let what = Kind::words_of(&c.what);
    let sky = if case.entries[k].sky.is_some() { "clear" } else { "" };
    let tests: Vec<String> = c.tests.iter().map(|t| t.words()).collect();
    CardReading {
        name: c.name.clone(),
        how: c.how,
        caution: c.caution,
        minutes: c.minutes,
        line: format!("DATE,{time},{what},,{sky},{},", tests.join(" + ")),
        still_days,
        dusk_run,
        with_first: None,
        expect: (!known.is_empty()).then(|| [at(0.1) + shift, at(0.9) + shift]),
        nothing: 1.0 - known.len() as f64 / readings.len().max(1) as f64,
        dimension: match &c.what {
            What::Quantity(key) => dimension_of(key),
            what => Kind::of(what).and_then(|k| k.value),
        },
    }
}

/// The readings that a builder can take with a cheap meter, a rule, a bucket and a watch.
fn candidates(design: &Design<Uncertain>) -> Vec<Candidate> {
    let mut list = panel_candidates();
    let turns = design.mount.kind != MountKind::Fixed;
    list.extend(pump_candidates(design));
    if design.battery.is_some() {
        list.extend(battery_candidates(design));
    }
    if design.battery.is_some() || turns {
        list.push(Candidate {
            name: "Standby current".into(),
            how: "Unplug the pump, cover the panel, wait until nothing moves; read the current from the battery (or into the mount).",
            caution: Some(METER_CAUTION),
            minutes: 5,
            what: What::StandbyCurrent,
            tests: vec![Test::PumpUnplugged],
            at: At::None,
        });
    }
    if turns {
        list.push(Candidate {
            name: "Where the mount looks in the morning".into(),
            how: "Under a clear sky, hold a compass along the panel's foot, away from iron and motors.",
            caution: None,
            minutes: 2,
            what: What::Azimuth,
            tests: vec![],
            at: At::Morning,
        });
    }
    list
}

fn panel_candidates() -> Vec<Candidate> {
    vec![
        Candidate {
            name: "Short-circuit current at noon".into(),
            how: "Clear sky. Unplug the panel, turn it to face the sun, join its two wires through the meter on its 10 A range; wipe nothing off first.",
            caution: Some(SUN_CAUTION),
            minutes: 5,
            what: What::ShortCircuitCurrent,
            tests: vec![Test::PanelToSun],
            at: At::Noon,
        },
        Candidate {
            name: "Open-circuit voltage at noon".into(),
            how: "Clear sky. Unplug the panel, turn it to face the sun, read the voltage between its two wires.",
            caution: None,
            minutes: 3,
            what: What::OpenCircuitVoltage,
            tests: vec![Test::PanelToSun],
            at: At::Noon,
        },
    ]
}

fn pump_candidates(design: &Design<Uncertain>) -> Vec<Candidate> {
    let volts: Vec<f64> = design.pump.bench.iter().map(|b| b.voltage_v.nominal).collect();
    let (low, high) = (volts.first().copied().unwrap_or(3.0), volts.last().copied().unwrap_or(6.0));
    let on = |name: &str, what: What, v: f64, how: &'static str| Candidate {
        name: format!("{name} on {v} V"),
        how,
        caution: Some(
            "Water and mains do not mix: use a battery or a low-voltage supply with a safety transformer, away from the basin's edge.",
        ),
        minutes: 10,
        what,
        tests: vec![Test::OnSupply(v)],
        at: At::None,
    };
    let current = "Hang the pump, under water, on a supply of this voltage through the meter; read the current when it is steady.";
    let jet = "With the pump on this voltage, hold a rule beside the jet in still air; read the mean height of its tip.";
    let bucket =
        "With the pump on this voltage, lead the jet into a bucket for a minute; measure what it holds.";
    let mut list = vec![
        on("Pump current", What::PumpCurrent, high, current),
        on("Jet height", What::JetHeight, high, jet),
        on("Flow by bucket and watch", What::Flow, high, bucket),
    ];
    if low < high {
        list.push(on("Pump current", What::PumpCurrent, low, current));
        list.push(on("Jet height", What::JetHeight, low, jet));
    }
    list
}

fn battery_candidates(design: &Design<Uncertain>) -> Vec<Candidate> {
    let timed = |name: &str, how, minutes, what, tests, at| Candidate {
        name: name.to_owned(),
        how,
        caution: None,
        minutes,
        what,
        tests,
        at,
    };
    let mut list = vec![
        timed(
            "Battery voltage in the morning",
            "After a clear day, before the pump runs: read the voltage at the battery with the pump unplugged.",
            2,
            What::BatteryVoltage,
            vec![Test::PumpUnplugged],
            At::Morning,
        ),
        timed(
            "Battery voltage at sunset",
            "On a clear evening, as everything runs: read the voltage at the battery.",
            2,
            What::BatteryVoltage,
            vec![],
            At::Sunset,
        ),
        timed(
            "Stop time on a clear evening",
            "Note when the jet stops for good; look every ten minutes.",
            30,
            What::Stopped,
            vec![],
            At::Evening,
        ),
        timed(
            "Stop time with the battery charged full that morning",
            "Charge the battery full with its own charger the night before; note when the jet stops in the evening.",
            30,
            What::Stopped,
            vec![Test::FreshlyCharged],
            At::Evening,
        ),
    ];
    for c in &mut list[3..] {
        c.caution = Some(BATTERY_CAUTION);
    }
    list.extend(part_candidates(design));
    list
}

/// Parts that can be measured by themselves, as far as the design does not know them exactly.
fn part_candidates(design: &Design<Uncertain>) -> Vec<Candidate> {
    let mut list = Vec::new();
    let parts = [
        (
            "battery.capacity",
            "Capacity of the battery",
            "Charge it full, run the pump on it with the panel covered to the cut-off, and multiply hours by the mean current.",
            600,
        ),
        (
            "electronics.cut_off",
            "Cut-off voltage",
            "In the evening, read the voltage at the battery at the moment the pump is switched off.",
            20,
        ),
        (
            "electronics.reconnect",
            "Reconnect voltage",
            "In the morning, read the voltage at the battery at the moment the pump is switched on again.",
            20,
        ),
    ];
    for (key, name, how, minutes) in parts {
        let mut uncertain = false;
        let _ = design.map(&mut |k, q| uncertain |= k == key && !q.is_exact());
        if uncertain {
            list.push(Candidate {
                name: name.to_owned(),
                how,
                caution: Some(BATTERY_CAUTION),
                minutes,
                what: What::Quantity(key.to_owned()),
                tests: vec![],
                at: At::None,
            });
        }
    }
    list
}
