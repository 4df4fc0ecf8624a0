//! Locks a folder, so that only one program works on it at a time.

use std::fs::{File, OpenOptions, TryLockError};
use std::io::{self, Read as _, Seek as _, Write as _};
use std::path::{Path, PathBuf};

/// Name of the file that is locked.
pub(crate) const FILE: &str = ".lock";

/// A locked folder, until this is dropped or its process ends in any way: the operating system holds the lock, so a killed
/// owner leaves none behind. The lock file stays, empty; if it were removed, two programs could lock two files of the
/// same name.
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
        let open = OpenOptions::new().read(true).write(true).create(true).truncate(false).open(&path);
        let mut file = open.map_err(system)?;
        match file.try_lock() {
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

impl Drop for Lock {
    fn drop(&mut self) {
        let _ = self.0.rewind().and_then(|()| self.0.set_len(0));
        let _ = self.0.unlock();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_second_is_told_by_whom_the_folder_is_held_and_gets_it_later() {
        let dir = tempfile::tempdir().unwrap();
        let first = Lock::take(dir.path()).unwrap();
        let text = Lock::take(dir.path()).unwrap_err().to_string();
        assert!(text.contains(&format!("(process {})", std::process::id())), "{text}");
        assert!(text.contains("--out"), "{text}");
        drop(first);
        drop(Lock::take(dir.path()).unwrap());
        assert_eq!(std::fs::read(dir.path().join(FILE)).unwrap(), b"", "nothing is left in the file");
    }

    #[test]
    fn a_folder_that_is_not_there_is_an_error_with_its_path() {
        let text = Lock::take("no/such/folder".as_ref()).unwrap_err().to_string();
        assert!(text.contains("no/such/folder") && text.contains("nothing was changed"), "{text}");
    }
}
