//! Builds of a shelf whose parts do not fit together, and why. The rules: `design::fit`.

use crate::design::shelf::{Build, Kind, Shelf};
use crate::design::{Misfit, Rule};
use crate::source::{Problem, Problems};
use serde::Serialize;

/// Builds that are refused for the same reason.
#[derive(Clone, Debug, Serialize)]
pub struct Refusals {
    /// The rule's name; `design` where the design's own checks refuse it.
    pub rule: String,
    /// The parts that do not fit together.
    pub parts: Vec<String>,
    /// The reason, with the values of the first of these builds.
    pub why: String,
    /// How many builds.
    pub builds: usize,
}

impl Refusals {
    pub(super) fn by_rule(build: &Build<'_>, misfit: &Misfit) -> Refusals {
        let guilty = match misfit.rule {
            Rule::PanelTooLow | Rule::PanelTooHigh | Rule::ChargingTooStrong => [Kind::Panel, Kind::Battery],
            Rule::BatteryTooLow | Rule::BatteryTooHigh | Rule::PumpTooStrong | Rule::JetTooHighOnBattery => {
                [Kind::Battery, Kind::Pump]
            }
            Rule::PanelNeverStarts | Rule::PanelNeverCarries | Rule::JetTooHighOnPanel => {
                [Kind::Panel, Kind::Pump]
            }
            Rule::MountStallsOnBattery => [Kind::Battery, Kind::Mount],
            Rule::MountStallsOnPanel => [Kind::Panel, Kind::Mount],
        };
        // A part that is not from the shelf is the design's own.
        let name = |kind: Kind| {
            build.part(kind).map_or_else(|| format!("the design's {}", kind.name()), |p| p.name.clone())
        };
        Refusals {
            rule: rule_name(misfit.rule),
            parts: guilty.into_iter().map(name).collect(),
            why: misfit.why.clone(),
            builds: 1,
        }
    }

    pub(super) fn by_reader(build: &Build<'_>, problems: &Problems) -> Refusals {
        Refusals {
            rule: "design".to_owned(),
            parts: build.parts.iter().map(|p| p.name.clone()).collect(),
            why: problems.list.first().map(|p| p.title.clone()).unwrap_or_default(),
            builds: 1,
        }
    }
}

/// The name of a rule in JSON and CSV.
fn rule_name(rule: Rule) -> String {
    serde_json::to_value(rule).ok().and_then(|v| v.as_str().map(str::to_owned)).unwrap_or_default()
}

/// The problem that no combination of the shelf is valid.
pub(super) fn nothing_fits(shelf: &Shelf, refused: &[Refusals]) -> Problems {
    let title = "no parts of this shelf go together in this design";
    let mut problem = Problem::error(title).in_file(&shelf.path.display().to_string());
    for r in refused.iter().take(5) {
        problem = problem.help(format!("{}: {}", r.parts.join(" + "), r.why));
    }
    problem.into()
}
