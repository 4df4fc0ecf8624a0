//! Builds from a shelf: one part of each kind put into a design in place of its own.

use super::part::{Checked, Kind, Part, Shelf};
use crate::design::file::DesignFile;
use crate::design::parts::MountKind;
use crate::design::patch::written_value;
use crate::design::remedy::Change;
use crate::source::Problems;

/// Keys that describe the place of a part, not the part: they stay when the part changes.
const OF_THE_PLACE: [(Kind, &[&str]); 3] = [
    (Kind::Panel, &["panel.soiling"]),
    (Kind::Battery, &["battery.kept_above_freezing", "battery.temperature_lag"]),
    (Kind::Mount, &["mount.tilt", "mount.azimuth"]),
];

/// Voltages of the electronics that suit one battery: with a battery of another chemistry or voltage they follow
/// from that one instead.
pub const GIVEN_WAY: [&str; 3] =
    ["electronics.charge_voltage", "electronics.cut_off", "electronics.reconnect"];

/// What is removed, beside these, with a battery that is left out.
const WITH_BATTERY: [&str; 14] = [
    "electronics.charging",
    "electronics.charge_efficiency",
    "electronics.charge_loss_per_watt",
    "electronics.tracking",
    "electronics.charger_draw",
    "electronics.charge_voltage_drift",
    "electronics.charge_current_max",
    "electronics.socket_voltage",
    "electronics.socket_idle",
    "electronics.socket_loss",
    "electronics.socket_loss_per_watt",
    "electronics.socket_lowest_input",
    "electronics.socket_again",
    "electronics.socket_sleeps_below",
];

/// One part of each kind that the shelf holds; a kind it does not hold stays as the design has it.
#[derive(Clone, Debug)]
pub struct Build<'s> {
    /// At most one part of each kind, in the order of [`Kind::ALL`].
    pub parts: Vec<&'s Part>,
}

impl Shelf {
    /// Every combination of its parts, the last kind running fastest.
    pub fn builds(&self) -> Vec<Build<'_>> {
        let mut builds = vec![Build { parts: Vec::new() }];
        for kind in Kind::ALL {
            let parts: Vec<&Part> = self.of(kind).collect();
            if parts.is_empty() {
                continue;
            }
            builds = builds
                .into_iter()
                .flat_map(|b| {
                    parts.iter().map(move |part| {
                        let mut parts = b.parts.clone();
                        parts.push(part);
                        Build { parts }
                    })
                })
                .collect();
        }
        builds
    }
}

impl Build<'_> {
    /// The part of this kind.
    pub(crate) fn part(&self, kind: Kind) -> Option<&Part> {
        self.parts.iter().find(|p| p.kind == kind).copied()
    }

    /// Its parts in words.
    pub(crate) fn name(&self) -> String {
        self.parts.iter().map(|p| p.name.as_str()).collect::<Vec<_>>().join(" + ")
    }

    /// The design with these parts in it, checked anew.
    ///
    /// # Errors
    /// What the checker finds in it.
    pub fn of(&self, design: &DesignFile) -> Result<DesignFile, Problems> {
        let mut changes = Vec::new();
        for part in &self.parts {
            put(part, design, &mut changes);
        }
        design.patched_open(&self.name(), &changes)
    }
}

fn put(part: &Part, design: &DesignFile, changes: &mut Vec<(String, Change)>) {
    let table = part.kind.name();
    changes.push((table.to_owned(), Change::Remove));
    let brings = |key: &str| part.keys.iter().any(|(k, _)| k == key);
    let moving = matches!(&part.is, Some(Checked::Mount(m)) if m.kind != MountKind::Fixed);
    if part.is.is_some() && !moving {
        let kept = OF_THE_PLACE.iter().filter(|(kind, _)| *kind == part.kind).flat_map(|(_, keys)| *keys);
        for key in kept.filter(|key| !brings(key)) {
            if let Some(value) = written_value(&design.text, key) {
                changes.push(((*key).to_owned(), Change::Set(value)));
            }
        }
    }
    if part.kind == Kind::Battery {
        // The shelf's price is that of battery and charger.
        changes.push(("prices.charger".to_owned(), Change::Remove));
        let remove = |key: &&str| ((*key).to_owned(), Change::Remove);
        if part.is.is_none() {
            changes.extend(GIVEN_WAY.iter().chain(&WITH_BATTERY).map(remove));
        } else {
            // How much may flow in goes with the size of the battery.
            changes.push(remove(&"electronics.charge_current_max"));
            if !same_cells(part, design) {
                changes.extend(GIVEN_WAY.iter().map(remove));
            }
        }
    }
    changes.extend(part.keys.iter().cloned());
    changes.push((format!("prices.{table}"), Change::Set(toml::Value::Float(part.price))));
}

/// Whether a battery has the chemistry and the cells of the design's own.
fn same_cells(part: &Part, design: &DesignFile) -> bool {
    match (&part.is, &design.design.battery) {
        (Some(Checked::Battery(new)), Some(own)) => new.chemistry == own.chemistry && new.cells == own.cells,
        _ => false,
    }
}
