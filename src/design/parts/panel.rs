//! `[panel]`: the solar panel, from its label.

use super::coefficients::{Cable, Coefficients};
use super::cover::Cover;
use super::dirt::{Dirt, Litter};

/// What the cells of a panel are made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CellTechnology {
    /// Wafers of silicon, of one crystal or many.
    Crystalline,
    /// A thin film of copper, indium, gallium and selenium.
    Cigs,
    /// A thin film of amorphous silicon.
    Amorphous,
}

/// What lies before the cells.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Front {
    /// Glass.
    Glass,
    /// A fluoropolymer film on a plate or cloth that may bend.
    Fluoropolymer,
    /// A film of PET.
    Pet,
    /// Cast resin.
    Resin,
}

/// The solar panel, label values at 1000 W/m², 25 °C cell.
#[derive(Clone, Debug, PartialEq)]
pub struct Panel<N> {
    /// What its cells are made of.
    pub technology: CellTechnology,
    /// What lies before them: decides how fast it fades over the years.
    pub front: Front,
    /// Power at the maximum power point, W.
    pub rated_power_w: N,
    /// Open-circuit voltage, V.
    pub open_circuit_voltage_v: N,
    /// Short-circuit current, A.
    pub short_circuit_current_a: N,
    /// Voltage at the maximum power point, V (its current is rated power over this).
    pub max_power_voltage_v: N,
    /// Cells in series.
    pub cells: u32,
    /// Diode ideality, 1..=2.
    pub ideality: N,
    /// Behaviour in weak light: 1 = shunt resistance grows as light falls (De Soto), 0 = it stays
    /// as under full sun (cheap cells), between: between, in the logarithm of the resistance.
    pub low_light: N,
    /// Light lost to dirt, share 0..1.
    pub soiling: N,
    /// Forward drop of the blocking diode, V; 0 without one.
    pub blocking_drop_v: N,
    /// Faiman heat loss, still air, W/(m² K).
    pub heat_loss_w_m2_k: N,
    /// Faiman heat loss by wind, W s/(m³ K).
    pub heat_loss_wind_w_s_m3_k: N,
    /// Incidence-angle loss b0 of the cover (ASHRAE 93): 0.05 glass, 0.10 textured plastic.
    pub incidence_loss_b0: N,
    /// Temperature coefficients of its label.
    pub coefficients: Coefficients<N>,
    /// The cable to what it feeds.
    pub cable: Cable<N>,
    /// What covers cells of its string.
    pub cover: Cover<N>,
    /// Dirt that grows on it.
    pub dirt: Dirt<N>,
    /// Whether snow lies on it.
    pub snow: bool,
    /// Leaves and droppings that fall on it.
    pub litter: Litter<N>,
}

impl<N> Panel<N> {
    pub(in crate::design) fn map<M>(&self, f: &mut impl FnMut(&str, &N) -> M) -> Panel<M> {
        Panel {
            technology: self.technology,
            front: self.front,
            rated_power_w: f("panel.rated_power", &self.rated_power_w),
            open_circuit_voltage_v: f("panel.open_circuit_voltage", &self.open_circuit_voltage_v),
            short_circuit_current_a: f("panel.short_circuit_current", &self.short_circuit_current_a),
            max_power_voltage_v: f("panel.max_power_voltage", &self.max_power_voltage_v),
            cells: self.cells,
            ideality: f("panel.ideality", &self.ideality),
            low_light: f("panel.low_light", &self.low_light),
            soiling: f("panel.soiling", &self.soiling),
            blocking_drop_v: f("panel.blocking_drop", &self.blocking_drop_v),
            heat_loss_w_m2_k: f("panel.heat_loss", &self.heat_loss_w_m2_k),
            heat_loss_wind_w_s_m3_k: f("panel.heat_loss_wind", &self.heat_loss_wind_w_s_m3_k),
            incidence_loss_b0: f("panel.incidence_loss", &self.incidence_loss_b0),
            coefficients: self.coefficients.map(f),
            cable: self.cable.map(f),
            cover: self.cover.map(f),
            dirt: self.dirt.map(f),
            snow: self.snow,
            litter: self.litter.map(f),
        }
    }
}
