//! `stilldays weather FILE…` and `stilldays invent CLIMATE`

use super::failure::Outcome;
use super::failure::{Failure, print, report_failure};
use super::output::{open_page, terminal};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use stilldays::design::{WeatherYears, YearSpread};
use stilldays::disk::Folder;
use stilldays::report::csv::{DaysCsv, MinutesCsv};
use stilldays::report::weather::{Described, FileAndSampled, PoolAndSampled, SCHEMA};
use stilldays::report::{self, html, json};
use stilldays::study::SiteModel;
use stilldays::study::plan::RUN_IN_DAYS;
use stilldays::study::{sampled_days, sampled_years};
use stilldays::units::System;
use stilldays::weather::file::describe::{self, Description};
use stilldays::weather::invent;

/// Blocks of sixteen sampled years that a file is compared with.
const BLOCKS: u64 = 6;

#[derive(clap::Args)]
pub struct Args {
    /// Weather files; each is described, and years sampled from it are compared with it
    #[arg(required = true, value_name = "FILE")]
    files: Vec<PathBuf>,
    /// Random seed
    #[arg(long, value_name = "S", default_value_t = 1)]
    seed: u64,
    /// Print all numbers as JSON instead of text
    #[arg(long, conflicts_with = "csv")]
    json: bool,
    /// Print all numbers as CSV instead of text, one in each row
    #[arg(long)]
    csv: bool,
    /// The files are years of one place: also compare years sampled from all of them together
    #[arg(long)]
    pool: bool,
    /// Also write the sampled years of the first N trials of a run, day by day
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(1..=10_000))]
    days: Option<u64>,
    /// Also write the sampled year of this trial of a run, minute by minute; the first trial is 0
    #[arg(long, value_name = "TRIAL", value_parser = clap::value_parser!(u64).range(..10_000_000))]
    write_minutes: Option<u64>,
    /// Also write a page: light by month, dull spells, what the files are, how sampled years compare
    #[arg(long)]
    page: bool,
    /// Open the page, if there is a desktop
    #[arg(long, requires = "page")]
    open: bool,
    /// Folder for the page and the files of days and minutes
    #[arg(long, value_name = "DIR", default_value = "results")]
    out: PathBuf,
}

pub fn run(args: &Args) -> Outcome {
    check_names(args)?;
    let mut described = Described { schema: SCHEMA, files: Vec::new(), pool: None };
    let (mut refused, mut to_write) = (false, Vec::new());
    for path in &args.files {
        match one(path, args) {
            Ok((file, more)) => {
                if !args.json && !args.csv {
                    let before = if described.files.is_empty() { "" } else { "\n\n" };
                    print(&format!("{before}{}", report::text::weather(&file, terminal(System::Si))))?;
                }
                described.files.push(file);
                to_write.extend(more);
            }
            Err(failure) => {
                report_failure(failure);
                refused = true;
            }
        }
    }
    if args.pool && !refused {
        let (pool, more) = together(args, &described.files)?;
        if !args.json && !args.csv {
            print(&format!("\n\n{}", report::text::weather_pool(&pool, terminal(System::Si))))?;
        }
        described.pool = Some(pool);
        to_write.extend(more);
    }
    if args.json {
        print(&String::from_utf8_lossy(&json::bytes(&described)))?;
    } else if args.csv {
        print(&String::from_utf8_lossy(&report::csv::weather(&described)))?;
    }
    let page = args.page && !described.files.is_empty();
    if page {
        to_write.push(("Page", PAGE.to_owned(), html::weather(&described).into_bytes()));
    }
    write_and_tell(args, to_write)?;
    if page && args.open {
        open_page(&args.out.join(PAGE));
    }
    if refused { Err(Failure::Reported) } else { Ok(()) }
}

/// Refuses arguments that would write two files to one name, or name a folder for nothing.
fn check_names(args: &Args) -> Outcome {
    if args.write_minutes.is_none() && args.days.is_none() && !args.page && args.out != Path::new("results") {
        return Err(Failure::Usage("--out goes with --page, --days or --write-minutes".to_owned()));
    }
    let minutes = args.write_minutes.map(ending_of_minutes);
    let days = args.days.filter(|_| !args.pool).map(|_| DAYS_END.to_owned());
    for end in [minutes, days].into_iter().flatten() {
        let mut names = BTreeSet::new();
        if let Some(name) =
            args.files.iter().map(|f| name_beside(f, &end)).find(|name| !names.insert(name.clone()))
        {
            return Err(Failure::Usage(format!(
                "the sampled years of two files would both be written to {name}; run the command once for each file"
            )));
        }
    }
    Ok(())
}

/// A file to be written: what is in it, its name, and its bytes.
type ToWrite = (&'static str, String, Vec<u8>);

/// Writes all files or none, and says where they are.
fn write_and_tell(args: &Args, files: Vec<ToWrite>) -> Outcome {
    if files.is_empty() {
        return Ok(());
    }
    let (named, contents): (Vec<_>, Vec<_>) =
        files.into_iter().map(|(what, name, bytes)| ((what, name), bytes)).unzip();
    let files: Vec<_> = named.iter().map(|(_, name)| name.as_str()).zip(contents).collect();
    let written = Folder::take(&args.out)?.write(&files)?;
    if args.json || args.csv {
        return Ok(());
    }
    let line = |((what, _), path): (&(&str, String), &PathBuf)| format!("{what}: {}\n", path.display());
    print(&format!("\n{}", named.iter().zip(&written).map(line).collect::<String>()))
}

/// The page on invented years, beside the first of them.
fn page_beside(first: &Path) -> PathBuf {
    first.with_file_name(name_beside(first, "weather")).with_extension("html")
}

/// The sampled days of a place.
fn days_to_write(args: &Args, site: &SiteModel, files: &[&Description], name: &str) -> Vec<ToWrite> {
    let Some(trials) = args.days else { return Vec::new() };
    let mut csv = DaysCsv::new(files, args.seed, trials);
    sampled_days::days_of_trials(&site.sampler, args.seed, trials, |d| csv.put(&d));
    vec![("Every sampled day", name.to_owned(), csv.bytes())]
}

/// Years sampled from all files as one place, and their days where asked for.
fn together(args: &Args, files: &[FileAndSampled]) -> Result<(PoolAndSampled, Vec<ToWrite>), Failure> {
    let isa = super::effort::isa();
    let site = SiteModel::load(&args.files, WeatherYears::ByFile, YearSpread::ByClimate)?;
    let sampled = sampled_years::compare(&site.sampler, &site.years, isa, args.seed, BLOCKS);
    let described: Vec<&Description> = files.iter().map(|f| &f.file).collect();
    let name = name_beside(&args.files[0], &format!("pool-of-{}-{DAYS_END}", args.files.len()));
    let to_write = days_to_write(args, &site, &described, &name);
    Ok((PoolAndSampled { files: args.files.len(), sampled }, to_write))
}

/// Describes a file, holds sampled years against it, and makes files of days and minutes where asked for.
fn one(path: &Path, args: &Args) -> Result<(FileAndSampled, Vec<ToWrite>), Failure> {
    let isa = super::effort::isa();
    let site = SiteModel::load(&[path.to_owned()], WeatherYears::ByFile, YearSpread::ByClimate)?;
    let mut file = describe::describe(&site.years[0]);
    file.warnings = site.warnings();
    let mut to_write = match args.pool {
        true => Vec::new(),
        false => days_to_write(args, &site, &[&file], &name_beside(path, DAYS_END)),
    };
    if let Some(trial) = args.write_minutes {
        let mut csv = MinutesCsv::new(&file, args.seed, trial, site.calendar.day_start_h);
        let year = RUN_IN_DAYS..RUN_IN_DAYS + 365;
        sampled_years::minutes_of_trial(&site.sampler, isa, args.seed, trial, year, |m| csv.put(&m));
        to_write.push(("Every minute", name_beside(path, &ending_of_minutes(trial)), csv.bytes()));
    }
    let sampled = sampled_years::compare(&site.sampler, &site.years, isa, args.seed, BLOCKS);
    Ok((FileAndSampled { file, sampled }, to_write))
}

/// Name of the page.
const PAGE: &str = "weather.html";
/// End of the name of a file of days.
const DAYS_END: &str = "days";

/// End of the name of a file of minutes.
fn ending_of_minutes(trial: u64) -> String {
    format!("minutes-trial-{trial}")
}

/// `fenholm-days.csv` of `weather/fenholm.csv.gz`.
fn name_beside(path: &Path, end: &str) -> String {
    let gzipped = path.extension().is_some_and(|e| e.eq_ignore_ascii_case("gz"));
    let packed = if gzipped { path.with_extension("") } else { path.to_owned() };
    let stem = packed.file_stem().unwrap_or(packed.as_os_str()).to_string_lossy().into_owned();
    format!("{stem}-{end}.csv")
}

#[derive(clap::Args)]
pub struct InventArgs {
    /// Climate file: position and twelve monthly means
    climate: PathBuf,
    /// First file to write (plain CSV; gzipped if its name ends in .gz); further years get -2, -3, … before the ending; default:
    /// beside the climate file
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// Random seed
    #[arg(long, value_name = "S", default_value_t = 1)]
    seed: u64,
    /// Years to make: several are a pool, whose years differ as those of such a place do; one is a typical year
    #[arg(long, value_name = "N", default_value_t = 3, value_parser = clap::value_parser!(u8).range(1..=40))]
    years: u8,
    /// Also write a page on the years made, beside them
    #[arg(long)]
    page: bool,
    /// Open the page, if there is a desktop
    #[arg(long, requires = "page")]
    open: bool,
}

/// The page on the years made: `<first file>.html`.
fn page_of_invented(args: &InventArgs, folder: &Folder, files: &[PathBuf]) -> Outcome {
    let isa = super::effort::isa();
    let compared = |paths: &[PathBuf]| -> Result<_, Failure> {
        let site = SiteModel::load(paths, WeatherYears::ByFile, YearSpread::ByClimate)?;
        Ok((
            describe::describe(&site.years[0]),
            sampled_years::compare(&site.sampler, &site.years, isa, args.seed, BLOCKS),
        ))
    };
    let mut described = Described { schema: SCHEMA, files: Vec::new(), pool: None };
    for path in files {
        let (file, sampled) = compared(std::slice::from_ref(path))?;
        described.files.push(FileAndSampled { file, sampled });
    }
    if files.len() > 1 {
        described.pool = Some(PoolAndSampled { files: files.len(), sampled: compared(files)?.1 });
    }
    let to = page_beside(&files[0]);
    let (_, name) = report::write::folder_and_name(&to)?;
    folder.write(&[(name, html::weather(&described).into_bytes())])?;
    print(&format!("Page: {}\n", to.display()))?;
    if args.open {
        open_page(&to);
    }
    Ok(())
}

pub fn invent(args: &InventArgs) -> Outcome {
    let climate = invent::read(&args.climate)?;
    let years = invent::years(&climate, args.seed, args.years.into());
    let first = args.out.clone().unwrap_or_else(|| args.climate.with_extension("csv.gz"));
    let files: Vec<PathBuf> = (1..=years.len()).map(|year| numbered(&first, year)).collect();
    let mut contents = Vec::new();
    for (year, file) in years.iter().zip(&files) {
        contents.push((report::write::folder_and_name(file)?.1, invent::file_bytes(year, file)));
    }
    let folder = Folder::take(report::write::folder_and_name(&first)?.0)?;
    if args.page {
        // One of other years must not stand beside these.
        let _ = std::fs::remove_file(page_beside(&first));
    }
    folder.write(&contents)?;
    for (year, file) in years.iter().zip(&files) {
        print(&format!(
            "Wrote {}: an invented year, {:.0} kWh/m² global and {:.0} kWh/m² beam.\n",
            file.display(),
            year.ghi_kwh_m2(),
            year.dni_kwh_m2()
        ))?;
    }
    if args.page {
        page_of_invented(args, &folder, &files)?;
    }
    if files.len() == 1 {
        return Ok(());
    }
    let list: Vec<String> = files.iter().map(|f| format!("{:?}", f.display().to_string())).collect();
    print(&format!(
        "The years belong together: only over all of them does each month have its mean. In the design:\nweather = [{}]\n",
        list.join(", ")
    ))
}

/// `fenholm-2.csv.gz` for the second year of `fenholm.csv.gz`; the first has the name itself.
fn numbered(first: &Path, year: usize) -> PathBuf {
    if year == 1 {
        return first.to_owned();
    }
    let name = first.file_name().unwrap_or_default().to_string_lossy().into_owned();
    let lower = name.to_ascii_lowercase();
    let ending = [".csv.gz", ".csv", ".gz"].into_iter().find(|e| lower.ends_with(e)).map_or(0, str::len);
    let (stem, ending) = name.split_at(name.len() - ending);
    first.with_file_name(format!("{stem}-{year}{ending}"))
}
