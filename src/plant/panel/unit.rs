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
        /// The most it may give for each W/m² on its cells at 0 °C, W, and how that changes with the temperature: see [`PanelUnit::label_w`].
        label_w_per_w_m2,
        label_w_per_w_m2_k,
        /// Open-circuit voltage at 1000 W/m² and 25 °C, V, its change, V/K, and the change of a beside that with the
        /// absolute temperature, 1/K: of use only with `by_label`.
        open_v, open_v_per_k, a_per_k,
    } flags {
        /// Temperature acts as the label's coefficients say, not as the diode's ideality does.
        by_label,
    }
}

/// Range in which the change of a is sought, 1/K: labels need -0.002 to 0.005.
const A_PER_K: (f64, f64) = (-0.02, 0.02);

/// What a panel may give over its label times its light, at most: the label's power is that of the drawn unit, and between the temperatures
/// at which its change was taken the power bends a little.
pub(super) const HEADROOM: f64 = 1.03;

impl PanelUnit<f64> {
    /// From the drawn label.
    pub fn from_design(p: &design::Panel<f64>) -> Self {
        let label = Label {
            i_sc: p.short_circuit_current_a,
            v_oc: p.open_circuit_voltage_v,
            i_mp: p.rated_power_w / p.max_power_voltage_v,
            v_mp: p.max_power_voltage_v,
            cells: p.cells,
        };
        let diode = label.diode(p.ideality);
        let mut unit = PanelUnit::from_diode(&diode, p, ISC_PER_K * label.i_sc);
        let power_per_k = if p.coefficients.given {
            let c = &p.coefficients;
            unit = unit.with_coefficients(label.v_oc, [c.current_per_k, c.voltage_per_k, c.power_per_k]);
            unit.power_per_k()
        } else {
            PanelUnit::bare(&diode).power_per_k()
        };
        let at_25_c = HEADROOM * 1e-3 * p.rated_power_w;
        PanelUnit {
            label_w_per_w_m2: at_25_c * (1.0 - 25.0 * power_per_k),
            label_w_per_w_m2_k: at_25_c * power_per_k,
            r_s: diode.r_s + p.cable.ohm(),
            ..unit
        }
    }

    /// The same with the temperature coefficients of a label (shares per K, of short-circuit current, open-circuit voltage and power).
    ///
    /// After Villalva, Gazoli & Filho (2009), IEEE TPE 24:1198, eq. 7: the saturation current is what the open-circuit voltage of the
    /// temperature asks for, so that the first two hold exactly. The third holds by a change of a, which is sought here.
    pub fn with_coefficients(self, open_v: f64, [current, voltage, power]: [f64; 3]) -> Self {
        let at = |a_per_k: f64| PanelUnit {
            i_l_per_k: current * self.i_l,
            open_v,
            open_v_per_k: voltage * open_v,
            a_per_k,
            by_label: true,
            ..self
        };
        // A flatter exponential costs power: the more a rises, the more the power falls.
        let (mut low, mut high) = A_PER_K;
        for _ in 0..40 {
            let middle = 0.5 * (low + high);
            if at(middle).power_per_k() > power { low = middle } else { high = middle }
        }
        at(0.5 * (low + high))
    }

    /// A diode alone: clean, its shunt following the light.
    pub(crate) fn bare(d: &Diode) -> Self {
        PanelUnit {
            i_l: d.i_l,
            i_l_per_k: ISC_PER_K * d.i_l,
            i_o: d.i_o,
            per_a: 1.0 / d.a,
            r_s: d.r_s,
            g_sh: d.g_sh,
            low_light: 1.0,
            clean: 1.0,
            drop_v: 0.0,
            u0: 1.0,
            u1: 0.0,
            b0: 0.0,
            label_w_per_w_m2: 0.0,
            label_w_per_w_m2_k: 0.0,
            open_v: 0.0,
            open_v_per_k: 0.0,
            a_per_k: 0.0,
            by_label: false,
        }
    }

    /// Power at the maximum power point, W, in light on the cells (W/m²) at a cell temperature (°C).
    pub fn max_power_w(&self, light_w_m2: f64, cell_c: f64) -> f64 {
        let (volts, amps) = self.under(light_w_m2, cell_c).max_power(0.0);
        volts * amps
    }

    /// How the maximum power changes with the temperature at 1000 W/m² and 25 °C, share per K.
    pub(super) fn power_per_k(&self) -> f64 {
        let at = |cell_c| self.max_power_w(1000.0, cell_c);
        (at(30.0) - at(20.0)) / 10.0 / at(25.0)
    }

    /// From known parameters; light loss, surroundings and low light from the design.
    pub(crate) fn from_diode(d: &Diode, p: &design::Panel<f64>, i_l_per_k: f64) -> Self {
        PanelUnit {
            i_l_per_k,
            low_light: p.low_light,
            clean: 1.0 - p.soiling,
            drop_v: p.blocking_drop_v,
            u0: p.heat_loss_w_m2_k,
            u1: p.heat_loss_wind_w_s_m3_k,
            b0: p.incidence_loss_b0,
            ..PanelUnit::bare(d)
        }
    }
}

impl<V: Lane> PanelUnit<V> {
    /// Kelvin above the air for each W/m² on the panel, at a wind speed in m/s (Faiman 2008, Prog. Photovolt. 16:307).
    #[inline(always)]
    pub(crate) fn heating(&self, wind_m_s: V) -> V {
        V::splat(1.0) / (self.u0 + self.u1 * wind_m_s)
    }

    /// The most the panel may give in light that reaches its cells (W/m²), at a cell temperature (°C), W: what its label says, light
    /// for light.
    #[inline(always)]
    pub fn label_w(&self, light_w_m2: V, cell_c: V) -> V {
        light_w_m2 * (self.label_w_per_w_m2 + self.label_w_per_w_m2_k * cell_c).max(V::splat(0.0))
    }

    /// The panel in the dark: nothing but its resistances.
    #[inline(always)]
    pub(crate) fn dark(&self) -> Cells<V> {
        let zero = V::splat(0.0);
        Cells { i_l: zero, i_o: self.i_o, per_a: self.per_a, g_sh: zero, r_s: self.r_s }
    }

    /// The panel under an irradiance that reaches its cells (W/m²), at a cell temperature (°C): De Soto 2006, eqs. 7 to 12;
    /// R_sh = R_sh0 (1000/G)^low_light, and R_sh0 1000/G above 1000 W/m²: `low_light` says what weak light does.
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
        let mut i_o = self.i_o * (ratio * ratio * ratio) * math::exp_fast(exponent);
        let mut per_a = inverse * self.per_a;
        if self.by_label.any() {
            per_a = per_a / (c(1.0) + self.a_per_k * warm);
            let open_v = self.open_v + self.open_v_per_k * warm;
            let given_a = self.i_l + self.i_l_per_k * warm - open_v * self.g_sh;
            i_o = given_a / (math::exp_fast(open_v * per_a) - c(1.0));
        }
        let scaled = self.low_light.ge(c(1.0)) | suns.ge(c(1.0));
        let constant = self.low_light.le(c(0.0));
        let mut shunt = V::select(scaled, suns, c(1.0));
        if (!(scaled | constant)).any() {
            let between = math::exp_fast(self.low_light * math::ln_fast(suns.max(c(DARK))));
            shunt = V::select(scaled | constant, shunt, between);
        }
        Cells {
            i_l: suns * (self.i_l + self.i_l_per_k * warm),
            i_o,
            per_a,
            g_sh: self.g_sh * shunt,
            r_s: self.r_s,
        }
    }
}
