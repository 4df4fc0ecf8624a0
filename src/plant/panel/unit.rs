//! A drawn panel: its parameters at 1000 W/m² and 25 °C, its temperature, and its curve under any light.

use super::cells::Cells;
use super::diode::{Diode, Label};
use crate::design;
use crate::lanes::{Lane, Mask, math};
use crate::plant::record::rows::rows;

/// Boltzmann's constant, eV/K.
const BOLTZMANN_EV_K: f64 = 8.617_333_262e-5;
/// 25 °C in kelvin.
const T0_K: f64 = 298.15;
/// Band gap of silicon at 25 °C, eV, and its relative change per kelvin (De Soto 2006, eq. 10).
const GAP_EV: f64 = 1.121;
const GAP_PER_K: f64 = -0.000_267_7;
/// Rise of the light current with temperature, share of I_sc per K (common practice, no source).
const ISC_PER_K: f64 = 0.000_5;
/// Lowest G/1000 ratio taken from the shunt law's logarithm: below this light nothing matters.
const DARK: f64 = 1e-6;

rows! {
    /// A panel's parameters at 1000 W/m² and 25 °C, and the losses of its place.
    PanelRows / PanelUnit {
        /// Light current, A.
        i_l,
        /// Its rise, A/K.
        i_l_per_k,
        /// Saturation current of the diode, A.
        i_o,
        /// 1/a of the modified ideality a = n N_s kT/q, 1/V.
        per_a,
        /// Series resistance, ohm.
        r_s,
        /// Shunt conductance, S.
        g_sh,
        /// How much the shunt resistance follows the light: 0 not at all, 1 in inverse proportion.
        low_light,
        /// Share of light that gets through the dirt.
        clean,
        /// Drop of the blocking diode, V.
        drop_v,
        /// Faiman coefficients.
        u0,
        /// ... by wind.
        u1,
        /// Incidence-angle loss b0.
        b0,
    }
}

impl PanelUnit<f64> {
    /// From the drawn label. A draw whose maximum power point leaves no room below I_sc or V_oc is taken at the nearest
    /// values that do (2 % and 5 %).
    pub(crate) fn from_design(p: &design::Panel<f64>) -> Self {
        let v_mp = p.max_power_voltage_v.min(0.95 * p.open_circuit_voltage_v);
        let i_mp = p.rated_power_w / v_mp;
        let label = Label {
            i_sc: p.short_circuit_current_a.max(1.02 * i_mp),
            v_oc: p.open_circuit_voltage_v,
            i_mp,
            v_mp,
            cells: p.cells,
        };
        PanelUnit::from_diode(&label.diode(p.ideality), p, ISC_PER_K * label.i_sc)
    }

    /// From known parameters; light loss, surroundings and low light from the design.
    pub(crate) fn from_diode(d: &Diode, p: &design::Panel<f64>, i_l_per_k: f64) -> Self {
        PanelUnit {
            i_l: d.i_l,
            i_l_per_k,
            i_o: d.i_o,
            per_a: 1.0 / d.a,
            r_s: d.r_s,
            g_sh: d.g_sh,
            low_light: p.low_light,
            clean: 1.0 - p.soiling,
            drop_v: p.blocking_drop_v,
            u0: p.heat_loss_w_m2_k,
            u1: p.heat_loss_wind_w_s_m3_k,
            b0: p.incidence_loss_b0,
        }
    }
}

impl<V: Lane> PanelUnit<V> {
    /// Kelvin above the air for each W/m² on the panel, at a wind speed in m/s (Faiman 2008, Prog. Photovolt. 16:307).
    #[inline(always)]
    pub(crate) fn heating(&self, wind_m_s: V) -> V {
        V::splat(1.0) / (self.u0 + self.u1 * wind_m_s)
    }

    /// The panel in the dark: nothing but its resistances.
    #[inline(always)]
    pub(crate) fn dark(&self) -> Cells<V> {
        let zero = V::splat(0.0);
        Cells { i_l: zero, i_o: self.i_o, per_a: self.per_a, g_sh: zero, r_s: self.r_s }
    }

    /// The panel under an irradiance that reaches its cells (W/m²), at a cell temperature (°C): De Soto 2006, eqs. 7 to 12;
    /// R_sh = R_sh0 (1000/G)^low_light.
    #[inline(always)]
    pub(crate) fn under(&self, light_w_m2: V, cell_c: V) -> Cells<V> {
        let c = V::splat;
        let suns = light_w_m2 * c(1e-3);
        let kelvin = cell_c + c(273.15);
        let ratio = kelvin * c(1.0 / T0_K);
        let warm = cell_c - c(25.0);
        let inverse = c(1.0) / ratio;
        // (E_g0/T0 - E_g/T)/k with E_g = E_g0 (1 + GAP_PER_K (T - T0)).
        let gap = c(GAP_EV / (BOLTZMANN_EV_K * T0_K));
        let exponent = gap * (c(1.0) - (c(1.0) + c(GAP_PER_K) * warm) * inverse);
        let i_o = self.i_o * (ratio * ratio * ratio) * math::exp_fast(exponent);
        let scaled = self.low_light.ge(c(1.0));
        let constant = self.low_light.le(c(0.0));
        let mut shunt = V::select(scaled, suns, c(1.0));
        if (!(scaled | constant)).any() {
            let between = math::exp_fast(self.low_light * math::ln_fast(suns.max(c(DARK))));
            shunt = V::select(scaled | constant, shunt, between);
        }
        Cells {
            i_l: suns * (self.i_l + self.i_l_per_k * warm),
            i_o,
            per_a: inverse * self.per_a,
            g_sh: self.g_sh * shunt,
            r_s: self.r_s,
        }
    }
}
