//! The bad-input corpus as a whole: how large it is, and the climates in it. Designs and weather files
//! have their own runners (`designs.rs`, `weather_corpus.rs`).

use std::path::{Path, PathBuf};
use stilldays::weather::invent::read;

fn files(folder: &str) -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests").join(folder);
    let mut files: Vec<PathBuf> =
        std::fs::read_dir(folder).into_iter().flatten().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    files
}

/// Each names the expected message in its first line.
#[test]
fn every_bad_climate_is_refused_in_the_words_it_states() {
    let files = files("climates/bad");
    for path in &files {
        let text = std::fs::read_to_string(path).unwrap();
        let expected = text.lines().next().and_then(|line| line.strip_prefix("# expected: "));
        let expected = expected.unwrap_or_else(|| panic!("{} states no words", path.display()));
        let shown = match read(path) {
            Ok(_) => panic!("{} was taken", path.display()),
            Err(problems) => problems.to_string(),
        };
        assert!(shown.contains(expected), "{}: expected `{expected}`, got\n{shown}", path.display());
        let name = path.file_name().unwrap().to_string_lossy();
        assert!(shown.contains(&*name), "{name} is not named in\n{shown}");
    }
    assert!(files.len() >= 28, "{}", files.len());
}

/// Designs and shelves come as many cases to a file, split by `+++`; each is a file of its own to the reader.
#[test]
fn the_corpus_has_at_least_150_bad_files() {
    let cases = |folder: &str| -> usize {
        let texts = files(folder).into_iter().map(|path| std::fs::read_to_string(path).unwrap());
        texts.map(|text| text.split("+++\n").count()).sum()
    };
    let (designs, shelves) = (cases("designs/bad"), cases("shelves/bad"));
    let (climates, weather) = (files("climates/bad").len(), files("weather/bad").len());
    let all = designs + shelves + climates + weather;
    println!("{designs} designs, {shelves} shelves, {climates} climates, {weather} weather files: {all}");
    // Tallies and checkpoints are damaged in memory (`batch/damage.rs`, 18 kinds with their words).
    assert!(all >= 150, "{all}");
}
