//! A batch that runs undisturbed.

use super::{Said, Yard};
use std::path::Path;

#[test]
fn every_design_has_its_folder_and_the_page_ranks_them() {
    let yard = Yard::of_three();
    let said = yard.run(&["batch", "designs", "--trials", "48"]);
    assert_eq!(said.code, Some(0), "{said:?}");
    assert!(said.out.contains("3 finished") && said.out.contains("lower/trough.toml: "), "{said:?}");
    assert!(said.out.contains("Some of the weather is invented"), "{said:?}");
    let tree = yard.tree("results");
    for folder in ["trough", "lower/trough", "lower/basin"] {
        for name in ["report.html", "summary.json", "months.csv", "distributions.csv", "tally", "seal.json"] {
            assert!(tree.0.contains_key(&Path::new(folder).join(name)), "{folder}/{name}");
        }
        assert!(!tree.0.contains_key(&Path::new(folder).join("checkpoint")), "{folder}");
    }
    let morning: serde_json::Value = serde_json::from_slice(&tree.0[Path::new("summary.json")]).unwrap();
    assert_eq!(morning["schema"], "stilldays.batch/1");
    let designs = morning["designs"].as_array().unwrap();
    assert_eq!(designs.len(), 3);
    let still = |k: usize| designs[k]["still_days_per_month"]["mean"].as_f64().unwrap();
    assert!(still(0) <= still(1) && still(1) <= still(2), "{morning}");
    assert!(still(2) > 0.0, "the designs are to have still days: {morning}");
    let page = String::from_utf8(tree.0[Path::new("index.html")].clone()).unwrap();
    assert!(page.contains("href=\"lower/basin/report.html\""));
    let csv = String::from_utf8(tree.0[Path::new("ranking.csv")].clone()).unwrap();
    assert_eq!(csv.lines().count(), 2 + 3, "{csv}");
    // A run of the same design from within the folder makes the same tally.
    let run = Said::of(
        yard.command(&["run", "trough.toml", "--trials", "48", "--quiet"])
            .current_dir(yard.path("designs"))
            .output()
            .unwrap(),
    );
    assert_eq!(run.code, Some(0), "{run:?}");
    let tally = std::fs::read(yard.path("designs/results/trough/tally")).unwrap();
    assert!(tally == tree.0[Path::new("trough/tally")]);
}

#[test]
fn threads_change_no_byte() {
    let yard = Yard::of_three();
    let whole = yard.undisturbed("130");
    for threads in ["1", "2", "8"] {
        let out = format!("with-{threads}");
        let args = ["batch", "designs", "--trials", "130", "--threads", threads, "--out", &out, "--quiet"];
        assert_eq!(yard.run(&args).code, Some(0));
        whole.assert_same(&yard.tree(&out), &format!("{threads} threads"));
    }
}

#[test]
fn what_is_finished_is_kept_and_only_what_changed_is_done_again() {
    let yard = Yard::of_three();
    let args = ["batch", "designs", "--trials", "48"];
    assert_eq!(yard.run(&args).code, Some(0));
    let before = yard.tree("results");
    let again = yard.run(&args);
    assert!(again.out.contains("0 to do, 3 already finished"), "{again:?}");
    before.assert_same(&yard.tree("results"), "done twice");

    yard.design("trough.toml", "1.5 Ah");
    let changed = yard.run(&args);
    assert!(changed.out.contains("1 to do, 2 already finished"), "{changed:?}");
    assert_eq!(changed.code, Some(0), "{changed:?}");
    assert!(before != yard.tree("results"));

    yard.design("trough.toml", "1 Ah");
    assert_eq!(yard.run(&args).code, Some(0));
    before.assert_same(&yard.tree("results"), "changed there and back");

    let other_seed = yard.run(&["batch", "designs", "--trials", "48", "--seed", "2"]);
    assert!(other_seed.out.contains("3 to do"), "{other_seed:?}");
    std::fs::write(yard.path("results/lower/basin/tally"), b"spoilt").unwrap();
    let spoilt = yard.run(&["batch", "designs", "--trials", "48", "--seed", "2"]);
    assert!(spoilt.out.contains("1 to do, 2 already finished"), "{spoilt:?}");
}

#[test]
fn broken_designs_are_reported_and_the_rest_is_done() {
    let yard = Yard::of_three();
    yard.file("broken.toml", "title = \"broken\n");
    yard.file(
        "nowhere.toml",
        &std::fs::read_to_string(yard.path("designs/trough.toml"))
            .unwrap()
            .replace("fenholm.csv.gz", "atlantis.csv.gz"),
    );
    yard.file("valley.toml", "[place]\nlatitude = \"50 deg\"\n[months]\n");
    let said = yard.run(&["batch", "designs", "--trials", "16"]);
    assert_eq!(said.code, Some(1), "{said:?}");
    assert!(said.err.contains("designs/broken.toml:1") && said.err.contains("atlantis"), "{said:?}");
    assert!(said.out.contains("valley.toml: skipped: a climate"), "{said:?}");
    assert!(said.out.contains("3 finished, 2 failed"), "{said:?}");
    let page = std::fs::read_to_string(yard.path("results/index.html")).unwrap();
    let (failed, ranking) = (page.find("id=\"failed\"").unwrap(), page.find("id=\"ranking\"").unwrap());
    assert!(ranking < failed, "problems come after the ranking");
    assert!(page.contains("broken.toml:1:16"), "with the place");
    let folder = yard.path("designs").display().to_string();
    assert!(!page.contains(&folder), "results name nothing outside of the folder");
    crate::browser::holds(&yard.path("results/index.html"));
}

#[test]
fn invalid_command_lines_are_refused() {
    let yard = Yard::of_three();
    let gone = yard.run(&["batch", "no-such-folder"]);
    assert_eq!(gone.code, Some(2), "{gone:?}");
    assert!(gone.err.contains("no-such-folder"), "{gone:?}");
    let until = yard.run(&["batch", "designs", "--until", "0.5", "--part", "1/2"]);
    assert_eq!(until.code, Some(2), "{until:?}");
    assert!(until.err.contains("--part cannot be used with --until"), "{until:?}");
    assert_eq!(yard.run(&["batch", "designs", "--part", "3/2"]).code, Some(2));
    let empty = Yard::new().run(&["batch", "designs"]);
    assert_eq!(empty.code, Some(1), "{empty:?}");
    assert!(empty.err.contains("no design (*.toml)"), "{empty:?}");
}

#[test]
fn until_stops_when_it_is_known_well_enough() {
    let yard = Yard::new();
    yard.design("basin.toml", "0.5 Ah");
    let said = yard.run(&["batch", "designs", "--until", "3", "--quiet"]);
    assert_eq!(said.code, Some(0), "{said:?}");
    let morning: serde_json::Value =
        serde_json::from_slice(&std::fs::read(yard.path("results/summary.json")).unwrap()).unwrap();
    let row = &morning["designs"][0];
    let trials = row["trials"].as_u64().unwrap();
    assert!(trials >= 256 && trials.is_multiple_of(128), "{row}");
    assert!(row["still_days_per_month"]["se"].as_f64().unwrap() * 1.96 <= 3.0, "{row}");
}

/// Odd file names, as users and their file systems make them.
#[cfg(unix)]
#[test]
fn odd_names_are_served() {
    use std::os::unix::ffi::OsStrExt as _;
    let yard = Yard::new();
    let names: [&[u8]; 5] = [
        b"two words.toml",
        b"\"><script>alert(1)<.toml",
        "li\u{202e}ne\nfeed.toml".as_bytes(),
        b"latin-\xe4.toml",
        b"..dots..toml",
    ];
    let from = yard.design("plain.toml", "1 Ah");
    for name in names {
        let copy = yard.path("designs").join(std::ffi::OsStr::from_bytes(name));
        std::fs::copy(&from, copy).unwrap();
    }
    let long = yard.path("designs").join("n".repeat(246) + ".toml");
    std::fs::copy(&from, long).unwrap();
    let said = yard.run(&["batch", "designs", "--trials", "16"]);
    assert_eq!(said.code, Some(0), "{said:?}");
    assert!(!said.out.contains('\u{202e}'), "{said:?}");
    let page = std::fs::read_to_string(yard.path("results/index.html")).unwrap();
    assert!(page.contains("%22%3E%3Cscript%3Ealert%281%29%3C/report.html"));
    assert!(!page.contains("<script>alert"));
    crate::browser::holds(&yard.path("results/index.html"));
    // One dot at the front hides a file; two do as well.
    assert!(!yard.path("results/..dots.").exists());
    assert_eq!(yard.run(&["batch", "designs", "--trials", "16", "--quiet"]).code, Some(0));
}
