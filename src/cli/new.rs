//! `stilldays new FILE`

use super::failure::{Failure, Outcome, print};
use super::interview;
use std::path::PathBuf;
use stilldays::design;
use stilldays::logbook;
use stilldays::report::{self, words::escaped};

#[derive(clap::Args)]
pub struct Args {
    /// File to write; must not exist yet
    file: PathBuf,
    /// Weather file that the design names, relative to the folder of the design
    #[arg(long, value_name = "FILE", default_value = "typical-year.epw", conflicts_with = "ask")]
    weather: String,
    /// Write a logbook with invented examples instead of a design
    #[arg(long, conflicts_with = "ask")]
    logbook: bool,
    /// Ask some questions in this terminal, and make the design from the answers
    #[arg(long)]
    ask: bool,
}

pub fn run(args: &Args) -> Outcome {
    let file = args.file.display();
    if std::fs::symlink_metadata(&args.file).is_ok() {
        let message = format!("{file} already exists and was not changed; choose another name");
        return Err(Failure::Message(message));
    }
    if args.logbook {
        report::write::one(&args.file, logbook::starter().into_bytes())?;
        let next = "Enter what you saw, then run: stilldays check DESIGN --logbook";
        return print(&format!("Wrote {0}. {next} {0}\n", escaped(&file.to_string())));
    }
    let (text, next) = if args.ask {
        (interview::design(&args.file)?, "See what it comes to")
    } else {
        (design::starter(&args.weather), "Enter your site and your parts, then run")
    };
    report::write::one(&args.file, text.into_bytes())?;
    print(&format!("Wrote {0}. {next}: stilldays check {0}\n", escaped(&file.to_string())))
}
