//! What the weather input costs: still days and dusk runs from files made of a record, against the record's own years.

mod cases;
mod plants;

use super::climates::record::{Record, read};
use cases::{Case, Kind, cases};
use plants::{PLANTS, Plants};
use std::fmt::Write as _;
use std::path::PathBuf;
use std::sync::Arc;
use stilldays::lanes::BLOCK;
use stilldays::study::Engine;
use stilldays::tally::TrialOutcome;

/// Sampled years of each case.
const TRIALS: u64 = 32;
/// Acceptable still days in every month for which shares of good years are kept.
const WISHES: u32 = 12;

/// Of one plant.
#[derive(Clone, Debug)]
struct Answer {
    still: f64,
    still_se: f64,
    dusk_min: f64,
    evenings: f64,
    good: Vec<f64>,
}

fn answer(outcomes: &[&TrialOutcome], months: f64) -> Answer {
    let n = outcomes.len() as f64;
    let mean = |f: &dyn Fn(&TrialOutcome) -> f64| outcomes.iter().map(|o| f(o)).sum::<f64>() / n;
    let still = mean(&|o| f64::from(o.still_days)) / months;
    let square = mean(&|o| (f64::from(o.still_days) / months - still).powi(2));
    Answer {
        still,
        still_se: (square / (n - 1.0).max(1.0)).sqrt(),
        dusk_min: mean(&|o| o.dusk_run_min.unwrap_or(0.0)),
        evenings: mean(&|o| o.wish_met.unwrap_or(0.0)),
        good: (0..WISHES).map(|w| mean(&|o| f64::from(u8::from(o.worst_month_still_days <= w)))).collect(),
    }
}

fn outcomes(engine: &Engine<'_>, plants: &Plants, trials: u64) -> Vec<Vec<TrialOutcome>> {
    let plans: Vec<_> = plants.plans.iter().collect();
    let blocks: Vec<u64> = (0..trials.div_ceil(BLOCK as u64)).collect();
    let mut of_plan: Vec<Vec<TrialOutcome>> = vec![Vec::new(); plans.len()];
    for block in engine.blocks(&plans, &blocks, trials) {
        for (all, result) in of_plan.iter_mut().zip(block) {
            all.extend(result.outcomes);
        }
    }
    of_plan
}

fn row(out: &mut String, head: &str, plant: usize, a: &Answer, months: f64, autonomy: f64) {
    let good: Vec<String> = a.good.iter().map(|g| format!("{g:.4}")).collect();
    let _ = writeln!(
        out,
        "{head},{},{},{:.5},{:.5},{:.3},{:.4},{months:.3},{autonomy:.2},{}",
        PLANTS[plant % PLANTS.len()].name,
        plant / PLANTS.len(),
        a.still,
        a.still_se,
        a.dusk_min,
        a.evenings,
        good.join(";")
    );
}

fn one(engine: &Engine<'_>, record: &Record, out: &mut String) {
    let truth_site = cases::replayed(record);
    let sizes = plants::sized(engine, record, &truth_site);
    let n = record.index.len() as u64;
    let plants = Plants::new(record, &sizes, Arc::clone(&truth_site));
    let months = plants.months();
    let repeat = (48 / n).max(2);
    let truth = outcomes(engine, &plants, n * repeat);
    for (p, all) in truth.iter().enumerate() {
        for year in 0..n as usize {
            let of_year: Vec<&TrialOutcome> = all.iter().skip(year).step_by(n as usize).collect();
            let head = format!("{},{},{:.3},{n},truth,0,{year}", record.name, record.group, record.weight);
            row(out, &head, p, &answer(&of_year, months), months, plants.autonomy_d(p));
        }
    }
    for Case { kind, years, site } in cases(record) {
        let plants = Plants::new(record, &sizes, Arc::new(site));
        let got = outcomes(engine, &plants, TRIALS);
        let used: Vec<String> = years.iter().map(ToString::to_string).collect();
        let name = match kind {
            Kind::Typical => "typical",
            Kind::Real => "real",
            Kind::Invented => "invented",
        };
        let files = if kind == Kind::Real { years.len() } else { 1 };
        for (p, all) in got.iter().enumerate() {
            let head = format!(
                "{},{},{:.3},{n},{name},{files},{}",
                record.name,
                record.group,
                record.weight,
                used.join(";")
            );
            row(out, &head, p, &answer(&all.iter().collect::<Vec<_>>(), months), months, plants.autonomy_d(p));
        }
    }
}

#[test]
#[ignore = "needs measured records: STILLDAYS_RECORDS names their folder"]
fn band_of_the_weather_input() {
    let mut paths: Vec<PathBuf> = std::fs::read_dir(super::climates::folder())
        .expect("the folder opens")
        .map(|e| e.unwrap().path())
        .filter(|p| p.extension().is_some_and(|e| e == "gz"))
        .collect();
    paths.sort();
    if let Some(only) = std::env::var_os("STILLDAYS_BAND_ONLY") {
        let only = only.to_string_lossy().into_owned();
        paths.retain(|p| p.to_string_lossy().contains(&only));
    }
    let pool = Arc::new(rayon::ThreadPoolBuilder::new().num_threads(2).build().expect("threads"));
    let engine = Engine::new(1, pool);
    let mut out = String::from(
        "record,group,weight,n,kind,files,years,plant,level,still,still_se,dusk,evenings,months,autonomy,good\n",
    );
    let to = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("band.csv");
    for path in &paths {
        let start = std::time::Instant::now();
        one(&engine, &read(path), &mut out);
        eprintln!("{} {:.0} s", path.display(), start.elapsed().as_secs_f64());
        std::fs::write(&to, &out).expect("written");
    }
}
