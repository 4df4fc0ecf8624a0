//! Files made to do harm: too large, or with links and paths that lead out of their folder.

use crate::batch::Yard;
use std::path::Path;
use stilldays::{design, weather};

#[test]
fn sixty_four_gigabytes_of_toml_are_refused_unread() {
    let file = tempfile::Builder::new().suffix(".toml").tempfile().unwrap();
    // Sparse: takes no room on the disk; whoever read it would not come back.
    file.as_file().set_len(64 << 30).unwrap();
    let shown = design::read(file.path()).unwrap_err().to_string();
    assert!(shown.contains("larger than 1000 kB: this is not a design file"), "{shown}");
    let shown = weather::invent::read(file.path()).unwrap_err().to_string();
    assert!(shown.contains("larger than 1 MB: this is not a climate file"), "{shown}");
}

/// A design may take its weather from any file that its owner can read; the path is shown as the design writes it.
#[cfg(unix)]
#[test]
fn weather_outside_of_the_folder_is_followed_and_shown_as_given() {
    let yard = Yard::new();
    let text = std::fs::read_to_string(yard.design("a.toml", "1 Ah")).unwrap();
    let fenholm = Path::new(env!("CARGO_MANIFEST_DIR")).join("weather/fenholm.csv.gz");
    std::fs::copy(&fenholm, yard.path("outside.csv.gz")).unwrap();
    std::os::unix::fs::symlink(yard.path("outside.csv.gz"), yard.path("designs/linked.csv.gz")).unwrap();
    let given = fenholm.display().to_string();
    let names = ["../outside.csv.gz", "linked.csv.gz", "../designs/../outside.csv.gz"];
    for (k, name) in names.iter().enumerate() {
        yard.file(&format!("b{k}.toml"), &text.replace(&given, name));
    }
    let said = yard.run(&["batch", "designs", "--trials", "16", "--quiet"]);
    assert_eq!(said.code, Some(0), "{said:?}");
    for (design, name) in ["b0", "b1", "b2", "a"].iter().zip(names.iter().copied().chain([given.as_str()])) {
        let bytes = std::fs::read(yard.path(&format!("results/{design}/summary.json"))).unwrap();
        let summary: serde_json::Value = serde_json::from_slice(&bytes).unwrap();
        assert_eq!(summary["weather"]["file"], name, "{design}");
        let page = std::fs::read_to_string(yard.path(&format!("results/{design}/report.html"))).unwrap();
        assert!(page.contains(name), "{design}: {name}");
    }
}

/// Whatever designs are called or link to, results stay in the results folder.
#[cfg(unix)]
#[test]
fn results_stay_in_their_folder() {
    use std::os::unix::fs::symlink;
    let yard = Yard::new();
    let design = yard.design("own.toml", "1 Ah");
    std::fs::create_dir_all(yard.path("elsewhere/deep")).unwrap();
    std::fs::copy(&design, yard.path("elsewhere/deep/far.toml")).unwrap();
    symlink(yard.path("elsewhere"), yard.path("designs/link")).unwrap();
    symlink(&design, yard.path("designs/alias.toml")).unwrap();
    let said = yard.run(&["batch", "designs", "--trials", "16", "--quiet"]);
    assert_eq!(said.code, Some(0), "{said:?}");
    for name in ["own", "alias", "link/deep/far"] {
        assert!(yard.path(&format!("results/{name}/seal.json")).exists(), "{name}");
    }
    assert_eq!(yard.tree("elsewhere").0.len(), 1, "nothing was written beside a design");
    assert_eq!(yard.tree("designs").0.len(), 3, "nor in the folder of designs");
}

/// An escape sequence in a name reaches neither the terminal nor the page.
#[cfg(unix)]
#[test]
fn names_that_steer_a_terminal_are_made_visible() {
    let yard = Yard::new();
    let name = "re\u{1b}[31md\u{9b}2J\u{202e}.toml";
    yard.file(name, "title = \"\u{202e}\u{9b}\"\nx = \u{85}\n");
    let said = yard.run(&["batch", "designs", "--trials", "16"]);
    assert_eq!(said.code, Some(1), "{said:?}");
    let run = yard.run(&["run", &format!("designs/{name}")]);
    let check = yard.run(&["check", &format!("designs/{name}"), "no-such-\u{1b}[31m.toml"]);
    for said in [said, run, check] {
        let control = |c: char| stilldays::source::is_terminal_control(c) && c != '\n';
        assert!(!said.err.contains(control) && !said.out.contains(control), "{said:?}");
        assert!(!said.err.is_empty());
    }
}
