//! How far the parts of a split batch are: finished, at work, stopped or missing.

use super::gather::Found;
use super::job::{PART, read_checkpoint};
use crate::disk::Lock;
use crate::study::run::Stride;
use serde::Serialize;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

/// Schema name of the JSON.
pub const SCHEMA: &str = "stilldays.parts/1";

/// How far all parts of a batch are.
#[derive(Clone, Debug, Serialize)]
pub struct PartsStatus {
    /// [`SCHEMA`].
    pub schema: &'static str,
    /// Seed.
    pub seed: u64,
    /// Trials of each design, all parts together.
    pub trials: u64,
    /// Every part, from the first.
    pub parts: Vec<PartStatus>,
    /// Numbers of the parts that have to be submitted again, as arrays of schedulers take them: `3,7-9`. Empty if there are none.
    pub submit_again: String,
}

/// How far one part is.
#[derive(Clone, Debug, Serialize)]
pub struct PartStatus {
    /// Its number, from 1.
    pub part: u64,
    /// How it stands.
    pub state: PartState,
    /// Its folder; none if it is missing.
    pub folder: Option<PathBuf>,
    /// Trials done, all designs together.
    pub trials_done: u64,
    /// Trials it is to have.
    pub trials: u64,
    /// Seconds since it was started for the last time.
    pub started_s_ago: Option<u64>,
    /// Seconds since it last saved trials.
    pub saved_s_ago: Option<u64>,
}

/// How a part stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum PartState {
    /// All its trials are there.
    Done,
    /// A program works on it.
    Running,
    /// It was begun, and no program works on it.
    Stopped,
    /// It has no folder among those given.
    Missing,
}

impl PartState {
    /// In a word.
    pub fn word(self) -> &'static str {
        match self {
            PartState::Done => "done",
            PartState::Running => "running",
            PartState::Stopped => "stopped",
            PartState::Missing => "missing",
        }
    }
}

impl PartsStatus {
    /// Looks at the parts in these folders, as [`Parts::find`](super::gather::Parts::find) does; parts may be missing and unfinished.
    ///
    /// # Errors
    /// Why they are not parts of one batch.
    pub fn look(folders: &[PathBuf]) -> Result<PartsStatus, Vec<String>> {
        let found = Found::search(folders);
        if !found.trouble.is_empty() {
            return Err(found.trouble);
        }
        // Without a part there is trouble.
        let Some(first) = found.parts.values().next() else { return Err(Vec::new()) };
        let (of, seed, trials) = (first.manifest.of, first.manifest.seed, first.manifest.trials);
        let parts: Vec<PartStatus> = (1..=of)
            .map(|number| match found.parts.get(&number) {
                Some(part) => part.status(),
                None => PartStatus {
                    part: number,
                    state: PartState::Missing,
                    folder: None,
                    trials_done: 0,
                    trials: 0,
                    started_s_ago: None,
                    saved_s_ago: None,
                },
            })
            .collect();
        let again: Vec<u64> = parts
            .iter()
            .filter(|p| matches!(p.state, PartState::Stopped | PartState::Missing))
            .map(|p| p.part)
            .collect();
        let submit_again = super::gather::listed(&again, "-", ",");
        Ok(PartsStatus { schema: SCHEMA, seed, trials, parts, submit_again })
    }

    /// How many parts stand so.
    pub fn count(&self, state: PartState) -> usize {
        self.parts.iter().filter(|p| p.state == state).count()
    }
}

impl super::gather::FoundPart {
    fn status(&self) -> PartStatus {
        let (share, most) = (self.manifest.share(), self.manifest.trials);
        let all = Stride::ALL.count(most);
        let (mut trials_done, mut trials, mut saved) = (0, 0, None);
        for ((file, known), index) in self.manifest.designs.iter().zip(0..) {
            // A refused design has no trials.
            if known.is_none() {
                continue;
            }
            let stride = share.stride(index, all);
            trials += stride.trials(stride.count(most), most);
            let path = self.folder.join(Path::new(file).with_extension("")).join(PART);
            if let Ok(Some(checkpoint)) = read_checkpoint(&path) {
                trials_done += checkpoint.tally.trials();
                saved = saved.max(written(&path));
            }
        }
        let state = match trials_done >= trials {
            true if saved.is_some() || trials == 0 => PartState::Done,
            _ if Lock::is_held(&self.folder) => PartState::Running,
            _ => PartState::Stopped,
        };
        let ago = |time: SystemTime| SystemTime::now().duration_since(time).map_or(0, |d| d.as_secs());
        PartStatus {
            part: self.manifest.part,
            state,
            folder: Some(self.folder.clone()),
            trials_done,
            trials,
            started_s_ago: written(&self.folder.join(super::manifest::FILE)).map(ago),
            saved_s_ago: saved.map(ago),
        }
    }
}

fn written(path: &Path) -> Option<SystemTime> {
    path.metadata().ok()?.modified().ok()
}
