//! Locks a folder, so that only one program works on it at a time.

use std::fs::{File, OpenOptions, TryLockError};
use std::io::{self, Read as _, Seek as _, Write as _};
use std::path::{Path, PathBuf};

/// Name of the file that is locked.
pub(crate) const FILE: &str = ".lock";

/// A locked folder, until this is dropped or its process ends in any way: the operating system holds the lock, so a killed
/// owner leaves none behind. The lock file stays, empty.
#[derive(Debug)]
pub struct Lock(File);

/// Why a folder could not be locked.
#[derive(Debug, thiserror::Error)]
pub enum LockError {
    /// Another program has locked it.
    #[error(
        "another stilldays{} is at work on {}\n  wait until it is done, or give another folder with --out; nothing was changed",
        by.map(|id| format!(" (process {id})")).unwrap_or_default(), folder.display()
    )]
    Held {
        /// The folder.
        folder: PathBuf,
        /// The other process, if it left its number.
        by: Option<u32>,
    },
    /// The lock file could not be opened or locked.
    #[error("cannot hold the lock {}: {source}\n  nothing was changed", path.display())]
    System {
        /// The lock's file.
        path: PathBuf,
        /// What the system says.
        #[source]
        source: io::Error,
    },
}

impl Lock {
    /// Locks an existing folder.
    ///
    /// # Errors
    /// Another program has locked it, or it cannot be written.
    pub fn take(folder: &Path) -> Result<Lock, LockError> {
        let path = folder.join(FILE);
        let system = |source| LockError::System { path: path.clone(), source };
        let mut file = open_own(&path).map_err(system)?;
        match file.try_lock() {
            // Who held it before may have removed the file just now: then this is a lock on nothing.
            Ok(()) if !stands_at(&file, &path) => return Lock::take(folder),
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => {
                let mut text = String::new();
                // Only for the message: an unreadable number is left out.
                let _ = file.take(20).read_to_string(&mut text);
                return Err(LockError::Held { folder: folder.to_owned(), by: text.trim().parse().ok() });
            }
            Err(TryLockError::Error(source)) => return Err(system(source)),
        }
        // The process number is for the message of a second program; on a full disk the lock works without it.
        let _ = file.set_len(0).and_then(|()| writeln!(file, "{}", std::process::id()));
        Ok(Lock(file))
    }
}

/// Whether the file that is open is the one of this name.
fn stands_at(file: &File, path: &Path) -> bool {
    let there = path.symlink_metadata();
    matches!((file.metadata(), there), (Ok(open), Ok(there)) if same_file(&open, &there))
}

impl Lock {
    /// Removes the lock file of a folder, while it is held.
    pub(super) fn remove(&self, folder: &Path) {
        // Where an open file cannot be removed it stays, empty.
        let _ = std::fs::remove_file(folder.join(FILE));
    }

    /// Whether a program holds the folder in this moment. On another machine the answer depends on the file system between.
    pub(crate) fn is_held(folder: &Path) -> bool {
        let path = folder.join(FILE);
        // Who holds it has left its number: a lock file that is empty is not tried, for that could be in the way of one who comes.
        let used = path.symlink_metadata().is_ok_and(|found| found.is_file() && found.len() > 0);
        let Ok(file) = File::open(&path) else { return false };
        used && matches!(file.try_lock_shared(), Err(TryLockError::WouldBlock))
    }
}

/// Opens a file of the program's own, such as the lock, and makes it if it is not there. A link is not followed, and what is no regular file is refused: whatever
/// stands behind the name would be emptied.
pub(crate) fn open_own(path: &Path) -> io::Result<File> {
    let refuse = || io::Error::new(io::ErrorKind::InvalidInput, "it is a link or no regular file: remove it");
    let seen = match path.symlink_metadata() {
        Ok(seen) => seen,
        Err(e) if e.kind() == io::ErrorKind::NotFound => {
            // Never opens what is there, not even a link that leads nowhere.
            match OpenOptions::new().read(true).write(true).create_new(true).open(path) {
                // Another program has made it in this moment.
                Err(e) if e.kind() == io::ErrorKind::AlreadyExists => path.symlink_metadata()?,
                opened => return opened,
            }
        }
        Err(e) => return Err(e),
    };
    if !seen.is_file() {
        return Err(refuse());
    }
    if has_other_names(&seen) {
        let why = "it is another file, too (a hard link), which would be emptied: remove it";
        return Err(io::Error::new(io::ErrorKind::InvalidInput, why));
    }
    let file = OpenOptions::new().read(true).write(true).open(path)?;
    // It may have been replaced in between. Nothing has been changed yet.
    if same_file(&seen, &file.metadata()?) { Ok(file) } else { Err(refuse()) }
}

#[cfg(unix)]
fn has_other_names(file: &std::fs::Metadata) -> bool {
    std::os::unix::fs::MetadataExt::nlink(file) > 1
}
#[cfg(not(unix))]
fn has_other_names(_: &std::fs::Metadata) -> bool {
    false
}

#[cfg(unix)]
fn same_file(a: &std::fs::Metadata, b: &std::fs::Metadata) -> bool {
    use std::os::unix::fs::MetadataExt as _;
    (a.dev(), a.ino()) == (b.dev(), b.ino())
}
#[cfg(not(unix))]
fn same_file(a: &std::fs::Metadata, b: &std::fs::Metadata) -> bool {
    a.is_file() && b.is_file()
}

impl Drop for Lock {
    fn drop(&mut self) {
        let _ = self.0.rewind().and_then(|()| self.0.set_len(0));
        let _ = self.0.unlock();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[cfg(unix)]
    #[test]
    fn a_file_that_has_another_name_is_not_emptied() {
        let dir = tempfile::tempdir().unwrap();
        let precious = dir.path().join("precious");
        std::fs::write(&precious, "kept").unwrap();
        std::fs::hard_link(&precious, dir.path().join(FILE)).unwrap();
        let text = Lock::take(dir.path()).unwrap_err().to_string();
        assert!(text.contains("hard link"), "{text}");
        assert_eq!(std::fs::read_to_string(precious).unwrap(), "kept");
    }

    #[test]
    fn the_second_is_told_by_whom_the_folder_is_held_and_gets_it_later() {
        let dir = tempfile::tempdir().unwrap();
        let first = Lock::take(dir.path()).unwrap();
        let text = Lock::take(dir.path()).unwrap_err().to_string();
        assert!(text.contains(&format!("(process {})", std::process::id())), "{text}");
        assert!(text.contains("--out"), "{text}");
        assert!(Lock::is_held(dir.path()));
        drop(first);
        assert!(!Lock::is_held(dir.path()));
        drop(Lock::take(dir.path()).unwrap());
        assert_eq!(std::fs::read(dir.path().join(FILE)).unwrap(), b"", "nothing is left in the file");
    }

    #[cfg(unix)]
    #[test]
    fn a_link_in_place_of_the_lock_is_refused_and_its_target_keeps_its_content() {
        let dir = tempfile::tempdir().unwrap();
        let (precious, lock) = (dir.path().join("precious"), dir.path().join(FILE));
        std::fs::write(&precious, b"content").unwrap();
        std::os::unix::fs::symlink(&precious, &lock).unwrap();
        let text = Lock::take(dir.path()).unwrap_err().to_string();
        assert!(text.contains("link") && text.contains("nothing was changed"), "{text}");
        assert_eq!(std::fs::read(&precious).unwrap(), b"content");
        std::fs::remove_file(&lock).unwrap();
        std::os::unix::fs::symlink(dir.path().join("nowhere"), &lock).unwrap();
        assert!(Lock::take(dir.path()).is_err());
        assert!(!dir.path().join("nowhere").exists(), "a link that leads nowhere is not followed");
    }

    #[test]
    fn a_folder_that_is_not_there_is_an_error_with_its_path() {
        let text = Lock::take("no/such/folder".as_ref()).unwrap_err().to_string();
        assert!(text.contains("no/such/folder") && text.contains("nothing was changed"), "{text}");
    }
}
