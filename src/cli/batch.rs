//! `stilldays batch FOLDER`

use super::Outcome;
use super::common::{Effort, Failure, Show};
use std::path::PathBuf;

#[derive(clap::Args)]
pub struct Args {
    /// Folder of designs, searched below too
    folder: PathBuf,
    #[command(flatten)]
    effort: Effort,
    /// Folder for results
    #[arg(long, value_name = "DIR", default_value = "results")]
    out: PathBuf,
    #[command(flatten)]
    show: Show,
}

pub fn run(args: &Args) -> Outcome {
    let _ = args;
    Err(Failure::Words("not yet".into()))
}
