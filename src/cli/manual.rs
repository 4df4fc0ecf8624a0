//! `stilldays manual [TOPIC]`

use super::failure::{Failure, Outcome, print};
use super::output::open_page;
use std::fmt::Write as _;
use std::path::PathBuf;
use stilldays::design;
use stilldays::report::{self, manual};

#[derive(clap::Args)]
pub struct Args {
    /// `guide`, `weather`, `keys`, a table of a design like `battery`, or a key like `battery.capacity`
    topic: Option<String>,
    /// Write everything as a page, `manual.html`, and open it if there is a desktop
    #[arg(long, conflicts_with = "topic")]
    page: bool,
    /// Folder for the page
    #[arg(long, value_name = "DIR", default_value = "results")]
    out: PathBuf,
}

pub fn run(args: &Args) -> Outcome {
    if args.page {
        let page = args.out.join("manual.html");
        report::write::all(&args.out, &[("manual.html", manual::page())])?;
        print(&format!("Page: {}\n", page.display()))?;
        open_page(&page);
        return Ok(());
    }
    match args.topic.as_deref() {
        None => print(&contents()),
        Some("guide") => print(manual::GUIDE),
        Some("weather") => print(manual::WEATHER),
        Some("keys") => print(&design::explain("").unwrap_or_default()),
        Some(topic) => match design::explain(topic) {
            Ok(text) => print(&text),
            Err(near) => Err(Failure::Usage(not_found(topic, &near))),
        },
    }
}

fn contents() -> String {
    let mut out = String::from("stilldays manual TOPIC shows:\n\n");
    for (topic, about) in [
        ("guide", "all commands, your own build, maps, shelves, batches"),
        ("weather", "which weather files are read, and how to write one"),
        ("keys", "the names of all keys of a design"),
        ("battery", "all keys of a table, here [battery]"),
        ("battery.capacity", "one key: meaning, value, default, range"),
    ] {
        // Writing to a String cannot fail.
        let _ = writeln!(out, "  {topic:<18} {about}");
    }
    out + "\nstilldays manual --page writes all of it as one page.\n"
}

fn not_found(topic: &str, near: &[String]) -> String {
    let cure = match near {
        [] => "`stilldays manual keys` lists all keys".to_owned(),
        near => format!("perhaps {}", near.join(", ")),
    };
    format!("there is no topic, table or key `{topic}`; {cure}")
}
