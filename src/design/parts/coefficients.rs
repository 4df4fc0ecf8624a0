//! `[panel]`: the temperature coefficients of its label, and its cable.

/// Temperature coefficients of a label, shares per K.
#[derive(Clone, Debug, PartialEq)]
pub struct Coefficients<N> {
    /// Whether the label has any; if not, the diode's ideality sets them.
    pub given: bool,
    /// Of the short-circuit current.
    pub current_per_k: N,
    /// Of the open-circuit voltage.
    pub voltage_per_k: N,
    /// Of the maximum power.
    pub power_per_k: N,
}

/// The cable from the panel to what it feeds.
#[derive(Clone, Debug, PartialEq)]
pub struct Cable<N> {
    /// Length one way, m; 0 without a cable.
    pub length_m: N,
    /// Cross-section of each wire, mm².
    pub section_mm2: N,
    /// Resistance of both wires, ohm, if it is known; else 0.
    pub resistance_ohm: N,
}

/// Resistivity of copper at 20 °C, ohm mm²/m, and its rise, 1/K (handbook values, from memory).
const COPPER_OHM_MM2_M: f64 = 0.0175;
const COPPER_PER_K: f64 = 0.003_93;

/// Resistance of a cable of two copper wires, there and back, ohm, at a temperature (°C).
pub fn cable_ohm(length_m: f64, section_mm2: f64, wire_c: f64) -> f64 {
    2.0 * length_m * COPPER_OHM_MM2_M / section_mm2 * (1.0 + COPPER_PER_K * (wire_c - 20.0))
}

impl Cable<f64> {
    /// Its resistance at 20 °C, ohm.
    pub(crate) fn ohm(&self) -> f64 {
        if self.resistance_ohm > 0.0 {
            self.resistance_ohm
        } else {
            cable_ohm(self.length_m, self.section_mm2, 20.0)
        }
    }
}

impl<N> Coefficients<N> {
    pub(in crate::design) fn map<M>(&self, f: &mut impl FnMut(&str, &N) -> M) -> Coefficients<M> {
        Coefficients {
            given: self.given,
            current_per_k: f("panel.current_coefficient", &self.current_per_k),
            voltage_per_k: f("panel.voltage_coefficient", &self.voltage_per_k),
            power_per_k: f("panel.power_coefficient", &self.power_per_k),
        }
    }
}

impl<N> Cable<N> {
    pub(in crate::design) fn map<M>(&self, f: &mut impl FnMut(&str, &N) -> M) -> Cable<M> {
        Cable {
            length_m: f("panel.cable_length", &self.length_m),
            section_mm2: f("panel.cable_section", &self.section_mm2),
            resistance_ohm: f("panel.cable_resistance", &self.resistance_ohm),
        }
    }
}

impl Default for Coefficients<crate::units::Uncertain> {
    /// None on the label.
    fn default() -> Self {
        let x = crate::units::Uncertain::exact;
        Coefficients {
            given: false,
            current_per_k: x(0.0005),
            voltage_per_k: x(-0.0031),
            power_per_k: x(-0.0041),
        }
    }
}

impl Default for Cable<crate::units::Uncertain> {
    /// None.
    fn default() -> Self {
        let x = crate::units::Uncertain::exact;
        Cable { length_m: x(0.0), section_mm2: x(0.5), resistance_ohm: x(0.0) }
    }
}
