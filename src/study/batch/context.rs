//! What a batch works on, and where its files go. What it does: `drive` (all designs), `job` (one design), `gather`.

use super::batch_summary::BatchSummary;
use super::event::Event;
use super::find::Candidate;
use super::identity::{Identity, until_text};
use super::share::Share;
use crate::design::DesignFile;
use crate::disk::write::{Disk, File};
use crate::plant::DayTrace;
use crate::source::Problems;
use crate::study::engine::Engine;
use crate::study::plan::Plan;
use crate::study::run::{Stride, Until};
use crate::study::site::SiteModel;
use crate::tally::{Summary, Tally};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// A batch: a folder of designs, where results go, and how.
pub struct Batch<'a> {
    /// Seed, threads, stop flag.
    pub engine: &'a Engine<'a>,
    /// Where files are written.
    pub disk: &'a dyn Disk,
    /// Makes the contents of result files.
    pub writer: &'a dyn ResultWriter,
    /// Called for everything that happens.
    pub on_event: &'a dyn Fn(Event<'_>),
    /// Folder of designs.
    pub folder: &'a Path,
    /// Folder for results.
    pub out: &'a Path,
    /// When a design has enough trials.
    pub until: Until,
}

/// Makes the contents of result files. Implemented by the caller, because a study does not use `report`.
pub trait ResultWriter {
    /// The files of a finished design.
    fn design_files(&self, summary: &Summary, tally: &Tally, days: &[DayTrace]) -> Vec<File<'static>>;
    /// The files about the whole batch.
    fn batch_files(&self, summary: &BatchSummary) -> Vec<File<'static>>;
    /// Settings that change the files but not the numbers, such as units.
    fn shown(&self) -> String;
}

impl Batch<'_> {
    /// The folder for results, or that of a part within it.
    pub(super) fn root(&self, share: Option<Share>) -> PathBuf {
        share.map_or_else(|| self.out.to_owned(), |share| self.out.join(share.folder()))
    }

    /// A design at its place. Its path is made relative to the folder, so that results do not depend on where the folder
    /// lies.
    pub(super) fn plan(&self, at: &Candidate, mut file: DesignFile, site: Arc<SiteModel>) -> Plan {
        self.relative(&mut file.warnings);
        file.path = PathBuf::from(&at.file);
        Plan::at(file, site)
    }

    /// What a design's results are made from.
    pub(super) fn identity(&self, at: &Candidate, file: &DesignFile, weather_sha256: String) -> Identity {
        Identity {
            version: crate::VERSION.to_owned(),
            file: at.file.clone(),
            design_sha256: file.sha256.clone(),
            weather_sha256,
            seed: self.engine.seed,
            until: until_text(self.until),
        }
    }

    /// The blocks of the design number `index` that are simulated here.
    pub(super) fn stride(&self, share: Option<Share>, index: u64) -> Stride {
        share.map_or(Stride::ALL, |share| share.stride(index, blocks(self.until.most())))
    }

    /// The folder for the results of a design.
    pub(super) fn folder_of(&self, share: Option<Share>, at: &Candidate) -> PathBuf {
        self.root(share).join(&at.results)
    }

    /// Makes paths in problems relative to the folder.
    pub(super) fn relative(&self, problems: &mut Problems) {
        for place in problems.list.iter_mut().flat_map(|p| &mut p.places) {
            if let Ok(below) = Path::new(&place.path).strip_prefix(self.folder) {
                place.path = below.display().to_string();
            }
        }
    }

    /// Reports something about a design.
    pub(super) fn note(&self, at: &Candidate, words: &str) {
        (self.on_event)(Event::Noted { file: &at.file, words });
    }

    /// The command that makes the numbers of a design again, run in the folder of designs.
    pub(super) fn command(&self, at: &Candidate) -> String {
        let plain = at.file.chars().all(|c| c.is_alphanumeric() || "-_./".contains(c));
        let file = if plain { at.file.clone() } else { format!("'{}'", at.file.replace('\'', "'\\''")) };
        format!("stilldays run {file} {} --seed {}", self.until.as_flag(), self.engine.seed)
    }
}

/// Number of blocks in a run of so many trials.
pub(super) fn blocks(trials: u64) -> u64 {
    Stride::ALL.count(trials)
}
