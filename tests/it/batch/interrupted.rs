//! A batch that is killed or interrupted, and two batches at once.

use super::{Said, Tree, Yard};
use std::process::{Child, Stdio};
use std::time::{Duration, Instant};
use stilldays::disk::Lock;

const TRIALS: &str = "1100";

fn start(yard: &Yard, out: &str) -> Child {
    let mut command = yard.command(&["batch", "designs", "--trials", TRIALS, "--out", out, "--quiet"]);
    command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap()
}

/// Numbers that look random, the same in every test run.
fn luck(state: &mut u64) -> f64 {
    *state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
    (*state >> 11) as f64 / (1u64 << 53) as f64
}

/// Kills a batch at `kills` moments and resumes it. Whenever it finishes, its results are those of an undisturbed batch.
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

/// What is left to do then is small: to take the checkpoint and the lock of the design's folder away.
#[cfg(unix)]
#[test]
fn killed_as_soon_as_a_design_is_sealed_it_leaves_nothing_behind() {
    let yard = Yard::new();
    yard.design("lower/basin.toml", "0.5 Ah");
    let args = ["batch", "designs", "--trials", "32", "--out", "out"];
    let whole = yard.undisturbed("32");
    for _ in 0..12 {
        let mut child = yard.command(&args).stdout(Stdio::null()).spawn().unwrap();
        while !yard.path("out/lower/basin/seal.json").exists() {
            std::thread::yield_now();
        }
        child.kill().unwrap();
        child.wait().unwrap();
        assert_eq!(yard.run(&args).code, Some(0));
        whole.assert_same(&yard.tree("out"), "killed when it was sealed");
        std::fs::remove_dir_all(yard.path("out")).unwrap();
    }
}

#[cfg(unix)]
#[test]
fn an_interrupt_finishes_the_wave_says_how_to_go_on_and_is_gone_on_with() {
    let yard = Yard::new();
    yard.design("lower/basin.toml", "0.5 Ah");
    // The second stops where it is known well enough: that must not move either.
    // Some waves of two threads.
    for (signal, effort) in [("-INT", ["--trials", "2400"]), ("-TERM", ["--until", "0.6"])] {
        let whole = yard.undisturbed_by(&effort);
        let out = format!("out{signal}");
        let args = ["batch", "designs", effort[0], effort[1], "--threads", "2", "--out", &out];
        let child = yard.command(&args).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        let checkpoint = yard.path(&out).join("lower/basin/checkpoint");
        while !checkpoint.exists() {
            std::thread::sleep(Duration::from_millis(5));
        }
        let kill = std::process::Command::new("kill").args([signal, &child.id().to_string()]).status();
        assert!(kill.unwrap().success());
        let said = Said::of(child.wait_with_output().unwrap());
        assert_eq!(said.code, Some(1), "{said:?}");
        assert!(said.err.contains("press Ctrl-C again to stop at once"), "{said:?}");
        assert!(said.err.contains("run the same command again to continue"), "{said:?}");
        assert!(said.out.contains("left to do"), "{said:?}");
        let page = std::fs::read_to_string(yard.path(&out).join("index.html")).unwrap();
        assert!(page.contains("Still to do"));
        let rest = yard.run(&args);
        assert_eq!(rest.code, Some(0), "{rest:?}");
        assert!(rest.out.contains("lower/basin.toml: resumed after "), "{rest:?}");
        whole.assert_same(&yard.tree(&out), signal);
    }
}

#[cfg(unix)]
#[test]
fn a_second_interrupt_stops_at_once_and_nothing_is_lost() {
    let yard = Yard::new();
    yard.design("basin.toml", "0.5 Ah");
    // Nine waves and a rest; the season is short, so a wave takes a part of a second.
    let args = ["batch", "designs", "--trials", "1200", "--threads", "1", "--out", "out"];
    let whole = yard.undisturbed("1200");
    let interrupt = |child: &Child| {
        let kill = std::process::Command::new("kill").args(["-INT", &child.id().to_string()]).status();
        assert!(kill.unwrap().success());
    };
    let mut child = yard.command(&args).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    while !yard.path("out/index.html").exists() {
        std::thread::sleep(Duration::from_millis(2));
    }
    interrupt(&child);
    // The answer to the first: from now on the second counts.
    let mut said = std::io::BufReader::new(child.stderr.take().unwrap());
    let mut line = String::new();
    std::io::BufRead::read_line(&mut said, &mut line).unwrap();
    assert!(line.contains("press Ctrl-C again to stop at once"), "{line}");
    interrupt(&child);
    let code = child.wait().unwrap().code();
    // Where the wave ended between the two, the first one's ending is as good.
    assert!(matches!(code, Some(130 | 1)), "{code:?}");
    assert_eq!(yard.run(&args).code, Some(0));
    whole.assert_same(&yard.tree("out"), "stopped at once and gone on with");
}

#[test]
fn quiet_says_nothing_and_without_a_terminal_lines_are_plain() {
    let yard = Yard::of_three();
    let loud = yard.run(&["batch", "designs", "--trials", "16"]);
    assert_eq!(loud.code, Some(0), "{loud:?}");
    assert!(loud.err.is_empty() && !loud.out.contains(['\r', '\u{1b}']), "{loud:?}");
    assert!(loud.out.contains("2 of 3: lower/trough.toml: "), "{loud:?}");
    let quiet = yard.run(&["batch", "designs", "--trials", "16", "--quiet", "--out", "other"]);
    assert_eq!((quiet.code, quiet.out.as_str(), quiet.err.as_str()), (Some(0), "", ""));
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
