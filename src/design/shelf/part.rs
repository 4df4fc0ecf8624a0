//! Parts that can be bought, and a shelf of them.

use crate::design::parts::{Battery, Mount, Panel, Pump};
use crate::design::remedy::Change;
use crate::source::Problems;
use crate::units::Uncertain;
use std::path::PathBuf;

/// The bundled shelf, used where there is none beside the design; its parts and prices are invented.
pub const SAMPLE: &str = include_str!("../../../scenarios/shelf.toml");

/// Name of the bundled shelf in messages.
pub const SAMPLE_NAME: &str = "the bundled shelf";

/// Builds a shelf may come to: more would be a mistake, or a day's work.
pub const BUILDS_MAX: usize = 20_000;

/// Tables of a design that a shelf may hold parts for, in the order in which builds are put together.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// `[panel]`
    Panel,
    /// `[battery]`
    Battery,
    /// `[pump]`
    Pump,
    /// `[mount]`
    Mount,
}

impl Kind {
    /// All, in their order.
    pub const ALL: [Kind; 4] = [Kind::Panel, Kind::Battery, Kind::Pump, Kind::Mount];

    /// The table's name, in designs, on shelves and in `[prices]`.
    pub fn name(self) -> &'static str {
        match self {
            Kind::Panel => "panel",
            Kind::Battery => "battery",
            Kind::Pump => "pump",
            Kind::Mount => "mount",
        }
    }
}

/// One part that can be bought.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// What it is for.
    pub kind: Kind,
    /// What the shelf calls it.
    pub name: String,
    /// What it costs, in the currency of the design's `[prices]`; >= 0.
    pub price: f64,
    /// The keys it brings, as changes to a design.
    pub keys: Vec<(String, Change)>,
    /// What it is; `None` for a battery that is left out.
    pub is: Option<Checked>,
}

/// A part as the checker read it.
#[derive(Clone, Debug, PartialEq)]
pub enum Checked {
    /// A panel.
    Panel(Box<Panel<Uncertain>>),
    /// A battery.
    Battery(Battery<Uncertain>),
    /// A pump.
    Pump(Pump<Uncertain>),
    /// A mount.
    Mount(Box<Mount<Uncertain>>),
}

/// The parts that can be bought.
#[derive(Clone, Debug, PartialEq)]
pub struct Shelf {
    /// What it is called.
    pub title: String,
    /// The file, as named.
    pub path: PathBuf,
    /// SHA-256 of its text, hexadecimal.
    pub sha256: String,
    /// Whether its parts and prices are invented.
    pub invented: bool,
    /// By kind, in the order of the file.
    pub parts: Vec<Part>,
    /// What was found odd, with places.
    pub warnings: Problems,
}

impl Shelf {
    /// The parts of one kind, in the order of the file.
    pub fn of(&self, kind: Kind) -> impl Iterator<Item = &Part> {
        self.parts.iter().filter(move |p| p.kind == kind)
    }
}
