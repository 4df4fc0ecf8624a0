//! A checkpoint: a design partly simulated, or one machine's part of it, as bytes.
//!
//! ```text
//! "stlcheck" | format, u32 | length of identity, u32 | identity, JSON
//!            | first block, step, blocks done: u64 each | length of tally, u32 | tally | SHA-256 of all before
//! ```
//! Numbers are little-endian.

use super::identity::Identity;
use crate::study::run::Stride;
use crate::tally::{Damage, Tally};
use sha2::{Digest, Sha256};

/// A design partly simulated: the tally of the blocks done, and what they were made from.
#[derive(Clone, Debug, PartialEq)]
pub struct Checkpoint {
    /// What it was made from.
    pub identity: Identity,
    /// Which blocks it is to hold in the end.
    pub stride: Stride,
    /// How many of these are done, counted from the first.
    pub done: u64,
    /// The tally of their trials.
    pub tally: Tally,
}

/// Maximum size of a checkpoint file, bytes.
pub(crate) const LARGEST_BYTES: usize = Tally::LARGEST_BYTES + IDENTITY_MAX + 4096;
const IDENTITY_MAX: usize = 64 << 10;
const MAGIC: &[u8; 8] = b"stlcheck";
/// Raised whenever the meaning of a byte changes.
const FORMAT: u32 = 1;

/// Why bytes are not a valid checkpoint.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[allow(missing_docs, reason = "the messages say it")]
pub enum Flaw {
    #[error("not a checkpoint")]
    NotACheckpoint,
    #[error("a checkpoint in format {0}, which this version does not read")]
    Format(u32),
    #[error("a checkpoint with too few or too many bytes")]
    Length,
    #[error("a damaged checkpoint: wrong checksum")]
    Checksum,
    #[error("a damaged checkpoint: what it was made from cannot be read")]
    Identity,
    #[error("a damaged checkpoint: impossible block numbers")]
    Blocks,
    #[error("in the checkpoint: {0}")]
    Tally(Damage),
    #[error("too large for a checkpoint")]
    TooLarge,
}

impl Checkpoint {
    /// Its bytes.
    pub fn to_bytes(&self) -> Vec<u8> {
        let identity = serde_json::to_vec(&self.identity).expect("text and numbers become JSON");
        let tally = self.tally.to_bytes();
        let mut out = Vec::with_capacity(identity.len() + tally.len() + 128);
        out.extend_from_slice(MAGIC);
        out.extend_from_slice(&FORMAT.to_le_bytes());
        put(&mut out, &identity);
        for number in [self.stride.first, self.stride.step, self.done] {
            out.extend_from_slice(&number.to_le_bytes());
        }
        put(&mut out, &tally);
        let sum: [u8; 32] = Sha256::digest(&out).into();
        out.extend_from_slice(&sum);
        out
    }

    /// Reads a checkpoint; never panics.
    ///
    /// # Errors
    /// What is wrong with the bytes.
    pub fn from_bytes(bytes: &[u8]) -> Result<Checkpoint, Flaw> {
        if bytes.len() > LARGEST_BYTES {
            return Err(Flaw::TooLarge);
        }
        let mut rest = bytes.strip_prefix(MAGIC.as_slice()).ok_or(Flaw::NotACheckpoint)?;
        let format = u32::from_le_bytes(take(&mut rest)?);
        if format != FORMAT {
            return Err(Flaw::Format(format));
        }
        let (mut body, sum) = rest.split_last_chunk::<32>().ok_or(Flaw::Length)?;
        let found: [u8; 32] = Sha256::digest(&bytes[..bytes.len() - 32]).into();
        if found != *sum {
            return Err(Flaw::Checksum);
        }
        let identity = serde_json::from_slice(part(&mut body)?).map_err(|_| Flaw::Identity)?;
        let [first, step, done] = [number(&mut body)?, number(&mut body)?, number(&mut body)?];
        // Far more than any run has, and small enough that no sum of blocks overflows.
        if step == 0 || [first, step, done].iter().any(|n| *n > 1 << 31) {
            return Err(Flaw::Blocks);
        }
        let tally = Tally::from_bytes(part(&mut body)?).map_err(Flaw::Tally)?;
        if !body.is_empty() {
            return Err(Flaw::Length);
        }
        Ok(Checkpoint { identity, stride: Stride { first, step }, done, tally })
    }

    /// Whether the tally holds as many trials as its blocks have, in a run of `trials` trials.
    pub fn adds_up(&self, trials: u64) -> bool {
        self.done <= self.stride.count(trials) && self.tally.trials() == self.stride.trials(self.done, trials)
    }
}

fn put(out: &mut Vec<u8>, part: &[u8]) {
    // Both parts are far below 4 GB: an identity is a few lines, a tally some kilobytes.
    out.extend_from_slice(&(part.len() as u32).to_le_bytes());
    out.extend_from_slice(part);
}

fn take<const N: usize>(from: &mut &[u8]) -> Result<[u8; N], Flaw> {
    let (head, rest) = from.split_first_chunk::<N>().ok_or(Flaw::Length)?;
    *from = rest;
    Ok(*head)
}

fn number(from: &mut &[u8]) -> Result<u64, Flaw> {
    take(from).map(u64::from_le_bytes)
}

fn part<'a>(from: &mut &'a [u8]) -> Result<&'a [u8], Flaw> {
    let length = u32::from_le_bytes(take(from)?) as usize;
    let (head, rest) = from.split_at_checked(length).ok_or(Flaw::Length)?;
    *from = rest;
    Ok(head)
}
