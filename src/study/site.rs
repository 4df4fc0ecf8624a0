//! A place: its weather files, calendar and weather sampler, read and fitted once.

use crate::design::{DesignFile, WeatherYears, YearSpread};
use crate::sky::Calendar;
use crate::source::{Problem, Problems};
use crate::weather::input::WeatherInput;
use crate::weather::{self, DonorPool, Sampler, TypicalYear, YearKind};
use rayon::prelude::*;
use sha2::{Digest, Sha256};
use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};

/// Distance up to which a station's days are those of a place, °.
const DAYS_APART_DEG: f64 = 1.0;

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
    /// Reads and fits the files, whose kind is said or found in them.
    ///
    /// # Errors
    /// All problems of the first file that has any.
    pub fn load(paths: &[PathBuf], kind: WeatherYears, spread: YearSpread) -> Result<SiteModel, Problems> {
        // Side by side; the problems are those of the first file that has any, whichever is read first.
        let read: Vec<_> = paths.par_iter().map(|p| weather::load(p)).collect();
        let mut years = read.into_iter().collect::<Result<Vec<_>, _>>()?;
        for year in &mut years {
            year.kind = match kind {
                WeatherYears::ByFile => year.kind,
                WeatherYears::Typical => YearKind::Typical,
                WeatherYears::Measured => YearKind::Real,
            };
        }
        let calendar = Arc::new(Calendar::new(years[0].place, years[0].turbidity));
        let pool = DonorPool::new(&years, &calendar);
        if pool.donors().is_empty() {
            let name = paths.first().map(|p| p.display().to_string()).unwrap_or_default();
            let problem = Problem::error("no whole day in it: there is nothing to draw days from");
            return Err(problem
                .in_file(&name)
                .help("give a year of hours; a day counts if all its hours are there, from midnight to midnight by the sun")
                .into());
        }
        let sampler = Sampler::over(pool, &years, Arc::clone(&calendar), spread);
        let sha256 = joint_sha256(years.iter().map(|y| y.sha256.as_str()));
        Ok(SiteModel { years, calendar, sampler, sha256 })
    }

    /// What its files are.
    pub fn input(&self) -> WeatherInput {
        WeatherInput::of(&self.years)
    }

    /// A file of actual days of a place whose typical years are known: its hours in their order, under the sun and clear sky of `home`.
    ///
    /// # Errors
    /// The problems of the file; one without a whole day; one of a place too far away.
    pub fn of_days(path: &Path, home: &SiteModel) -> Result<SiteModel, Problems> {
        let year = weather::load(path)?;
        let name = path.display().to_string();
        let refuse =
            |title: String, help: &str| Problems::from(Problem::error(title).in_file(&name).help(help));
        let (there, here) = (year.place, home.calendar.place);
        let east = (there.longitude_deg - here.longitude_deg + 540.0).rem_euclid(360.0) - 180.0;
        let apart = east.abs().max((there.latitude_deg - here.latitude_deg).abs());
        if apart > DAYS_APART_DEG {
            let title = format!("its place lies {apart:.1} deg from that of the design");
            return Err(refuse(
                title,
                "give a station nearby: its days must have been those of the fountain",
            ));
        }
        if (there.utc_offset_h - here.utc_offset_h).abs() > 1e-9 {
            let title = format!(
                "its clock is UTC{:+}, that of the design's weather UTC{:+}",
                there.utc_offset_h, here.utc_offset_h
            );
            return Err(refuse(title, "give hours of the same standard time"));
        }
        let years = vec![year];
        let pool = DonorPool::new(&years, &home.calendar);
        if pool.donors().is_empty() {
            return Err(refuse(
                "no whole day in it".to_owned(),
                "a day counts if all its hours are there, from midnight to midnight by the sun",
            ));
        }
        let sampler = Sampler::over(pool, &years, Arc::clone(&home.calendar), YearSpread::None).replaying();
        let sha256 = joint_sha256(years.iter().map(|y| y.sha256.as_str()));
        Ok(SiteModel { years, calendar: Arc::clone(&home.calendar), sampler, sha256 })
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
        let site = &file.design.site;
        format!("{names:?} {:?} {:?}", site.weather_years, site.year_spread)
    }

    /// The place of a design; weather paths are taken relative to the design's folder.
    ///
    /// # Errors
    /// The problems of its weather files.
    pub fn of(&self, file: &DesignFile) -> Result<Arc<SiteModel>, Problems> {
        // Said with the design that names it: another design may name the same file.
        if let Some(problem) = missing_file(file) {
            return Err(problem.into());
        }
        let key = Sites::name(file);
        if let Ok(known) = self.known.lock()
            && let Some(found) = known.get(&key)
        {
            return found.clone();
        }
        let fresh = {
            let site = &file.design.site;
            SiteModel::load(&file.weather_paths(), site.weather_years, site.year_spread).map(Arc::new)
        };
        if let Ok(mut known) = self.known.lock() {
            known.insert(key, fresh.clone());
        }
        fresh
    }
}

/// How alike (Jaro-Winkler) a name must be to be the one that was meant.
const LIKENESS_MIN: f64 = 0.8;
/// Names of weather files that are offered.
const OFFERED: usize = 5;

/// A weather file of a design that is not there: where the design names it, and what there is instead.
fn missing_file(file: &DesignFile) -> Option<Problem> {
    let missing = file.weather_paths().into_iter().find(|p| !p.exists())?;
    let named = missing.file_name().unwrap_or_default().to_string_lossy().into_owned();
    let title = format!("the weather file {} does not exist", missing.display());
    let design = file.path.display().to_string();
    let problem = match place_of_weather(&file.text) {
        Some(span) => Problem::error(title).at(&design, &file.text, span, "named here"),
        None => Problem::error(format!("{title}; {design} names it")).in_file(&design),
    };
    let there = weather_files(missing.parent()?);
    let alike = |name: &&String| strsim::jaro_winkler(name, &named) > LIKENESS_MIN;
    let problem = match there
        .iter()
        .filter(alike)
        .max_by(|a, b| strsim::jaro_winkler(a, &named).total_cmp(&strsim::jaro_winkler(b, &named)))
    {
        Some(meant) => problem.help(format!("did you mean `{meant}`?")),
        None if there.is_empty() => {
            problem.help("there is no weather file in that folder; paths start at the design's folder")
        }
        None => problem
            .help(format!("weather files in that folder: {}", there[..there.len().min(OFFERED)].join(", "))),
    };
    Some(problem.help(
        "national weather services and building simulation projects give typical years away (EPW, TMY3); twelve monthly means will \
         do, too: stilldays invent",
    ))
}

/// Bytes of the value of `site.weather` in a design's text.
fn place_of_weather(text: &str) -> Option<std::ops::Range<usize>> {
    let root = toml::de::DeTable::parse(text).ok()?;
    let site = root.get_ref().get("site")?.get_ref().as_table()?;
    Some(site.get("weather")?.span())
}

/// Names in a folder that end as weather files do, in order.
fn weather_files(folder: &std::path::Path) -> Vec<String> {
    let folder = if folder.as_os_str().is_empty() { std::path::Path::new(".") } else { folder };
    let Ok(entries) = std::fs::read_dir(folder) else { return Vec::new() };
    let ends = [".epw", ".csv", ".epw.gz", ".csv.gz"];
    let mut names: Vec<String> = entries
        .filter_map(|entry| Some(entry.ok()?.file_name().to_string_lossy().into_owned()))
        .filter(|name| ends.iter().any(|end| name.to_lowercase().ends_with(end)))
        .collect();
    names.sort();
    names
}
