//! Files written whole or not at all.
//!
//! Every file of a result is first written in full to a temporary name in the same folder and
//! synced; only when all are there are they renamed, one after another. A reader never meets half a file.

use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

/// A file to be written: name within the folder, and content.
pub type File<'a> = (&'a str, Vec<u8>);

/// Why results could not be written, and what can be relied on.
#[derive(Debug, thiserror::Error)]
#[error("cannot {doing} {}: {source}\n  {}", path.display(), safe(renamed, path))]
pub struct WriteError {
    /// What failed: "make the folder", "write", "rename to".
    pub doing: &'static str,
    /// The path it failed on.
    pub path: PathBuf,
    /// New files already in place.
    pub renamed: Vec<PathBuf>,
    /// What the system says.
    #[source]
    pub source: io::Error,
}

fn safe(renamed: &[PathBuf], failed: &Path) -> String {
    if renamed.is_empty() {
        return "nothing was changed: files that were there before are as they were".to_owned();
    }
    let names: Vec<String> = renamed.iter().map(|p| p.display().to_string()).collect();
    format!(
        "new and complete: {}; not changed: {} and the files after it",
        names.join(", "),
        failed.display()
    )
}

/// Writes all `files` into `folder` (made if absent). Gives back their paths, in order.
///
/// # Errors
/// With the path, the cause, and what is safe; temporary files are removed.
pub fn all(folder: &Path, files: &[File]) -> Result<Vec<PathBuf>, WriteError> {
    let fail = |doing, path: &Path, renamed: &[PathBuf], source| WriteError {
        doing,
        path: path.to_owned(),
        renamed: renamed.to_vec(),
        source,
    };
    std::fs::create_dir_all(folder).map_err(|e| fail("make the folder", folder, &[], e))?;
    let mut ready = Vec::with_capacity(files.len());
    for (name, content) in files {
        let path = folder.join(name);
        let temporary = temporary(folder, content).map_err(|e| fail("write", &path, &[], e))?;
        ready.push((path, temporary));
    }
    let mut renamed = Vec::with_capacity(files.len());
    for (path, temporary) in ready {
        temporary.persist(&path).map_err(|e| fail("rename to", &path, &renamed, e.error))?;
        renamed.push(path);
    }
    sync_folder(folder);
    Ok(renamed)
}

/// Writes one file, as [`all`] does.
///
/// # Errors
/// As [`all`].
pub fn one(path: &Path, content: Vec<u8>) -> Result<(), WriteError> {
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let Some(name) = path.file_name().and_then(|n| n.to_str()) else {
        let source = io::Error::new(io::ErrorKind::InvalidInput, "not a file name");
        return Err(WriteError { doing: "write", path: path.to_owned(), renamed: Vec::new(), source });
    };
    all(folder, &[(name, content)]).map(drop)
}

fn temporary(folder: &Path, content: &[u8]) -> io::Result<tempfile::NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".stilldays-").suffix(".part");
    // Temporary files are private by default; results are as open as the user's umask lets them be.
    #[cfg(unix)]
    let mode = std::os::unix::fs::PermissionsExt::from_mode(0o666);
    #[cfg(unix)]
    builder.permissions(mode);
    let mut file = builder.tempfile_in(folder)?;
    file.write_all(content)?;
    file.as_file().sync_all()?;
    Ok(file)
}

/// Makes the renames last through a loss of power. Some file systems refuse to sync a folder;
/// the files themselves are whole either way.
fn sync_folder(folder: &Path) {
    #[cfg(unix)]
    if let Ok(dir) = std::fs::File::open(folder) {
        let _ = dir.sync_all();
    }
    #[cfg(not(unix))]
    let _ = folder;
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_shorter_file_leaves_no_tail_of_the_old_one() {
        let dir = tempfile::tempdir().unwrap();
        all(dir.path(), &[("a.csv", b"0123456789".to_vec())]).unwrap();
        all(dir.path(), &[("a.csv", b"abc".to_vec())]).unwrap();
        assert_eq!(std::fs::read(dir.path().join("a.csv")).unwrap(), b"abc");
        assert_eq!(std::fs::read_dir(dir.path()).unwrap().count(), 1, "no temporary file is left");
    }

    #[test]
    fn a_failure_says_what_is_safe_and_leaves_no_litter() {
        let dir = tempfile::tempdir().unwrap();
        std::fs::create_dir(dir.path().join("b.csv")).unwrap(); // a folder in the way of the second file
        let files = [("a.csv", b"new".to_vec()), ("b.csv", b"new".to_vec())];
        let error = all(dir.path(), &files).unwrap_err();
        let text = error.to_string();
        assert!(text.starts_with("cannot rename to "), "{text}");
        assert!(text.contains("new and complete: ") && text.contains("a.csv"), "{text}");
        assert_eq!(std::fs::read_dir(dir.path()).unwrap().count(), 2);
    }

    #[test]
    fn a_folder_that_cannot_be_made_is_named() {
        let dir = tempfile::tempdir().unwrap();
        let file = dir.path().join("plain");
        one(&file, b"x".to_vec()).unwrap();
        let text = all(&file.join("sub"), &[]).unwrap_err().to_string();
        assert!(text.contains("cannot make the folder") && text.contains("nothing was changed"), "{text}");
    }
}
