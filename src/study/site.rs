//! A place ready to be sampled: its weather files, calendar and sampler; read and fitted once.

use crate::design::{DesignFile, YearSpread};
use crate::sky::Calendar;
use crate::source::Problems;
use crate::weather::{self, Sampler, TypicalYear};
use sha2::{Digest, Sha256};
use std::collections::HashMap;
use std::path::PathBuf;
use std::sync::{Arc, Mutex};

/// A place ready to be sampled.
pub struct SiteModel {
    /// The files, in the order given; the first one's place and clock hold.
    pub years: Vec<TypicalYear>,
    /// Sun and clear sky of its minutes.
    pub calendar: Arc<Calendar>,
    /// Draws its weather.
    pub sampler: Sampler,
    /// SHA-256 over the files' hashes, or the file's own if there is one, hex.
    pub sha256: String,
}

impl SiteModel {
    /// Reads and fits the files; `paths` as they can be opened.
    ///
    /// # Errors
    /// All problems of the first file that has any.
    pub fn load(paths: &[PathBuf], spread: YearSpread) -> Result<SiteModel, Problems> {
        let years = paths.iter().map(|p| weather::load(p)).collect::<Result<Vec<_>, _>>()?;
        Ok(SiteModel::of(years, spread))
    }

    /// The same from years already read. `years` has at least one.
    pub fn of(years: Vec<TypicalYear>, spread: YearSpread) -> SiteModel {
        let calendar = Arc::new(Calendar::new(years[0].place, years[0].turbidity));
        let sampler = Sampler::new(&years, Arc::clone(&calendar), spread);
        let sha256 = match &years[..] {
            [one] => one.sha256.clone(),
            many => {
                let mut hash = Sha256::new();
                for year in many {
                    hash.update(year.sha256.as_bytes());
                }
                hash.finalize().iter().map(|b| format!("{b:02x}")).collect()
            }
        };
        SiteModel { years, calendar, sampler, sha256 }
    }

    /// What the files and the sampler want the user to know.
    pub fn warnings(&self) -> Vec<String> {
        let files = self.years.iter().flat_map(|y| y.warnings.iter().cloned());
        files.chain(self.sampler.warnings()).collect()
    }
}

/// Places by file, so that a folder of designs reads each weather file once.
#[derive(Default)]
pub struct Sites {
    known: Mutex<HashMap<String, Result<Arc<SiteModel>, Problems>>>,
}

impl Sites {
    /// No place yet.
    pub fn new() -> Sites {
        Sites::default()
    }

    /// The place of a design; weather paths are taken relative to the design's folder.
    ///
    /// # Errors
    /// The problems of its weather files.
    pub fn of(&self, file: &DesignFile) -> Result<Arc<SiteModel>, Problems> {
        let paths = file.weather_paths();
        let spread = file.design.site.year_spread;
        // One name for one file, however it is reached; a file that is not there keeps its own.
        let names: Vec<PathBuf> =
            paths.iter().map(|p| p.canonicalize().unwrap_or_else(|_| p.clone())).collect();
        let key = format!("{names:?} {spread:?}");
        if let Ok(known) = self.known.lock()
            && let Some(found) = known.get(&key)
        {
            return found.clone();
        }
        let fresh = SiteModel::load(&paths, spread).map(Arc::new);
        if let Ok(mut known) = self.known.lock() {
            known.insert(key, fresh.clone());
        }
        fresh
    }
}
