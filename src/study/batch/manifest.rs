//! The manifest of a part: which part it is, and of which batch.

use super::share::Share;
use serde::{Deserialize, Serialize};
use std::path::{Path, PathBuf};

/// Name of the file in a part's folder.
pub(crate) const FILE: &str = "part.json";
/// Schema name written into it.
pub const SCHEMA: &str = "stilldays.part/1";
/// Maximum size, bytes.
const LARGEST_BYTES: u64 = 64 << 20;

/// Maximum number of trials of a design: beyond it, sums of blocks could overflow.
pub(crate) const TRIALS_MAX: u64 = 10_000_000;

/// Which part this is, and of which batch.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct Manifest {
    schema: String,
    /// Version of the program.
    pub version: String,
    /// Which part, from 1.
    pub part: u64,
    /// Of how many.
    pub of: u64,
    /// Seed.
    pub seed: u64,
    /// Trials of each design, all parts together.
    pub trials: u64,
    /// The folder of designs, as the part was given it.
    pub folder: PathBuf,
    /// Every design found, sorted, and the SHA-256 of its text; none for a refused design.
    pub designs: Vec<(String, Option<String>)>,
}

impl Manifest {
    /// A manifest of this program, without designs yet.
    pub(crate) fn new(share: Share, seed: u64, trials: u64, folder: &Path) -> Manifest {
        Manifest {
            schema: SCHEMA.to_owned(),
            version: crate::VERSION.to_owned(),
            part: share.part,
            of: share.of,
            seed,
            trials,
            // As text, so that any path can be written.
            folder: folder.to_string_lossy().into_owned().into(),
            designs: Vec::new(),
        }
    }

    /// Which part it is.
    pub(crate) fn share(&self) -> Share {
        Share { part: self.part, of: self.of }
    }

    /// The bytes of the file.
    pub(crate) fn to_bytes(&self) -> Vec<u8> {
        let mut out = serde_json::to_vec_pretty(self).expect("text and numbers become JSON");
        out.push(b'\n');
        out
    }

    /// Reads the manifest of a part's folder.
    ///
    /// # Errors
    /// Why it cannot be used.
    pub fn read(folder: &Path) -> Result<Manifest, String> {
        let path = folder.join(FILE);
        let fail = |why: String| format!("{}: {why}", path.display());
        let bytes = crate::disk::read::at_most(&path, LARGEST_BYTES)
            .map_err(|e| fail(format!("cannot be read: {e}")))?;
        let manifest: Manifest = serde_json::from_slice(&bytes)
            .map_err(|e| fail(format!("damaged, or not written by batch --part: {e}")))?;
        if manifest.schema != SCHEMA {
            return Err(fail(format!("{} is not {SCHEMA}", manifest.schema)));
        }
        // The same bounds as on the command line.
        manifest.share().to_string().parse::<Share>().map_err(fail)?;
        if !(1..=TRIALS_MAX).contains(&manifest.trials) {
            return Err(fail(format!("{} trials; allowed: 1 to {TRIALS_MAX}", manifest.trials)));
        }
        Ok(manifest)
    }
}
