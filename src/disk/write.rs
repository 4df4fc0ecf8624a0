//! Writes files whole or not at all.
//!
//! Every file is first written under a temporary name in the same folder and synced. Only when all files are complete are
//! they renamed, one after another. So a reader never sees half a file.
//!
//! Files that are written together never stand beside older ones of the same set. Before the first is renamed, a record says what
//! is about to happen ([`RECORD`]), and the older files step aside. Whoever fails puts them back; what a killed program left undone is done by
//! the next one that holds the folder ([`tidy`]).

use super::{lock, read};
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
        std::fs::create_dir_all(folder).map_err(|e| in_the_way(folder).unwrap_or(e))
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

    /// Makes the renames in a folder last through a loss of power.
    ///
    /// # Errors
    /// Of the system, unless that says that folders cannot be synced there.
    fn sync_folder(&self, folder: &Path) -> io::Result<()> {
        if cfg!(not(unix)) {
            return Ok(());
        }
        match std::fs::File::open(folder).and_then(|folder| folder.sync_all()) {
            // Some file systems do not sync folders, and some folders may be written but not read.
            Err(e) if matches!(e.kind(), io::ErrorKind::InvalidInput | io::ErrorKind::Unsupported) => Ok(()),
            Err(e) if e.kind() == io::ErrorKind::PermissionDenied => Ok(()),
            synced => synced,
        }
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

/// What stands in the way of a folder, where the system only says that something exists.
fn in_the_way(folder: &Path) -> Option<io::Error> {
    let at = folder.ancestors().find(|p| p.symlink_metadata().is_ok())?;
    let why = match at.metadata() {
        Err(_) => "a link to a place that does not exist",
        Ok(found) if !found.is_dir() => "a file, not a folder",
        Ok(_) => return None,
    };
    Some(io::Error::new(io::ErrorKind::NotADirectory, format!("{} is {why}", at.display())))
}

/// The system's own.
#[derive(Clone, Copy, Debug)]
pub struct Real;
impl Disk for Real {}

/// Why results could not be written, and what can be relied on.
#[derive(Debug, thiserror::Error)]
#[error("cannot {doing} {}: {source}\n  {}", path.display(), safe(renamed, path))]
pub struct WriteError {
    /// What failed: "make the folder", "write", "rename to", "sync".
    pub doing: &'static str,
    /// The path it failed on.
    pub path: PathBuf,
    /// New files that are in place all the same.
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
    format!("new and complete: {}; not sure to last or not changed: {}", names.join(", "), failed.display())
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
        // A folder of that name is not moved away.
        if path.symlink_metadata().is_ok_and(|found| found.is_dir()) {
            let e = io::Error::new(io::ErrorKind::AlreadyExists, "a folder has that name");
            return Err(fail("rename to", &path, &[], e));
        }
        let temporary = temporary(disk, folder, content).map_err(|e| fail("write", &path, &[], e))?;
        ready.push((path, temporary));
    }
    let paths: Vec<PathBuf> = ready.iter().map(|(path, _)| path.clone()).collect();
    let change = match ready.len() {
        // A single file is renamed over the old one in one step.
        0 | 1 => None,
        _ => Some(
            Change::begin(disk, folder, &ready).map_err(|e| fail("write", &folder.join(RECORD), &[], e))?,
        ),
    };
    for (path, temporary) in ready {
        if let Err(e) = disk.rename(temporary, &path) {
            let renamed = change.map_or_else(Vec::new, Change::undo);
            return Err(fail("rename to", &path, &renamed, e));
        }
    }
    if let Some(change) = change {
        change.end();
    }
    disk.sync_folder(folder).map_err(|e| fail("sync", folder, &paths, e))?;
    Ok(paths)
}

/// Writes one file, as [`all`] does.
///
/// # Errors
/// As [`all`].
pub fn one(path: &Path, content: Vec<u8>) -> Result<(), WriteError> {
    let (folder, name) = folder_and_name(path)?;
    all(folder, &[(name, content)]).map(drop)
}

/// The folder that a file is to stand in, and its name there.
///
/// # Errors
/// It is no file's name, or none that is text.
pub fn folder_and_name(path: &Path) -> Result<(&Path, &str), WriteError> {
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    match path.file_name().and_then(|n| n.to_str()) {
        Some(name) => Ok((folder, name)),
        None => {
            let source = io::Error::new(io::ErrorKind::InvalidInput, "not a file name");
            Err(WriteError { doing: "write", path: path.to_owned(), renamed: Vec::new(), source })
        }
    }
}

/// Temporary names begin so ...
const PREFIX: &str = ".stilldays-";
/// ... and end so.
const SUFFIX: &str = ".part";

/// Name of the record of a change of several files: pairs of lines, a temporary name and the final one.
const RECORD: &str = ".stilldays-change";

/// A change of several files that is under way.
struct Change {
    record: PathBuf,
    /// Older files, where they stand aside (if there was one), and where they belong.
    older: Vec<(Option<PathBuf>, PathBuf)>,
}

impl Change {
    /// Records the change, and moves the older files out of the way. If it fails, nothing is changed.
    fn begin(disk: &dyn Disk, folder: &Path, ready: &[(PathBuf, NamedTempFile)]) -> io::Result<Change> {
        let mut text = String::new();
        for (path, temporary) in ready {
            for name in [temporary.path().file_name(), path.file_name()] {
                text += name.and_then(|n| n.to_str()).unwrap_or_default();
                text.push('\n');
            }
        }
        let record = folder.join(RECORD);
        disk.rename(self::temporary(disk, folder, text.as_bytes())?, &record)?;
        let mut change = Change { record, older: Vec::new() };
        for (k, (path, _)) in ready.iter().enumerate() {
            let aside = folder.join(format!("{PREFIX}older-{k}{SUFFIX}"));
            match std::fs::rename(path, &aside) {
                Ok(()) => change.older.push((Some(aside), path.clone())),
                Err(e) if e.kind() == io::ErrorKind::NotFound => change.older.push((None, path.clone())),
                Err(e) => {
                    change.undo();
                    return Err(e);
                }
            }
        }
        Ok(change)
    }

    /// All files are in place.
    fn end(self) {
        // What stays is litter: the next holder of the folder sweeps it.
        let _ = std::fs::remove_file(&self.record);
        for aside in self.older.iter().filter_map(|(aside, _)| aside.as_ref()) {
            let _ = std::fs::remove_file(aside);
        }
    }

    /// Puts the older files back. Gives the new ones for which that failed.
    fn undo(self) -> Vec<PathBuf> {
        let mut left = Vec::new();
        for (aside, path) in self.older {
            let back = match aside {
                Some(aside) => std::fs::rename(aside, &path),
                None => Real.remove(&path),
            };
            if back.is_err() {
                left.push(path);
            }
        }
        let _ = std::fs::remove_file(self.record);
        left
    }
}

/// Finishes the change that a killed writer has recorded: all its files were complete by then.
fn finish(folder: &Path) {
    let record = folder.join(RECORD);
    let Ok(bytes) = read::at_most(&record, 1 << 20) else { return };
    let text = String::from_utf8_lossy(&bytes);
    let lines: Vec<&str> = text.lines().collect();
    for pair in lines.chunks_exact(2) {
        // Only names in this folder: the record could have come from anywhere.
        let plain = |name: &str| !name.is_empty() && !name.contains(['/', '\\']) && name != "..";
        if is_ours(pair[0]) && plain(pair[0]) && plain(pair[1]) {
            // Those that are not there any more have their final names already.
            let _ = std::fs::rename(folder.join(pair[0]), folder.join(pair[1]));
        }
    }
    let _ = std::fs::remove_file(record);
}

/// Puts right what killed writers left in a folder: finishes what they had begun to rename, and removes the rest. Only for who holds the
/// folder: the files of a writer still at work look the same.
pub(crate) fn tidy(folder: &Path) {
    finish(folder);
    let Ok(entries) = std::fs::read_dir(folder) else { return };
    for entry in entries.flatten() {
        if entry.file_name().to_str().is_some_and(is_ours) {
            // Litter that cannot be removed is no reason to fail.
            let _ = std::fs::remove_file(entry.path());
        }
    }
}

/// Whether killed writers left something in a folder: a lock file, too, which one at work leaves as well.
pub(super) fn is_littered(folder: &Path) -> bool {
    let Ok(entries) = std::fs::read_dir(folder) else { return false };
    let mut names = entries.flatten().map(|entry| entry.file_name());
    names.any(|name| name.to_str().is_some_and(|name| is_ours(name) || name == RECORD || name == lock::FILE))
}

/// Whether a temporary file has this name.
fn is_ours(name: &str) -> bool {
    name.starts_with(PREFIX) && name.ends_with(SUFFIX)
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
        std::fs::write(dir.path().join("a.csv"), b"old").unwrap();
        std::fs::create_dir(dir.path().join("b.csv")).unwrap(); // a folder in the way of the second file
        let files = [("a.csv", b"new".to_vec()), ("b.csv", b"new".to_vec())];
        let error = all(dir.path(), &files).unwrap_err();
        let text = error.to_string();
        assert!(text.contains("b.csv: a folder has") && text.contains("nothing was changed"), "{text}");
        assert_eq!(std::fs::read(dir.path().join("a.csv")).unwrap(), b"old");
        assert_eq!(std::fs::read_dir(dir.path()).unwrap().count(), 2);
    }

    /// Fails, or "is killed", at the n-th rename.
    struct Brittle {
        after: std::sync::atomic::AtomicUsize,
        killed: bool,
        /// What a kill leaves: here the panic that stands for it removes temporary files.
        left: std::sync::Mutex<Vec<(PathBuf, Vec<u8>)>>,
    }
    impl Brittle {
        fn new(after: usize, killed: bool) -> Brittle {
            Brittle { after: after.into(), killed, left: Vec::new().into() }
        }
    }
    impl Disk for Brittle {
        fn rename(&self, temporary: NamedTempFile, path: &Path) -> io::Result<()> {
            use std::sync::atomic::Ordering::Relaxed;
            if self.after.load(Relaxed) > 0 {
                self.after.fetch_sub(1, Relaxed);
                return Real.rename(temporary, path);
            }
            if self.killed {
                let folder = path.parent().unwrap().read_dir().unwrap().map(|e| e.unwrap().path());
                let ours = folder.filter(|p| is_ours(p.file_name().unwrap().to_str().unwrap()));
                let mut left = self.left.lock().unwrap();
                left.extend(ours.map(|p| (p.clone(), std::fs::read(p).unwrap())));
                drop(left);
                panic!("killed");
            }
            Err(io::Error::other("broken"))
        }
    }

    fn three(word: &str) -> Vec<File<'static>> {
        ["a", "b", "c"].into_iter().map(|name| (name, word.as_bytes().to_vec())).collect()
    }

    /// The files in a folder that have a name of their own, and their words.
    fn found(dir: &Path) -> Vec<(String, String)> {
        let entries = std::fs::read_dir(dir).unwrap().map(|e| e.unwrap().path());
        let mut found: Vec<_> = entries
            .map(|p| {
                (p.file_name().unwrap().to_str().unwrap().to_owned(), std::fs::read_to_string(&p).unwrap())
            })
            .filter(|(name, _)| !name.starts_with('.'))
            .collect();
        found.sort();
        found
    }

    #[test]
    fn a_set_of_files_changes_as_a_whole_whichever_rename_fails() {
        for after in 0..4 {
            let dir = tempfile::tempdir().unwrap();
            all(dir.path(), &three("old")).unwrap();
            std::fs::remove_file(dir.path().join("b")).unwrap();
            let before = found(dir.path());
            let disk = Brittle::new(after, false);
            let text = all_on(&disk, dir.path(), &three("new")).unwrap_err().to_string();
            assert!(text.contains("nothing was changed"), "{text}");
            assert_eq!(found(dir.path()), before, "failed after {after} renames");
            assert_eq!(std::fs::read_dir(dir.path()).unwrap().count(), 2, "no litter");
        }
    }

    #[test]
    fn old_and_new_never_stand_side_by_side_wherever_it_is_killed() {
        for after in 0..4 {
            let dir = tempfile::tempdir().unwrap();
            all(dir.path(), &three("old")).unwrap();
            let disk = Brittle::new(after, true);
            let files = three("new");
            let killed = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| {
                let _ = all_on(&disk, dir.path(), &files);
            }));
            assert!(killed.is_err());
            for (path, bytes) in disk.left.lock().unwrap().iter() {
                std::fs::write(path, bytes).unwrap();
            }
            let words = |found: Vec<(String, String)>| {
                let mut words: Vec<String> = found.into_iter().map(|(_, word)| word).collect();
                words.dedup();
                words
            };
            assert!(words(found(dir.path())).len() <= 1, "killed after {after} renames");
            tidy(dir.path());
            assert_eq!(found(dir.path()).len(), 3, "killed after {after} renames");
            let word = if after == 0 { "old" } else { "new" };
            assert_eq!(words(found(dir.path())), [word], "killed after {after} renames");
            assert_eq!(std::fs::read_dir(dir.path()).unwrap().count(), 3, "no litter");
        }
    }

    #[test]
    fn litter_of_the_killed_is_swept_and_nothing_else() {
        let dir = tempfile::tempdir().unwrap();
        for name in [".stilldays-Ab12.part", "mine.part", ".stilldays-notes"] {
            std::fs::write(dir.path().join(name), b"x").unwrap();
        }
        tidy(dir.path());
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
