//! `stilldays weather FILE…` and `stilldays invent CLIMATE`

use super::failure::Outcome;
use super::failure::{Failure, print, report_failure};
use super::output::terminal;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use stilldays::design::YearSpread;
use stilldays::report::csv::MinutesCsv;
use stilldays::report::weather::{Described, FileAndSampled, SCHEMA};
use stilldays::report::{self, json};
use stilldays::study::SiteModel;
use stilldays::study::plan::RUN_IN_DAYS;
use stilldays::study::sampled_years;
use stilldays::units::System;
use stilldays::weather::file::describe;
use stilldays::weather::invent;

/// Blocks of sixteen sampled years that a file is compared with.
const BLOCKS: u64 = 6;

#[derive(clap::Args)]
pub struct Args {
    /// Weather files; each is described by itself
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
    /// Also write the sampled year of this trial of a run, minute by minute; the first trial is 0
    #[arg(long, value_name = "TRIAL", value_parser = clap::value_parser!(u64).range(..10_000_000))]
    write_minutes: Option<u64>,
    /// Folder for the file of minutes
    #[arg(long, value_name = "DIR", default_value = "results", requires = "write_minutes")]
    out: PathBuf,
}

pub fn run(args: &Args) -> Outcome {
    if let Some(trial) = args.write_minutes {
        let mut names = BTreeSet::new();
        let twice =
            args.files.iter().map(|f| minutes_name(f, trial)).find(|name| !names.insert(name.clone()));
        if let Some(name) = twice {
            let words = format!(
                "the minutes of two files would both be written to {name}; run the command once for each file"
            );
            return Err(Failure::Usage(words));
        }
    }
    let mut described = Described { schema: SCHEMA, files: Vec::new() };
    let mut refused = false;
    for path in &args.files {
        match one(path, args) {
            Ok((file, written)) => {
                if !args.json && !args.csv {
                    let before = if described.files.is_empty() { "" } else { "\n\n" };
                    print(&format!("{before}{}", report::text::weather(&file, terminal(System::Si))))?;
                    if let Some(written) = written {
                        print(&format!("\nEvery minute: {}\n", written.display()))?;
                    }
                }
                described.files.push(file);
            }
            Err(failure) => {
                report_failure(failure);
                refused = true;
            }
        }
    }
    if args.json {
        print(&String::from_utf8_lossy(&json::bytes(&described)))?;
    } else if args.csv {
        print(&String::from_utf8_lossy(&report::csv::weather(&described)))?;
    }
    if refused { Err(Failure::Reported) } else { Ok(()) }
}

/// Describes a file, holds sampled years against it, and writes minutes where asked for.
fn one(path: &Path, args: &Args) -> Result<(FileAndSampled, Option<PathBuf>), Failure> {
    let isa = super::effort::isa();
    let site = SiteModel::load(&[path.to_owned()], YearSpread::ByClimate)?;
    let mut file = describe::describe(&site.years[0]);
    file.warnings = site.warnings();
    let written = match args.write_minutes {
        None => None,
        Some(trial) => {
            let mut csv = MinutesCsv::new(&file, args.seed, trial, site.calendar.day_start_h);
            let year = RUN_IN_DAYS..RUN_IN_DAYS + 365;
            sampled_years::minutes_of_trial(&site.sampler, isa, args.seed, trial, year, |m| csv.put(&m));
            let to = args.out.join(minutes_name(path, trial));
            report::write::one(&to, csv.bytes())?;
            Some(to)
        }
    };
    let sampled = sampled_years::compare(&site.sampler, &site.years, isa, args.seed, BLOCKS);
    Ok((FileAndSampled { file, sampled }, written))
}

/// `fenholm-minutes-trial-0.csv` of `weather/fenholm.csv.gz`.
fn minutes_name(path: &Path, trial: u64) -> String {
    let gzipped = path.extension().is_some_and(|e| e.eq_ignore_ascii_case("gz"));
    let packed = if gzipped { path.with_extension("") } else { path.to_owned() };
    let stem = packed.file_stem().unwrap_or(packed.as_os_str()).to_string_lossy().into_owned();
    format!("{stem}-minutes-trial-{trial}.csv")
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
