//! The handbook's sizing figures, beside which the simulated answer stands.
//!
//! Definitions: loss-of-load probability, generator and storage capacity C_A, C_S after Luque & Hegedus
//! (eds.), Handbook of Photovoltaic Science and Engineering, eqs 20.79 and 20.80; battery worksheet and
//! array-to-load ratio in the structure of IEEE 1013 and IEEE 1562 (from memory).

use crate::design::{Battery, BenchPoint, Chemistry, Design};
use crate::units::Uncertain;

/// What the worksheet starts from, at the design's nominal values.
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
    /// Of a design, at its nominal values.
    pub fn of(design: &Design<Uncertain>) -> SizingInputs {
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

/// Largest depth of discharge that sizing counts on (common practice, no source).
fn usual_depth(chemistry: Chemistry) -> f64 {
    match chemistry {
        Chemistry::LithiumIon | Chemistry::LithiumIronPhosphate | Chemistry::NickelMetalHydride => 0.8,
        Chemistry::LeadAcid => 0.5,
    }
}

/// Power of a pump at a height of jet, W: between bench points on a straight line; below the first
/// by the affinity laws (height as the square, power as the cube of speed: P ~ h^1.5); above the last
/// what the last draws. 0 without bench points.
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

/// A store that is filled and drawn upon once a day, in units of the load (worked by hand in the check).
/// `produced` and `load` of each day and the usable `store` in one unit; the store starts full. Returns
/// what was served each day.
pub fn day_balance(produced: &[f64], load: f64, store: f64) -> Vec<f64> {
    let mut level = store;
    produced
        .iter()
        .map(|&p| {
            level = store.min(level + p);
            let served = load.min(level);
            level -= served;
            served
        })
        .collect()
}

/// Loss-of-load probability of [`day_balance`]: energy not served over energy wanted (eq. 20.79).
pub fn loss_of_load(served: &[f64], load: f64) -> Option<f64> {
    let wanted = load * served.len() as f64;
    (wanted > 0.0).then(|| served.iter().map(|s| load - s).sum::<f64>() / wanted)
}

/// The battery worksheet in the structure of IEEE 1013 (from memory).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BatteryWorksheet {
    /// Load, Ah a day.
    pub load_ah_day: f64,
    /// Days the battery alone shall carry it.
    pub days: f64,
    /// Largest depth of discharge over those days, share.
    pub max_depth: f64,
    /// Largest depth of discharge in a day, share.
    pub max_daily_depth: f64,
    /// Share of the capacity left at the end of its life.
    pub end_of_life: f64,
    /// Share of the capacity left in the cold.
    pub cold: f64,
    /// Design margin, >= 1.
    pub margin: f64,
}

impl BatteryWorksheet {
    /// Capacity before corrections: the largest of what depth, daily depth and end of life ask for, Ah.
    pub fn largest_ah(&self) -> f64 {
        let unadjusted = self.load_ah_day * self.days;
        (unadjusted / self.max_depth)
            .max(self.load_ah_day / self.max_daily_depth)
            .max(unadjusted / self.end_of_life)
    }
    /// Capacity to buy, Ah.
    pub fn capacity_ah(&self) -> f64 {
        self.largest_ah() / self.cold * self.margin
    }
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

    #[test]
    fn no_load_loses_nothing_it_can_name() {
        assert_eq!(loss_of_load(&[], 1.0), None);
        assert_eq!(loss_of_load(&[0.0], 0.0), None);
        assert!(day_balance(&[], 1.0, 2.0).is_empty());
    }
}
