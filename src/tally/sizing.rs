//! The inputs of the handbook's sizing figures, shown beside the simulated answer.
//!
//! Definitions: loss-of-load probability, generator and storage capacity C_A, C_S after Luque & Hegedus
//! (eds.), Handbook of Photovoltaic Science and Engineering, eqs 20.79 and 20.80; array-to-load ratio in the structure
//! of IEEE 1562 (from memory). The figures themselves: [`super::worksheet`].

use crate::design::{Battery, BenchPoint, Chemistry, Design};
use crate::units::Uncertain;

/// The inputs of the worksheet, from the nominal values of a design.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SizingInputs {
    /// Power of the pump at the wished jet, W.
    pub pump_w: f64,
    /// Power drawn all day and night by electronics and sensor board, W.
    pub standby_w: f64,
    /// Rated power of the panel, W.
    pub panel_w: f64,
    /// Energy the battery can give between full and empty by the usual limit of its chemistry, Wh.
    pub usable_wh: Option<f64>,
}

impl SizingInputs {
    /// Those of a design.
    pub(crate) fn of(design: &Design<Uncertain>) -> SizingInputs {
        let bus_v = design
            .battery
            .as_ref()
            .map_or_else(|| design.panel.max_power_voltage_v.nominal, Battery::nominal_voltage_v);
        SizingInputs {
            pump_w: pump_power_w(&design.pump.bench, design.wish.jet_m.nominal),
            standby_w: bus_v
                * (design.electronics.standby_current_a.nominal + design.mount.standby_current_a.nominal),
            panel_w: design.panel.rated_power_w.nominal,
            usable_wh: design
                .battery
                .as_ref()
                .map(|b| b.usable_capacity_ah() * bus_v * usual_depth(b.chemistry)),
        }
    }
}

/// Depth of discharge used for sizing (common practice, no source).
fn usual_depth(chemistry: Chemistry) -> f64 {
    match chemistry {
        Chemistry::LithiumIon | Chemistry::LithiumIronPhosphate | Chemistry::NickelMetalHydride => 0.8,
        Chemistry::LeadAcid => 0.5,
    }
}

/// Power of a pump at a height of jet, W, as one computes it by hand (the simulation uses the curve of `plant::pump` at the
/// voltage of the bus). Linear between bench points; below the first by the affinity laws (height as the square, power as
/// the cube of speed: P ~ h^1.5); above the last, that of the last. 0 without bench points.
fn pump_power_w(bench: &[BenchPoint<Uncertain>], jet_m: f64) -> f64 {
    let points: Vec<(f64, f64)> =
        bench.iter().map(|p| (p.jet_m.nominal, p.voltage_v.nominal * p.current_a.nominal)).collect();
    let Some((&(first_h, first_w), &(last_h, last_w))) = points.first().zip(points.last()) else {
        return 0.0;
    };
    if jet_m >= last_h {
        return last_w;
    }
    if jet_m <= first_h {
        let share = if first_h > 0.0 { jet_m.max(0.0) / first_h } else { 1.0 };
        return first_w * share * share.sqrt();
    }
    points
        .windows(2)
        .find(|w| jet_m <= w[1].0)
        .map_or(last_w, |w| w[0].1 + (jet_m - w[0].0) / (w[1].0 - w[0].0) * (w[1].1 - w[0].1))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn point(voltage_v: f64, current_a: f64, jet_m: f64) -> BenchPoint<Uncertain> {
        let q = Uncertain::exact;
        BenchPoint { voltage_v: q(voltage_v), current_a: q(current_a), jet_m: q(jet_m) }
    }

    #[test]
    fn power_at_a_height_of_jet() {
        let bench = [point(3.0, 0.1, 0.1), point(6.0, 0.3, 0.4)];
        let power = |h| pump_power_w(&bench, h);
        assert!((power(0.1) - 0.3).abs() < 1e-12);
        assert!((power(0.25) - 1.05).abs() < 1e-12, "half way from 0.3 W to 1.8 W");
        assert!((power(0.4) - 1.8).abs() < 1e-12);
        assert!((power(0.9) - 1.8).abs() < 1e-12, "it cannot do more");
        // A quarter of the height is half the speed: an eighth of the power.
        assert!((power(0.025) - 0.3 / 8.0).abs() < 1e-12);
        assert_eq!(pump_power_w(&[], 0.2), 0.0);
    }
}
