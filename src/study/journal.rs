//! What a long command has simulated so far, block by block, in the folder of its results. A command that was stopped or killed and is started
//! again takes from it what it needs, and simulates the rest; the results are the same. It is removed when the results are written. `learn`
//! keeps lists of likelihoods in it in the same way.
//!
//! ```text
//! "stljournl" | format, u32 | length, u32 | version and seed, text
//! records: length, u32 | design 32 bytes | block, trials: u64 each | length, u32 | tally, or nothing | outcomes, JSON
//!          | first 8 bytes of the SHA-256 of all this
//! ```
//! A list of numbers is a record whose block and trials are the largest numbers, and whose tally is the list.
//! Numbers are little-endian. A record that is cut short or damaged ends the journal: it is cut off there.

use super::block_result::BlockResult;
use super::plan::Plan;
use crate::disk::lock;
use crate::disk::read;
use crate::tally::{Tally, TrialOutcome};
use serde::Serialize;
use serde::de::DeserializeOwned;
use sha2::{Digest, Sha256};
use std::collections::HashMap;
use std::fs::File;
use std::io::{self, Seek as _, SeekFrom, Write as _};
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, Ordering};

const MAGIC: &[u8; 9] = b"stljournl";
/// Raised whenever the meaning of a byte changes.
const FORMAT: u32 = 1;
/// Beyond this size nothing more is kept: what is not kept is simulated again.
const LARGEST_BYTES: u64 = 256 << 20;

/// Block and trials of a list of numbers: no design has so many.
const NUMBERS: u64 = u64::MAX;

/// A design, a block, and how many of its trials are simulated.
type Key = ([u8; 32], u64, u64);
/// The bytes of a tally, or none, and outcomes as JSON.
type Value = (Vec<u8>, Vec<u8>);

/// The journal of a folder.
#[derive(Debug)]
pub struct Journal {
    /// None if it is only read.
    path: Option<PathBuf>,
    /// What was there at the start: tally and outcomes.
    known: HashMap<Key, Value>,
    /// Where records go, and how many bytes there are; none once writing has failed.
    file: Mutex<Option<(File, u64)>>,
    /// Whether anything was added to what was there.
    grown: AtomicBool,
}

impl Journal {
    /// Name of its file in a folder.
    pub const FILE: &str = ".continue";

    /// Opens the journal of a folder, which this process holds. One of another version or seed starts anew.
    ///
    /// # Errors
    /// It cannot be read or written.
    pub fn open(folder: &Path, seed: u64) -> io::Result<Journal> {
        let path = folder.join(Journal::FILE);
        let head = head(seed);
        let mut file = lock::open_own(&path)?;
        let bytes = read::at_most(&path, 2 * LARGEST_BYTES)?;
        let mut known = HashMap::new();
        let mut end = head.len();
        if bytes.starts_with(&head) {
            end += records(&bytes[end..], &mut known);
            file.set_len(end as u64)?;
        } else {
            file.set_len(0)?;
            file.rewind()?;
            file.write_all(&head)?;
        }
        file.seek(SeekFrom::Start(end as u64))?;
        let file = Mutex::new(Some((file, end as u64)));
        Ok(Journal { path: Some(path), known, file, grown: AtomicBool::new(false) })
    }

    /// What finished journals hold together ([`Journal::finish`]); nothing is added to it.
    ///
    /// # Errors
    /// One cannot be read, or is of another version or seed.
    pub fn of_finished(paths: &[PathBuf], seed: u64) -> Result<Journal, (PathBuf, io::Error)> {
        let (head, mut known) = (head(seed), HashMap::new());
        for path in paths {
            let fail = |e| (path.clone(), e);
            let bytes = read::at_most(path, 2 * LARGEST_BYTES).map_err(fail)?;
            let Some(rest) = bytes.strip_prefix(&head[..]) else {
                let why = "it is damaged, or of another version or seed";
                return Err(fail(io::Error::new(io::ErrorKind::InvalidData, why)));
            };
            records(rest, &mut known);
        }
        Ok(Journal { path: None, known, file: Mutex::new(None), grown: AtomicBool::new(false) })
    }

    /// Keeps it under another name of its folder: all that it is to hold is in it.
    ///
    /// # Errors
    /// It cannot be renamed.
    pub fn finish(self, name: &str) -> io::Result<()> {
        // Windows renames no file that is open.
        drop(self.file);
        match &self.path {
            Some(path) => std::fs::rename(path, path.with_file_name(name)),
            None => Ok(()),
        }
    }

    /// How many blocks it holds.
    pub fn blocks(&self) -> usize {
        self.known.len()
    }

    /// Whether nothing is kept in it.
    pub fn is_empty(&self) -> bool {
        self.known.is_empty() && !self.grown.load(Ordering::Relaxed)
    }

    /// Removes it: the results are written.
    pub fn remove(self) {
        // Left behind it only takes room until the next run.
        let _ = self.path.map(std::fs::remove_file);
    }

    /// The results of a block, if they are known.
    pub(super) fn get(&self, plan: &Plan, block: u64, trials: u64, with_tally: bool) -> Option<BlockResult> {
        let (tally, outcomes) = self.known.get(&(name(plan), block, trials))?;
        let tally = match with_tally {
            true => Tally::from_bytes(tally).ok()?,
            false => Tally::new(&plan.layout),
        };
        let outcomes: Vec<TrialOutcome> = serde_json::from_slice(outcomes).ok()?;
        (outcomes.len() as u64 == trials).then_some(BlockResult { tally, outcomes, history: None })
    }

    /// Keeps the results of a block.
    pub(super) fn put(&self, plan: &Plan, block: u64, with_tally: bool, result: &BlockResult) {
        let Ok(outcomes) = serde_json::to_vec(&result.outcomes) else { return };
        // What JSON cannot hold is not kept.
        if serde_json::from_slice::<Vec<TrialOutcome>>(&outcomes).ok().as_ref() != Some(&result.outcomes) {
            return;
        }
        let tally = if with_tally { result.tally.to_bytes() } else { Vec::new() };
        self.write((name(plan), block, result.outcomes.len() as u64), &tally, &outcomes);
    }

    /// A tally and what else was kept of a block by this name.
    pub(super) fn kept<T: DeserializeOwned>(
        &self,
        name: [u8; 32],
        block: u64,
        of: u64,
    ) -> Option<(Tally, T)> {
        let (tally, rest) = self.known.get(&(name, block, of))?;
        Some((Tally::from_bytes(tally).ok()?, serde_json::from_slice(rest).ok()?))
    }

    /// Whether it knows this block.
    pub(super) fn knows(&self, name: [u8; 32], block: u64, of: u64) -> bool {
        self.known.contains_key(&(name, block, of))
    }

    /// Keeps a tally and something else of a block of `of` trials by a name that nothing else has. What JSON cannot hold is not kept.
    pub(super) fn keep<T: Serialize + DeserializeOwned + PartialEq>(
        &self,
        (name, block, of): ([u8; 32], u64, u64),
        tally: &Tally,
        rest: &T,
    ) {
        let Ok(bytes) = serde_json::to_vec(rest) else { return };
        if serde_json::from_slice::<T>(&bytes).ok().as_ref() == Some(rest) {
            self.write((name, block, of), &tally.to_bytes(), &bytes);
        }
    }

    /// The numbers kept by this name.
    pub fn numbers(&self, name: [u8; 32]) -> Option<Vec<f64>> {
        let (bytes, _) = self.known.get(&(name, NUMBERS, NUMBERS))?;
        Some(bytes.as_chunks::<8>().0.iter().map(|b| f64::from_le_bytes(*b)).collect())
    }

    /// Keeps numbers by a name that nothing else has.
    pub fn keep_numbers(&self, name: [u8; 32], numbers: &[f64]) {
        let bytes: Vec<u8> = numbers.iter().flat_map(|x| x.to_le_bytes()).collect();
        self.write((name, NUMBERS, NUMBERS), &bytes, &[]);
    }

    fn write(&self, (design, block, trials): Key, tally: &[u8], outcomes: &[u8]) {
        let mut body = design.to_vec();
        body.extend(block.to_le_bytes());
        body.extend(trials.to_le_bytes());
        body.extend((tally.len() as u32).to_le_bytes());
        body.extend(tally);
        body.extend(outcomes);
        let mut bytes = (body.len() as u32).to_le_bytes().to_vec();
        bytes.extend(&body);
        bytes.extend(&Sha256::digest(&body)[..8]);
        let Ok(mut file) = self.file.lock() else { return };
        let Some((open, length)) = file.as_mut() else { return };
        self.grown.store(true, Ordering::Relaxed);
        *length += bytes.len() as u64;
        // Nothing depends on it but the time of a later run.
        if *length > LARGEST_BYTES || open.write_all(&bytes).is_err() {
            *file = None;
        }
    }
}

/// How a journal begins.
fn head(seed: u64) -> Vec<u8> {
    let mut head = MAGIC.to_vec();
    head.extend(FORMAT.to_le_bytes());
    let identity = format!("{} {seed}", crate::VERSION);
    head.extend((identity.len() as u32).to_le_bytes());
    head.extend(identity.bytes());
    head
}

/// Adds the records of these bytes to what is known; gives their length.
fn records(bytes: &[u8], known: &mut HashMap<Key, Value>) -> usize {
    let mut end = 0;
    while let Some((key, value, length)) = record(&bytes[end..]) {
        known.insert(key, value);
        end += length;
    }
    end
}

/// What a design's blocks are known by: its text, as if written by hand, and its weather.
pub(super) fn name(plan: &Plan) -> [u8; 32] {
    Sha256::new().chain_update(&plan.file.sha256).chain_update(&plan.site.sha256).finalize().into()
}

/// The first record of these bytes, and its length; none if it is cut short or damaged.
fn record(bytes: &[u8]) -> Option<(Key, Value, usize)> {
    let (length, rest) = bytes.split_first_chunk::<4>()?;
    let length = u32::from_le_bytes(*length) as usize;
    let (body, rest) = rest.split_at_checked(length)?;
    if rest.get(..8)? != &Sha256::digest(body)[..8] {
        return None;
    }
    let (design, body) = body.split_first_chunk::<32>()?;
    let (block, body) = body.split_first_chunk::<8>()?;
    let (trials, body) = body.split_first_chunk::<8>()?;
    let (tally, body) = body.split_first_chunk::<4>()?;
    let (tally, outcomes) = body.split_at_checked(u32::from_le_bytes(*tally) as usize)?;
    let key = (*design, u64::from_le_bytes(*block), u64::from_le_bytes(*trials));
    Some((key, (tally.to_vec(), outcomes.to_vec()), 4 + length + 8))
}
