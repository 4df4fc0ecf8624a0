//! The five parameters of a panel's single diode, fitted to its label.

/// Thermal voltage kT/q of one cell at 25 °C, V.
pub(super) const THERMAL_V: f64 = 0.025_692_579_121_493_725;

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

    /// The same, with the ideality lowered in steps of 0.05 until they are physical; `None` if none is.
    pub(super) fn fit_lowered(&self, ideality: f64) -> Option<Diode> {
        let mut n = ideality;
        while n > 0.45 {
            if let Some(diode) = self.fit(n) {
                return Some(diode);
            }
            n -= 0.05;
        }
        None
    }
}
