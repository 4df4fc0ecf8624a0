//! Learning from logbooks, whole: a small calibration that can fail, the same bytes on threads, replay, and the commands.

use stilldays::design::{self, LearnedUnits};
use stilldays::lanes::Isa;
use stilldays::learn::posterior::{island, learn};
use stilldays::learn::tempering::{Effort, Row, Target as _};
use stilldays::learn::{
    Case, Explanation, Unit, Weighed, Weighing, chances_of_wrong, doubted, invented, parting, verdict,
    weighed,
};
use stilldays::logbook::{self, Logbook};
use stilldays::seed::{Purpose, stream};
use stilldays::study::{Engine, Plan, SiteModel, Sites};
use stilldays::units::normal_quantile;

use rand::RngExt;
use std::path::Path;
use std::sync::Arc;

/// What an owner notes in a fortnight: evenings, two readings of the meter.
const TEMPLATE: &str = "# clock: standard
date,time,what,value,sky,test
2026-06-03,21:00,stopped,± 20 min,clear,
2026-06-04,13:00,jet height,30 cm,clear,
2026-06-05,21:00,stopped,± 20 min,broken,
2026-06-06,20:30,battery voltage,6.4 V,,
2026-06-07,,standby current,10 mA,,pump unplugged
";

pub fn plan(design: &str) -> Plan {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let file = design::read(&root.join("scenarios").join(design)).unwrap_or_else(|p| panic!("{p}"));
    Plan::new(file, &Sites::new()).unwrap_or_else(|p| panic!("{p}"))
}

fn template() -> Logbook {
    logbook::parse(Path::new("template.csv"), TEMPLATE.as_bytes()).unwrap_or_else(|p| panic!("{p}"))
}

pub fn engine(threads: usize) -> Engine<'static> {
    let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads");
    Engine::new(1, Arc::new(pool))
}

pub fn standard(n: usize, seed: u64, trial: u64) -> Vec<f64> {
    let mut rng = stream(seed, Purpose::Resample, trial, 0);
    (0..n).map(|_| normal_quantile((f64::from(rng.random::<u32>()) + 0.5) / 4_294_967_296.0)).collect()
}

/// A logbook made by a unit drawn from the design.
fn made_by(plan: &Plan, template: &Logbook, trial: u64) -> (Vec<f64>, Logbook) {
    let case = Case::new(plan, template, None, Isa::detect(), 100 + trial);
    let z = standard(case.keys.len(), 5, trial);
    let unit: Unit = case.unit(Explanation::Sound, &z);
    let entries = invented(&case, &unit, trial, true);
    (z, Logbook { entries, ..template.clone() })
}

/// Learns from logbooks of drawn units and gives the rank of each unit's standby current among those learned (0..=1).
fn ranks(design: &str, logbooks: u64, effort: Effort) -> Vec<f64> {
    let (plan, template, engine) = (plan(design), template(), engine(2));
    (0..logbooks)
        .map(|trial| {
            let (z, logbook) = made_by(&plan, &template, trial);
            let case = Case::new(&plan, &logbook, None, Isa::detect(), trial);
            let key = case.keys.iter().position(|k| k == "mount.standby_current").expect("uncertain");
            let weighing = Weighing { case: &case, explanation: Explanation::Sound };
            let found = island(&engine, &weighing, effort, 0, &|| ()).expect("nobody stops it");
            let below = found.rows.iter().filter(|r| r.z[key] < z[key]).count();
            (below as f64 + 0.5) / (found.rows.len() as f64 + 1.0)
        })
        .collect()
}

/// A small simulation-based calibration (Talts et al. 2018, arXiv 1804.06788, from memory): ranks are uniform, so their normal scores have
/// variance 1 (sd of the estimate 0.35 with 16 logbooks) and the mean square of ranks about 1/2 is 1/12. It fails for a posterior that is
/// half or twice as wide as it should be.
#[test]
fn ranks_of_drawn_units_are_uniform_in_a_small_calibration() {
    let ranks = ranks(
        "mill-3-seeking-small-battery.toml",
        16,
        Effort { rows: 64, draws: 16, draws_max: 16, sweeps: 3 },
    );
    let square = ranks.iter().map(|r| (r - 0.5) * (r - 0.5)).sum::<f64>() / ranks.len() as f64;
    println!("ranks {ranks:.2?}, mean square {square:.4} for 0.0833");
    // Standard error 0.0186; four of them on each side.
    assert!((0.02..0.16).contains(&square), "{square}");
    let mean = ranks.iter().sum::<f64>() / ranks.len() as f64;
    assert!((mean - 0.5).abs() < 0.29, "{mean}");
}

/// As many paths, a quarter of them or sixteen times: the mean likelihood of a unit over weathers is the same, though days of paths are
/// drawn evenly and not each by itself. Means of 240 and 60 estimates; the limit is four standard errors of their difference.
#[test]
fn few_paths_estimate_a_likelihood_without_bias() {
    let (plan, template) = (plan("mill-3-seeking-small-battery.toml"), template());
    let (z, logbook) = made_by(&plan, &template, 3);
    let case = Case::new(&plan, &logbook, None, Isa::detect(), 1);
    let weighing = Weighing { case: &case, explanation: Explanation::Sound };
    let none = f64::NEG_INFINITY;
    let estimates = |paths: usize, n: u64| -> Vec<f64> {
        let key = |k: u64| (paths as u64) << 20 | k;
        (0..n).map(|k| libm::exp(weighing.log_likelihood(&z, paths, key(k), none))).collect()
    };
    let mean = |v: &[f64]| v.iter().sum::<f64>() / v.len() as f64;
    let variance = |v: &[f64]| {
        let m = mean(v);
        v.iter().map(|x| (x - m) * (x - m)).sum::<f64>() / (v.len() - 1) as f64 / v.len() as f64
    };
    let (few, many) = (estimates(16, 240), estimates(64, 60));
    let apart = (mean(&few) - mean(&many)) / (variance(&few) + variance(&many)).sqrt();
    println!("means {:.3e} and {:.3e}, {apart:.2} standard errors apart", mean(&few), mean(&many));
    assert!(apart.abs() < 4.0 && mean(&many) > 0.0, "{apart}");
}

/// A unit that surely falls below a floor is given up, and one that does not keeps its likelihood to the bit.
#[test]
fn giving_up_early_changes_no_decision() {
    let (plan, template) = (plan("mill-3-seeking-small-battery.toml"), template());
    let (_, logbook) = made_by(&plan, &template, 3);
    let case = Case::new(&plan, &logbook, None, Isa::detect(), 1);
    let weighing = Weighing { case: &case, explanation: Explanation::Sound };
    let mut given_up = 0;
    for k in 0..24 {
        let z = standard(case.keys.len(), 11, k);
        let whole = weighing.log_likelihood(&z, 16, k, f64::NEG_INFINITY);
        for off in [-20.0, -1.0, -1e-3, 0.0, 1e-3, 1.0, 5.0, 20.0] {
            let floor = whole + off;
            let found = weighing.log_likelihood(&z, 16, k, floor);
            assert!(found == whole || found == f64::NEG_INFINITY && whole < floor, "{whole} {found} {floor}");
            given_up += u32::from(found != whole);
        }
    }
    println!("{given_up} of 192 given up");
    assert!(given_up > 20, "{given_up}");
}

/// What parts two explanations is a reading that the logbook does not have: of a worn battery and a drain the standby current or the capacity,
/// and never one that was taken already.
#[test]
fn explanations_are_parted_by_a_reading_that_the_logbook_lacks() {
    let (plan, engine) = (plan("mill-3-seeking-small-battery.toml"), engine(2));
    let named = |entries: &str| {
        let text = format!(
            "# clock: standard\ndate,time,what,value,sky,test\n2026-06-03,21:00,stopped,,clear,\n{entries}"
        );
        let logbook = logbook::parse(Path::new("log.csv"), text.as_bytes()).unwrap_or_else(|p| panic!("{p}"));
        let case = Case::new(&plan, &logbook, None, Isa::detect(), 1);
        let weighed: Vec<Weighed> = [Explanation::Drain, Explanation::WornBattery]
            .map(|explanation| {
                let n = case.keys.len() + explanation.unknowns();
                let row = |k| Row { z: standard(n, 12, k), log_likelihood: 0.0, key: k };
                Weighed {
                    explanation,
                    log_evidence: 0.0,
                    weight: 0.5,
                    doubted: Vec::new(),
                    rows: (0..64).map(row).collect(),
                }
            })
            .into();
        parting(&engine, &plan, &case, &weighed).and_then(|p| p.reading).unwrap_or_default()
    };
    let first = named("");
    let standby = "2026-06-07,,standby current,40 mA,,pump unplugged\n";
    let both = format!("{standby}2026-06-08,,battery.capacity,1 Ah,,\n");
    let (second, third) = (named(standby), named(&both));
    println!("{first}; {second}; {third}");
    assert!(["standby current", "capacity of the battery"].contains(&first.as_str()), "{first}");
    assert!(second != "standby current" && !second.is_empty(), "{second}");
    assert!(third != "standby current" && third != "capacity of the battery", "{third}");
}

/// A reading that no sound unit shows is doubted under a sound fountain, and not under the fault that explains it: the verdict names that fault
/// and the reading. A logbook without a day to simulate takes little time.
#[test]
fn a_reading_that_a_fault_explains_is_doubted_only_if_the_fountain_is_sound() {
    let (plan, engine) = (plan("mill-3-seeking-small-battery.toml"), engine(2));
    let effort = Effort { rows: 96, draws: 16, draws_max: 16, sweeps: 3 };
    let said = |entry: &str| {
        let text = format!("# clock: standard\ndate,time,what,value,sky,test\n{entry}");
        let logbook = logbook::parse(Path::new("log.csv"), text.as_bytes()).unwrap_or_else(|p| panic!("{p}"));
        let case = Case::new(&plan, &logbook, None, Isa::detect(), 1);
        let sound = Weighing { case: &case, explanation: Explanation::Sound };
        let found = island(&engine, &sound, effort, 0, &|| ()).expect("nobody stops it");
        let chances = chances_of_wrong(&engine, &sound, &found.rows, found.draws);
        let sound = Weighed::sound(found.log_evidence, found.rows, doubted(&case, &chances));
        let weighed = weighed(&engine, &case, (effort, sound), (&|_| (), &|| ())).expect("nobody stops it");
        let doubts = weighed.iter().map(|w| (w.explanation, w.doubted.clone())).collect::<Vec<_>>();
        (doubts, verdict(&weighed, 0.5, None, case.entries))
    };
    let (doubts, drain) = said("2026-06-07,,standby current,70 mA,,pump unplugged\n");
    println!("{doubts:?}\n{drain}");
    assert_eq!(doubts[0], (Explanation::Drain, Vec::new()));
    assert!(doubts[1..].iter().all(|(_, lines)| lines == &[3]), "{doubts:?}");
    assert!(drain.starts_with("Most likely something drains the battery day and night"), "{drain}");
    assert!(
        drain.ends_with("If not, line 3 (standby current) is wrong: to be sure, read it again."),
        "{drain}"
    );
    let (doubts, sound) = said("2026-06-07,,standby current,10 mA,,pump unplugged\n");
    println!("{sound}");
    assert!(doubts.iter().all(|(e, lines)| *e == Explanation::Drain || lines.is_empty()), "{doubts:?}");
    assert!(sound.starts_with("Either everything works as designed"), "{sound}");
}

/// The same seed gives the same units on one and on three threads.
#[test]
fn learning_does_not_depend_on_threads() {
    let (plan, template) = (plan("mill-3-seeking-small-battery.toml"), template());
    let (_, logbook) = made_by(&plan, &template, 3);
    let case = Case::new(&plan, &logbook, None, Isa::detect(), 1);
    let weighing = Weighing { case: &case, explanation: Explanation::Sound };
    let rows = |threads| {
        let effort = Effort { rows: 16, draws: 16, draws_max: 16, sweeps: 2 };
        let island = island(&engine(threads), &weighing, effort, 0, &|| ()).expect("nobody stops it");
        island.rows.iter().map(|r| (r.key, r.log_likelihood.to_bits())).collect::<Vec<_>>()
    };
    assert_eq!(rows(1), rows(3));
}

/// What is learned is drawn by every command: a learned standby current shows in the units of a plan.
#[test]
fn a_design_draws_its_parts_from_learned_units() {
    let (plan, template) = (plan("mill-3-seeking-small-battery.toml"), template());
    let (_, logbook) = made_by(&plan, &template, 3);
    let case = Case::new(&plan, &logbook, None, Isa::detect(), 1);
    let weighing = Weighing { case: &case, explanation: Explanation::Sound };
    let effort = Effort { rows: 48, draws: 16, draws_max: 16, sweeps: 2 };
    let found = learn(&engine(2), &plan, &weighing, (effort, false), &|| ()).expect("nobody stops it");
    assert_eq!(found.rows.len(), 1024);
    assert_eq!(found.islands.len(), 2);
    assert!(found.distinct > 20);
    assert!(found.still_days.iter().all(|s| (0.0..=214.0).contains(s)));
}

/// A file of units in a design: keys that the design gives otherwise are dropped and said to be.
#[test]
fn units_named_in_a_design_are_read_and_checked() {
    let folder = tempfile::tempdir().expect("folder");
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let text =
        std::fs::read_to_string(root.join("scenarios/mill-3-seeking-small-battery.toml")).expect("demo");
    let weather = root.join("weather");
    let text = text.replace("../weather", &weather.display().to_string());
    let design = folder.path().join("mill.toml");
    std::fs::write(&design, format!("{text}\n[learned]\nunits = \"units.csv\"\n")).expect("written");
    let problems = design::read(&design).expect_err("no units yet").to_string();
    assert!(problems.contains("units.csv") && problems.contains("cannot be opened"), "{problems}");

    let capacity = "# stilldays learned units\n# belief battery.capacity = normal 1.5 sd 0.075\n# belief panel.soiling = even 0.3 from 0 to 0.6\nbattery.capacity,panel.soiling\n1.4,0.1\n1.45,0.2\n";
    std::fs::write(folder.path().join("units.csv"), capacity).expect("written");
    let units = LearnedUnits::read(&folder.path().join("units.csv")).unwrap_or_else(|p| panic!("{p}"));
    assert_eq!(units.units.len(), 2);
    let file = design::read(&design).unwrap_or_else(|p| panic!("{p}"));
    let without = design::parse(&design, text).unwrap_or_else(|p| panic!("{p}"));
    assert_ne!(file.sha256, without.sha256);
    let plan = Plan::new(file.clone(), &Sites::new()).unwrap_or_else(|p| panic!("{p}"));
    let said = plan.warnings().join("\n");
    assert!(said.contains("1 quantity is drawn"), "{said}");
    // A new battery drops what was learned about the old one; another wish drops nothing.
    for (remedy, drawn) in [(&file.remedies[0], 0), (&file.remedies[2], 1)] {
        let changed = file.patched(&remedy.name, &remedy.changes).unwrap_or_else(|p| panic!("{p}"));
        assert!(changed.learned.is_some());
        let plan = Plan::new(changed, &Sites::new()).unwrap_or_else(|p| panic!("{p}"));
        let said = plan.warnings().join("\n");
        assert!(said.contains(&format!("{drawn} quantit")), "{}: {said}", remedy.name);
    }
}

/// A year replayed in its order has the daily light of the same year in a pool, day for day: within 1 % over the season.
#[test]
fn a_replayed_season_has_the_light_of_its_file() {
    let plan = plan("mill-6-fixed-battery.toml");
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("weather/fenholm.csv.gz");
    let actual = SiteModel::of_days(&path, &plan.site).unwrap_or_else(|p| panic!("{p}"));
    let found = stilldays::study::replay::replay(&engine(2), &plan, &actual, 16).expect("nobody stops it");
    assert!(found.missing.is_empty());
    let (mut got, mut wanted) = (0.0, 0.0);
    for day in &found.days {
        let donor = plan.site.sampler.pool().donors().iter().find(|d| d.day_of_year == day.day_of_year);
        let potential = plan.site.sampler.pool().potential_wh_m2()[usize::from(day.day_of_year)];
        got += day.ghi_kwh_m2;
        wanted += donor.expect("a whole year").index * potential / 1000.0;
    }
    println!("season {got:.1} of {wanted:.1} kWh/m2");
    assert!((got / wanted - 1.0).abs() < 0.01, "{got} {wanted}");
}

/// The template of the demo's logbook: evenings of late summer, a rule and a meter.
const DEMO: &str = "# clock: daylight saving
date,time,what,value,sky,test
2026-08-22,13:30,jet height,50 cm,clear,
2026-08-22,21:30,stopped,,clear,
2026-08-25,21:30,stopped,,broken,
2026-08-27,21:30,stopped,,overcast,
2026-08-29,21:30,stopped,,broken,
2026-08-30,20:30,battery voltage,6.4 V,broken,
2026-09-02,21:30,stopped,,clear,
2026-09-03,13:20,short-circuit current,0.6 A,clear,panel to the sun
2026-09-05,,standby current,10 mA,,pump unplugged
";

/// Prints the entries of the demo's logbook (`scenarios/mill-yard-logbook.csv`) as its invented owner saw them: a mount that draws more
/// at rest than its label says, on a somewhat dirty panel. `cargo test --test it -- --ignored --nocapture demo_logbook`.
#[test]
#[ignore = "prints a demo; nothing to check"]
fn demo_logbook() {
    let plan = plan("mill-3-seeking-small-battery.toml");
    let template = logbook::parse(Path::new("demo.csv"), DEMO.as_bytes()).unwrap_or_else(|p| panic!("{p}"));
    let case = Case::new(&plan, &template, None, Isa::detect(), 1);
    let mut z = vec![0.0; case.keys.len()];
    for (key, score) in case.keys.iter().zip(&mut z) {
        *score = match key.as_str() {
            "mount.standby_current" => 2.0,
            "panel.soiling" => 1.5,
            _ => 0.0,
        };
    }
    let unit = case.unit(Explanation::Sound, &z);
    println!("mount at rest: {} A", unit.design.mount.standby_current_a);
    for entry in invented(&case, &unit, 0, false) {
        let at = entry.clock_minute.map(|m| format!("{:02}:{:02}", m as i64 / 60, m as i64 % 60));
        println!("{},{},{:?},{:?}", entry.date, at.unwrap_or_default(), entry.what, entry.value);
    }
}

/// The demo's logbook is read without a warning and fits its design.
#[test]
fn the_logbook_of_the_mill_yard_is_read_and_fits() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios/mill-yard-logbook.csv");
    let logbook = logbook::read(&path).unwrap_or_else(|p| panic!("{p}"));
    assert_eq!(logbook.entries.len(), 7);
    assert!(logbook.warnings.is_empty(), "{:?}", logbook.warnings);
    let plan = plan("mill-3-seeking-small-battery.toml");
    logbook::fits(&logbook, &plan.file.design).unwrap_or_else(|p| panic!("{p}"));
    // A fixed mount without a battery has no standby of a mount to learn, and no charge to read.
    let fixed = self::plan("mill-1-fixed-direct.toml");
    let voltage = "# clock: standard\ndate,time,what,value\n2026-06-03,21:00,battery voltage,6.4 V\n";
    let wrong = logbook::parse(Path::new("log.csv"), voltage.as_bytes()).unwrap_or_else(|p| panic!("{p}"));
    let problems = logbook::fits(&wrong, &fixed.file.design).expect_err("no battery").to_string();
    assert!(problems.contains("the design has none") && problems.contains("log.csv:3"), "{problems}");
}
