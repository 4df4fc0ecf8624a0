//! One design of a batch: inspects what is done already, simulates the rest, writes the files.

use super::batch_summary::{DesignRow, link};
use super::checkpoint::{self, Checkpoint};
use super::context::Batch;
use super::event::Event;
use super::find::Candidate;
use super::identity::Identity;
use super::seal::{self, Seal};
use super::share::Share;
use crate::design::{self, DesignFile};
use crate::disk::read;
use crate::disk::write::{self, WriteError};
use crate::disk::{Folder, FolderError, LockError};
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
use std::io;
use std::path::{Path, PathBuf};

/// Name of the checkpoint in the folder of a design that is not finished.
pub(crate) const CHECKPOINT: &str = "checkpoint";
/// Name of the checkpoint of a part, in the part's folder of a design.
pub(crate) const PART: &str = "part";
/// Maximum size of a `summary.json`, bytes.
const SUMMARY_MAX: u64 = 16 << 20;

/// A design to simulate.
pub(super) struct Job {
    pub candidate: Candidate,
    /// Its blocks.
    pub stride: Stride,
    /// The key of its place ([`Sites::name`]).
    pub place: String,
    /// Trials done before.
    pub done: u64,
}

/// The state of a design before any work.
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

/// How a job ended.
pub(super) enum JobOutcome {
    Finished(Option<Box<DesignRow>>),
    /// Results of the trials that there are, so many.
    SoFar(Box<DesignRow>, u64),
    /// It was stopped; so many trials are done and saved.
    Stopped(u64),
}

/// Why a job failed.
pub(super) enum JobError {
    Refused(Problems),
    Write(WriteError),
    /// Anything else, as a message.
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
    /// The joint hash of a design's weather files, the same as that of its place (`study::site`).
    pub(crate) fn of(&mut self, file: &DesignFile) -> Result<String, Problems> {
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
    /// Inspects the design number `index`: is it valid, is it finished, how many trials are done?
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
        // The root of the results is held, and tidied by now.
        if folder != self.root(share) {
            Folder::sweep(&folder);
        }
        let checkpoint =
            self.checkpoint(&folder.join(checkpoint_name(share)), &identity, stride).ok().flatten();
        let finished = match share {
            // A part without a block of this design has a file, too: without it the part would seem to be missing.
            Some(_) => {
                let all = checkpoint.as_ref().is_some_and(|c| c.done == stride.count(self.until.most()));
                all.then_some(None)
            }
            None => self.finished_row(at, &folder, &identity).map(|row| Some(Box::new(row))),
        };
        match finished {
            Some(row) => {
                if share.is_none() {
                    // Left behind if the program was killed after writing the results.
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

    /// The row of a finished design, if its files are complete and made from the same input.
    pub(super) fn finished_row(
        &self,
        at: &Candidate,
        folder: &Path,
        identity: &Identity,
    ) -> Option<DesignRow> {
        if !Seal::holds(folder, identity, &self.writer.shown()) {
            return None;
        }
        let bytes = read::at_most(&folder.join("summary.json"), SUMMARY_MAX).ok()?;
        let summary: Summary = serde_json::from_slice(&bytes).ok()?;
        Some(DesignRow::of(&summary, report_link(at)))
    }

    /// Simulates the rest of a design and writes its files.
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
            Ok(Some(_)) => self.note(at, "the checkpoint is of another season: starting over"),
            Err(why) => self.note(at, &format!("the checkpoint cannot be used, starting over: {why}")),
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
            // A part without a block of this design writes a file, too: without it the part would seem to be missing.
            write_down(&state)?;
        }
        let FinishedRun { state, history } =
            run::resume_strided(engine, &plan, self.until, job.stride, state, write_down)?;
        if !self.until.ended(&state, job.stride.count(most)) {
            return Ok(JobOutcome::Stopped(state.tally.trials()));
        }
        let row = match share {
            Some(_) => None,
            None => Some(Box::new(self.publish(at, &plan, &state.tally, history, identity)?)),
        };
        Ok(JobOutcome::Finished(row))
    }

    /// Writes the results of a finished design.
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
        let _held = self.hold(&folder)?;
        write::all_on(self.disk, &folder, &files)?;
        // If it stays it is harmless: the seal decides.
        let _ = self.disk.remove(&folder.join(CHECKPOINT));
        Ok(DesignRow::of(&summary, report_link(at)))
    }

    /// The folder of a design, while its files are written: `run` and its like may be at work on it, who hold nothing but this one.
    ///
    /// # Errors
    /// They are.
    fn hold(&self, folder: &Path) -> Result<Option<Folder>, JobError> {
        if folder == self.root(None) {
            return Ok(None);
        }
        match Folder::take(folder) {
            Err(FolderError::Lock(held @ LockError::Held { .. })) => Err(JobError::Other(held.to_string())),
            // What else is wrong with it is said when its files are written.
            taken => Ok(taken.ok()),
        }
    }

    /// The checkpoint, if it fits; `None` if there is no file.
    ///
    /// # Errors
    /// Why it does not fit.
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
            return Err("it has other blocks".to_owned());
        }
        if !found.adds_up(self.until.most()) {
            return Err("its numbers of trials and blocks do not agree".to_owned());
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
    match read::at_most(path, checkpoint::LARGEST_BYTES as u64 + 1) {
        Ok(bytes) => Checkpoint::from_bytes(&bytes).map(Some).map_err(|e| e.to_string()),
        Err(e) if e.kind() == io::ErrorKind::NotFound => Ok(None),
        Err(e) => Err(format!("it cannot be read: {e}")),
    }
}
