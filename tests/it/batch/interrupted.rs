//! Killed, interrupted, and two at once.

use super::{Said, Tree, Yard};
use std::process::{Child, Stdio};
use std::time::{Duration, Instant};
use stilldays::disk::Lock;

const TRIALS: &str = "400";

fn start(yard: &Yard, out: &str) -> Child {
    let mut command = yard.command(&["batch", "designs", "--trials", TRIALS, "--out", out, "--quiet"]);
    command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap()
}

/// Numbers that look random, the same in every test run.
fn luck(state: &mut u64) -> f64 {
    *state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
    (*state >> 11) as f64 / (1u64 << 53) as f64
}

/// Kills a batch at `kills` moments and resumes it; whenever it gets through, and in the end, the
/// results are those of an undisturbed one.
fn killed(yard: &Yard, whole: &Tree, out: &str, seed: u64, kills: usize, took: Duration) -> usize {
    let (mut state, mut done, mut resumed) = (seed, 0, 0);
    while done < kills {
        let mut child = start(yard, out);
        std::thread::sleep(took.mul_f64(luck(&mut state)));
        child.kill().unwrap(); // SIGKILL
        if child.wait().unwrap().success() {
            whole.assert_same(&yard.tree(out), "a batch killed before");
            std::fs::remove_dir_all(yard.path(out)).unwrap();
        } else {
            done += 1;
            let begun = |name: &str| yard.path(out).join("lower/basin").join(name).exists();
            resumed += usize::from(begun("checkpoint") || begun("seal.json"));
        }
    }
    let said = Said::of(start(yard, out).wait_with_output().unwrap());
    assert_eq!(said.code, Some(0), "{said:?}");
    whole.assert_same(&yard.tree(out), "killed and resumed");
    resumed
}

#[cfg(unix)]
#[test]
fn killed_at_twenty_five_moments_it_ends_with_the_bytes_of_an_undisturbed_one() {
    let yard = Yard::of_three();
    let began = Instant::now();
    let said = Said::of(start(&yard, "undisturbed").wait_with_output().unwrap());
    assert_eq!(said.code, Some(0), "{said:?}");
    let (whole, took) = (yard.tree("undisturbed"), began.elapsed());
    let in_work = std::thread::scope(|scope| {
        let first = scope.spawn(|| killed(&yard, &whole, "out-1", 1, 13, took));
        let second = scope.spawn(|| killed(&yard, &whole, "out-2", 2, 12, took));
        first.join().unwrap() + second.join().unwrap()
    });
    println!("undisturbed in {took:?}; after {in_work} of 25 kills there was something to go on from");
    assert!(in_work >= 8, "only {in_work} of 25 kills came after work had begun: took {took:?}");
}

#[cfg(unix)]
#[test]
fn an_interrupt_finishes_the_wave_says_how_to_go_on_and_is_gone_on_with() {
    let yard = Yard::new();
    yard.design("lower/basin.toml", "0.5 Ah");
    let whole = yard.undisturbed("1000");
    for signal in ["-INT", "-TERM"] {
        let out = format!("out{signal}");
        let args = ["batch", "designs", "--trials", "1000", "--out", &out];
        let child = yard.command(&args).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        let checkpoint = yard.path(&out).join("lower/basin/checkpoint");
        while !checkpoint.exists() {
            std::thread::sleep(Duration::from_millis(5));
        }
        let kill = std::process::Command::new("kill").args([signal, &child.id().to_string()]).status();
        assert!(kill.unwrap().success());
        let said = Said::of(child.wait_with_output().unwrap());
        assert_eq!(said.code, Some(1), "{said:?}");
        assert!(said.err.contains("Ctrl-C again stops at once"), "{said:?}");
        assert!(said.err.contains("the same command goes on from here"), "{said:?}");
        assert!(said.out.contains("still to do"), "{said:?}");
        let page = std::fs::read_to_string(yard.path(&out).join("index.html")).unwrap();
        assert!(page.contains("Still to do"));
        let rest = yard.run(&args);
        assert_eq!(rest.code, Some(0), "{rest:?}");
        assert!(rest.out.contains("lower/basin.toml: goes on after "), "{rest:?}");
        whole.assert_same(&yard.tree(&out), signal);
    }
}

#[test]
fn the_second_of_two_is_told_and_changes_nothing() {
    let yard = Yard::of_three();
    std::fs::create_dir(yard.path("results")).unwrap();
    let lock = Lock::take(&yard.path("results")).unwrap();
    let said = yard.run(&["batch", "designs", "--trials", "16"]);
    assert_eq!(said.code, Some(1), "{said:?}");
    let by = format!("another stilldays (process {}) is at work on results", std::process::id());
    assert!(said.err.contains(&by), "{said:?}");
    assert!(yard.tree("results").0.is_empty());
    drop(lock);
    assert_eq!(yard.run(&["batch", "designs", "--trials", "16"]).code, Some(0));
}
