//! The inputs that the fuzzers kept, given again to the functions that the fuzzers call.

#[path = "../fuzz/src/lib.rs"]
mod targets;

use std::path::PathBuf;
use stilldays::weather::load_from_bytes;

type Target = fn(&[u8]) -> bool;

fn fuzz() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/fuzz")
}

/// The seeds of a target, sorted by name.
fn seeds(target: &str) -> Vec<(String, Vec<u8>)> {
    let folder = fuzz().join("seeds").join(target);
    let mut seeds: Vec<_> = std::fs::read_dir(&folder)
        .unwrap_or_else(|e| panic!("{}: {e}", folder.display()))
        .map(|entry| {
            let entry = entry.unwrap();
            (entry.file_name().to_string_lossy().into_owned(), std::fs::read(entry.path()).unwrap())
        })
        .collect();
    seeds.sort();
    seeds
}

#[test]
fn no_seed_makes_a_reader_panic() {
    let targets: [(&str, Target); 9] = [
        ("design", targets::design),
        ("quantity", targets::quantity),
        ("climate", targets::climate),
        ("logbook", targets::logbook),
        ("weather_epw", targets::weather_epw),
        ("weather_tmy3", targets::weather_tmy3),
        ("weather_plain", targets::weather_plain),
        ("tally", targets::tally),
        ("checkpoint", targets::checkpoint),
    ];
    for (name, target) in targets {
        let seeds = seeds(name);
        let kept = seeds.iter().filter(|(file, bytes)| {
            std::panic::catch_unwind(|| target(bytes)).unwrap_or_else(|_| panic!("{name}/{file} panics"))
        });
        println!("{name}: {} of {} seeds are of its kind", kept.count(), seeds.len());
        assert!(seeds.len() >= 2 || name == "tally" || name == "checkpoint", "{name}");
        let listed = std::fs::read_to_string(fuzz().join("Cargo.toml")).unwrap();
        assert!(listed.contains(&format!("name = \"{name}\"")), "{name} is no fuzz target");
    }
}

/// Seeds from which a fuzzer starts must be files that the program accepts: others would not reach most of a reader.
#[test]
fn each_reader_takes_one_of_its_seeds() {
    let taken = |target: &str, takes: &dyn Fn(&[u8]) -> bool| {
        assert!(seeds(target).iter().any(|(_, bytes)| takes(bytes)), "no seed of {target} is taken");
    };
    for format in ["weather_epw", "weather_tmy3", "weather_plain"] {
        taken(format, &|bytes| load_from_bytes("seed".as_ref(), bytes).is_ok());
    }
    let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).unwrap_or_default();
    taken("design", &|bytes| stilldays::design::parse("seed".as_ref(), text(bytes)).is_ok());
    taken("climate", &|bytes| stilldays::weather::invent::parse("seed", &text(bytes)).is_ok());
    taken("logbook", &|bytes| stilldays::logbook::parse("seed".as_ref(), bytes).is_ok());
    let plan = targets::plan();
    let body_of_a_tally = |bytes: &[u8]| {
        targets::as_tally(bytes).is_ok_and(|tally| {
            let mut all = stilldays::tally::Tally::new(&plan.layout);
            all.merge(&tally).is_ok() && all.trials() > 0
        })
    };
    taken("tally", &body_of_a_tally);
    taken("checkpoint", &|bytes| targets::as_checkpoint(bytes).is_ok());
}

/// A file with a single odd day is accepted, so everything after the reader must cope with it.
#[test]
fn what_a_reader_takes_can_be_sampled() {
    let mut sampled = 0;
    for format in ["weather_epw", "weather_tmy3", "weather_plain"] {
        for (name, bytes) in seeds(format) {
            let whole = std::panic::catch_unwind(|| targets::sampled(&bytes));
            sampled += usize::from(whole.unwrap_or_else(|_| panic!("{format}/{name} panics")));
        }
    }
    let planned = seeds("design").iter().filter(|(_, bytes)| targets::planned(bytes)).count();
    println!("{sampled} weather files sampled, {planned} designs planned");
    assert!(sampled >= 3 && planned >= 5, "{sampled} {planned}");
}

#[test]
fn the_seeds_are_small() {
    let size = |target: &str| seeds(target).iter().map(|(_, bytes)| bytes.len()).sum::<usize>();
    let folders = std::fs::read_dir(fuzz().join("seeds")).unwrap();
    let all: usize = folders.map(|f| size(&f.unwrap().file_name().to_string_lossy())).sum();
    println!("{all} bytes of seeds");
    assert!((10_000..500_000).contains(&all), "{all}");
}

/// Writes the seeds that hold a tally, after its format has changed:
/// `cargo test --test it -- --ignored seeds_that_hold_a_tally`.
#[test]
#[ignore = "writes files of the repository"]
fn renews_the_seeds_that_hold_a_tally() {
    use stilldays::study::batch::{Checkpoint, Identity};
    use stilldays::study::run::Stride;
    let plan = targets::plan();
    let (tally, _) = crate::common::summed_up(plan, 32, 1, 2, stilldays::lanes::Isa::detect());
    let body = |bytes: Vec<u8>, head: usize| bytes[head..bytes.len() - 32].to_vec();
    let seeds = fuzz().join("seeds");
    std::fs::write(seeds.join("tally/thirty-two-trials"), body(tally.to_bytes(), 44)).unwrap();
    let text = |s: &str| s.to_owned();
    let identity = Identity {
        version: text("0.1.0"),
        file: text("basin.toml"),
        design_sha256: text("00"),
        weather_sha256: text("00"),
        seed: 1,
        until: text("with 48 trials"),
    };
    let half = Checkpoint { identity, stride: Stride { first: 0, step: 1 }, done: 2, tally };
    std::fs::write(seeds.join("checkpoint/half-done"), body(half.to_bytes(), 12)).unwrap();
}
