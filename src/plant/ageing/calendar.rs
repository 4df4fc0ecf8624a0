//! Ageing on the shelf, by temperature and state of charge, relative to 25 °C (lithium: and half charge).
//!
//! - Iron phosphate: Naumann et al. 2018, J. Energy Storage 17:153-169, capacity loss with the square root of time, activation
//!   energy 17,126 J/mol, cubic in the state of charge (parameters from public transcriptions). Measured from 0 to 60 °C; too
//!   low above 45 °C, where the rate is held.
//! - Other lithium: Schmalstieg et al. 2014, J. Power Sources 257:325-334, loss with time to the power 0.75, linear in the storage
//!   voltage (parameters from public transcriptions). Measured at 35 to 50 °C: below 25 °C the gain is no more than a halving
//!   for each 10 K, and none below 10 °C (own choice).
//! - Lead-acid and nickel: doubling for each 10 K (makers print 8 to 10 K; common practice, no source), no gain below 10 °C (own
//!   choice); no law by state of charge.
//!
//! A loss k t^z reaches the end of life after a time in proportion to k^(-1/z), so the rate of ageing is k^(1/z).

use crate::design::Chemistry;
use crate::lanes::{Lane, math};

/// Hours in the month that self-discharge is given for.
const MONTH_H: f64 = 730.5;
/// 25 °C, K.
const WARM_K: f64 = 298.15;
/// Gas constant, J/(mol K).
const GAS_J_MOL_K: f64 = 8.314_462_618;
/// Iron phosphate: activation energy of the loss, J/mol; and what multiplies it at a state of charge s: a (s - 0.5)³ + b.
const IRON_J_MOL: f64 = 17_126.0;
const IRON_CUBE: f64 = 2.8575;
const IRON_HALF: f64 = 0.602_25;
/// Other lithium: temperature of the exponential, K; and what multiplies it at a voltage: a V - b.
const OXIDE_K: f64 = 6976.0;
const OXIDE_SLOPE: f64 = 7.543;
const OXIDE_OFFSET: f64 = 23.75;
/// Voltage of such a cell at rest: a straight line from empty to full, V (own choice; the law needs no more).
const OXIDE_EMPTY_V: f64 = 3.3;
const OXIDE_FULL_V: f64 = 4.2;

/// How fast a battery ages at a temperature, °C, and a state of charge (0..=1), relative to 25 °C and, of lithium, half charge.
#[inline(always)]
pub(crate) fn rate<V: Lane>(chemistry: Chemistry, battery_c: V, soc: V) -> V {
    let c = V::splat;
    match chemistry {
        Chemistry::LithiumIronPhosphate => {
            let t = battery_c.clamp(c(0.0), c(45.0));
            let off = soc - c(0.5);
            let by_charge = (c(IRON_CUBE) * off * off * off + c(IRON_HALF)) * c(1.0 / IRON_HALF);
            arrhenius(t, 2.0 * IRON_J_MOL / GAS_J_MOL_K) * by_charge * by_charge
        }
        Chemistry::LithiumIon => {
            let t = battery_c.clamp(c(10.0), c(50.0));
            let volts = c(OXIDE_EMPTY_V) + c(OXIDE_FULL_V - OXIDE_EMPTY_V) * soc;
            let half = OXIDE_SLOPE * 0.5 * (OXIDE_EMPTY_V + OXIDE_FULL_V) - OXIDE_OFFSET;
            let by_charge = ((c(OXIDE_SLOPE) * volts - c(OXIDE_OFFSET)) * c(1.0 / half)).max(c(1e-3));
            arrhenius(t, OXIDE_K / 0.75).max(doubling(t)) * math::pow(by_charge, c(1.0 / 0.75))
        }
        Chemistry::LeadAcid | Chemistry::NickelMetalHydride => doubling(battery_c.clamp(c(10.0), c(50.0))),
    }
}

/// Share of its charge that a battery keeps after some hours at a temperature, °C: `self_discharge_month` is lost a month at 20 °C, twice as much
/// for each 10 K more.
pub(crate) fn kept_charge(self_discharge_month: f64, celsius: f64, hours: f64) -> f64 {
    libm::exp(-self_discharge_per_h(self_discharge_month) * libm::exp2((celsius - 20.0) / 10.0) * hours)
}

/// Self-discharge at 20 °C as a share of the charge an hour, from the share a month.
pub(crate) fn self_discharge_per_h(month: f64) -> f64 {
    -libm::log1p(-month.min(0.99)) / MONTH_H
}

/// exp(-a (1/T - 1/298.15 K)) at a temperature, °C.
#[inline(always)]
fn arrhenius<V: Lane>(celsius: V, a_k: f64) -> V {
    let kelvin = celsius + V::splat(273.15);
    math::exp((kelvin - V::splat(WARM_K)) * V::splat(a_k / WARM_K) / kelvin)
}

/// 2 for each 10 K above 25 °C.
#[inline(always)]
fn doubling<V: Lane>(celsius: V) -> V {
    math::exp((celsius - V::splat(25.0)) * V::splat(std::f64::consts::LN_2 / 10.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plant::ageing::ALL;

    fn at(chemistry: Chemistry, celsius: f64, soc: f64) -> f64 {
        rate::<f64>(chemistry, celsius, soc)
    }

    #[test]
    fn a_month_at_20_degrees_takes_what_is_said_and_two_take_it_twice() {
        assert!((kept_charge(0.03, 20.0, MONTH_H) - 0.97).abs() < 1e-12);
        assert!((kept_charge(0.03, 30.0, MONTH_H) - 0.97 * 0.97).abs() < 1e-12);
        assert!((kept_charge(0.03, 10.0, 2.0 * MONTH_H) - 0.97).abs() < 1e-12);
    }

    #[test]
    fn rates_are_one_at_25_degrees_and_half_charge_and_bounded_in_the_cold() {
        for &chemistry in ALL {
            assert!((at(chemistry, 25.0, 0.5) - 1.0).abs() < 1e-6, "{chemistry:?}");
            // A year in frost is no better than one at the lower end of what was measured or is common practice.
            assert_eq!(at(chemistry, -30.0, 0.5), at(chemistry, -5.0, 0.5), "{chemistry:?}");
            assert!(at(chemistry, 5.0, 0.5) >= 0.25, "{chemistry:?}: {}", at(chemistry, 5.0, 0.5));
            assert!(at(chemistry, 35.0, 0.5) > at(chemistry, 15.0, 0.5));
        }
        // Ten years of iron phosphate at 10 °C were taken for 28 by the doubling; the law gives 21.
        assert!((1.0 / at(Chemistry::LithiumIronPhosphate, 10.0, 0.5) - 2.08).abs() < 0.01);
        // Lithium that is kept full ages two to three times as fast as half full, empty more slowly.
        for chemistry in [Chemistry::LithiumIon, Chemistry::LithiumIronPhosphate] {
            assert!((1.9..2.7).contains(&at(chemistry, 25.0, 1.0)), "{}", at(chemistry, 25.0, 1.0));
            assert!(at(chemistry, 25.0, 0.0) < 0.3);
        }
    }
}
