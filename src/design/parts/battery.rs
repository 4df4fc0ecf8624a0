//! `[battery]`: the battery between panel and pump.

use super::chemistry::Chemistry;
use crate::units::Uncertain;

/// The battery between panel and pump.
#[derive(Clone, Debug, PartialEq)]
pub struct Battery<N> {
    /// What it is made of.
    pub chemistry: Chemistry,
    /// Cells in series (from the nominal voltage of the file).
    pub cells: u32,
    /// Rated capacity, Ah.
    pub capacity_ah: N,
    /// Share of the rated capacity that is left at its age, 0..=1.
    pub capacity_left: N,
    /// Resistance of the whole pack at 25 °C, ohm.
    pub resistance_ohm: N,
    /// Share of the charge put in that comes out, 0..=1.
    pub coulombic_efficiency: N,
    /// Self-discharge, share a month at 20 °C; doubles every 10 K.
    pub self_discharge_month: N,
    /// Time constant with which it follows the temperature of the air, h.
    pub temperature_lag_h: N,
    /// Share of the sun's light that its box takes in, 0..=1; 0 in the shade.
    pub box_absorptance: N,
    /// Kept above freezing (indoors, buried box, heated by other means).
    pub kept_above_freezing: bool,
    /// Temperature below which its electronics forbid charging, and from which they allow it again, °C (lithium).
    pub frost_lock_c: N,
    /// See [`Battery::frost_lock_c`].
    pub frost_unlock_c: N,
    /// Cycles to end of life at full depth.
    pub cycles_at_full_depth: N,
    /// Exponent p of cycle life N(D) = N100 D^-p.
    pub cycle_exponent: N,
    /// Calendar life at 25 °C (lithium: half charged), years.
    pub calendar_life_y: N,
    /// KiBaM share of the charge that is available at once, 0..1 (lead-acid; 1 for others).
    pub kibam_c: N,
    /// KiBaM rate, 1/h (lead-acid).
    pub kibam_k_per_h: N,
}

impl Battery<f64> {
    /// Charge it holds when full at its age, Ah: rated capacity times what is left of it.
    pub(crate) fn usable_capacity_ah(&self) -> f64 {
        self.capacity_ah * self.capacity_left
    }
}

impl Battery<Uncertain> {
    /// The same by its nominal values, Ah.
    pub(crate) fn usable_capacity_ah(&self) -> f64 {
        self.capacity_ah.nominal * self.capacity_left.nominal
    }
}

impl<N> Battery<N> {
    /// Voltage the pack is sold by, V: that of its cells in series.
    pub(crate) fn nominal_voltage_v(&self) -> f64 {
        self.chemistry.usual().cell_v * f64::from(self.cells)
    }

    pub(in crate::design) fn map<M>(&self, f: &mut impl FnMut(&str, &N) -> M) -> Battery<M> {
        Battery {
            chemistry: self.chemistry,
            cells: self.cells,
            capacity_ah: f("battery.capacity", &self.capacity_ah),
            capacity_left: f("battery.capacity_left", &self.capacity_left),
            resistance_ohm: f("battery.resistance", &self.resistance_ohm),
            coulombic_efficiency: f("battery.coulombic_efficiency", &self.coulombic_efficiency),
            self_discharge_month: f("battery.self_discharge", &self.self_discharge_month),
            temperature_lag_h: f("battery.temperature_lag", &self.temperature_lag_h),
            box_absorptance: f("battery.box_absorptance", &self.box_absorptance),
            kept_above_freezing: self.kept_above_freezing,
            frost_lock_c: f("battery.frost_lock", &self.frost_lock_c),
            frost_unlock_c: f("battery.frost_unlock", &self.frost_unlock_c),
            cycles_at_full_depth: f("battery.cycles_at_full_depth", &self.cycles_at_full_depth),
            cycle_exponent: f("battery.cycle_exponent", &self.cycle_exponent),
            calendar_life_y: f("battery.calendar_life", &self.calendar_life_y),
            kibam_c: f("battery.kibam_c", &self.kibam_c),
            kibam_k_per_h: f("battery.kibam_k", &self.kibam_k_per_h),
        }
    }
}
