//! Shares of a battery's life that are used up, and the capacity that is left.
//!
//! Shares by cycles and by the calendar add up (Miner 1945: the end comes when they make 1). How capacity falls on the way:
//!
//! - lithium: the loss grows with a power of the share used, ½ for iron phosphate (Naumann et al. 2018 and 2020, J. Power
//!   Sources 451:227666), between ½ for cycles and 0.75 for the calendar for others (Schmalstieg et al. 2014);
//! - lead-acid: little by cycles until near the end, then fast (shape of Schiffer et al. 2007, J. Power Sources 168:66-78), a fifth
//!   over its calendar life;
//! - nickel: in proportion (no published law for small cells was found).
//!
//! Life ends at 80 % of the capacity, 60 % of lead-acid and nickel: what their makers commonly count cycles to (from memory).

use crate::design::Chemistry;

/// Shares of the life used.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Wear {
    /// By cycles.
    pub cycles: f64,
    /// By the calendar.
    pub calendar: f64,
}

impl Wear {
    /// Both together: 1 at the end of the life.
    pub(crate) fn total(self) -> f64 {
        self.cycles + self.calendar
    }

    /// Years until it ends if each year uses this much; none if nothing does.
    pub(crate) fn years(self) -> Option<f64> {
        Some(1.0 / self.total()).filter(|y| y.is_finite() && *y > 0.0)
    }
}

/// How much longer a discharge of lead-acid wears for the time since it was last full, h, and the lowest state of charge since
/// then: the weight of Schiffer et al. 2007 at small currents.
pub(crate) fn lead_weight(hours_since_full: f64, lowest_soc: f64) -> f64 {
    1.0 + (6.614e-5 + 3.307e-3 * (1.0 - lowest_soc)) * hours_since_full
}

/// Capacity of lead-acid at which makers commonly count the end of its cycles; what they lose by age alone until then.
const LEAD_CYCLES_END: f64 = 0.6;
const LEAD_AGE_LOSS: f64 = 0.2;
/// Loss of nickel cells at the end of their life.
const NICKEL_LOSS: f64 = 0.4;
/// Loss of lithium cells at the end of their life.
const LITHIUM_LOSS: f64 = 0.2;
/// A worn battery is never taken for less than this (own choice: the laws say nothing there).
const LEAST_CAPACITY: f64 = 0.05;

/// Capacity left, as a share of that when new: 1 for a new one.
pub(crate) fn capacity_left(chemistry: Chemistry, wear: Wear) -> f64 {
    let (cycles, calendar, total) = (wear.cycles, wear.calendar, wear.total());
    if total <= 0.0 {
        return 1.0;
    }
    let left = match chemistry {
        Chemistry::LithiumIronPhosphate => 1.0 - LITHIUM_LOSS * total.sqrt(),
        Chemistry::LithiumIon => {
            let power = (0.5 * cycles + 0.75 * calendar) / total;
            1.0 - LITHIUM_LOSS * libm::pow(total, power)
        }
        Chemistry::LeadAcid => {
            let base = libm::exp(-5.0);
            let end = 1.0 + libm::log((1.0 - LEAD_CYCLES_END) / 0.8 + base) / 5.0;
            1.0 - LEAD_AGE_LOSS * calendar - 0.8 * libm::exp(-5.0 * (1.0 - cycles * end)) + 0.8 * base
        }
        Chemistry::NickelMetalHydride => 1.0 - NICKEL_LOSS * total,
    };
    left.max(LEAST_CAPACITY)
}

/// Resistance as a multiple of that when new: lead-acid by Schiffer et al. 2007 for age and an own choice for cycles, all others
/// doubled at the end of their life (own choice).
pub(crate) fn resistance_factor(chemistry: Chemistry, wear: Wear) -> f64 {
    match chemistry {
        Chemistry::LeadAcid => 1.0 + 0.2 * wear.calendar + 0.5 * wear.cycles,
        Chemistry::LithiumIon | Chemistry::LithiumIronPhosphate | Chemistry::NickelMetalHydride => {
            1.0 + wear.total()
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plant::ageing::ALL;

    #[test]
    fn a_month_without_a_full_charge_doubles_the_wear_of_lead() {
        assert_eq!(lead_weight(0.0, 0.5), 1.0);
        assert!((lead_weight(30.0 * 24.0, 0.5) - 2.24).abs() < 0.01);
    }

    #[test]
    fn a_new_battery_is_whole_and_the_end_of_life_is_where_it_is_said() {
        let by = |cycles, calendar| Wear { cycles, calendar };
        for chemistry in ALL {
            assert_eq!(capacity_left(*chemistry, Wear::default()), 1.0);
            assert_eq!(resistance_factor(*chemistry, Wear::default()), 1.0);
            // It never rises by wear.
            let mut last = 1.0;
            for k in 1..60 {
                let left = capacity_left(*chemistry, by(0.02 * f64::from(k), 0.03 * f64::from(k)));
                assert!(left <= last, "{chemistry:?}");
                last = left;
            }
            assert!(last >= LEAST_CAPACITY);
        }
        let ends = [
            (Chemistry::LithiumIon, by(1.0, 0.0), 0.8),
            (Chemistry::LithiumIon, by(0.0, 1.0), 0.8),
            (Chemistry::LithiumIronPhosphate, by(0.4, 0.6), 0.8),
            (Chemistry::LeadAcid, by(1.0, 0.0), 0.6),
            (Chemistry::LeadAcid, by(0.0, 1.0), 0.8),
            (Chemistry::NickelMetalHydride, by(0.5, 0.5), 0.6),
        ];
        for (chemistry, wear, end) in ends {
            assert!((capacity_left(chemistry, wear) - end).abs() < 1e-12, "{chemistry:?}");
        }
    }

    /// Computed for this rule with the end of cycles at 60 %: constants of Schiffer et al. 2007 joined as above.
    #[test]
    fn lead_loses_little_by_cycles_until_near_the_end() {
        let left = |cycles| capacity_left(Chemistry::LeadAcid, Wear { cycles, calendar: 0.0 });
        assert!(left(0.5) > 0.95 && left(1.0) < 0.61 && left(1.2) < 0.3, "{} {}", left(0.5), left(1.2));
        for (cycles, calendar, expected) in [
            (0.25, 0.5, 0.889_516_534_478),
            (0.5, 1.0, 0.758_644_245_518),
            (0.75, 1.0, 0.667_729_821_885),
            (1.1, 0.0, 0.380_938_447_631),
        ] {
            let left = capacity_left(Chemistry::LeadAcid, Wear { cycles, calendar });
            assert!((left - expected).abs() < 1e-9, "{cycles} {calendar}: {left} {expected}");
        }
    }

    #[test]
    fn shares_add_up_to_a_life() {
        // 5 % a year by cycles and 1 year in 20 by age: ten years.
        let life = Wear { cycles: 0.05, calendar: 0.05 }.years().expect("it wears");
        assert!((life - 10.0).abs() < 1e-9);
        assert_eq!(Wear::default().years(), None);
    }
}
