//! One design of a batch: what there is of it already, the rest of its trials, its files.

use super::batch_summary::{DesignRow, link};
use super::checkpoint::{self, Checkpoint};
use super::context::Batch;
use super::event::Event;
use super::find::Candidate;
use super::identity::Identity;
use super::seal::{self, Seal};
use super::share::Share;
use crate::design::{self, DesignFile};
use crate::disk::write::{self, WriteError};
use crate::source::{Problem, Problems};
use crate::study::block_history::BlockHistory;
use crate::study::plan::Plan;
use crate::study::run::{self, FinishedRun, RunState, Stride};
use crate::study::site::{Sites, joint_sha256};
use crate::study::{summary, traces};
use crate::tally::{Summary, Tally};
use crate::weather;
use sha2::{Digest, Sha256};
use std::collections::HashMap;
use std::io::{self, Read as _};
use std::path::{Path, PathBuf};

/// Name of the checkpoint in the folder of a design in work.
pub const CHECKPOINT: &str = "checkpoint";
/// Name of a part's tally in its folder of a design.
pub const PART: &str = "part";
/// Bytes of a `summary.json` that are looked at.
const SUMMARY_MAX: u64 = 16 << 20;

/// A design to be done.
pub(super) struct Job {
    pub candidate: Candidate,
    /// Its blocks.
    pub stride: Stride,
    /// What its place is known by.
    pub place: String,
    /// Trials done already.
    pub done: u64,
}

/// What a first look at a design came to.
pub(super) enum JobStatus {
    Refused(Problems),
    /// Finished before; a part has no row.
    Finished {
        design_sha256: String,
        row: Option<Box<DesignRow>>,
    },
    ToDo {
        design_sha256: String,
        job: Job,
    },
}

/// How work on a design ended.
pub(super) enum JobOutcome {
    Finished(Option<Box<DesignRow>>),
    /// Stopped from outside; so many trials are done and written down.
    Stopped(u64),
}

/// Why a design could not be done.
pub(super) enum JobError {
    Refused(Problems),
    Write(WriteError),
    /// In words.
    Other(String),
}

impl From<WriteError> for JobError {
    fn from(e: WriteError) -> Self {
        JobError::Write(e)
    }
}
impl From<Problems> for JobError {
    fn from(e: Problems) -> Self {
        JobError::Refused(e)
    }
}

/// Hashes of weather files, each read once.
#[derive(Default)]
pub(super) struct Hashes(HashMap<PathBuf, Result<String, Problem>>);

impl Hashes {
    /// The joint hash of a design's files, as the place of the design has it (`study::site`).
    pub fn of(&mut self, file: &DesignFile) -> Result<String, Problems> {
        let mut hashes = Vec::new();
        for path in file.weather_paths() {
            let key = path.canonicalize().unwrap_or_else(|_| path.clone());
            let hash = self.0.entry(key).or_insert_with(|| {
                let bytes = weather::read_limited(&path).map_err(|e| {
                    Problem::error(format!("cannot be read: {e}")).in_file(&path.display().to_string())
                })?;
                Ok(Sha256::digest(&bytes).iter().map(|b| format!("{b:02x}")).collect())
            });
            hashes.push(hash.clone()?);
        }
        Ok(joint_sha256(hashes.iter().map(String::as_str)))
    }
}

impl Batch<'_> {
    /// Looks at the `index`th design: is it in order, is it done, how far is it?
    pub(super) fn inspect(
        &self,
        at: &Candidate,
        index: u64,
        share: Option<Share>,
        hashes: &mut Hashes,
    ) -> JobStatus {
        let file = match design::read(&at.path) {
            Ok(file) => file,
            Err(problems) => return JobStatus::Refused(problems),
        };
        let weather_sha256 = match hashes.of(&file) {
            Ok(hash) => hash,
            Err(problems) => return JobStatus::Refused(problems),
        };
        let identity = self.identity(at, &file, weather_sha256);
        let stride = self.stride(share, index);
        let folder = self.folder_of(share, at);
        write::sweep(&folder);
        let checkpoint =
            self.checkpoint(&folder.join(checkpoint_name(share)), &identity, stride).ok().flatten();
        let finished = match share {
            // A part without a block of this design has a file as well: its absence would look like a missing part.
            Some(_) => {
                let all = checkpoint.as_ref().is_some_and(|c| c.done == stride.count(self.until.most()));
                all.then_some(None)
            }
            None => self.finished_row(at, &folder, &identity).map(|row| Some(Box::new(row))),
        };
        match finished {
            Some(row) => {
                if share.is_none() {
                    // Killed between its last file and this: harmless, but no part of a finished design.
                    let _ = self.disk.remove(&folder.join(CHECKPOINT));
                }
                JobStatus::Finished { design_sha256: file.sha256, row }
            }
            None => {
                let done = checkpoint.map_or(0, |c| c.tally.trials());
                let job = Job { candidate: at.clone(), stride, place: Sites::name(&file), done };
                JobStatus::ToDo { design_sha256: file.sha256, job }
            }
        }
    }

    /// The row of a finished design, if it is the one wanted and whole.
    pub(super) fn finished_row(
        &self,
        at: &Candidate,
        folder: &Path,
        identity: &Identity,
    ) -> Option<DesignRow> {
        if !Seal::holds(folder, identity, &self.writer.shown()) {
            return None;
        }
        let bytes = read_limited(&folder.join("summary.json"), SUMMARY_MAX).ok()?;
        let summary: Summary = serde_json::from_slice(&bytes).ok()?;
        Some(DesignRow::of(&summary, report_link(at)))
    }

    /// Does what is left of a design.
    pub(super) fn work(
        &self,
        job: &Job,
        share: Option<Share>,
        sites: &Sites,
    ) -> Result<JobOutcome, JobError> {
        let at = &job.candidate;
        let file = design::read(&at.path)?;
        let site = sites.of(&file)?;
        let identity = self.identity(at, &file, site.sha256.clone());
        let plan = self.plan(at, file, site);
        let folder = self.folder_of(share, at);
        let path = folder.join(checkpoint_name(share));
        let mut state = RunState::start(&plan);
        match self.checkpoint(&path, &identity, job.stride) {
            Ok(Some(begun)) if state.tally.merge(&begun.tally).is_ok() => state.next_block = begun.done,
            Ok(None) => {}
            Ok(Some(_)) => self.note(at, "the checkpoint is of another season: it starts over"),
            Err(why) => self.note(at, &format!("the checkpoint is of no use, it starts over: {why}")),
        }
        let most = self.until.most();
        (self.on_event)(Event::Begun {
            file: &at.file,
            trials: job.stride.trials(job.stride.count(most), most),
            done: state.tally.trials(),
        });
        let engine = self.engine;
        let write_down = &mut |state: &RunState| {
            let checkpoint = Checkpoint {
                identity: identity.clone(),
                stride: job.stride,
                done: state.next_block,
                tally: state.tally.clone(),
            };
            write::all_on(self.disk, &folder, &[(checkpoint_name(share), checkpoint.to_bytes())]).map(drop)
        };
        if state.next_block == 0 && job.stride.count(most) == 0 {
            // A part without a block of this design says so too: silence would look like a missing part.
            write_down(&state)?;
        }
        let FinishedRun { state, history } =
            run::resume_strided(engine, &plan, self.until, job.stride, state, write_down)?;
        if state.next_block < job.stride.count(most) && !self.until.met(&state.tally) {
            return Ok(JobOutcome::Stopped(state.tally.trials()));
        }
        let row = match share {
            Some(_) => None,
            None => Some(Box::new(self.publish(at, &plan, &state.tally, history, identity)?)),
        };
        Ok(JobOutcome::Finished(row))
    }

    /// Writes the results of a design whose trials are all done.
    pub(super) fn publish(
        &self,
        at: &Candidate,
        plan: &Plan,
        tally: &Tally,
        history: Option<BlockHistory>,
        identity: Identity,
    ) -> Result<DesignRow, JobError> {
        let folder = self.folder_of(None, at);
        let summary = summary::summarise(plan, tally, self.engine.seed, self.command(at))
            .ok_or_else(|| JobError::Other("no trial was simulated".to_owned()))?;
        let mut files =
            self.writer.design_files(&summary, tally, &traces::three_days(self.engine, plan, history));
        let seal = Seal::new(identity, self.writer.shown(), &files);
        files.push((seal::FILE, seal.to_bytes()));
        write::all_on(self.disk, &folder, &files)?;
        // Left behind it would be harmless: the seal counts.
        let _ = self.disk.remove(&folder.join(CHECKPOINT));
        Ok(DesignRow::of(&summary, report_link(at)))
    }

    /// A checkpoint that fits; `None` if there is none.
    fn checkpoint(
        &self,
        path: &Path,
        identity: &Identity,
        stride: Stride,
    ) -> Result<Option<Checkpoint>, String> {
        let Some(found) = read_checkpoint(path)? else { return Ok(None) };
        if let Some(why) = found.identity.differs_from(identity) {
            return Err(why);
        }
        if found.stride != stride {
            return Err("it holds other blocks".to_owned());
        }
        if !found.adds_up(self.until.most()) {
            return Err("its trials and its blocks do not add up".to_owned());
        }
        Ok(Some(found))
    }
}

fn checkpoint_name(share: Option<Share>) -> &'static str {
    if share.is_some() { PART } else { CHECKPOINT }
}

fn report_link(at: &Candidate) -> String {
    link(&at.results.join("report.html"))
}

/// A checkpoint from a file; `None` if there is no such file.
pub(super) fn read_checkpoint(path: &Path) -> Result<Option<Checkpoint>, String> {
    match read_limited(path, checkpoint::LARGEST_BYTES as u64 + 1) {
        Ok(bytes) => Checkpoint::from_bytes(&bytes).map(Some).map_err(|e| e.to_string()),
        Err(e) if e.kind() == io::ErrorKind::NotFound => Ok(None),
        Err(e) => Err(format!("it cannot be read: {e}")),
    }
}

fn read_limited(path: &Path, most: u64) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    std::fs::File::open(path)?.take(most).read_to_end(&mut bytes)?;
    Ok(bytes)
}
