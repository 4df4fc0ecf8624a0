//! The solar panel: a single diode, in the form that needs no root search.
//!
//! De Soto, Klein & Beckman (2006), Solar Energy 80:78:
//! `I = I_L - I_o (e^{(V + I R_s)/a} - 1) - (V + I R_s)/R_sh`. With the diode's own voltage V_d = V + I R_s as the free variable (Bishop
//! 1988, Solar Cells 25:73) current and voltage are explicit, and every question about the panel
//! ("does it give this current at that voltage?") is one exponential.

use super::rows::rows;
use crate::design;
use crate::lanes::{Lane, Mask, math};

/// Thermal voltage kT/q of one cell at 25 °C, V.
const THERMAL_V: f64 = 0.025_692_579_121_493_725;
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
    /// A panel's parameters at 1000 W/m² and 25 °C, and what its surroundings do to it.
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
        /// How far the shunt follows the light, 0..=1.
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

/// The five parameters of the single diode at 1000 W/m², 25 °C.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Diode {
    /// Light current, A.
    pub i_l: f64,
    /// Saturation current, A.
    pub i_o: f64,
    /// Modified ideality, V.
    pub a: f64,
    /// Series resistance, ohm.
    pub r_s: f64,
    /// Shunt conductance, S.
    pub g_sh: f64,
    /// Ideality that was used: the one asked for, or lower where that has no physical solution.
    pub ideality: f64,
}

/// What the label says.
#[derive(Clone, Copy, Debug)]
pub struct Label {
    /// Short-circuit current, A.
    pub i_sc: f64,
    /// Open-circuit voltage, V.
    pub v_oc: f64,
    /// Current at maximum power, A.
    pub i_mp: f64,
    /// Voltage at maximum power, V.
    pub v_mp: f64,
    /// Cells in series.
    pub cells: u32,
}

impl Label {
    /// The five parameters for an assumed ideality; `None` if they are not physical.
    ///
    /// I(0) = I_sc, I(V_oc) = 0 and I(V_mp) = I_mp are linear in (I_L, I_o, 1/R_sh); R_s follows from
    /// dP/dV = 0 at V_mp (closure after Villalva, Gazoli & Filho 2009, IEEE TPE 24:1198).
    pub fn fit(&self, ideality: f64) -> Option<Diode> {
        let a = ideality * f64::from(self.cells) * THERMAL_V;
        let highest = (self.v_oc - self.v_mp) / self.i_mp;
        const STEPS: u32 = 64;
        let at = |k: u32| highest * f64::from(k) / f64::from(STEPS);
        let mut before = self.linear(a, 0.0)?;
        for k in 1..STEPS {
            let Some(here) = self.linear(a, at(k)) else { continue };
            if before.1 * here.1 <= 0.0 {
                let (mut lo, mut hi) = (at(k - 1), at(k));
                for _ in 0..60 {
                    let mid = 0.5 * (lo + hi);
                    match self.linear(a, mid) {
                        Some((_, slope)) if slope * before.1 > 0.0 => lo = mid,
                        _ => hi = mid,
                    }
                }
                let (diode, _) = self.linear(a, 0.5 * (lo + hi))?;
                return (diode.i_o > 0.0 && diode.g_sh >= 0.0).then_some(Diode { ideality, ..diode });
            }
            before = here;
        }
        None
    }

    /// The linear part for one R_s, and I + V dI/dV at the maximum power point.
    fn linear(&self, a: f64, r_s: f64) -> Option<(Diode, f64)> {
        let e = |v: f64| libm::exp(v / a);
        let (d_sc, d_mp) = (self.i_sc * r_s, self.v_mp + self.i_mp * r_s);
        let (e_oc, e_sc, e_mp) = (e(self.v_oc), e(d_sc), e(d_mp));
        // Differences to the open circuit; two equations in (I_o, 1/R_sh).
        let (a11, a12) = (e_oc - e_sc, self.v_oc - d_sc);
        let (a21, a22) = (e_oc - e_mp, self.v_oc - d_mp);
        let det = a11 * a22 - a12 * a21;
        if det == 0.0 || !det.is_finite() {
            return None;
        }
        let i_o = (self.i_sc * a22 - a12 * self.i_mp) / det;
        let g_sh = (a11 * self.i_mp - a21 * self.i_sc) / det;
        let i_l = i_o * (e_oc - 1.0) + g_sh * self.v_oc;
        let c = i_o * e_mp / a + g_sh;
        Some((Diode { i_l, i_o, a, r_s, g_sh, ideality: 0.0 }, self.i_mp - self.v_mp * c / (1.0 + c * r_s)))
    }

    /// The five parameters; lowers the ideality in steps of 0.05 until they are physical. A label that
    /// fits no diode at all (drawn far off) gets one with its I_sc and V_oc and a shunt of 50 V_oc/I_sc.
    pub fn diode(&self, ideality: f64) -> Diode {
        let mut n = ideality;
        while n > 0.45 {
            if let Some(diode) = self.fit(n) {
                return diode;
            }
            n -= 0.05;
        }
        let a = ideality * f64::from(self.cells) * THERMAL_V;
        let g_sh = self.i_sc / (50.0 * self.v_oc);
        let i_o = (self.i_sc - g_sh * self.v_oc) / libm::expm1(self.v_oc / a);
        Diode { i_l: self.i_sc, i_o, a, r_s: 0.0, g_sh, ideality }
    }
}

impl PanelUnit<f64> {
    /// From the drawn label. A draw whose maximum power point leaves no room below I_sc or V_oc is taken at the nearest
    /// values that do (2 % and 5 %).
    pub fn from_design(p: &design::Panel<f64>) -> Self {
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
    pub fn from_diode(d: &Diode, p: &design::Panel<f64>, i_l_per_k: f64) -> Self {
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
    pub fn heating(&self, wind_m_s: V) -> V {
        V::splat(1.0) / (self.u0 + self.u1 * wind_m_s)
    }

    /// The panel in the dark: nothing but its resistances.
    #[inline(always)]
    pub fn dark(&self) -> Cells<V> {
        let zero = V::splat(0.0);
        Cells { i_l: zero, i_o: self.i_o, per_a: self.per_a, g_sh: zero, r_s: self.r_s }
    }

    /// The panel under an irradiance that reaches its cells (W/m²), at a cell temperature (°C): De Soto 2006, eqs. 7 to 12;
    /// R_sh = R_sh0 (1000/G)^low_light.
    #[inline(always)]
    pub fn under(&self, light_w_m2: V, cell_c: V) -> Cells<V> {
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

/// A panel under one light and temperature.
#[derive(Clone, Copy, Debug)]
pub struct Cells<V> {
    /// Light current, A.
    pub i_l: V,
    /// Saturation current, A.
    pub i_o: V,
    /// 1/a, 1/V.
    pub per_a: V,
    /// Shunt conductance, S.
    pub g_sh: V,
    /// Series resistance, ohm.
    pub r_s: V,
}

/// A panel's current at a diode voltage, and how it changes.
#[derive(Clone, Copy, Debug)]
pub struct IvPoint<V> {
    /// Current, A.
    pub amps: V,
    /// -dI/dV_d, S (positive).
    pub slope_s: V,
    /// -d²I/dV_d², A/V² (positive).
    pub bend_a_v2: V,
    /// Forward current of the diode, A.
    pub diode_a: V,
}

impl Cells<f64> {
    /// The same in each lane.
    pub fn splat<V: Lane>(&self) -> Cells<V> {
        let c = V::splat;
        Cells {
            i_l: c(self.i_l),
            i_o: c(self.i_o),
            per_a: c(self.per_a),
            g_sh: c(self.g_sh),
            r_s: c(self.r_s),
        }
    }
}

impl<V: Lane> Cells<V> {
    /// Current at a diode voltage, and its slope -dI/dV_d (positive).
    #[inline(always)]
    pub fn current(&self, vd: V) -> (V, V) {
        let IvPoint { amps, slope_s, .. } = self.with_derivatives(vd);
        (amps, slope_s)
    }

    /// Current at a diode voltage, its slope and its bend.
    #[inline(always)]
    pub fn with_derivatives(&self, vd: V) -> IvPoint<V> {
        let diode = self.i_o * math::exp_fast(vd * self.per_a);
        let e = diode * self.per_a;
        IvPoint {
            amps: self.i_l - (diode - self.i_o) - vd * self.g_sh,
            slope_s: e + self.g_sh,
            bend_a_v2: e * self.per_a,
            diode_a: diode,
        }
    }

    /// Whether the panel can give a current at a terminal voltage: both lie under its curve exactly if the diode current
    /// at V + I R_s reaches I, for the curve falls all the way.
    #[inline(always)]
    pub fn can_supply(&self, volts: V, amps: V) -> V::Mask {
        self.current(volts + amps * self.r_s).0.ge(amps)
    }

    /// Current at a terminal voltage, A, never backwards: two rounds of V_d = V + I R_s, from the light current down. Good
    /// to a few per cent near the knee and exact on the flat of the curve.
    #[inline(always)]
    pub fn current_estimate(&self, volts: V) -> V {
        let zero = V::splat(0.0);
        let first = self.current(volts + self.i_l * self.r_s).0.max(zero);
        self.current(volts + first * self.r_s).0.max(zero)
    }

    /// The same from a current at a voltage not below this one, by one Newton step: exact on the flat of the curve, good to some
    /// 5 % near the knee.
    #[inline(always)]
    pub fn current_refined(&self, volts: V, amps: V) -> V {
        let (i, slope) = self.current(volts + amps * self.r_s);
        (amps + (i - amps) / (V::splat(1.0) + slope * self.r_s)).max(V::splat(0.0))
    }

    /// Diode voltage without load, if there were no shunt: an upper bound of any diode voltage, V.
    #[inline(always)]
    pub fn open_bound(&self) -> V {
        math::ln((self.i_l / self.i_o).max(V::splat(0.0)) + V::splat(1.0)) / self.per_a
    }

    /// Terminal voltage and current at the maximum power point behind a diode of fixed drop.
    /// Newton on dP/dV_d from the shunt-free point, as far as each lane has to go.
    #[inline(always)]
    pub fn max_power(&self, drop_v: V) -> (V, V) {
        let c = V::splat;
        // Without shunt and series resistance V_d,mp = a (x - ln(1 + x')), x = ln(I_L/I_o + 1).
        let x = math::ln_fast((self.i_l / self.i_o).max(c(0.0)) + c(1.0));
        let first = x - math::ln_fast(c(1.0) + x);
        let a = c(1.0) / self.per_a;
        let mut vd = (x - math::ln_fast(c(1.0) + first.max(c(0.0)))) * a;
        // In weak light a shunt may rule instead: half of the voltage where it takes all.
        vd = vd.min(self.i_l / (c(2.0) * self.g_sh + c(1e-12)));
        let mut open = V::Mask::splat(true);
        for _ in 0..6 {
            let (i, slope) = self.current(vd);
            // I' = -slope, I'' = -e/a².
            let bend = (slope - self.g_sh) * self.per_a;
            let v = vd - i * self.r_s - drop_v;
            let dv = c(1.0) + slope * self.r_s;
            let p1 = dv * i - v * slope;
            let p2 = bend * self.r_s * i - c(2.0) * dv * slope - v * bend;
            let step = (p1 / p2.min(c(-1e-12))).clamp(c(-2.0) * a, c(2.0) * a);
            vd = V::select(open, vd - step, vd);
            // The top is flat: a step of a thousandth of a leaves a millionth of it, and no power at all.
            open = open & (step * self.per_a).abs().ge(c(1e-3));
            if !open.any() {
                break;
            }
        }
        let i = self.current(vd).0.max(c(0.0));
        (vd - i * self.r_s, i)
    }
}
