//! Reading a design file: the design itself, then each of its remedies tried on it.

use std::path::Path;

use super::file::{DesignFile, Fit, parse_alone, text_of};
use crate::source::{Problem, Problems};

/// Reads and checks a design file.
///
/// # Errors
/// Everything that is wrong with it, at once: unreadable, too large, not UTF-8, not TOML (the first
/// mistake only), unknown or missing keys, wrong units, values out of range or contradictory, parts that cannot work
/// together, remedies that make an invalid design.
pub fn read(path: &Path) -> Result<DesignFile, Problems> {
    parse(path, text_of(path, "design")?)
}

/// Checks a design from its text; `path` is named in messages and gives the default title.
///
/// # Errors
/// As [`read`].
pub fn parse(path: &Path, text: String) -> Result<DesignFile, Problems> {
    whole(path, text, Fit::Checked)
}

/// Reads a design some of whose parts are yet to be chosen: they need not work together.
///
/// # Errors
/// As [`read`].
pub fn read_open(path: &Path) -> Result<DesignFile, Problems> {
    whole(path, text_of(path, "design")?, Fit::Open)
}

fn whole(path: &Path, text: String, fit: Fit) -> Result<DesignFile, Problems> {
    let name = path.display().to_string();
    let (file, places) = parse_alone(&name, path, text, fit)?;
    let file = file.with_its_units()?;
    let mut invalid = Problems::new();
    for (remedy, place) in file.remedies.iter().zip(places) {
        if let Err(found) = file.patched(&remedy.name, &remedy.changes) {
            let why = found.list.first().map_or("", |p| p.title.as_str());
            let title = format!("remedy \"{}\" makes an invalid design: {why}", remedy.name);
            let help = found.list.first().and_then(|p| p.helps.first().cloned()).unwrap_or_default();
            invalid.push(Problem::error(title).at(&name, &file.text, place, "").help(help));
        }
    }
    if invalid.is_empty() { Ok(file) } else { Err(invalid) }
}
