//! A folder of results: one program works on it at a time, and its files change together or not at all.

use super::lock::{Lock, LockError};
use super::write::{self, Disk, File, Real, WriteError};
use std::path::{Path, PathBuf};

/// A folder of results that this process alone works on, until this is dropped. Then the lock file goes, and if nothing was written, so do the
/// folders that were made for it.
#[derive(Debug)]
pub struct Folder {
    path: PathBuf,
    lock: Lock,
    /// Folders that were made, the innermost first.
    made: Vec<PathBuf>,
}

impl Drop for Folder {
    fn drop(&mut self) {
        self.lock.remove(&self.path);
        for folder in &self.made {
            // One that is not empty stays, and those above it.
            let _ = std::fs::remove_dir(folder);
        }
    }
}

/// Why a folder of results could not be taken.
#[derive(Debug, thiserror::Error)]
pub enum FolderError {
    /// It could not be made.
    #[error(transparent)]
    Write(#[from] WriteError),
    /// Another program works on it.
    #[error(transparent)]
    Lock(#[from] LockError),
}

impl Folder {
    /// Makes the folder if it is not there, locks it, and puts right what a killed program left in it.
    ///
    /// # Errors
    /// It could not be made, or another program works on it.
    pub fn take(path: &Path) -> Result<Folder, FolderError> {
        let missing = path.ancestors().filter(|p| !p.as_os_str().is_empty());
        let made = missing.take_while(|p| p.symlink_metadata().is_err()).map(Path::to_owned).collect();
        Real.make_folder(path).map_err(|source| WriteError {
            doing: "make the folder",
            path: path.to_owned(),
            renamed: Vec::new(),
            source,
        })?;
        let lock = Lock::take(path)?;
        write::tidy(path);
        Ok(Folder { path: path.to_owned(), lock, made })
    }

    /// Puts right what killed programs left in a folder that nobody works on, their lock file too. A folder that is not there is not
    /// made, and one that another program holds is left alone.
    pub(crate) fn sweep(path: &Path) {
        if write::is_littered(path) {
            // Litter that stays is no reason to fail.
            drop(Folder::take(path));
        }
    }

    /// Where it is.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Writes files into it, all or none. Gives back their paths, in order.
    ///
    /// # Errors
    /// As [`write::all`].
    pub fn write(&self, files: &[File<'_>]) -> Result<Vec<PathBuf>, WriteError> {
        write::all(&self.path, files)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_is_made_and_taken_once() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("a/b");
        let folder = Folder::take(&path).unwrap();
        assert!(matches!(Folder::take(&path), Err(FolderError::Lock(LockError::Held { .. }))));
        folder.write(&[("x", b"1".to_vec()), ("y", b"2".to_vec())]).unwrap();
        assert_eq!(std::fs::read(folder.path().join("y")).unwrap(), b"2");
        drop(folder);
        drop(Folder::take(&path).unwrap());
        assert_eq!(std::fs::read_dir(&path).unwrap().count(), 2, "no lock file is left");
        drop(Folder::take(&dir.path().join("c/d")).unwrap());
        assert!(!dir.path().join("c").exists(), "nothing was written");
    }

    #[test]
    fn what_the_killed_left_is_swept_and_a_held_folder_is_left_alone() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("a");
        Folder::sweep(&path);
        assert!(!path.exists(), "no folder is made");
        let names = || {
            let mut names: Vec<_> = path.read_dir().unwrap().map(|e| e.unwrap().file_name()).collect();
            names.sort();
            names
        };
        std::fs::create_dir(&path).unwrap();
        for litter in [".lock", ".stilldays-Ab12.part"] {
            std::fs::write(path.join("mine.csv"), b"x").unwrap();
            std::fs::write(path.join(litter), b"4711\n").unwrap();
            Folder::sweep(&path);
            assert_eq!(names(), ["mine.csv"], "after {litter}");
        }
        let held = Folder::take(&path).unwrap();
        std::fs::write(path.join(".stilldays-Ab12.part"), b"x").unwrap();
        Folder::sweep(&path);
        assert_eq!(names(), [".lock", ".stilldays-Ab12.part", "mine.csv"]);
        drop(held);
    }
}
