//! Parts from several machines, combined.

use super::Yard;

fn part(yard: &Yard, share: &str, out: &str) {
    let said = yard.run(&["batch", "designs", "--trials", "200", "--part", share, "--out", out, "--quiet"]);
    assert_eq!(said.code, Some(0), "{said:?}");
}

#[test]
fn parts_come_to_the_bytes_of_one_machine() {
    let yard = Yard::of_three();
    let whole = yard.undisturbed("200");
    for k in 1..=3 {
        part(&yard, &format!("{k}/3"), if k == 2 { "elsewhere" } else { "here" });
    }
    // The folder may lie elsewhere, under another path.
    std::fs::rename(yard.path("designs"), yard.path("moved")).unwrap();
    let lost = yard.run(&["gather", "here", "elsewhere", "--out", "joined"]);
    assert_eq!(lost.code, Some(2), "{lost:?}");
    assert!(lost.err.contains("--designs"), "{lost:?}");
    std::fs::create_dir(yard.path("deep")).unwrap();
    std::fs::rename(yard.path("moved"), yard.path("deep/designs")).unwrap();
    let said = yard.run(&["gather", "here", "elsewhere", "--designs", "deep/designs", "--out", "joined"]);
    assert_eq!(said.code, Some(0), "{said:?}");
    whole.assert_same(&yard.tree("joined"), "three parts");
}

#[test]
fn more_parts_than_blocks_are_no_trouble() {
    let yard = Yard::new();
    yard.design("basin.toml", "0.5 Ah");
    let whole = yard.undisturbed("30");
    for k in 1..=4 {
        let share = format!("{k}/4");
        let args = ["batch", "designs", "--trials", "30", "--part", &share, "--quiet"];
        assert_eq!(yard.run(&args).code, Some(0));
    }
    let said = yard.run(&["gather", "results", "--out", "joined", "--quiet"]);
    assert_eq!(said.code, Some(0), "{said:?}");
    whole.assert_same(&yard.tree("joined"), "four parts of two blocks");
}

/// Two parts of three: results of their trials, which say that they are not all; and the whole later, as if nothing had been.
#[test]
fn what_there_is_can_be_gathered_before_all_is_done() {
    let yard = Yard::of_three();
    let whole = yard.undisturbed("200");
    part(&yard, "1/3", "here");
    part(&yard, "3/3", "here");
    let said = yard.run(&["gather", "here", "--out", "joined", "--so-far"]);
    assert_eq!(said.code, Some(1), "something is left to do: {said:?}");
    let summary = |name: &str| -> serde_json::Value {
        serde_json::from_slice(&std::fs::read(yard.path(name)).unwrap()).unwrap()
    };
    let so_far = summary("joined/summary.json");
    let half = |s: &serde_json::Value| s["season"]["still_days_per_month"]["se"].as_f64().unwrap();
    let unfinished = so_far["unfinished"].as_array().unwrap();
    assert_eq!(unfinished.len(), 3);
    for left in unfinished {
        let row =
            so_far["designs"].as_array().unwrap().iter().find(|row| row["file"] == left["file"]).unwrap();
        let trials = row["trials"].as_u64().unwrap();
        assert!((100..200).contains(&trials), "{trials}");
        assert_eq!(left["trials_done"].as_u64(), Some(trials));
    }
    assert!(
        said.err.contains("of 200 trials so far") && said.out.contains("0 finished, 3 left to do"),
        "{said:?}"
    );
    let (few, all) = (summary("joined/trough/summary.json"), summary("undisturbed/trough/summary.json"));
    assert!(half(&few) > half(&all), "fewer trials, larger error");

    part(&yard, "2/3", "here");
    let said = yard.run(&["gather", "here", "--out", "joined"]);
    assert_eq!(said.code, Some(0), "{said:?}");
    whole.assert_same(&yard.tree("joined"), "after a look at what there was");
}

#[test]
fn what_is_missing_or_doubled_or_does_not_fit_is_named_and_nothing_is_written() {
    let yard = Yard::of_three();
    part(&yard, "1/3", "a");
    part(&yard, "3/3", "a");
    part(&yard, "3/3", "b");
    let missing = yard.run(&["gather", "a", "--out", "joined"]);
    assert_eq!(missing.code, Some(1), "{missing:?}");
    assert!(missing.err.contains("missing: part 2 of 3"), "{missing:?}");
    let doubled = yard.run(&["gather", "a", "b", "--out", "joined"]);
    assert!(doubled.err.contains("part 3/3 is a duplicate: a/part-3-of-3 and b/part-3-of-3"), "{doubled:?}");
    assert!(!yard.path("joined").exists());

    part(&yard, "2/3", "a");
    // One design changed after the parts were made.
    yard.design("trough.toml", "9 Ah");
    // One part of another damaged, of a third gone.
    std::fs::write(yard.path("a/part-2-of-3/lower/basin/part"), b"stlcheck").unwrap();
    std::fs::remove_file(yard.path("a/part-1-of-3/lower/trough/part")).unwrap();
    let said = yard.run(&["gather", "a", "--out", "joined"]);
    assert_eq!(said.code, Some(1), "{said:?}");
    for text in [
        "part 1/3 (a/part-1-of-3): made from another text of the design",
        "part 2/3 (a/part-2-of-3): a checkpoint with too few or too many bytes",
        "part 1/3 (a/part-1-of-3): it has no results of this design",
        "0 finished, 3 failed",
    ] {
        assert!(said.err.contains(text) || said.out.contains(text), "{text} in {said:?}");
    }
    let again = yard.run(&["batch", "designs", "--trials", "200", "--part", "2/3", "--out", "a"]);
    assert!(again.err.contains("lower/basin.toml: the checkpoint cannot be used"), "{again:?}");
}
