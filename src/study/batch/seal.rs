//! The seal of a finished design: what it was made from, and the hashes of its files.

use super::identity::Identity;
use crate::disk::write::File;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::path::Path;

/// Name of the seal in a design's folder.
pub(crate) const FILE: &str = "seal.json";
/// Schema name written into it.
pub const SCHEMA: &str = "stilldays.seal/1";
/// Maximum size of a seal, bytes.
const LARGEST_BYTES: u64 = 64 << 10;

/// Marks a finished design. It is written last and fits only the files that it was written with, so a mixture of older and
/// newer files never counts as finished.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Seal {
    schema: String,
    made_from: Identity,
    /// Settings that change the files but not the numbers.
    shown: String,
    /// SHA-256 of each file, hex.
    files: BTreeMap<String, String>,
}

impl Seal {
    /// The seal of these files.
    pub(crate) fn new(made_from: Identity, shown: String, files: &[File]) -> Seal {
        let files = files.iter().map(|(name, bytes)| ((*name).to_owned(), hash(bytes))).collect();
        Seal { schema: SCHEMA.to_owned(), made_from, shown, files }
    }

    /// The bytes of the file.
    pub(crate) fn to_bytes(&self) -> Vec<u8> {
        let mut out = serde_json::to_vec_pretty(self).expect("text and numbers become JSON");
        out.push(b'\n');
        out
    }

    /// Whether `folder` holds the results of this identity, complete and unchanged.
    pub(crate) fn holds(folder: &Path, identity: &Identity, shown: &str) -> bool {
        let read = crate::disk::read::at_most(&folder.join(FILE), LARGEST_BYTES);
        let Some(seal) = read.ok().and_then(|bytes| serde_json::from_slice::<Seal>(&bytes).ok()) else {
            return false;
        };
        seal.schema == SCHEMA
            && seal.made_from == *identity
            && seal.shown == shown
            && !seal.files.is_empty()
            && seal.files.iter().all(|(name, wanted)| {
                // A seal from elsewhere may name any path; only files of the folder itself count.
                !name.contains(['/', '\\']) && hash_file(&folder.join(name)).as_ref() == Some(wanted)
            })
    }
}

fn hash(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|b| format!("{b:02x}")).collect()
}

fn hash_file(path: &Path) -> Option<String> {
    if !path.metadata().ok()?.is_file() {
        return None;
    }
    std::fs::read(path).ok().map(|bytes| hash(&bytes))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::disk::write;
    use crate::study::batch::identity::example;

    #[test]
    fn a_seal_fits_only_its_own_files_identity_and_look() {
        let dir = tempfile::tempdir().unwrap();
        let mut files = vec![("a.csv", b"1".to_vec()), ("tally", b"2".to_vec())];
        let holds = |id: &Identity, shown: &str| Seal::holds(dir.path(), id, shown);
        assert!(!holds(&example(), "si"), "no seal yet");
        let seal = Seal::new(example(), "si".into(), &files);
        files.push((FILE, seal.to_bytes()));
        write::all(dir.path(), &files).unwrap();
        assert!(holds(&example(), "si"));
        assert!(!holds(&example(), "us"));
        assert!(!holds(&Identity { seed: 8, ..example() }, "si"));
        std::fs::write(dir.path().join("a.csv"), b"9").unwrap();
        assert!(!holds(&example(), "si"), "a changed file");
        std::fs::remove_file(dir.path().join("a.csv")).unwrap();
        assert!(!holds(&example(), "si"), "a missing file");
        std::fs::write(dir.path().join(FILE), b"{\"schema\":").unwrap();
        assert!(!holds(&example(), "si"), "a torn seal");
        let below = dir.path().join("below");
        std::fs::create_dir(&below).unwrap();
        std::fs::write(dir.path().join("tally"), b"2").unwrap();
        let outside = Seal::new(example(), "si".into(), &[("../tally", b"2".to_vec())]);
        std::fs::write(below.join(FILE), outside.to_bytes()).unwrap();
        assert!(!Seal::holds(&below, &example(), "si"), "a file outside of the folder");
    }
}
