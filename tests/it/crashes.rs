//! What may happen to a command from outside: kills, signals, limits, and files that are none. Each ends with a message or with a whole
//! set of files, and none waits for ever. What happens to a batch: [`super::batch`].
#![cfg(unix)]

use crate::batch::{Said, Tree, Yard};
use std::process::{Command, Stdio};
use std::time::Duration;

fn pipe(yard: &Yard, name: &str) {
    let path = yard.path(name);
    std::fs::create_dir_all(path.parent().unwrap()).unwrap();
    assert!(Command::new("mkfifo").arg(path).status().unwrap().success());
}

#[test]
fn a_pipe_in_place_of_a_file_is_refused_at_once() {
    let yard = Yard::new();
    let text = std::fs::read_to_string(yard.design("a.toml", "1 Ah")).unwrap();
    pipe(&yard, "pipe.toml");
    for command in [
        &["run", "pipe.toml"][..],
        &["check", "pipe.toml"],
        &["invent", "pipe.toml"],
        &["weather", "pipe.toml"],
    ] {
        let said = yard.run(command);
        assert_eq!(said.code, Some(1), "{said:?}");
        assert!(said.err.contains("named pipe"), "{said:?}");
    }
    let weather = text.lines().find(|l| l.starts_with("weather")).unwrap();
    yard.file("b.toml", &text.replace(weather, "weather = \"../pipe.toml\""));
    let said = yard.run(&["run", "designs/b.toml"]);
    assert!(said.code == Some(1) && said.err.contains("named pipe"), "{said:?}");
    // In place of what a batch has written: as if it were not there.
    std::fs::remove_file(yard.path("designs/b.toml")).unwrap();
    let whole = yard.undisturbed("16");
    for name in ["seal.json", "checkpoint"] {
        pipe(&yard, &format!("results/a/{name}"));
    }
    let said = yard.run(&["batch", "designs", "--trials", "16", "--quiet"]);
    assert_eq!(said.code, Some(0), "{said:?}");
    assert_eq!(
        yard.tree("results").0[std::path::Path::new("a/tally")],
        whole.0[std::path::Path::new("a/tally")]
    );
}

#[test]
fn a_link_in_place_of_the_lock_keeps_its_target() {
    let yard = Yard::new();
    yard.design("a.toml", "1 Ah");
    std::fs::write(yard.path("precious"), b"content").unwrap();
    std::fs::create_dir_all(yard.path("results/a")).unwrap();
    for lock in ["results/.lock", "results/a/.lock"] {
        std::os::unix::fs::symlink(yard.path("precious"), yard.path(lock)).unwrap();
    }
    for args in [["run", "designs/a.toml"], ["grid", "designs/a.toml"], ["batch", "designs"]] {
        let said = yard.run(&[&args[..], &["--trials", "16", "--quiet"]].concat());
        assert!(said.code == Some(1) && said.err.contains("it is a link"), "{said:?}");
        assert_eq!(std::fs::read(yard.path("precious")).unwrap(), b"content");
    }
}

/// A `run` holds the folder of its design alone, a batch that of all.
#[test]
fn a_batch_leaves_a_folder_alone_that_a_run_is_at_work_on() {
    let yard = Yard::new();
    yard.design("a.toml", "1 Ah");
    yard.design("b.toml", "2 Ah");
    let batch = ["batch", "designs", "--trials", "16", "--quiet"];
    let folder = stilldays::disk::Folder::take(&yard.path("results/a")).unwrap();
    let said = yard.run(&batch);
    assert!(said.code == Some(1) && said.err.contains("another stilldays"), "{said:?}");
    assert!(!yard.path("results/a/report.html").exists() && yard.path("results/b/report.html").exists());
    drop(folder);
    assert_eq!(yard.run(&batch).code, Some(0));
    assert!(yard.path("results/a/report.html").exists());
}

#[test]
fn a_folder_for_results_that_cannot_be_is_explained() {
    let yard = Yard::new();
    yard.design("a.toml", "1 Ah");
    std::os::unix::fs::symlink(yard.path("nowhere"), yard.path("dangling")).unwrap();
    std::fs::write(yard.path("plain"), b"").unwrap();
    for (out, why) in
        [("dangling", "a link to a place that does not exist"), ("plain", "a file, not a folder")]
    {
        for command in [["run", "designs/a.toml"], ["batch", "designs"]] {
            let said = yard.run(&[&command[..], &["--trials", "16", "--out", out]].concat());
            assert!(said.code == Some(1) && said.err.contains(why), "{said:?}");
        }
    }
}

#[test]
fn a_file_that_is_larger_than_allowed_is_an_error_and_changes_nothing() {
    let yard = Yard::new();
    yard.design("a.toml", "1 Ah");
    let args = ["run", "designs/a.toml", "--trials", "16", "--quiet"];
    assert_eq!(yard.run(&args).code, Some(0));
    let before = yard.tree("results");
    let program = yard.command(&args);
    let mut limited = Command::new("sh");
    limited.args(["-c", "ulimit -f 8; exec \"$@\"", "sh"]).arg(program.get_program());
    limited.args(args).args(["--seed", "2"]).current_dir(yard.path(""));
    let said = Said::of(limited.output().unwrap());
    assert_eq!(said.code, Some(1), "{said:?}");
    assert!(said.err.contains("File too large") && said.err.contains("nothing was changed"), "{said:?}");
    before.assert_same(&yard.tree("results"), "after a limit");
}

/// Where less memory is allowed than a run may need, it says so before; where it runs out, it ends with a message and exit code 1, not by a
/// signal.
#[cfg(target_os = "linux")]
#[test]
fn a_limit_of_memory_is_told() {
    let yard = Yard::new();
    yard.design("a.toml", "1 Ah");
    let limited = |kb: u32, threads: &str| {
        let args = ["run", "designs/a.toml", "--trials", "16", "--threads", threads, "--quiet"];
        let mut shell = Command::new("sh");
        shell.args(["-c", &format!("ulimit -v {kb}; exec \"$@\""), "sh"]);
        shell.arg(yard.command(&args).get_program()).args(args).current_dir(yard.path(""));
        Said::of(shell.output().unwrap())
    };
    let told = limited(140_000, "2").err;
    assert!(told.contains("may use 143 MB of memory (ulimit -v), and may need 144 MB"), "{told:?}");
    assert!(!limited(4_000_000, "2").err.contains("ulimit"));
    let (mut ran_out, mut least_that_did) = (0, u32::MAX);
    for kb in (20_000..190_000).step_by(2_500) {
        let said = limited(kb, "1");
        // What does with less does with more, beyond what varies from run to run.
        assert!(kb < least_that_did.saturating_add(10_000) || said.code == Some(0), "{kb} kB: {said:?}");
        if said.code == Some(0) {
            least_that_did = least_that_did.min(kb);
        }
        // Below that the system cannot even start it.
        if said.code == Some(127) || said.code.is_none() && said.err.is_empty() {
            continue;
        }
        assert!(matches!(said.code, Some(0 | 1)), "{kb} kB: {said:?}");
        let out = said.err.contains("error: there is no memory left (");
        ran_out += usize::from(out);
        assert!(said.code == Some(0) || said.err.contains("error"), "{kb} kB: {said:?}");
        assert!(!said.err.contains("panicked") && !said.err.contains("backtrace"), "{kb} kB: {said:?}");
    }
    assert!(ran_out > 0, "no limit let it run out of memory");
}

/// With one thread asked for, all of a run keeps to it: reading and fitting its weather, too. Beside it stand the first thread and the one that
/// listens for Ctrl-C.
#[cfg(target_os = "linux")]
#[test]
fn one_thread_is_one_thread() {
    let yard = Yard::new();
    yard.design("a.toml", "1 Ah");
    let mut run = yard
        .command(&["run", "designs/a.toml", "--trials", "320", "--threads", "1", "--quiet"])
        .stderr(Stdio::null())
        .stdout(Stdio::null())
        .spawn()
        .unwrap();
    let status = format!("/proc/{}/status", run.id());
    let (mut looks, mut most) = (0, 0);
    while run.try_wait().unwrap().is_none() {
        let text = std::fs::read_to_string(&status).unwrap_or_default();
        if let Some(threads) = text.lines().find_map(|line| line.strip_prefix("Threads:")) {
            most = most.max(threads.trim().parse::<u32>().unwrap());
            looks += 1;
        }
        std::thread::sleep(Duration::from_millis(2));
    }
    assert!(run.wait().unwrap().success() && looks > 10, "{looks} looks");
    assert!((2..=3).contains(&most), "{most} threads");
}

/// Kills a command with either of two seeds after these waits: its files in `out` are never those of both, and the next run has them all.
fn files_of_one_seed(yard: &Yard, args: &[&str], waits_ms: impl Iterator<Item = u64>) {
    let args = |seed| [args, &["--seed", seed]].concat();
    let files = |tree: Tree| {
        let hidden =
            |name: &std::path::Path| name.file_name().is_some_and(|n| n.to_string_lossy().starts_with('.'));
        tree.0.into_iter().filter(|(name, _)| !hidden(name)).collect::<Vec<_>>()
    };
    let seeds = ["1", "2"].map(|seed| {
        let said = yard.run(&args(seed));
        assert_eq!(said.code, Some(0), "{said:?}");
        files(yard.tree("out"))
    });
    assert!(seeds[0] != seeds[1] && seeds[0].len() == seeds[1].len() && seeds[0].len() > 1);
    for (k, wait_ms) in waits_ms.enumerate() {
        let seed = ["1", "2"][k % 2];
        let mut child =
            yard.command(&args(seed)).stderr(Stdio::null()).stdout(Stdio::null()).spawn().unwrap();
        std::thread::sleep(Duration::from_millis(wait_ms));
        child.kill().unwrap();
        child.wait().unwrap();
        let left = files(yard.tree("out"));
        let of = |whole: &Vec<_>| left.iter().filter(|file| whole.contains(*file)).count();
        assert!(
            seeds.iter().any(|whole| of(whole) == left.len()),
            "{args:?} killed after {wait_ms} ms left {} files: {:?} of each seed",
            left.len(),
            seeds.each_ref().map(of),
            args = args(seed)
        );
    }
    assert_eq!(yard.run(&args("2")).code, Some(0));
    let all: Vec<_> = yard.tree("out").0.into_iter().collect();
    assert!(all == seeds[1], "no litter, and all of seed 2");
}

#[test]
fn a_killed_run_leaves_the_files_of_one_seed() {
    let yard = Yard::new();
    yard.design("a.toml", "1 Ah");
    let args = ["run", "designs/a.toml", "--trials", "16", "--quiet", "--out", "out"];
    files_of_one_seed(&yard, &args, (0..12).map(|k| 3 * k * k));
}

/// Years that belong together, and the files of days and minutes with their page, are such sets, too.
#[test]
fn killed_commands_on_weather_leave_the_files_of_one_seed() {
    let yard = Yard::new();
    let climate = concat!(env!("CARGO_MANIFEST_DIR"), "/weather/fenholm.toml");
    std::fs::create_dir_all(yard.path("out")).unwrap();
    let start = std::time::Instant::now();
    files_of_one_seed(&yard, &["invent", climate, "--out", "out/a.csv.gz"], std::iter::empty());
    // The kills reach from before the files are written to after it, however fast the machine is.
    let whole_ms = start.elapsed().as_millis() as u64 / 3;
    files_of_one_seed(
        &yard,
        &["invent", climate, "--out", "out/a.csv.gz"],
        (0..14).map(|k| whole_ms * (70 + 3 * k) / 100),
    );
    let year = std::fs::read(yard.path("out/a.csv.gz")).unwrap();
    std::fs::remove_dir_all(yard.path("out")).unwrap();
    std::fs::write(yard.path("year.csv.gz"), year).unwrap();
    let args = ["weather", "year.csv.gz", "--page", "--days", "8", "--write-minutes", "0", "--out", "out"];
    let start = std::time::Instant::now();
    files_of_one_seed(&yard, &args, std::iter::empty());
    let whole_ms = start.elapsed().as_millis() as u64 / 3;
    files_of_one_seed(&yard, &args, (0..14).map(|k| whole_ms * (70 + 3 * k) / 100));
}

#[test]
fn a_request_to_end_is_heeded_by_every_command() {
    let yard = Yard::new();
    yard.design("a.toml", "1 Ah");
    for command in [["run", "designs/a.toml"], ["batch", "designs"], ["remedies", "designs/a.toml"]] {
        let args = [&command[..], &["--trials", "1000000", "--quiet"]].concat();
        let mut child = yard.command(&args).stderr(Stdio::piped()).spawn().unwrap();
        std::thread::sleep(Duration::from_millis(500));
        let kill = Command::new("kill").args(["-TERM", &child.id().to_string()]).status();
        assert!(kill.unwrap().success());
        // It would take minutes.
        assert!(!child.wait().unwrap().success(), "{command:?}");
    }
}

/// Quiet hides results, not what is wrong with design and weather.
#[test]
fn quiet_tells_warnings() {
    let yard = Yard::new();
    let text = std::fs::read_to_string(yard.design("a.toml", "1 Ah")).unwrap();
    yard.file("a.toml", &text.replace("[battery]", "[battery]\nfrost_lock = \"none\""));
    let loud = yard.run(&["run", "designs/a.toml", "--trials", "16"]);
    assert!(loud.out.contains("Warning") && loud.err.is_empty(), "{loud:?}");
    let quiet = yard.run(&["run", "designs/a.toml", "--trials", "16", "--quiet"]);
    assert!(quiet.code == Some(0) && quiet.out.is_empty(), "{quiet:?}");
    assert!(quiet.err.contains("warning: designs/a.toml: ") && quiet.err.contains("frost"), "{quiet:?}");
}

/// `run`, `compare`, `grid`, `choose`, `remedies`, `learn` and `years` go on after a kill, to the bytes of an undisturbed one; so they do from a damaged journal.
#[test]
fn long_commands_go_on_after_kills() {
    let yard = Yard::new();
    yard.design("a.toml", "1 Ah ± 20 %");
    yard.design("b.toml", "2 Ah");
    yard.file(
        "log.csv",
        "# clock: standard\ndate,time,what,value\n2026-07-03,,battery.capacity,0.9 Ah ± 0.1 Ah\n",
    );
    let map = crate::grid::map_of("designs/a.toml", "battery.capacity=1..3x3", "96");
    let commands = [
        &map[..],
        &["remedies", "designs/a.toml", "--trials", "96"],
        &["choose", "designs/a.toml", "--trials", "16"],
        &["run", "designs/a.toml", "--trials", "200"],
        &["compare", "designs/a.toml", "designs/b.toml", "--trials", "96"],
        &["learn", "designs/a.toml", "designs/log.csv", "--rows", "128"],
        &["years", "designs/a.toml", "--years", "2", "--trials", "160"],
    ];
    let mut told = false;
    for command in commands {
        let out = |name: &'static str| [command, &["--out", name]].concat();
        assert_eq!(yard.run(&out("whole")).code, Some(0), "{command:?}");
        let of_design = if command[0] == "compare" { "out" } else { "out/a" };
        let journal = yard.path(of_design).join(".continue");
        let size = || journal.metadata().map_or(0, |m| m.len());
        for least in [1, 20_000, 60_000] {
            let mut child =
                yard.command(&out("out")).stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
            while size() < least && child.try_wait().unwrap().is_none() {
                std::thread::sleep(Duration::from_millis(1));
            }
            let _ = child.kill();
            child.wait().unwrap();
            if least == 20_000 && size() > 100 {
                // The last record is torn.
                let file = std::fs::OpenOptions::new().write(true).open(&journal).unwrap();
                file.set_len(size() - 7).unwrap();
            }
        }
        let said = yard.run(&out("out"));
        assert_eq!(said.code, Some(0), "{said:?}");
        told |= said.err.contains("going on");
        assert!(!journal.exists(), "{command:?}");
        assert!(yard.tree("whole") == yard.tree("out"), "{command:?} after kills");
        for folder in ["whole", "out"] {
            std::fs::remove_dir_all(yard.path(folder)).unwrap();
        }
    }
    assert!(told, "none was killed in the middle of its work");
}
