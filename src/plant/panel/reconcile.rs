//! A diode for every label: where its values do not quite go together, power, open-circuit voltage and short-circuit current stay,
//! and the voltage at maximum power gives way.
//!
//! Small panels' labels name round voltages, often that of the battery they are meant for. A voltage too low for the fill factor makes the
//! series resistance so large that the panel gives up to half as much again in dull light as its label promises for it; with a shunt in
//! its place it gives what the label says, light for light.

use super::diode::{Diode, Label, THERMAL_V};
use super::unit::PanelUnit;

/// What a panel may give over label times light, when it is fitted: below the hard check's [`HEADROOM`](super::unit::HEADROOM).
const OVER_LABEL: f64 = 1.025;
/// Step by which the voltage at maximum power gives way, as a share of the open-circuit voltage, and steps to either side.
const STEP: f64 = 0.01;
const STEPS: u32 = 45;
/// Lowest fill factor that a curve with a straight shunt can have, with room for it to be found.
const LEAST_FILL_FACTOR: f64 = 0.26;

impl Label {
    /// The five parameters of a diode with the label's power, open-circuit voltage and short-circuit current at 1000 W/m² and 25 °C. Its
    /// ideality is the one asked for, or lower where that has no physical solution; its voltage at maximum power is the
    /// label's, or the nearest that leaves no panel stronger than its label in any light.
    pub fn diode(&self, ideality: f64) -> Diode {
        let power_w = self.i_mp * self.v_mp;
        let i_sc = self.i_sc.min(power_w / (LEAST_FILL_FACTOR * self.v_oc));
        for k in 0..=STEPS {
            for side in [1.0, -1.0] {
                let v_mp = self.v_mp + side * f64::from(k) * STEP * self.v_oc;
                let i_mp = power_w / v_mp;
                let apart = v_mp > 0.5 * self.v_oc && v_mp < 0.97 * self.v_oc && i_mp < 0.995 * i_sc;
                if !apart || (k == 0 && side < 0.0) {
                    continue;
                }
                if let Some(diode) = (Label { i_sc, i_mp, v_mp, ..*self }).fit_lowered(ideality)
                    && keeps_to_its_light(&diode)
                {
                    return diode;
                }
            }
        }
        self.with_shunt(ideality, i_sc, power_w)
    }

    /// A diode without series resistance, whose shunt takes what is more than the power.
    fn with_shunt(&self, ideality: f64, i_sc: f64, power_w: f64) -> Diode {
        let of = |n: f64, g_sh: f64| {
            let a = n * f64::from(self.cells) * THERMAL_V;
            let i_o = (i_sc - g_sh * self.v_oc) / libm::expm1(self.v_oc / a);
            Diode { i_l: i_sc, i_o, a, r_s: 0.0, g_sh, ideality: n }
        };
        let gives_w = |d: &Diode| PanelUnit::bare(d).max_power_w(1000.0, 25.0);
        let mut n = ideality;
        while n > 0.25 && gives_w(&of(n, 0.0)) < power_w {
            n -= 0.05;
        }
        let (mut less, mut more) = (0.0, i_sc / self.v_oc);
        for _ in 0..60 {
            let middle = 0.5 * (less + more);
            if gives_w(&of(n, middle)) > power_w { less = middle } else { more = middle }
        }
        of(n, more)
    }
}

/// Whether a panel gives no more than its label times the light, warm or cold, in dull light and in bright. Judged with a shunt that follows
/// the light: one that does not takes more in dull light.
fn keeps_to_its_light(diode: &Diode) -> bool {
    let unit = PanelUnit::bare(diode);
    let rated_w = unit.max_power_w(1000.0, 25.0);
    let per_k = unit.power_per_k();
    let lights = [50.0, 100.0, 200.0, 400.0, 700.0, 1000.0, 1300.0];
    lights.into_iter().all(|light: f64| {
        [-20.0, 25.0, 75.0].into_iter().all(|cell_c: f64| {
            let of_label = rated_w * light * 1e-3 * (1.0 + per_k * (cell_c - 25.0));
            unit.max_power_w(light, cell_c) <= OVER_LABEL * of_label
        })
    })
}
