//! Whole runs against a compiled script of a far simpler plant, where there is one: linear power, an energy battery, an ideal mount.
//!
//! `STILLDAYS_SCRIPT=FOLDER cargo bench --bench against_script`. The folder holds `jitted.py`; its last line says its days a second.
//! `STILLDAYS_PYTHON` names the interpreter that has its libraries (default `python3`). Both take one thread, in turn, five rounds. The last column is
//! the ratio of the times to the same error of still days a month, if the script samples plainly: rates times what is saved in trials.

use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::Instant;

/// Name, flags of the script, demo design.
const BUILDS: [(&str, &[&str], &str); 3] = [
    ("light-seeking mount, battery", &[], "mill-3-seeking-small-battery"),
    ("fixed panel, battery", &["--mount", "fixed"], "mill-6-fixed-battery"),
    ("light-seeking mount, no battery", &["--battery-wh", "0"], "mill-2-seeking-direct"),
];
const ROUNDS: usize = 5;
const TRIALS: u32 = 640;

fn main() {
    let Some(folder) = std::env::var_os("STILLDAYS_SCRIPT").map(PathBuf::from) else {
        println!("against_script: STILLDAYS_SCRIPT is not set; LEFT OUT");
        return;
    };
    let out = tempfile::tempdir().expect("a folder");
    println!(
        "whole runs, one thread, medians of {ROUNDS} rounds in turn    ours, days/s  script, days/s   ratio  to the same error"
    );
    for (name, flags, design) in BUILDS {
        let rounds: Vec<[f64; 2]> =
            (0..ROUNDS).map(|_| [ours(design, out.path()), script(&folder, flags)]).collect();
        let ratio = median(rounds.iter().map(|[a, b]| a / b));
        let [a, b] = [0, 1].map(|k| median(rounds.iter().map(|r| r[k])));
        let gain = variance_saved(&out.path().join(design).join("summary.json"));
        println!("{name:55} {a:15.0} {b:15.0} {ratio:7.2} {:18.2}", ratio * gain);
    }
}

/// Days a second of a whole run, from its first to its last instruction.
fn ours(design: &str, out: &Path) -> f64 {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios").join(format!("{design}.toml"));
    let began = Instant::now();
    let done = Command::new(env!("CARGO_BIN_EXE_stilldays"))
        .arg("run")
        .arg(&file)
        .args(["--threads", "1", "--quiet", "--trials", &TRIALS.to_string(), "--out"])
        .arg(out)
        .status()
        .expect("the program");
    assert!(done.success(), "{design}: {done}");
    let seconds = began.elapsed().as_secs_f64();
    let plan = stilldays::design::read(&file).expect("a demo design");
    let plan = stilldays::study::Plan::new(plan, &stilldays::study::Sites::new()).expect("its weather");
    f64::from(TRIALS) * plan.scene.days.len() as f64 / seconds
}

/// How many times the trials that plain sampling would need for the error of still days a month that a run says: the variance of its trials over
/// their number, over the square of that error.
fn variance_saved(summary: &Path) -> f64 {
    let bytes = std::fs::read(summary).expect("a summary");
    let summary: serde_json::Value = serde_json::from_slice(&bytes).expect("a summary");
    let still = &summary["season"]["still_days"];
    let counts: Vec<f64> =
        still["histogram"].as_array().expect("counts").iter().filter_map(|n| n.as_f64()).collect();
    let trials: f64 = counts.iter().sum();
    let sum =
        |of: &dyn Fn(f64) -> f64| -> f64 { counts.iter().enumerate().map(|(k, n)| n * of(k as f64)).sum() };
    let mean = sum(&|k| k) / trials;
    let variance = sum(&|k| (k - mean) * (k - mean)) / (trials - 1.0);
    let se = still["se"].as_f64().expect("an error");
    variance / trials / (se * se)
}

/// Days a second that the script says, without its start.
fn script(folder: &Path, flags: &[&str]) -> f64 {
    let python = std::env::var_os("STILLDAYS_PYTHON").unwrap_or_else(|| "python3".into());
    let done = Command::new(&python)
        .current_dir(folder)
        .args(["jitted.py", "--threads", "1", "--trials", "1000"])
        .args(flags)
        .output()
        .unwrap_or_else(|e| panic!("{}: {e}", python.to_string_lossy()));
    let text = String::from_utf8_lossy(&done.stdout);
    let said = text
        .lines()
        .last()
        .and_then(|l| l.strip_suffix(" days/s")?.rsplit(' ').next()?.replace(',', "").parse().ok());
    said.unwrap_or_else(|| panic!("the script says no rate: {text}{}", String::from_utf8_lossy(&done.stderr)))
}

fn median(values: impl Iterator<Item = f64>) -> f64 {
    let mut sorted: Vec<f64> = values.collect();
    sorted.sort_by(f64::total_cmp);
    sorted[sorted.len() / 2]
}
