//! Simulates a folder of designs one after another. It can be stopped or killed at any time and continued later.

use super::batch_summary::{BatchSummary, DesignRow, Failed, SCHEMA, Unfinished};
use super::context::Batch;
use super::event::Event;
use super::find::{self, Candidate, Found};
use super::job::{Hashes, Job, JobError, JobOutcome, JobStatus};
use super::manifest::{self, Manifest};
use super::share::Share;
use crate::disk::write::{self, WriteError};
use crate::disk::{Lock, LockError};
use crate::source::Problems;
use crate::study::run::Until;
use crate::study::site::Sites;
use std::collections::HashMap;
use std::io;
use std::path::{Path, PathBuf};

/// How a batch ended.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Ended {
    /// Designs with all their trials.
    pub finished: usize,
    /// Refused, or with results that could not be written.
    pub failed: usize,
    /// Not finished: left for the next start.
    pub unfinished: usize,
}

/// Why a batch could not start or continue.
#[derive(Debug, thiserror::Error)]
#[allow(missing_docs, reason = "the messages say it")]
pub enum BatchError {
    #[error("{}: the folder cannot be searched: {source}", folder.display())]
    Folder { folder: PathBuf, source: io::Error },
    #[error("{}: no design (*.toml) in it or below", .0.display())]
    NoDesign(PathBuf),
    #[error(transparent)]
    Lock(#[from] LockError),
    #[error("{0}\n  finished designs and checkpoints are safe: run the same command again to continue")]
    Write(#[from] WriteError),
    #[error("{}", .0.join("\n"))]
    Parts(Vec<String>),
    #[error("stopped while looking at the designs; nothing was changed")]
    Stopped,
}

/// What has been done so far.
pub(super) struct BatchLog {
    pub summary: BatchSummary,
    /// Number of finished parts; a part has no row in the summary.
    pub finished_parts: usize,
}

impl Batch<'_> {
    /// Simulates all designs that are not finished; with a share, only that part of each.
    ///
    /// # Errors
    /// It could not start, or nothing more could be written. What fails for one design is reported to `on_event`, listed in
    /// the summary and counted.
    pub fn run(&self, share: Option<Share>) -> Result<Ended, BatchError> {
        let root = self.root(share);
        let (_lock, found) = self.open(&root)?;
        let mut log = self.new_log(&found)?;
        let jobs = self.inspect_all(&found.designs, share, &mut log)?;
        self.run_jobs(jobs, share, &mut log, &|job, sites| self.work(job, share, sites))?;
        Ok(log.ended())
    }

    /// Works through the jobs until none is left or it is stopped.
    pub(super) fn run_jobs(
        &self,
        mut jobs: Vec<Job>,
        share: Option<Share>,
        log: &mut BatchLog,
        work: &dyn Fn(&Job, &Sites) -> Result<JobOutcome, JobError>,
    ) -> Result<(), BatchError> {
        // Designs at the same place are adjacent: each place is read and fitted once, and only one is kept in memory.
        let mut first_seen: HashMap<String, usize> = HashMap::new();
        for job in &jobs {
            let next = first_seen.len();
            first_seen.entry(job.place.clone()).or_insert(next);
        }
        jobs.sort_by_key(|job| first_seen.get(&job.place).copied());
        self.write_log(share, log)?;
        let often = jobs.len().div_ceil(100);
        let (mut sites, mut place) = (Sites::new(), None);
        for (k, job) in jobs.iter().enumerate() {
            if self.engine.stopped() {
                break;
            }
            if place.replace(job.place.as_str()) != Some(job.place.as_str()) {
                sites = Sites::new();
            }
            let worked = work(job, &sites);
            self.record_outcome(&job.candidate.file, worked, log)?;
            if (k + 1) % often == 0 {
                self.write_log(share, log)?;
            }
        }
        self.write_log(share, log)
    }

    /// Locks the folder `root` and lists the designs.
    pub(super) fn open(&self, root: &Path) -> Result<(Lock, Found), BatchError> {
        let folder = |source| BatchError::Folder { folder: self.folder.to_owned(), source };
        self.folder.read_dir().map_err(folder)?;
        self.disk.make_folder(root).map_err(|source| WriteError {
            doing: "make the folder",
            path: root.to_owned(),
            renamed: Vec::new(),
            source,
        })?;
        let lock = Lock::take(root)?;
        write::tidy(root);
        let found = find::designs(self.folder, self.out).map_err(folder)?;
        if found.designs.is_empty() && found.refused.is_empty() {
            return Err(BatchError::NoDesign(self.folder.to_owned()));
        }
        Ok((lock, found))
    }

    /// A log that holds the files refused or ignored by the search.
    pub(super) fn new_log(&self, found: &Found) -> Result<BatchLog, BatchError> {
        let name = self.folder.canonicalize().ok();
        let name = name.as_deref().and_then(Path::file_name).unwrap_or_default();
        let (trials, until_days) = match self.until {
            Until::Trials(n) => (Some(n), None),
            Until::HalfWidth(days) => (None, Some(days)),
        };
        let mut log = BatchLog {
            summary: BatchSummary {
                schema: SCHEMA,
                version: crate::VERSION,
                folder: name.to_string_lossy().into_owned(),
                seed: self.engine.seed,
                trials,
                until_days,
                failed: Vec::new(),
                unfinished: Vec::new(),
                designs: Vec::new(),
                passed_over: found.passed_over.clone(),
            },
            finished_parts: 0,
        };
        for passed in &found.passed_over {
            (self.on_event)(Event::PassedOver(passed));
        }
        for (file, problems) in &found.refused {
            log.refuse(self, file, problems.clone());
        }
        Ok(log)
    }

    /// Inspects every design; gives those to be simulated, in the order found.
    pub(super) fn inspect_all(
        &self,
        designs: &[Candidate],
        share: Option<Share>,
        log: &mut BatchLog,
    ) -> Result<Vec<Job>, BatchError> {
        let mut manifest =
            share.map(|share| Manifest::new(share, self.engine.seed, self.until.most(), self.folder));
        let (mut jobs, mut hashes) = (Vec::new(), Hashes::default());
        for (candidate, index) in designs.iter().zip(0..) {
            if self.engine.stopped() {
                return Err(BatchError::Stopped);
            }
            (self.on_event)(Event::Looking { at: index, of: designs.len() as u64 });
            let mut known = None;
            match self.inspect(candidate, index, share, &mut hashes) {
                JobStatus::Refused(problems) => log.refuse(self, &candidate.file, problems),
                JobStatus::Finished { design_sha256, row } => {
                    known = Some(design_sha256);
                    log.finish(row);
                }
                JobStatus::ToDo { design_sha256, job } => {
                    known = Some(design_sha256);
                    log.summary
                        .unfinished
                        .push(Unfinished { file: candidate.file.clone(), trials_done: job.done });
                    jobs.push(job);
                }
            }
            if let Some(manifest) = &mut manifest {
                manifest.designs.push((candidate.file.clone(), known));
            }
        }
        let most = self.until.most();
        (self.on_event)(Event::Looked {
            to_do: jobs.len(),
            finished: log.summary.designs.len() + log.finished_parts,
            refused: log.summary.failed.len(),
            trials: jobs.iter().map(|j| j.stride.trials(j.stride.count(most), most) - j.done).sum(),
        });
        if let (Some(manifest), Some(share)) = (manifest, share) {
            write::all_on(self.disk, &self.root(Some(share)), &[(manifest::FILE, manifest.to_bytes())])?;
        }
        Ok(jobs)
    }

    /// Records how a job ended.
    pub(super) fn record_outcome(
        &self,
        file: &str,
        worked: Result<JobOutcome, JobError>,
        log: &mut BatchLog,
    ) -> Result<(), BatchError> {
        let Some(entry) = log.summary.unfinished.iter().position(|u| u.file == file) else { return Ok(()) };
        match worked {
            Ok(JobOutcome::Stopped(trials)) => log.summary.unfinished[entry].trials_done = trials,
            Ok(JobOutcome::SoFar(row, trials)) => {
                log.summary.unfinished[entry].trials_done = trials;
                (self.on_event)(Event::Finished { file, row: Some(&row) });
                log.finish(Some(row));
            }
            Ok(JobOutcome::Finished(row)) => {
                log.summary.unfinished.remove(entry);
                (self.on_event)(Event::Finished { file, row: row.as_deref() });
                log.finish(row);
            }
            // The design stays unfinished: the next start continues it.
            Err(JobError::Write(error)) if error.is_of_the_whole_disk() => return Err(error.into()),
            Err(error) => {
                log.summary.unfinished.remove(entry);
                match error {
                    JobError::Refused(problems) => log.refuse(self, file, problems),
                    JobError::Write(error) => log.fail(self, file, error.to_string()),
                    JobError::Other(message) => log.fail(self, file, message),
                }
            }
        }
        Ok(())
    }

    /// Writes the summary of the batch; a part has none.
    pub(super) fn write_log(&self, share: Option<Share>, log: &mut BatchLog) -> Result<(), BatchError> {
        if share.is_none() {
            log.summary.arrange();
            write::all_on(self.disk, self.out, &self.writer.batch_files(&log.summary))?;
        }
        Ok(())
    }
}

impl BatchLog {
    fn refuse(&mut self, batch: &Batch<'_>, file: &str, mut problems: Problems) {
        (batch.on_event)(Event::Refused { file, problems: &problems });
        batch.relative(&mut problems);
        self.summary.failed.push(Failed { file: file.to_owned(), reason: problems.to_string() });
    }

    fn fail(&mut self, batch: &Batch<'_>, file: &str, reason: String) {
        (batch.on_event)(Event::Failed { file, reason: &reason });
        self.summary.failed.push(Failed { file: file.to_owned(), reason });
    }

    pub(super) fn finish(&mut self, row: Option<Box<DesignRow>>) {
        match row {
            Some(row) => self.summary.designs.push(*row),
            None => self.finished_parts += 1,
        }
    }

    pub(super) fn ended(&self) -> Ended {
        Ended {
            finished: self.summary.finished() + self.finished_parts,
            failed: self.summary.failed.len(),
            unfinished: self.summary.unfinished.len(),
        }
    }
}
