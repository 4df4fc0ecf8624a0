//! `stilldays weather FILE…` and `stilldays invent CLIMATE`

use super::failure::Outcome;
use super::failure::{Failure, print, report_failure};
use super::output::{open_page, terminal};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use stilldays::design::{WeatherYears, YearSpread};
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
    let mut refused = false;
    for path in &args.files {
        match one(path, args) {
            Ok((file, written)) => {
                if !args.json && !args.csv {
                    let before = if described.files.is_empty() { "" } else { "\n\n" };
                    print(&format!("{before}{}", report::text::weather(&file, terminal(System::Si))))?;
                    told(&written)?;
                }
                described.files.push(file);
            }
            Err(failure) => {
                report_failure(failure);
                refused = true;
            }
        }
    }
    if args.pool && !refused {
        let (pool, written) = together(args, &described.files)?;
        if !args.json && !args.csv {
            print(&format!("\n\n{}", report::text::weather_pool(&pool, terminal(System::Si))))?;
            told(&written)?;
        }
        described.pool = Some(pool);
    }
    if args.json {
        print(&String::from_utf8_lossy(&json::bytes(&described)))?;
    } else if args.csv {
        print(&String::from_utf8_lossy(&report::csv::weather(&described)))?;
    }
    if args.page && !described.files.is_empty() {
        let to = args.out.join(PAGE);
        report::write::one(&to, html::weather(&described).into_bytes())?;
        if !args.json && !args.csv {
            told(&[("Page", to.clone())])?;
        }
        if args.open {
            open_page(&to);
        }
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

/// A file that was written, and what is in it.
type Written = (&'static str, PathBuf);

fn told(written: &[Written]) -> Outcome {
    for (what, path) in written {
        print(&format!("\n{what}: {}\n", path.display()))?;
    }
    Ok(())
}

/// Writes the sampled days of a place.
fn write_days(
    args: &Args,
    site: &SiteModel,
    files: &[&Description],
    name: &str,
) -> Result<Vec<Written>, Failure> {
    let Some(trials) = args.days else { return Ok(Vec::new()) };
    let mut csv = DaysCsv::new(files, args.seed, trials);
    sampled_days::days_of_trials(&site.sampler, args.seed, trials, |d| csv.put(&d));
    let to = args.out.join(name);
    report::write::one(&to, csv.bytes())?;
    Ok(vec![("Every sampled day", to)])
}

/// Years sampled from all files as one place, and their days where asked for.
fn together(args: &Args, files: &[FileAndSampled]) -> Result<(PoolAndSampled, Vec<Written>), Failure> {
    let isa = super::effort::isa();
    let site = SiteModel::load(&args.files, WeatherYears::ByFile, YearSpread::ByClimate)?;
    let sampled = sampled_years::compare(&site.sampler, &site.years, isa, args.seed, BLOCKS);
    let described: Vec<&Description> = files.iter().map(|f| &f.file).collect();
    let name = name_beside(&args.files[0], &format!("pool-of-{}-{DAYS_END}", args.files.len()));
    let written = write_days(args, &site, &described, &name)?;
    Ok((PoolAndSampled { files: args.files.len(), sampled }, written))
}

/// Describes a file, holds sampled years against it, and writes days and minutes where asked for.
fn one(path: &Path, args: &Args) -> Result<(FileAndSampled, Vec<Written>), Failure> {
    let isa = super::effort::isa();
    let site = SiteModel::load(&[path.to_owned()], WeatherYears::ByFile, YearSpread::ByClimate)?;
    let mut file = describe::describe(&site.years[0]);
    file.warnings = site.warnings();
    let mut written = match args.pool {
        true => Vec::new(),
        false => write_days(args, &site, &[&file], &name_beside(path, DAYS_END))?,
    };
    if let Some(trial) = args.write_minutes {
        let mut csv = MinutesCsv::new(&file, args.seed, trial, site.calendar.day_start_h);
        let year = RUN_IN_DAYS..RUN_IN_DAYS + 365;
        sampled_years::minutes_of_trial(&site.sampler, isa, args.seed, trial, year, |m| csv.put(&m));
        let to = args.out.join(name_beside(path, &ending_of_minutes(trial)));
        report::write::one(&to, csv.bytes())?;
        written.push(("Every minute", to));
    }
    let sampled = sampled_years::compare(&site.sampler, &site.years, isa, args.seed, BLOCKS);
    Ok((FileAndSampled { file, sampled }, written))
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
fn page_of_invented(args: &InventArgs, files: &[PathBuf]) -> Outcome {
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
    let first = &files[0];
    let to = first.with_file_name(name_beside(first, "weather")).with_extension("html");
    report::write::one(&to, html::weather(&described).into_bytes())?;
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
    for (year, file) in years.iter().zip(&files) {
        report::write::one(file, invent::file_bytes(year, file))?;
        print(&format!(
            "Wrote {}: an invented year, {:.0} kWh/m² global and {:.0} kWh/m² beam.\n",
            file.display(),
            year.ghi_kwh_m2(),
            year.dni_kwh_m2()
        ))?;
    }
    if args.page {
        page_of_invented(args, &files)?;
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
