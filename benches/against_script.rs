//! Whole runs against a compiled script of a far simpler plant, where there is one: linear power, an energy battery, an ideal mount.
//!
//! `STILLDAYS_SCRIPT=FOLDER cargo bench --bench against_script`. The folder holds `jitted.py`; its last line says its days a second.
//! `STILLDAYS_PYTHON` names the interpreter that has its libraries (default `python3`). Both take one thread, in turn, five rounds.

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
        "whole runs, one thread, medians of {ROUNDS} rounds in turn    ours, days/s    script, days/s    ratio"
    );
    for (name, flags, design) in BUILDS {
        let rounds: Vec<[f64; 2]> =
            (0..ROUNDS).map(|_| [ours(design, out.path()), script(&folder, flags)]).collect();
        let ratio = median(rounds.iter().map(|[a, b]| a / b));
        let [a, b] = [0, 1].map(|k| median(rounds.iter().map(|r| r[k])));
        println!("{name:53} {a:15.0} {b:17.0} {ratio:8.2}");
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
