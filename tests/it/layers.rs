//! Rules that the compiler does not check: data flows one way, files stay small, and `unsafe` occurs only where it must.

use std::fs;
use std::path::{Path, PathBuf};

/// Modules in the order of the flow (`src/lib.rs`): each uses only those before it.
const FLOW: [&str; 15] = [
    "units", "source", "disk", "seed", "lanes", "design", "sky", "weather", "logbook", "plant", "tally",
    "study", "learn", "report", "fountain",
];
/// Lines a file of `src` may have.
const LINES_MAX: usize = 600;
/// The only files with `unsafe`: vector instructions of each kind of processor, and the allocator that tells when no memory is left.
const UNSAFE_IN: [&str; 3] = ["src/cli/memory.rs", "src/lanes/neon.rs", "src/lanes/x86.rs"];

/// All Rust files of `src`, with their text.
fn sources() -> Vec<(String, String)> {
    fn walk(dir: &Path, out: &mut Vec<PathBuf>) {
        for entry in fs::read_dir(dir).unwrap() {
            let path = entry.unwrap().path();
            match path.is_dir() {
                true => walk(&path, out),
                false => out.push(path),
            }
        }
    }
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut paths = Vec::new();
    walk(&root.join("src"), &mut paths);
    let mut files: Vec<(String, String)> = paths
        .into_iter()
        .filter(|p| p.extension().is_some_and(|e| e == "rs"))
        // Unit tests in files of their own may look anywhere.
        .filter(|p| !p.ends_with("tests.rs") && !p.components().any(|c| c.as_os_str() == "tests"))
        .map(|p| (p.strip_prefix(root).unwrap().display().to_string(), fs::read_to_string(&p).unwrap()))
        .collect();
    files.sort();
    assert!(files.len() > 30, "{} files", files.len());
    files
}

/// The text without comments and without its unit tests (which may look anywhere).
fn code(text: &str) -> String {
    let tested = text.find("#[cfg(test)]\nmod tests {").unwrap_or(text.len());
    text[..tested].lines().map(|l| l.split("//").next().unwrap_or_default()).collect::<Vec<_>>().join("\n")
}

/// Modules of the crate that a text names: `crate::x` and the names of `crate::{x, y::…}`.
fn uses(code: &str) -> Vec<String> {
    let name = |s: &str| s.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect::<String>();
    let mut found = Vec::new();
    for (at, _) in code.match_indices("crate::") {
        let rest = &code[at + "crate::".len()..];
        let Some(group) = rest.strip_prefix('{') else {
            found.push(name(rest));
            continue;
        };
        let mut depth = 0;
        let mut item = String::new();
        for c in group.chars() {
            match c {
                '{' => depth += 1,
                '}' if depth == 0 => break,
                '}' => depth -= 1,
                ',' if depth == 0 => found.push(name(std::mem::take(&mut item).trim())),
                _ if depth == 0 => item.push(c),
                _ => {}
            }
        }
        found.push(name(item.trim()));
    }
    found.retain(|n| !n.is_empty());
    found
}

#[test]
fn the_finder_finds() {
    let text =
        "use crate::sky::Place;\nuse crate::{units, weather::{Hour, day}, seed};\nlet x = crate::tally::y();";
    assert_eq!(uses(text), ["sky", "units", "weather", "seed", "tally"]);
}

#[test]
fn data_flows_one_way() {
    let mut wrong = Vec::new();
    let mut links = 0;
    for (path, text) in sources() {
        let module = path.trim_start_matches("src/").split(['/', '.']).next().unwrap_or_default().to_owned();
        let Some(here) = FLOW.iter().position(|m| *m == module) else {
            // The root and the binary, which may see everything.
            assert!(
                ["lib", "main", "cli"].contains(&module.as_str()),
                "{path} belongs to no module of the flow"
            );
            continue;
        };
        for used in uses(&code(&text)) {
            let Some(there) = FLOW.iter().position(|m| *m == used) else { continue };
            links += 1;
            if there > here {
                wrong.push(format!("{path} uses `{used}`, which comes after `{module}`"));
            }
        }
    }
    assert!(links > 20, "only {links} links seen: is the finder broken?");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_flow_is_the_one_in_the_crate_docs() {
    let (_, lib) = sources().into_iter().find(|(p, _)| p == "src/lib.rs").unwrap();
    let mut from = 0;
    for module in FLOW {
        let at =
            lib[from..].find(&format!("//! {module} ")).unwrap_or_else(|| panic!("{module} is not in order"));
        from += at;
    }
}

#[test]
fn files_stay_small_and_unsafe_in_its_place() {
    for (path, text) in sources() {
        let lines = text.lines().count();
        assert!(lines <= LINES_MAX, "{path} has {lines} lines");
        let unsafe_code = ["unsafe {", "unsafe fn", "unsafe impl", "unsafe extern", "unsafe("]
            .iter()
            .any(|form| code(&text).contains(form));
        assert!(!unsafe_code || UNSAFE_IN.contains(&path.as_str()), "{path} has unsafe code");
    }
}

/// Stepping is pure: no files, clocks, randomness or failures below `plant`. Only the binary prints. Streams of random
/// numbers are made in one file.
#[test]
fn each_thing_is_done_in_its_place() {
    let not_in = |prefix: &str, words: &[&str]| {
        for (path, text) in sources().into_iter().filter(|(p, _)| p.starts_with(prefix)) {
            for word in words {
                assert!(!code(&text).contains(word), "{path} has `{word}`");
            }
        }
    };
    not_in("src/plant/", &["std::fs", "std::time", "rand::", "Result<"]);
    for (path, text) in sources() {
        let code = code(&text);
        // Tests report the figures they measured; everything else leaves printing to the binary.
        let binary = path == "src/main.rs" || path.starts_with("src/cli") || path.ends_with("tests.rs");
        for word in ["println!", "print!", "eprintln!", "eprint!"] {
            assert!(binary || !code.contains(word), "{path} has `{word}`");
        }
        for word in ["from_seed(", "seed_from_u64(", "rand::rng()", "from_os_rng("] {
            assert!(path == "src/seed.rs" || !code.contains(word), "{path} has `{word}`");
        }
    }
}
