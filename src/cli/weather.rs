//! `stilldays weather FILE…` and `stilldays invent CLIMATE`

use super::Outcome;
use super::common::{Failure, say};
use std::path::PathBuf;
use stilldays::report;
use stilldays::weather::invent;

#[derive(clap::Args)]
pub struct Args {
    /// Weather files
    #[arg(required = true, value_name = "FILE")]
    files: Vec<PathBuf>,
}

pub fn run(args: &Args) -> Outcome {
    let _ = &args.files;
    Err(Failure::Words("not yet".into()))
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
