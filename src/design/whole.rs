//! One build at one place, whole; and one unit built from one draw of its parts.

use super::label::bring_together;
use super::parts::{Battery, Care, Electronics, Mount, Panel, Pump, PumpKind, Running, Site, Water, Wish};
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
    /// The rules by which the pump is let run.
    pub running: Running<N>,
    /// The basin.
    pub water: Water<N>,
    /// Who looks after it over the years.
    pub care: Care,
    /// What the parts cost, in the builder's currency; by name, in file order.
    pub prices: Vec<(String, f64)>,
    /// Currency of all prices, 1 to 6 letters or currency signs; `None`: not named, numbers stand alone.
    pub currency: Option<String>,
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
            running: self.running.map(f),
            water: self.water.map(f),
            care: self.care,
            prices: self.prices.clone(),
            currency: self.currency.clone(),
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

impl Design<Uncertain> {
    /// One unit: every quantity at the quantile `u` gives for its key (0..1), then what belongs
    /// together brought together, so that no draw is a part that cannot exist.
    ///
    /// - A panel's currents rise and fall with its power, its voltage at maximum power with that without load, and no draw leaves
    ///   what cells can have.
    /// - A brushed pump's start voltage is break-away current times winding resistance, as long as
    ///   it is exact or implied; the stop voltage never exceeds the start voltage.
    pub fn draw(&self, u: &mut impl FnMut(&str) -> f64) -> Design<f64> {
        let mut unit = self.map(&mut |key, q| q.at(u(key)));
        bring_together(&self.panel, &mut unit.panel);
        let (label, pump) = (&self.pump, &mut unit.pump);
        if label.kind == PumpKind::Brushed && label.start_voltage_v.is_exact() {
            let moved = pump.break_away_current_a * pump.winding_ohm
                / (label.break_away_current_a.nominal * label.winding_ohm.nominal);
            pump.start_voltage_v = label.start_voltage_v.nominal * moved;
            if label.stop_voltage_v.is_exact() {
                pump.stop_voltage_v = label.stop_voltage_v.nominal * moved;
            }
        }
        pump.stop_voltage_v = pump.stop_voltage_v.min(pump.start_voltage_v);
        unit
    }

    /// The unit with every quantity at its nominal value.
    pub fn nominal(&self) -> Design<f64> {
        self.map(&mut |_, q| q.nominal)
    }

    /// Keys of the quantities that are uncertain, in the order of [`Design::map`].
    pub(crate) fn uncertain_keys(&self) -> Vec<String> {
        let mut keys = Vec::new();
        let _ = self.map(&mut |key, q| {
            if !q.is_exact() {
                keys.push(key.to_owned());
            }
        });
        keys
    }
}
