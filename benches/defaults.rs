//! Sensitivity of the answer to each uncertain default. Every default of a design that has a range is set to its lowest and
//! to its highest value, under the same weather and the same luck with all else. Prints the tables of DEVELOPERS.md.
//!
//! `cargo bench --bench defaults` takes the two demo designs named there and some minutes; `-- DESIGN.toml … --trials N`
//! takes others.

use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;
use stilldays::design::{self, Change, DesignFile, dimension_of};
use stilldays::lanes::Isa;
use stilldays::report::words::difference;
use stilldays::study::compare::{Comparison, compare};
use stilldays::study::paired::Difference;
use stilldays::study::run::Until;
use stilldays::study::{Engine, Plan, Sites};
use stilldays::units::{Dimension, Uncertain, text};

const DESIGNS: [&str; 2] =
    ["scenarios/mill-3-seeking-small-battery.toml", "scenarios/mill-2-seeking-direct.toml"];
const TRIALS: u64 = 96;

/// A default with a range, and the design at both of its ends.
struct Probe {
    key: String,
    range: String,
    ends: [DesignFile; 2],
}

fn probes(file: &DesignFile) -> Vec<Probe> {
    let of = |input: &design::Input| {
        let (quantity, dimension) = (file.quantity(&input.key)?, dimension_of(&input.key)?);
        let at = |value: f64| {
            let written = toml::Value::String(text(&Uncertain::exact(value), dimension));
            file.patched(&input.key, &[(input.key.clone(), Change::Set(written))]).ok()
        };
        let ends = [at(quantity.lowest())?, at(quantity.highest())?];
        // The spread itself, without what is likely within it.
        let unit = if dimension == Dimension::Number { "" } else { dimension.base_unit() };
        let range = input.value.split(", likely").next().unwrap_or(unit).to_owned();
        Some(Probe { key: input.key.clone(), range, ends })
    };
    let open = |i: &&design::Input| !i.given && file.quantity(&i.key).is_some_and(|q| !q.is_exact());
    file.inputs.iter().filter(open).filter_map(of).collect()
}

fn table(file: DesignFile, trials: u64) -> String {
    let sites = Sites::new();
    let site = sites.of(&file).unwrap_or_else(|p| panic!("{p}"));
    let probes = probes(&file);
    let title = file.design.title.clone();
    let labels: Vec<(String, String)> = probes.iter().map(|p| (p.key.clone(), p.range.clone())).collect();
    let plans = std::iter::once(file).chain(probes.into_iter().flat_map(|p| p.ends));
    let plans = plans.map(|file| Plan::at(file, Arc::clone(&site))).collect();
    let pool = Arc::new(rayon::ThreadPoolBuilder::new().build().expect("threads"));
    let (stop, quiet) = (AtomicBool::new(false), |_| ());
    let engine = Engine { seed: 1, isa: Isa::detect(), pool, progress: &quiet, journal: None, stop: &stop };
    let c = compare(&engine, plans, Until::Trials(trials), "").expect("some trials");
    written(&title, &labels, &c)
}

fn written(title: &str, labels: &[(String, String)], c: &Comparison) -> String {
    let mut rows: Vec<(f64, String)> = Vec::new();
    for ((key, range), ends) in labels.iter().zip(c.differences.chunks(2)) {
        let still: Vec<&Difference> = ends.iter().map(|a| &a.still_days_per_month).collect();
        let dusk: Vec<&Difference> = ends.iter().filter_map(|a| a.dusk_run_min.as_ref()).collect();
        let said = |d: &Difference, most| {
            if d.told_apart().is_some() { difference::mean(d, most) } else { "·".to_owned() }
        };
        let pair =
            |list: &[&Difference], most| list.iter().map(|d| said(d, most)).collect::<Vec<_>>().join(" / ");
        if still.iter().chain(&dusk).all(|d| d.told_apart().is_none()) {
            continue;
        }
        let swing = still.iter().map(|d| d.mean.abs()).fold(0.0, f64::max);
        rows.push((swing, format!("| `{key}` | {range} | {} | {} |\n", pair(&still, 2), pair(&dusk, 1))));
    }
    let moved = rows.len();
    rows.sort_by(|a, b| b.0.total_cmp(&a.0));
    let first = &c.designs[0];
    let dusk = first.season.dusk_run_min.as_ref().map_or(0.0, |d| d.mean);
    let mut out = format!(
        "{title}: {:.2} still days a month, dusk run {dusk:.0} min, {} trials, seed {}\n\n\
         | default | from … to | still days a month | dusk run, min |\n| --- | --- | --- | --- |\n",
        first.season.still_days_per_month.mean, first.run.trials, first.run.seed
    );
    for (_, row) in &rows {
        out.push_str(row);
    }
    out + &format!(
        "\n{} more defaults with a range change neither by what can be told apart.\n",
        labels.len() - moved
    )
}

fn main() {
    let mut designs: Vec<PathBuf> = Vec::new();
    let mut trials = TRIALS;
    let mut words = std::env::args().skip(1);
    while let Some(word) = words.next() {
        match word.as_str() {
            "--bench" => {}
            "--trials" => {
                trials = words.next().and_then(|n| n.parse().ok()).expect("--trials takes a number")
            }
            path => designs.push(path.into()),
        }
    }
    if designs.is_empty() {
        designs = DESIGNS.map(|d| PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(d)).into();
    }
    for path in designs {
        println!("{}", table(design::read(&path).unwrap_or_else(|p| panic!("{p}")), trials));
    }
}
