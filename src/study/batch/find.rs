//! Finds the designs in a folder and its subfolders.

use crate::design;
use crate::source::{Problem, Problems};
use serde::Serialize;
use std::collections::HashSet;
use std::io;
use std::path::{Path, PathBuf};

/// A design file found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Candidate {
    /// Its name: path relative to the folder, with `/`.
    pub file: String,
    /// Its folder for results, relative to that of the batch: the same without `.toml`.
    pub results: PathBuf,
    /// Path to open it by.
    pub path: PathBuf,
}

/// A file or folder that was ignored, and why.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct PassedOver {
    /// Relative to the folder.
    pub file: String,
    /// Why.
    pub reason: String,
}

/// What was found in a folder.
#[derive(Clone, Debug, Default)]
pub(crate) struct Found {
    /// Designs, sorted by path.
    pub designs: Vec<Candidate>,
    /// Ignored, though it might have been meant.
    pub passed_over: Vec<PassedOver>,
    /// Folders that could not be searched, and designs whose names are not allowed.
    pub refused: Vec<(String, Problems)>,
}

/// Names of the batch's own files. A design with such a name is refused: its results would go there.
pub(crate) const OWN_NAMES: [&str; 11] = [
    "index.html",
    "ranking.csv",
    "summary.json",
    "report.html",
    "months.csv",
    "distributions.csv",
    "tally",
    "seal.json",
    "checkpoint",
    "part",
    "part.json",
];

/// Finds every `*.toml` in `folder` and its subfolders that may be a design. Hidden files and folders and the folder
/// `results` are skipped; climates and shelves are ignored. Links to folders are followed, each folder once.
///
/// # Errors
/// `folder` itself cannot be read.
pub(crate) fn designs(folder: &Path, results: &Path) -> io::Result<Found> {
    let mut found = Found::default();
    let mut seen: HashSet<PathBuf> = HashSet::from([folder.canonicalize()?]);
    let results = results.canonicalize().ok();
    seen.extend(results.clone());
    std::fs::read_dir(folder)?;
    // Real folders first, so that a folder also reached through a link keeps its own name.
    let (mut real, mut linked) = (vec![PathBuf::new()], Vec::<PathBuf>::new());
    loop {
        let below = match (real.pop(), linked.is_empty()) {
            (Some(below), _) => below,
            (None, false) => linked.remove(0),
            (None, true) => break,
        };
        let here = folder.join(&below);
        if !below.as_os_str().is_empty() {
            match here.canonicalize() {
                Ok(at) if seen.insert(at.clone()) => {}
                // Results of an earlier batch are not designs: skipped silently.
                Ok(at) if Some(&at) == results.as_ref() => continue,
                Ok(_) => {
                    found.pass_over(&below, "a link to a folder that is searched already");
                    continue;
                }
                Err(e) => {
                    found.refuse(&below, format!("the folder cannot be searched: {e}"));
                    continue;
                }
            }
        }
        match entries(&here) {
            Ok(entries) => {
                for (name, kind) in entries {
                    let below = below.join(name);
                    match kind {
                        Kind::Folder => real.push(below),
                        Kind::Link => linked.push(below),
                        Kind::File => found.take(folder, below),
                        Kind::Odd => found.pass_over(&below, "not a regular file"),
                    }
                }
            }
            Err(e) => found.refuse(&below, format!("the folder cannot be searched: {e}")),
        }
    }
    found.designs.sort_by(|a, b| a.results.cmp(&b.results));
    found.passed_over.sort_by(|a, b| a.file.cmp(&b.file));
    found.refused.sort_by(|a, b| a.0.cmp(&b.0));
    Ok(found)
}

enum Kind {
    Folder,
    Link,
    File,
    Odd,
}

/// Subfolders and TOML files of a folder, sorted by name.
fn entries(folder: &Path) -> io::Result<Vec<(std::ffi::OsString, Kind)>> {
    let mut list = Vec::new();
    for entry in std::fs::read_dir(folder)? {
        let entry = entry?;
        let name = entry.file_name();
        if name.as_encoded_bytes().starts_with(b".") {
            continue;
        }
        let is_toml = Path::new(&name).extension().is_some_and(|e| e == "toml");
        let link = entry.file_type()?.is_symlink();
        let kind = match std::fs::metadata(entry.path()) {
            Ok(meta) if meta.is_dir() && link => Kind::Link,
            Ok(meta) if meta.is_dir() => Kind::Folder,
            Ok(meta) if meta.is_file() && is_toml => Kind::File,
            Ok(_) if is_toml => Kind::Odd,
            // A broken link: opening it gives the error.
            Err(_) if is_toml => Kind::File,
            _ => continue,
        };
        list.push((name, kind));
    }
    list.sort_by(|a, b| a.0.cmp(&b.0));
    Ok(list)
}

impl Found {
    fn take(&mut self, folder: &Path, below: PathBuf) {
        let path = folder.join(&below);
        let results = below.with_extension("");
        if let Some(what) = other_kind(&path) {
            self.pass_over(&below, what);
        } else if let Some(own) = results.file_name().and_then(|n| OWN_NAMES.iter().find(|own| n == **own)) {
            let why =
                format!("its results would lie where the batch writes its own `{own}`: rename the design");
            self.refuse(&below, why);
        } else {
            self.designs.push(Candidate { file: shown(&below), results, path });
        }
    }

    fn pass_over(&mut self, below: &Path, reason: &str) {
        self.passed_over.push(PassedOver { file: shown(below), reason: reason.to_owned() });
    }

    fn refuse(&mut self, below: &Path, why: String) {
        let file = shown(below);
        let problem = Problem::error(why).in_file(&file);
        self.refused.push((file, problem.into()));
    }
}

/// A relative path with `/`, on every system.
fn shown(below: &Path) -> String {
    let parts: Vec<_> = below.components().map(|c| c.as_os_str().to_string_lossy()).collect();
    parts.join("/")
}

/// What a TOML file is, if it is clearly not a design.
fn other_kind(path: &Path) -> Option<&'static str> {
    let bytes = crate::disk::read::at_most(path, design::SIZE_MAX).ok()?;
    Some(design::OtherKind::of_text(&String::from_utf8(bytes).ok()?)?.words())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tree(files: &[(&str, &str)]) -> tempfile::TempDir {
        let dir = tempfile::tempdir().unwrap();
        for (name, text) in files {
            let path = dir.path().join(name);
            std::fs::create_dir_all(path.parent().unwrap()).unwrap();
            std::fs::write(path, text).unwrap();
        }
        dir
    }

    #[test]
    fn designs_are_found_below_sorted_and_others_passed_over() {
        let dir = tree(&[
            ("b.toml", "title = \"b\""),
            ("a/one.toml", "[site]\n"),
            ("a.toml", "not toml at all ["),
            ("a/climate.toml", "[place]\n[months]\n"),
            ("shelf.toml", "[[shelf.panel]]\n"),
            ("notes.txt", ""),
            (".hidden/c.toml", ""),
            ("results/d.toml", ""),
            ("sub/summary.json.toml", ""),
        ]);
        let found = designs(dir.path(), &dir.path().join("results")).unwrap();
        let files: Vec<&str> = found.designs.iter().map(|c| c.file.as_str()).collect();
        assert_eq!(files, ["a.toml", "a/one.toml", "b.toml"]);
        let passed: Vec<&str> = found.passed_over.iter().map(|p| p.file.as_str()).collect();
        assert_eq!(passed, ["a/climate.toml", "shelf.toml"]);
        assert_eq!(found.refused.len(), 1);
        assert!(found.refused[0].1.to_string().contains("rename the design"), "{}", found.refused[0].1);
    }

    #[cfg(unix)]
    #[test]
    fn links_are_followed_once_and_circles_end() {
        use std::os::unix::fs::symlink;
        let dir = tree(&[("z/one.toml", ""), ("far/away.toml", "")]);
        let folder = dir.path().join("z");
        symlink(&folder, folder.join("again")).unwrap();
        symlink("..", folder.join("up")).unwrap();
        symlink("nowhere", folder.join("gone.toml")).unwrap();
        let found = designs(&folder, "results".as_ref()).unwrap();
        let files: Vec<&str> = found.designs.iter().map(|c| c.file.as_str()).collect();
        assert_eq!(files, ["gone.toml", "one.toml", "up/far/away.toml"]);
        let passed: Vec<&str> = found.passed_over.iter().map(|p| p.file.as_str()).collect();
        assert_eq!(passed, ["again", "up/z"], "{:?}", found.passed_over);
    }
}
