//! A folder of designs, one after another, in an order that may be cut anywhere.

use super::find::{self, Candidate, Found, PassedOver};
use super::job::{Hashes, Job, Look, Trouble, Worked};
use super::manifest::{self, Manifest};
use super::morning::{Failed, Morning, Row, SCHEMA, Unfinished};
use super::share::Share;
use crate::disk::write::{self, Disk, File, WriteError};
use crate::disk::{Lock, LockError};
use crate::plant::DayTrace;
use crate::source::Problems;
use crate::study::engine::Engine;
use crate::study::run::Until;
use crate::study::site::Sites;
use crate::tally::{Summary, Tally};
use std::collections::HashMap;
use std::io;
use std::path::{Path, PathBuf};

/// What a batch works on and with.
pub struct Batch<'a> {
    /// Seed, threads, and who may stop it.
    pub engine: &'a Engine<'a>,
    /// Where files are written.
    pub disk: &'a dyn Disk,
    /// How numbers become files.
    pub pages: &'a dyn Pages,
    /// Hears of everything that happens.
    pub hear: &'a dyn Fn(Event<'_>),
    /// Folder of designs.
    pub folder: &'a Path,
    /// Folder for results.
    pub out: &'a Path,
    /// When a design has enough trials.
    pub until: Until,
}

/// How numbers become files: made by whoever calls, for a study knows no report.
pub trait Pages {
    /// The files of a finished design.
    fn design(&self, summary: &Summary, tally: &Tally, days: &[DayTrace]) -> Vec<File<'static>>;
    /// What there is to read in the morning.
    fn morning(&self, morning: &Morning) -> Vec<File<'static>>;
    /// All that changes the files but not the numbers, such as units.
    fn shown(&self) -> String;
}

/// Something that happened.
#[derive(Debug)]
pub enum Event<'e> {
    /// A file was not taken for a design.
    PassedOver(&'e PassedOver),
    /// A design was refused.
    Refused {
        /// The design.
        file: &'e str,
        /// Why, with paths as they can be opened.
        problems: &'e Problems,
    },
    /// All designs were looked at; now comes the work.
    Looked {
        /// Designs to be done, finished before, refused.
        to_do: usize,
        /// Finished before.
        finished: usize,
        /// Refused.
        refused: usize,
        /// Trials to be done at most, all designs together.
        trials: u64,
    },
    /// Work on a design begins.
    Begun {
        /// The design.
        file: &'e str,
        /// Trials it will have, at most.
        trials: u64,
        /// Trials done before.
        done: u64,
    },
    /// Something of a design worth knowing.
    Noted {
        /// The design.
        file: &'e str,
        /// In words.
        words: &'e str,
    },
    /// A design is finished; a part has no row.
    Finished {
        /// The design.
        file: &'e str,
        /// What it came to.
        row: Option<&'e Row>,
    },
    /// A design could not be done.
    Failed {
        /// The design.
        file: &'e str,
        /// Why, and what is safe.
        reason: &'e str,
    },
}

/// How a batch ended.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Ended {
    /// Designs with all their trials.
    pub finished: usize,
    /// Refused, or not to be written.
    pub failed: usize,
    /// Left for the next time.
    pub unfinished: usize,
}

/// Why a batch did not begin, or could not go on.
#[derive(Debug, thiserror::Error)]
#[allow(missing_docs, reason = "the messages say it")]
pub enum Stop {
    #[error("{}: the folder cannot be searched: {source}", folder.display())]
    Folder { folder: PathBuf, source: io::Error },
    #[error("{}: no design (*.toml) in it or below", .0.display())]
    NoDesign(PathBuf),
    #[error(transparent)]
    Lock(#[from] LockError),
    #[error("{0}\n  finished designs and checkpoints are safe: the same command goes on from there")]
    Write(#[from] WriteError),
    #[error("{}", .0.join("\n"))]
    Parts(Vec<String>),
}

/// The state of a batch.
pub(super) struct Book {
    pub morning: Morning,
    /// Rows of finished parts, which have none.
    pub finished_parts: usize,
}

impl Batch<'_> {
    /// Does all that is not done yet; with a share, only that.
    ///
    /// # Errors
    /// Nothing could be begun, or nothing more be written. What fails for one design only is told to
    /// `hear`, stands in the morning page and is counted.
    pub fn run(&self, share: Option<Share>) -> Result<Ended, Stop> {
        let root = self.root(share);
        let (_lock, found) = self.open(&root)?;
        let mut book = self.book(&found)?;
        let jobs = self.look_at_all(&found.designs, share, &mut book)?;
        self.go_through(jobs, share, &mut book, &|job, sites| self.work(job, share, sites))?;
        Ok(book.ended())
    }

    /// Does one job after another until none is left or somebody stops it.
    pub(super) fn go_through(
        &self,
        mut jobs: Vec<Job>,
        share: Option<Share>,
        book: &mut Book,
        work: &dyn Fn(&Job, &Sites) -> Result<Worked, Trouble>,
    ) -> Result<(), Stop> {
        // Designs of one place one after another: each place is read and fitted once, and only one is kept.
        let mut first_seen: HashMap<String, usize> = HashMap::new();
        for job in &jobs {
            let next = first_seen.len();
            first_seen.entry(job.place.clone()).or_insert(next);
        }
        jobs.sort_by_key(|job| first_seen.get(&job.place).copied());
        self.write_book(share, book)?;
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
            self.settle(&job.candidate.file, worked, book)?;
            if (k + 1) % often == 0 {
                self.write_book(share, book)?;
            }
        }
        self.write_book(share, book)
    }

    /// Holds the folder `root` and lists the designs.
    pub(super) fn open(&self, root: &Path) -> Result<(Lock, Found), Stop> {
        let folder = |source| Stop::Folder { folder: self.folder.to_owned(), source };
        self.folder.read_dir().map_err(folder)?;
        self.disk.make_folder(root).map_err(|source| WriteError {
            doing: "make the folder",
            path: root.to_owned(),
            renamed: Vec::new(),
            source,
        })?;
        let lock = Lock::take(root)?;
        write::sweep(root);
        let found = find::designs(self.folder, self.out).map_err(folder)?;
        if found.designs.is_empty() && found.refused.is_empty() {
            return Err(Stop::NoDesign(self.folder.to_owned()));
        }
        Ok((lock, found))
    }

    /// A book with what the search came to.
    pub(super) fn book(&self, found: &Found) -> Result<Book, Stop> {
        let name = self.folder.canonicalize().ok();
        let name = name.as_deref().and_then(Path::file_name).unwrap_or_default();
        let (trials, until_days) = match self.until {
            Until::Trials(n) => (Some(n), None),
            Until::HalfWidth(days) => (None, Some(days)),
        };
        let mut book = Book {
            morning: Morning {
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
            (self.hear)(Event::PassedOver(passed));
        }
        for (file, problems) in &found.refused {
            book.refuse(self, file, problems.clone());
        }
        Ok(book)
    }

    /// Looks at every design; gives back those to be done, in the order found.
    pub(super) fn look_at_all(
        &self,
        designs: &[Candidate],
        share: Option<Share>,
        book: &mut Book,
    ) -> Result<Vec<Job>, Stop> {
        let mut manifest =
            share.map(|share| Manifest::new(share, self.engine.seed, self.until.most(), self.folder));
        let (mut jobs, mut hashes) = (Vec::new(), Hashes::default());
        for (candidate, index) in designs.iter().zip(0..) {
            let mut known = None;
            match self.look(candidate, index, share, &mut hashes) {
                Look::Refused(problems) => book.refuse(self, &candidate.file, problems),
                Look::Finished { design_sha256, row } => {
                    known = Some(design_sha256);
                    book.finish(row);
                }
                Look::ToDo { design_sha256, job } => {
                    known = Some(design_sha256);
                    book.morning
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
        (self.hear)(Event::Looked {
            to_do: jobs.len(),
            finished: book.morning.designs.len() + book.finished_parts,
            refused: book.morning.failed.len(),
            trials: jobs.iter().map(|j| j.stride.trials(j.stride.count(most), most) - j.done).sum(),
        });
        if let (Some(manifest), Some(share)) = (manifest, share) {
            write::all_on(self.disk, &self.root(Some(share)), &[(manifest::FILE, manifest.to_bytes())])?;
        }
        Ok(jobs)
    }

    /// Notes how work on a design ended.
    pub(super) fn settle(
        &self,
        file: &str,
        worked: Result<Worked, Trouble>,
        book: &mut Book,
    ) -> Result<(), Stop> {
        let unfinished = &mut book.morning.unfinished;
        let Some(entry) = unfinished.iter().position(|u| u.file == file) else { return Ok(()) };
        match worked {
            Ok(Worked::Stopped(trials)) => {
                unfinished[entry].trials_done = trials;
                return Ok(());
            }
            Err(Trouble::Write(error)) if error.is_of_the_whole_disk() => return Err(error.into()),
            _ => drop(unfinished.remove(entry)),
        }
        match worked {
            Ok(Worked::Stopped(_)) => {}
            Ok(Worked::Finished(row)) => {
                (self.hear)(Event::Finished { file, row: row.as_deref() });
                book.finish(row);
            }
            Err(Trouble::Refused(problems)) => book.refuse(self, file, problems),
            Err(Trouble::Write(error)) => book.fail(self, file, error.to_string()),
            Err(Trouble::Words(words)) => book.fail(self, file, words),
        }
        Ok(())
    }

    /// Writes the morning page; a part has none.
    pub(super) fn write_book(&self, share: Option<Share>, book: &mut Book) -> Result<(), Stop> {
        if share.is_none() {
            book.morning.arrange();
            write::all_on(self.disk, self.out, &self.pages.morning(&book.morning))?;
        }
        Ok(())
    }

    /// Where everything goes: the results, or a part's folder in them.
    pub(super) fn root(&self, share: Option<Share>) -> PathBuf {
        share.map_or_else(|| self.out.to_owned(), |share| self.out.join(share.folder()))
    }
}

impl Book {
    fn refuse(&mut self, batch: &Batch<'_>, file: &str, mut problems: Problems) {
        (batch.hear)(Event::Refused { file, problems: &problems });
        batch.relative(&mut problems);
        self.morning.failed.push(Failed { file: file.to_owned(), reason: problems.to_string() });
    }

    fn fail(&mut self, batch: &Batch<'_>, file: &str, reason: String) {
        (batch.hear)(Event::Failed { file, reason: &reason });
        self.morning.failed.push(Failed { file: file.to_owned(), reason });
    }

    pub(super) fn finish(&mut self, row: Option<Box<Row>>) {
        match row {
            Some(row) => self.morning.designs.push(*row),
            None => self.finished_parts += 1,
        }
    }

    pub(super) fn ended(&self) -> Ended {
        Ended {
            finished: self.morning.designs.len() + self.finished_parts,
            failed: self.morning.failed.len(),
            unfinished: self.morning.unfinished.len(),
        }
    }
}
