//! `stilldays check DESIGN…` and `stilldays new FILE`

use super::Outcome;
use super::common::{Failure, item, print, report_failure};
use std::path::PathBuf;
use stilldays::design;
use stilldays::report;
use stilldays::study::{Plan, Sites};

#[derive(clap::Args)]
pub struct Args {
    /// Design files
    #[arg(required = true, value_name = "DESIGN")]
    designs: Vec<PathBuf>,
}

pub fn run(args: &Args) -> Outcome {
    let sites = Sites::new();
    let mut refused = 0;
    for path in &args.designs {
        let checked = design::read(path).and_then(|file| Plan::new(file, &sites));
        match checked {
            Ok(plan) => {
                let file = &plan.file;
                let mut text =
                    format!("{}: in order: {}\n", path.display(), report::words::escaped(&file.design.title));
                for warning in file.warning_lines().into_iter().chain(plan.warnings()) {
                    text += &item("note:", &warning);
                }
                for caution in design::cautions(&file.design) {
                    text += &item("caution:", &caution);
                }
                print(&text)?;
            }
            Err(problems) => {
                report_failure(Failure::Refused(problems));
                refused += 1;
            }
        }
    }
    if refused > 0 { Err(Failure::Reported) } else { Ok(()) }
}

#[derive(clap::Args)]
pub struct NewArgs {
    /// File to write; refused if it is there already
    file: PathBuf,
    /// Weather file the design names, relative to the design's folder
    #[arg(long, value_name = "FILE", default_value = "typical-year.epw")]
    weather: String,
}

pub fn new(args: &NewArgs) -> Outcome {
    let text = design::starter(&args.weather);
    if args.file.exists() {
        return Err(Failure::Message(format!(
            "{} is there already; it was left as it is. Choose another name",
            args.file.display()
        )));
    }
    report::write::one(&args.file, text.into_bytes())?;
    print(&format!(
        "Wrote {}. Put in your place and parts, then: stilldays check {}\n",
        args.file.display(),
        args.file.display()
    ))
}
