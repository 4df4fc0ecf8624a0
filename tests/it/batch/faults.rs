//! A disk that fails: once, from some moment on, or as real disks do.

use super::{Tree, Yard};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use stilldays::disk::write::File;
use stilldays::disk::{Disk, Real};
use stilldays::lanes::Isa;
use stilldays::plant::DayTrace;
use stilldays::report;
use stilldays::study::Engine;
use stilldays::study::batch::{Batch, BatchError, BatchSummary, Ended, ResultWriter};
use stilldays::study::run::Until;
use stilldays::tally::{Summary, Tally};
use stilldays::units::System;

/// When a disk fails, by the number of the operation.
#[derive(Clone, Copy, Debug)]
enum When {
    Never,
    EveryNth(u64),
    FromNthOn(u64),
}

struct Faulty {
    when: When,
    asked: AtomicU64,
}

impl Faulty {
    fn new(when: When) -> Faulty {
        Faulty { when, asked: AtomicU64::new(0) }
    }

    fn fails(&self) -> io::Result<()> {
        let n = self.asked.fetch_add(1, Ordering::Relaxed) + 1;
        let fails = match self.when {
            When::Never => false,
            When::EveryNth(k) => n.is_multiple_of(k),
            When::FromNthOn(k) => n >= k,
        };
        if fails { Err(io::Error::other("made to fail")) } else { Ok(()) }
    }
}

impl Disk for Faulty {
    fn make_folder(&self, folder: &Path) -> io::Result<()> {
        self.fails()?;
        Real.make_folder(folder)
    }
    fn fill(&self, file: &mut std::fs::File, content: &[u8]) -> io::Result<()> {
        if let Err(e) = self.fails() {
            // As a full disk does: some of it is there.
            Real.fill(file, &content[..content.len() / 2])?;
            return Err(e);
        }
        Real.fill(file, content)
    }
    fn rename(&self, temporary: tempfile::NamedTempFile, path: &Path) -> io::Result<()> {
        self.fails()?;
        Real.rename(temporary, path)
    }
    fn remove(&self, path: &Path) -> io::Result<()> {
        self.fails()?;
        Real.remove(path)
    }
}

/// Results as the program writes them.
struct ReportFiles;

impl ResultWriter for ReportFiles {
    fn design_files(&self, summary: &Summary, tally: &Tally, days: &[DayTrace]) -> Vec<File<'static>> {
        vec![
            ("report.html", report::html::run(summary, days, System::Si).into_bytes()),
            ("summary.json", report::json::bytes(summary)),
            ("tally", tally.to_bytes()),
        ]
    }
    fn batch_files(&self, summary: &BatchSummary) -> Vec<File<'static>> {
        vec![
            ("summary.json", report::json::bytes(summary)),
            ("index.html", report::html::batch(summary).into_bytes()),
        ]
    }
    fn shown(&self) -> String {
        "si".to_owned()
    }
}

fn batch(yard: &Yard, out: &Path, disk: &dyn Disk) -> Result<Ended, BatchError> {
    let pool = Arc::new(rayon::ThreadPoolBuilder::new().num_threads(1).build().unwrap());
    let stop = AtomicBool::new(false);
    let engine = Engine { seed: 1, isa: Isa::detect(), pool, progress: &|_| (), journal: None, stop: &stop };
    let folder = yard.path("designs");
    Batch {
        engine: &engine,
        disk,
        writer: &ReportFiles,
        on_event: &|_| (),
        folder: &folder,
        out,
        // Three waves.
        until: Until::Trials(300),
    }
    .run(None)
}

/// A file under its final name is complete: it is absent, or it is what belongs there in the end. Pages of the batch and
/// checkpoints may be of an earlier state, but are never truncated.
fn assert_nothing_is_half_written(tree: &Tree, whole: &Tree, when: When) {
    for (name, bytes) in &tree.0 {
        match whole.0.get(name) {
            Some(wanted) if name.components().count() > 1 => {
                assert!(bytes == wanted, "{when:?}: {}", name.display());
            }
            Some(_) if name.ends_with("index.html") => {
                assert!(bytes.ends_with(b"</html>"), "{when:?}");
            }
            Some(_) => {
                assert!(serde_json::from_slice::<serde_json::Value>(bytes).is_ok(), "{when:?}");
            }
            None => {
                assert!(name.ends_with("checkpoint"), "{when:?}: {} is left", name.display());
                let checkpoint = stilldays::study::batch::Checkpoint::from_bytes(bytes);
                assert!(checkpoint.is_ok(), "{when:?}: {checkpoint:?}");
            }
        }
    }
}

#[test]
fn failing_writes_leave_nothing_half_written_and_the_next_time_finishes() {
    let yard = Yard::new();
    yard.design("basin.toml", "0.5 Ah");
    let counting = Faulty::new(When::Never);
    assert_eq!(batch(&yard, &yard.path("whole"), &counting).unwrap().finished, 1);
    let (whole, asked) = (yard.tree("whole"), counting.asked.into_inner());
    println!("{asked} things are asked of the disk");
    assert!(asked > 20, "{asked}");
    let cases: Vec<When> = [2, 3, 5]
        .map(When::EveryNth)
        .into_iter()
        .chain((1..=asked).step_by(5).map(When::FromNthOn))
        .collect();
    let one = |when: When| {
        let out: PathBuf = yard.path(&format!("{when:?}"));
        let disk = Faulty::new(when);
        match batch(&yard, &out, &disk) {
            Err(stop) => {
                let text = stop.to_string();
                assert!(text.contains("made to fail") && text.contains("safe"), "{when:?}: {text}");
            }
            // The removal of a checkpoint may fail without harm; nothing else goes unsaid.
            Ok(ended) => assert!(ended.failed + ended.finished == 1, "{when:?}: {ended:?}"),
        }
        if out.exists() {
            assert_nothing_is_half_written(&yard.tree(&format!("{when:?}")), &whole, when);
        }
        assert_eq!(batch(&yard, &out, &Real).unwrap().finished, 1, "{when:?}");
        whole.assert_same(&yard.tree(&format!("{when:?}")), &format!("{when:?}"));
    };
    std::thread::scope(|scope| {
        let (a, b) = cases.split_at(cases.len() / 2);
        for half in [a, b] {
            scope.spawn(move || half.iter().for_each(|when| one(*when)));
        }
    });
}

#[test]
fn a_folder_that_cannot_be_made_or_written_is_named() {
    let yard = Yard::of_three();
    std::fs::write(yard.path("file"), b"in the way").unwrap();
    let said = yard.run(&["batch", "designs", "--trials", "16", "--out", "file/results"]);
    assert_eq!(said.code, Some(1), "{said:?}");
    assert!(said.err.contains("cannot make the folder file/results"), "{said:?}");
    assert!(said.err.contains("nothing was changed"), "{said:?}");
    let long = "n".repeat(300);
    let said = yard.run(&["batch", "designs", "--trials", "16", "--out", &long]);
    assert_eq!(said.code, Some(1), "{said:?}");
    assert!(said.err.contains(&format!("cannot make the folder {long}")), "{said:?}");
    // A folder in the way of one design's results is that design's trouble only.
    std::fs::create_dir_all(yard.path("results/trough/tally/x")).unwrap();
    let said = yard.run(&["batch", "designs", "--trials", "16"]);
    assert_eq!(said.code, Some(1), "{said:?}");
    assert!(said.err.contains("cannot rename to results/trough/tally"), "{said:?}");
    assert!(said.out.contains("2 finished, 1 failed"), "{said:?}");
}

#[cfg(unix)]
#[test]
fn a_folder_that_may_only_be_read_is_named() {
    use std::os::unix::fs::PermissionsExt;
    let yard = Yard::of_three();
    let out = yard.path("results");
    std::fs::create_dir(&out).unwrap();
    std::fs::set_permissions(&out, PermissionsExt::from_mode(0o555)).unwrap();
    // Whoever may write anywhere meets a file system that takes no files instead.
    let out = if std::fs::write(out.join("probe"), b"").is_ok() { "/proc" } else { "results" };
    let said = yard.run(&["batch", "designs", "--trials", "16", "--out", out]);
    assert_eq!(said.code, Some(1), "{said:?}");
    assert!(said.err.contains(&format!("{out}/.lock")), "{said:?}");
    assert!(said.err.contains("nothing was changed"), "{said:?}");
}

/// A limit on the size of files stands in for a full disk: the page of a design does not fit, its
/// checkpoint does.
#[cfg(unix)]
#[test]
fn what_does_not_fit_on_the_disk_is_done_when_there_is_room() {
    let yard = Yard::of_three();
    let whole = yard.undisturbed("48");
    let args = ["batch", "designs", "--trials", "48", "--quiet"];
    let line =
        format!("trap '' XFSZ; ulimit -f 100; exec '{}' {}", env!("CARGO_BIN_EXE_stilldays"), args.join(" "));
    let output = std::process::Command::new("sh").args(["-c", &line]).current_dir(yard.path("")).output();
    let said = super::Said::of(output.unwrap());
    assert_eq!(said.code, Some(1), "{said:?}");
    assert!(said.err.contains("cannot write results/trough/report.html"), "{said:?}");
    assert!(said.err.contains("nothing was changed"), "{said:?}");
    assert!(!yard.path("results/trough/report.html").exists());
    assert!(yard.path("results/trough/checkpoint").exists());
    assert_eq!(yard.run(&args).code, Some(0));
    whole.assert_same(&yard.tree("results"), "room again");
}
