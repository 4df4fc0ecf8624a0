//! Dependencies: each has a reason in DEVELOPERS.md, comes from the registry, and has a licence that is compatible with
//! ours.

use std::path::Path;
use std::process::Command;

fn text(name: &str) -> String {
    std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(name)).unwrap()
}

#[test]
fn each_dependency_is_justified() {
    let manifest: toml::Table = text("Cargo.toml").parse().unwrap();
    let reasons = text("DEVELOPERS.md");
    let (_, reasons) = reasons.split_once("## Dependencies").unwrap();
    let mut crates = 0;
    for table in ["dependencies", "dev-dependencies"] {
        for name in manifest[table].as_table().unwrap().keys() {
            assert!(reasons.contains(&format!("`{name}`")), "{name} has no line in DEVELOPERS.md");
            crates += 1;
        }
    }
    println!("{crates} crates");
    assert!(crates > 20);
}

#[test]
fn every_crate_comes_from_the_registry_with_its_checksum() {
    for lock in ["Cargo.lock", "tests/fuzz/Cargo.lock"] {
        let lock: toml::Table = text(lock).parse().unwrap();
        let packages = lock["package"].as_array().unwrap();
        for package in packages {
            let name = package["name"].as_str().unwrap();
            let source = package.get("source").and_then(toml::Value::as_str);
            let own = name.starts_with("stilldays") && source.is_none();
            let registry = source.is_some_and(|s| s.starts_with("registry+"));
            assert!(own || registry && package.get("checksum").is_some(), "{name}: {source:?}");
        }
        assert!(packages.len() > 50);
    }
}

/// Licences that may be combined with MIT and Apache-2.0 in one binary; the list is also in `.ci/deny.toml`.
const LICENCES: [&str; 7] =
    ["MIT", "Apache-2.0", "Apache-2.0 WITH LLVM-exception", "Unlicense", "Zlib", "0BSD", "Unicode-3.0"];

#[test]
fn licences_go_with_ours() {
    let cargo = |args: &[&str]| {
        let output = Command::new(env!("CARGO")).args(args).current_dir(env!("CARGO_MANIFEST_DIR")).output();
        let output = output.unwrap();
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8(output.stdout).unwrap()
    };
    let version = cargo(&["-vV"]);
    let host = version.lines().find_map(|l| l.strip_prefix("host: ")).unwrap();
    let args = ["metadata", "--locked", "--offline", "--format-version", "1", "--filter-platform", host];
    let metadata: serde_json::Value = serde_json::from_str(&cargo(&args)).unwrap();
    let packages = metadata["packages"].as_array().unwrap();
    for package in packages {
        let licence = package["license"].as_str().unwrap_or("none stated");
        // `A OR B` needs one of them, `(…) AND C` all; a slash is an old way to write OR.
        let fits = licence
            .replace('/', " OR ")
            .replace(['(', ')'], "")
            .split(" AND ")
            .all(|part| part.split(" OR ").any(|choice| LICENCES.contains(&choice.trim())));
        assert!(fits, "{}: {licence}", package["name"]);
    }
    println!("{} packages", packages.len());
    assert!(packages.len() > 50);
    let deny = text(".ci/deny.toml");
    assert!(LICENCES.iter().all(|l| deny.contains(&format!("\"{l}\""))));
}
