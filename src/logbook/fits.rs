//! Whether a design has the parts that the entries of a logbook speak of.

use super::entry::{Entry, Logbook, Test, What};
use crate::design::{Design, MountKind};
use crate::source::{Problem, Problems};
use crate::units::Uncertain;

/// Refuses entries about parts that the design does not have.
///
/// # Errors
/// Each such entry, with line and caret.
pub fn fits(logbook: &Logbook, design: &Design<Uncertain>) -> Result<(), Problems> {
    let mut problems = Problems::new();
    let name = logbook.path.display().to_string();
    for entry in &logbook.entries {
        if let Some((title, help)) = misfit(entry, design) {
            let span = 0..entry.text.len();
            let problem = Problem::error(title).at_line(&name, entry.line, &entry.text, span, "");
            problems.push(problem.help(help));
        }
    }
    if problems.is_empty() { Ok(()) } else { Err(problems) }
}

fn misfit(entry: &Entry, design: &Design<Uncertain>) -> Option<(String, String)> {
    let no_battery = design.battery.is_none();
    let of_battery = matches!(entry.what, What::BatteryVoltage | What::ChargingCurrent)
        || entry.tests.iter().any(|t| matches!(t, Test::FreshlyCharged | Test::BatteryDisconnected));
    if no_battery && of_battery {
        let help = "take the entry out, or give the design its table [battery]";
        return Some(("this speaks of a battery, and the design has none".into(), help.into()));
    }
    if design.mount.kind == MountKind::Fixed && entry.what == What::DidNotTurn {
        let help = "take the entry out, or write how the mount moves: mount.kind";
        return Some(("this speaks of a mount that turns, and the design's is fixed".into(), help.into()));
    }
    if let What::Quantity(key) = &entry.what {
        let mut found = None;
        let _ = design.map(&mut |k, q| {
            if k == key {
                found = Some(*q);
            }
        });
        let Some(quantity) = found else {
            let help = "take the entry out, or give the design the table it belongs to";
            return Some((format!("the design has no `{key}`"), help.into()));
        };
        if quantity.is_exact() {
            let help = format!(
                "write the measured value into the design itself, or give {key} an uncertainty there"
            );
            return Some((
                format!("the design takes `{key}` as exactly known: no reading can change it"),
                help,
            ));
        }
    }
    None
}
