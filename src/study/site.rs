//! A place: its weather files, calendar and weather sampler, read and fitted once.

use crate::design::{DesignFile, YearSpread};
use crate::sky::Calendar;
use crate::source::{Problem, Problems};
use crate::weather::{self, DonorPool, Sampler, TypicalYear};
use sha2::{Digest, Sha256};
use std::collections::HashMap;
use std::path::PathBuf;
use std::sync::{Arc, Mutex};

/// A place: its weather files, calendar and sampler.
pub struct SiteModel {
    /// The files, in the order given. Coordinates and clock are those of the first.
    pub years: Vec<TypicalYear>,
    /// Sun and clear sky of its minutes.
    pub calendar: Arc<Calendar>,
    /// Draws its weather.
    pub sampler: Sampler,
    /// SHA-256 of the file, or over the hashes of several files; hex.
    pub sha256: String,
}

impl SiteModel {
    /// Reads and fits the files.
    ///
    /// # Errors
    /// All problems of the first file that has any.
    pub fn load(paths: &[PathBuf], spread: YearSpread) -> Result<SiteModel, Problems> {
        let years = paths.iter().map(|p| weather::load(p)).collect::<Result<Vec<_>, _>>()?;
        let calendar = Arc::new(Calendar::new(years[0].place, years[0].turbidity));
        let pool = DonorPool::new(&years, &calendar);
        if pool.donors().is_empty() {
            let name = paths.first().map(|p| p.display().to_string()).unwrap_or_default();
            let problem = Problem::error("no whole day in it: there is nothing to draw days from");
            return Err(problem
                .in_file(&name)
                .help("give a year of hours; a day counts if all its hours are there")
                .into());
        }
        let sampler = Sampler::over(pool, &years, Arc::clone(&calendar), spread);
        let sha256 = joint_sha256(years.iter().map(|y| y.sha256.as_str()));
        Ok(SiteModel { years, calendar, sampler, sha256 })
    }

    /// Warnings of the files and the sampler.
    pub fn warnings(&self) -> Vec<String> {
        let files = self.years.iter().flat_map(|y| y.warnings.iter().cloned());
        files.chain(self.sampler.warnings()).collect()
    }
}

/// One hash for all files of a place: that of the file, or over the hashes of several; hex.
pub(crate) fn joint_sha256<'a>(mut hashes: impl ExactSizeIterator<Item = &'a str>) -> String {
    if hashes.len() == 1 {
        return hashes.next().unwrap_or_default().to_owned();
    }
    let mut joint = Sha256::new();
    hashes.for_each(|hash| joint.update(hash.as_bytes()));
    joint.finalize().iter().map(|b| format!("{b:02x}")).collect()
}

/// Places by weather file, so that several designs read each file once.
#[derive(Default)]
pub struct Sites {
    known: Mutex<HashMap<String, Result<Arc<SiteModel>, Problems>>>,
}

impl Sites {
    /// Without places.
    pub fn new() -> Sites {
        Sites::default()
    }

    /// The key of a design's place: designs with the same key share it.
    pub(crate) fn name(file: &DesignFile) -> String {
        // The same file has one name, whatever path leads to it; a missing file keeps the path given.
        let names: Vec<PathBuf> =
            file.weather_paths().iter().map(|p| p.canonicalize().unwrap_or_else(|_| p.clone())).collect();
        format!("{names:?} {:?}", file.design.site.year_spread)
    }

    /// The place of a design; weather paths are taken relative to the design's folder.
    ///
    /// # Errors
    /// The problems of its weather files.
    pub fn of(&self, file: &DesignFile) -> Result<Arc<SiteModel>, Problems> {
        let key = Sites::name(file);
        if let Ok(known) = self.known.lock()
            && let Some(found) = known.get(&key)
        {
            return found.clone();
        }
        let fresh = SiteModel::load(&file.weather_paths(), file.design.site.year_spread).map(Arc::new);
        if let Ok(mut known) = self.known.lock() {
            known.insert(key, fresh.clone());
        }
        fresh
    }
}
