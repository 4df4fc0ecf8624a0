//! Design files: one build at one place, read, checked, and turned into numbers.
//!
//! [`read`] checks each value of a file against its row of the key table (`keys`, by `reader`), then the values of a
//! table against one another (`tables`), and reports all problems of the file at once. `Design<Uncertain>` is what the
//! file says; [`Design::draw`] turns it into one unit built from one draw of its parts, a `Design<f64>`. The key of a
//! quantity is its path in the file (`battery.capacity`).
//!
//! Changed designs are made in `patch`, shelves of parts are in [`shelf`]. What the parts do is in `plant`.

mod cautions;
mod chemistry;
mod draw;
mod file;
mod fit;
mod keys;
mod known;
mod numeric;
mod patch;
mod reader;
mod reference;
mod remedy;
mod rules;
mod starter;
mod tables;
mod values;

pub mod battery;
pub mod electronics;
pub mod mount;
pub mod panel;
pub mod pump;
pub mod shelf;
pub mod site;
pub mod water;
pub mod wish;

pub use battery::{Battery, Chemistry};
pub use cautions::cautions;
pub use electronics::{Charging, Electronics, FedFirst};
pub use file::{DesignFile, SIZE_MAX, parse, read};
pub use fit::{Misfit, Rule, misfit};
pub use mount::{Head, Mount, MountKind};
pub use numeric::{Numeric, numeric};
pub use panel::Panel;
pub use patch::dimension_of;
pub use pump::{BenchPoint, Nozzle, Pump, PumpKind};
pub use reader::Input;
pub use reference::reference;
pub use remedy::{Change, Remedy};
pub use site::{Site, YearSpread};
pub use starter::starter;
pub use water::{TopUp, Water};
pub use wish::{DayTime, Wish};

use crate::units::Uncertain;

/// One build at one place, every value checked. `N` is [`Uncertain`] as read, `f64` as drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Design<N = Uncertain> {
    /// Name of the build; any text, to be escaped wherever it is shown.
    pub title: String,
    /// The place and its weather.
    pub site: Site<N>,
    /// What is wanted of the jet.
    pub wish: Wish<N>,
    /// The solar panel.
    pub panel: Panel<N>,
    /// What carries the panel.
    pub mount: Mount<N>,
    /// The battery; `None`: the panel feeds the pump directly.
    pub battery: Option<Battery<N>>,
    /// Charging, cut-off, standby current, who is fed first.
    pub electronics: Electronics<N>,
    /// The pump and its jet.
    pub pump: Pump<N>,
    /// The basin.
    pub water: Water<N>,
    /// What the parts cost, in the builder's currency; by name, in file order.
    pub prices: Vec<(String, f64)>,
}

impl<N> Design<N> {
    /// The same design with `f` applied to every quantity and its key.
    /// Visits quantities in a fixed order, each key once.
    pub fn map<M>(&self, f: &mut impl FnMut(&str, &N) -> M) -> Design<M> {
        Design {
            title: self.title.clone(),
            site: self.site.map(f),
            wish: self.wish.map(f),
            panel: self.panel.map(f),
            mount: self.mount.map(f),
            battery: self.battery.as_ref().map(|b| b.map(f)),
            electronics: self.electronics.map(f),
            pump: self.pump.map(f),
            water: self.water.map(f),
            prices: self.prices.clone(),
        }
    }

    /// Price of a part by its name in `[prices]`, if it is given.
    pub fn price_of(&self, part: &str) -> Option<f64> {
        self.prices.iter().find(|(name, _)| name == part).map(|(_, p)| *p)
    }

    /// Price of the whole build, if any price is given.
    pub fn price(&self) -> Option<f64> {
        (!self.prices.is_empty()).then(|| self.prices.iter().map(|(_, p)| p).sum())
    }
}

#[cfg(test)]
mod tests;
