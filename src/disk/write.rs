//! Writes files whole or not at all.
//!
//! Every file is first written under a temporary name in the same folder and synced. Only when all files are complete are
//! they renamed, one after another. So a reader never sees half a file.

use std::io::{self, Write as _};
use std::path::{Path, PathBuf};
use tempfile::NamedTempFile;

/// A file to be written: name within the folder, and content.
pub type File<'a> = (&'a str, Vec<u8>);

/// What writing asks of the system. The methods do it; a test puts in one of its own that fails.
pub trait Disk: Sync {
    /// Makes a folder and those above it.
    ///
    /// # Errors
    /// Of the system.
    fn make_folder(&self, folder: &Path) -> io::Result<()> {
        std::fs::create_dir_all(folder)
    }

    /// Fills a new file and waits until it lies on the disk.
    ///
    /// # Errors
    /// Of the system.
    fn fill(&self, file: &mut std::fs::File, content: &[u8]) -> io::Result<()> {
        file.write_all(content)?;
        file.sync_all()
    }

    /// Gives a full file its final name, in place of whatever bore it.
    ///
    /// # Errors
    /// Of the system.
    fn rename(&self, temporary: NamedTempFile, path: &Path) -> io::Result<()> {
        temporary.persist(path).map(drop).map_err(|e| e.error)
    }

    /// Removes a file; one that is not there is as good.
    ///
    /// # Errors
    /// Of the system.
    fn remove(&self, path: &Path) -> io::Result<()> {
        match std::fs::remove_file(path) {
            Err(e) if e.kind() != io::ErrorKind::NotFound => Err(e),
            _ => Ok(()),
        }
    }
}

/// The system's own.
#[derive(Clone, Copy, Debug)]
pub struct Real;
impl Disk for Real {}

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

impl WriteError {
    /// Whether whatever is written next will most likely fail as well: full, or not to be written at all.
    pub(crate) fn is_of_the_whole_disk(&self) -> bool {
        use io::ErrorKind::{QuotaExceeded, ReadOnlyFilesystem, StorageFull};
        matches!(self.source.kind(), StorageFull | QuotaExceeded | ReadOnlyFilesystem)
    }
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
    all_on(&Real, folder, files)
}

/// The same on a disk of one's own.
///
/// # Errors
/// As [`all`].
pub(crate) fn all_on(disk: &dyn Disk, folder: &Path, files: &[File]) -> Result<Vec<PathBuf>, WriteError> {
    let fail = |doing, path: &Path, renamed: &[PathBuf], source| WriteError {
        doing,
        path: path.to_owned(),
        renamed: renamed.to_vec(),
        source,
    };
    disk.make_folder(folder).map_err(|e| fail("make the folder", folder, &[], e))?;
    let mut ready = Vec::with_capacity(files.len());
    for (name, content) in files {
        let path = folder.join(name);
        let temporary = temporary(disk, folder, content).map_err(|e| fail("write", &path, &[], e))?;
        ready.push((path, temporary));
    }
    let mut renamed = Vec::with_capacity(files.len());
    for (path, temporary) in ready {
        disk.rename(temporary, &path).map_err(|e| fail("rename to", &path, &renamed, e))?;
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

/// Temporary names begin so ...
const PREFIX: &str = ".stilldays-";
/// ... and end so.
const SUFFIX: &str = ".part";

/// Removes what killed writers left in a folder. Only for who holds the folder: the files of a
/// writer still at work look the same.
pub(crate) fn sweep(folder: &Path) {
    let Ok(entries) = std::fs::read_dir(folder) else { return };
    for entry in entries.flatten() {
        let name = entry.file_name();
        if name.to_str().is_some_and(|n| n.starts_with(PREFIX) && n.ends_with(SUFFIX)) {
            // Litter that cannot be removed is no reason to fail.
            let _ = std::fs::remove_file(entry.path());
        }
    }
}

fn temporary(disk: &dyn Disk, folder: &Path, content: &[u8]) -> io::Result<NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(PREFIX).suffix(SUFFIX);
    // Temporary files are private by default; results are as open as the user's umask lets them be.
    #[cfg(unix)]
    let mode = std::os::unix::fs::PermissionsExt::from_mode(0o666);
    #[cfg(unix)]
    builder.permissions(mode);
    let mut file = builder.tempfile_in(folder)?;
    disk.fill(file.as_file_mut(), content)?;
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
    fn litter_of_the_killed_is_swept_and_nothing_else() {
        let dir = tempfile::tempdir().unwrap();
        for name in [".stilldays-Ab12.part", "mine.part", ".stilldays-notes"] {
            std::fs::write(dir.path().join(name), b"x").unwrap();
        }
        sweep(dir.path());
        assert!(!dir.path().join(".stilldays-Ab12.part").exists());
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
