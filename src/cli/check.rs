//! `stilldays check DESIGN…` and `stilldays new FILE`

use super::failure::Outcome;
use super::failure::{Failure, print, report_failure};
use std::path::PathBuf;
use stilldays::design;
use stilldays::report::{self, words::escaped};
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
                let mut text = format!("{}: valid: {}\n", path.display(), escaped(&file.design.title));
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

/// A marked paragraph, wrapped at 78 columns with a hanging indent.
fn item(mark: &str, text: &str) -> String {
    let indent = mark.len() + 3;
    let mut out = String::new();
    for (i, line) in report::text::wrap::wrap(&escaped(text), 78 - indent).iter().enumerate() {
        let lead = if i == 0 { format!("  {mark} ") } else { " ".repeat(indent) };
        out += &format!("{lead}{line}\n");
    }
    out
}

#[derive(clap::Args)]
pub struct NewArgs {
    /// File to write; must not exist yet
    file: PathBuf,
    /// Weather file that the design names, relative to the folder of the design
    #[arg(long, value_name = "FILE", default_value = "typical-year.epw")]
    weather: String,
}

pub fn new(args: &NewArgs) -> Outcome {
    let text = design::starter(&args.weather);
    if args.file.exists() {
        return Err(Failure::Message(format!(
            "{} already exists and was not changed; choose another name",
            args.file.display()
        )));
    }
    report::write::one(&args.file, text.into_bytes())?;
    print(&format!(
        "Wrote {}. Enter your site and your parts, then run: stilldays check {}\n",
        args.file.display(),
        args.file.display()
    ))
}
