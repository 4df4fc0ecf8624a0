//! `stilldays weather FILE…` and `stilldays invent CLIMATE`

use super::Outcome;
use super::common::say;
use std::path::PathBuf;
use stilldays::design::YearSpread;
use stilldays::lanes::Isa;
use stilldays::report;
use stilldays::study::SiteModel;
use stilldays::weather::{self, invent};

/// Blocks of sixteen sampled years that a file is held against.
const BLOCKS: u64 = 6;

#[derive(clap::Args)]
pub struct Args {
    /// Weather files, each described on its own
    #[arg(required = true, value_name = "FILE")]
    files: Vec<PathBuf>,
    /// Seed of all chance
    #[arg(long, value_name = "S", default_value_t = 1)]
    seed: u64,
}

/// What a file is, and how sampled years compare with it.
#[derive(serde::Serialize)]
struct Described {
    schema: &'static str,
    file: weather::describe::Description,
    sampled: weather::compare::SampledVsFile,
}

pub fn run(args: &Args) -> Outcome {
    for path in &args.files {
        let site = SiteModel::load(std::slice::from_ref(path), YearSpread::Default)?;
        let described = Described {
            schema: "stilldays.weather/1",
            file: weather::describe::describe(&site.years[0]),
            sampled: weather::compare::compare(&site.sampler, &site.years, Isa::detect(), args.seed, BLOCKS),
        };
        say(&String::from_utf8_lossy(&report::json::bytes(&described)))?;
    }
    Ok(())
}

#[derive(clap::Args)]
pub struct InventArgs {
    /// Climate file: position and twelve monthly means
    climate: PathBuf,
    /// File to write (plain CSV; gzipped if its name ends in .gz); default: beside the climate
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// Seed of all chance
    #[arg(long, value_name = "S", default_value_t = 1)]
    seed: u64,
}

pub fn invent(args: &InventArgs) -> Outcome {
    let climate = invent::read(&args.climate)?;
    let year = invent::year(&climate, args.seed);
    let out = args.out.clone().unwrap_or_else(|| args.climate.with_extension("csv.gz"));
    report::write::one(&out, invent::file_bytes(&year, &out))?;
    say(&format!(
        "Wrote {}: an invented year, {:.0} kWh/m² global and {:.0} kWh/m² beam.\n",
        out.display(),
        year.ghi_kwh_m2(),
        year.dni_kwh_m2()
    ))
}
