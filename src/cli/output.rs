//! Where results go, and how they are shown: units, terminal style, opening the page.

use super::effort::Effort;
use super::failure::{Failure, print};
use std::io::IsTerminal;
use std::path::{Path, PathBuf};
use stilldays::design::{self, DesignFile, LearnedUnits};
use stilldays::disk::Folder;
use stilldays::report::{self, Style};
use stilldays::source::Problems;
use stilldays::units::System;

/// Flags of every command that simulates a design and leaves a folder of results.
#[derive(clap::Args)]
pub struct StudyArgs {
    #[command(flatten)]
    pub effort: Effort,
    /// Folder for results; each design gets a folder of its own in it
    #[arg(long, value_name = "DIR", default_value = "results")]
    pub out: PathBuf,
    #[command(flatten)]
    pub show: Show,
    #[command(flatten)]
    pub learned: UnitsFrom,
}

/// Where the units of a design are drawn from.
#[derive(clap::Args, Clone)]
pub struct UnitsFrom {
    /// Draw the parts from units that `learn` wrote, instead of those that the design names, if any
    #[arg(long, value_name = "FILE")]
    units_from: Option<PathBuf>,
}

impl UnitsFrom {
    /// Reads a design.
    pub fn read(&self, design: &Path) -> Result<DesignFile, Problems> {
        self.given_to(design::read(design)?)
    }

    /// The design with these units, if any were asked for.
    pub fn given_to(&self, file: DesignFile) -> Result<DesignFile, Problems> {
        match &self.units_from {
            Some(path) => Ok(file.with_units(LearnedUnits::read(path)?)),
            None => Ok(file),
        }
    }

    /// The file that was asked for.
    pub fn path(&self) -> Option<&Path> {
        self.units_from.as_deref()
    }

    /// The units of this file, or those that a design names.
    pub fn of_file(units_from: Option<PathBuf>) -> UnitsFrom {
        UnitsFrom { units_from }
    }

    /// The flag that asks for the same, with a blank before it; or nothing.
    pub fn as_flag(&self) -> String {
        self.units_from.as_ref().map_or(String::new(), |path| format!(" --units-from {}", path.display()))
    }
}

impl StudyArgs {
    /// Folder for the results of a design file: `<out>/<its name>`. It is this command's alone until it is dropped.
    pub fn folder(&self, design: &Path) -> Result<Folder, Failure> {
        Ok(Folder::take(&results_folder(&self.out, design))?)
    }
}

/// For whom a sheet is written beside the page.
#[derive(clap::ValueEnum, Clone, Copy, PartialEq, Eq)]
pub enum Audience {
    /// One sheet for whoever owns the fountain: what to expect, what to do, cautions (client.html)
    Client,
}

/// How to show numbers.
#[derive(clap::Args, Clone)]
pub struct Show {
    /// Units on screen and page
    #[arg(long, value_enum, default_value_t = UnitsArg::Si)]
    pub units: UnitsArg,
    /// Open the page when done, if there is a desktop
    #[arg(long)]
    pub open: bool,
}

/// Units on screen and page.
#[derive(clap::ValueEnum, Clone, Copy, PartialEq, Eq)]
pub enum UnitsArg {
    /// Metres, litres, °C
    Si,
    /// Inches, gallons, °F
    Us,
}

impl UnitsArg {
    /// The same for the report.
    pub fn system(self) -> System {
        match self {
            UnitsArg::Si => System::Si,
            UnitsArg::Us => System::Us,
        }
    }
}

impl Show {
    /// What this terminal can show.
    pub fn style(&self) -> Style {
        terminal(self.units.system())
    }

    /// Opens a page if asked, as [`open_page`].
    pub fn open(&self, page: &Path) {
        if self.open {
            open_page(page);
        }
    }
}

/// Opens a page where a desktop exists; elsewhere does nothing.
pub fn open_page(page: &Path) {
    let desktop = cfg!(any(windows, target_os = "macos"))
        || std::env::var_os("DISPLAY").is_some()
        || std::env::var_os("WAYLAND_DISPLAY").is_some();
    if !desktop {
        return;
    }
    let (program, first): (&str, &[&str]) = if cfg!(windows) {
        ("cmd", &["/C", "start", ""])
    } else if cfg!(target_os = "macos") {
        ("open", &[])
    } else {
        ("xdg-open", &[])
    };
    // A page that does not open is no reason to fail: its path is on the screen.
    let _ = std::process::Command::new(program).args(first).arg(page).spawn();
}

/// Writes the results, the page first among them. Unless quiet, prints the summary and the page's path, and opens the
/// page if asked.
pub fn write_results(
    quiet: bool,
    show: &Show,
    folder: &Folder,
    files: &[report::write::File<'_>],
    summary: impl FnOnce(Style) -> String,
) -> Result<(), Failure> {
    folder.write(files)?;
    if quiet {
        return Ok(());
    }
    print(&summary(show.style()))?;
    if let Some((page, _)) = files.first() {
        let page = folder.path().join(page);
        print(&format!("\nPage and numbers: {}\n", page.display()))?;
        show.open(&page);
    }
    Ok(())
}

/// Columns of a terminal that are used: fewer cut tables, and longer lines are hard to read.
const COLUMNS: std::ops::RangeInclusive<usize> = 60..=120;

/// What this terminal can show: its columns (80 where there is none), colour and Unicode where they will do.
pub fn terminal(units: System) -> Style {
    let to_terminal = std::io::stdout().is_terminal();
    let plain = std::env::var_os("TERM").is_some_and(|t| t == "dumb");
    let no_colour = std::env::var_os("NO_COLOR").is_some_and(|v| !v.is_empty());
    Style {
        width: if to_terminal { textwrap::termwidth().clamp(*COLUMNS.start(), *COLUMNS.end()) } else { 80 },
        colour: to_terminal && !plain && !no_colour,
        unicode: !plain && unicode_locale(),
        units,
    }
}

fn unicode_locale() -> bool {
    if cfg!(windows) {
        return false;
    }
    ["LC_ALL", "LC_CTYPE", "LANG"]
        .iter()
        .find_map(|name| std::env::var(name).ok().filter(|v| !v.is_empty()))
        .is_none_or(|v| v.to_ascii_lowercase().replace('-', "").contains("utf8"))
}

/// Folder for the results of a file: `<out>/<its name>`.
pub fn results_folder(out: &Path, file: &Path) -> PathBuf {
    out.join(file.file_stem().unwrap_or(file.as_os_str()))
}
