//! What a panel's label can say: what no cell leaves, and what of a label belongs together in a draw.

use super::parts::{CellTechnology, Panel};
use crate::units::Uncertain;

/// Thermal voltage kT/q of one cell at 25 °C, V.
const THERMAL_V: f64 = 0.025_692_579_121_493_725;

/// What cells of a technology have (common practice, no source).
#[derive(Clone, Copy, Debug)]
pub(super) struct CellLimits {
    /// Open-circuit voltage of one cell, V.
    pub open_v: (f64, f64),
    /// Fill factor: lowest, and highest if the ideal one is not below it.
    pub fill_factor: (f64, f64),
    /// Fill factors of ordinary panels.
    pub usual: (f64, f64),
    /// Open-circuit voltage over voltage at maximum power, where the label has only one of them.
    pub open_over_max_power_v: f64,
    /// Short-circuit current over current at maximum power, where the label has no short-circuit current.
    pub short_over_max_power_a: f64,
    /// Voltage of one cell at maximum power, V, where the cells are not counted.
    pub max_power_v: f64,
    /// Change of the maximum power with the temperature, lowest and highest, 1/K.
    pub power_per_k: (f64, f64),
}

impl CellTechnology {
    pub(super) const fn limits(self) -> CellLimits {
        match self {
            CellTechnology::Crystalline => CellLimits {
                open_v: (0.50, 0.76),
                fill_factor: (0.55, 0.86),
                usual: (0.70, 0.80),
                open_over_max_power_v: 1.22,
                short_over_max_power_a: 1.07,
                max_power_v: 0.49,
                power_per_k: (-0.0046, -0.0036),
            },
            CellTechnology::Cigs => CellLimits {
                open_v: (0.45, 0.76),
                fill_factor: (0.50, 0.80),
                usual: (0.60, 0.72),
                open_over_max_power_v: 1.30,
                short_over_max_power_a: 1.15,
                max_power_v: 0.49,
                power_per_k: (-0.0038, -0.0030),
            },
            CellTechnology::Amorphous => CellLimits {
                open_v: (0.75, 0.95),
                fill_factor: (0.42, 0.76),
                usual: (0.50, 0.68),
                open_over_max_power_v: 1.38,
                short_over_max_power_a: 1.22,
                max_power_v: 0.62,
                power_per_k: (-0.0030, -0.0020),
            },
        }
    }

    /// Fill factors that a cell of this open-circuit voltage can have.
    pub(super) fn fill_factors(self, cell_open_v: f64) -> (f64, f64) {
        let CellLimits { open_v, fill_factor: (lowest, highest), .. } = self.limits();
        let ideal = Ideal::new(cell_open_v.clamp(open_v.0, open_v.1), 1.0);
        (lowest, highest.min(ideal.fill_factor))
    }
}

/// A cell without resistance at 25 °C, the best there can be: resistance in series and a shunt only take away.
///
/// With v = V_oc/(n kT/q) its maximum power lies at the root of e^v = e^x (1 + x). Green's formula for the fill
/// factor, (v - ln(v + 0.72))/(v + 1) (Green 1982, Solid-State Electronics 24:788; from memory), agrees to 9e-5 above v = 15.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ideal {
    /// Maximum power over open-circuit voltage times short-circuit current.
    pub fill_factor: f64,
    /// Voltage at maximum power over open-circuit voltage.
    pub max_power_v: f64,
    /// Current at maximum power over short-circuit current.
    pub max_power_a: f64,
}

impl Ideal {
    /// For a cell of an open-circuit voltage (V) and a diode ideality.
    pub fn new(cell_open_v: f64, ideality: f64) -> Self {
        let v = cell_open_v / (ideality * THERMAL_V);
        // x + ln(1 + x) = v; Newton from above.
        let mut x = v;
        for _ in 0..20 {
            x = (x - (x + libm::log1p(x) - v) * (1.0 + x) / (2.0 + x)).max(0.0);
        }
        let max_power_a = 1.0 - libm::expm1(x) / libm::expm1(v);
        let max_power_v = x / v;
        Ideal { fill_factor: max_power_v * max_power_a, max_power_v, max_power_a }
    }
}

/// The power that a label's currents belong to, W: the nominal one if the fill factor is usual with it, else the nearest to that of
/// what the power may be. Sold as 5 W and measured as 2 to 5 W, a panel has the label's currents at 5 W.
pub(super) fn label_power_w(label: &Panel<Uncertain>) -> f64 {
    let product = label.open_circuit_voltage_v.nominal * label.short_circuit_current_a.nominal;
    let (lo, hi) = label.technology.limits().usual;
    let power = &label.rated_power_w;
    power.nominal.clamp(lo * product, hi * product).clamp(power.lowest(), power.highest())
}

/// Least room between the short-circuit current and that at maximum power, and between the two voltages (common practice, no
/// source): with less of either there is no diode.
const MAX_POWER_SHARE: (f64, f64) = (0.98, 0.95);

/// Brings together what belongs together in one draw, so that it is a panel that can exist.
///
/// Currents rise and fall with the power: a short-circuit current that is exact (or implied) is that of
/// [`label_power_w`]. An exact voltage at maximum power follows a drawn open-circuit voltage. What then lies outside of what cells
/// can have is taken at its bound: open-circuit voltage, fill factor (by the current, for the power is what was
/// drawn), voltage at maximum power.
pub(super) fn bring_together(label: &Panel<Uncertain>, unit: &mut Panel<f64>) {
    let cells = f64::from(unit.cells);
    let (least_v, most_v) = unit.technology.limits().open_v;
    let drawn_v = unit.open_circuit_voltage_v;
    if !label.open_circuit_voltage_v.is_exact() {
        unit.open_circuit_voltage_v = drawn_v.clamp(least_v * cells, most_v * cells);
        if label.max_power_voltage_v.is_exact() {
            unit.max_power_voltage_v *= unit.open_circuit_voltage_v / label.open_circuit_voltage_v.nominal;
        }
    }
    let (open_v, power_w) = (unit.open_circuit_voltage_v, unit.rated_power_w);
    if label.short_circuit_current_a.is_exact() {
        unit.short_circuit_current_a *= power_w / label_power_w(label);
    }
    let fill_factor = power_w / (open_v * unit.short_circuit_current_a);
    let (least, most) = unit.technology.fill_factors(open_v / cells);
    let possible = fill_factor.clamp(least.min(most), most);
    if possible != fill_factor {
        unit.short_circuit_current_a = power_w / (open_v * possible);
    }
    let (most_a, most_v) = MAX_POWER_SHARE;
    let least_v = (power_w / (most_a * unit.short_circuit_current_a)).max(0.5 * open_v);
    unit.max_power_voltage_v = unit.max_power_voltage_v.min(most_v * open_v).max(least_v);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_ideal_cell_agrees_with_greens_formula() {
        for cell_v in [0.45, 0.5, 0.6, 0.76, 0.95] {
            for ideality in [1.0, 1.1] {
                let v = cell_v / (ideality * THERMAL_V);
                let green = (v - libm::log(v + 0.72)) / (v + 1.0);
                assert!((Ideal::new(cell_v, ideality).fill_factor - green).abs() < 1e-4);
            }
        }
    }
}
