//! A larger battery behind unchanged voltages: why it may bring more jet and yet no fewer still days.
//!
//! Cut-off and reconnect are voltages, that is shares of the capacity. After a cut-off the pump waits until the share of the
//! reconnect voltage is back; a larger store takes more Wh, hence more days, to get there. Held in Wh, the wait stays as it was.

use super::paired::Difference;
use crate::design::{Battery, Design};
use crate::plant::single_unit;
use crate::units::Uncertain;
use std::cmp::Ordering;

/// Why, in words.
pub(super) const WAITS: &str = "after a cut-off the pump waits for the reconnect voltage, which is a share of the capacity, \
                                and a larger store takes longer to get there";

/// What to say of it, if `other` has a larger battery than `first`, surely more jet, and not surely fewer still days.
pub(super) fn note(
    first: &Design<Uncertain>,
    other: &Design<Uncertain>,
    still: &Difference,
    jet_min: Option<&Difference>,
) -> Option<String> {
    let (small, big) = (first.battery.as_ref()?, other.battery.as_ref()?);
    let more_jet = jet_min?.told_apart() == Some(Ordering::Greater);
    let fewer_still = still.told_apart() == Some(Ordering::Less);
    let more_store = big.usable_capacity_ah() > 1.05 * small.usable_capacity_ah();
    if !(more_jet && more_store && !fewer_still && still.trials.is_none_or(|n| n >= 2)) {
        return None;
    }
    let found = match still.told_apart() {
        Some(Ordering::Greater) => "More still days, yet more jet minutes",
        _ => "More jet minutes, yet not surely fewer still days",
    };
    let cure = match held_v(first, other, small, big) {
        Some(v) => {
            format!("electronics.reconnect = \"{v:.2} V\" gives the pump back after as many Wh as before")
        }
        None => "a lower electronics.reconnect gives the pump back sooner".to_owned(),
    };
    Some(format!("{found}: {WAITS}. The cure: {cure}."))
}

/// Reconnect voltage at which the larger store has regained as many Wh since its cut-off as the smaller one had; none if it
/// would lie no lower than now.
fn held_v(
    first: &Design<Uncertain>,
    other: &Design<Uncertain>,
    small: &Battery<Uncertain>,
    big: &Battery<Uncertain>,
) -> Option<f64> {
    let share = |b: &Battery<Uncertain>, volts: f64| share_at(b, volts / f64::from(b.cells));
    let (e1, e2) = (&first.electronics, &other.electronics);
    let gap = share(small, e1.reconnect_v.nominal) - share(small, e1.cut_off_v.nominal);
    let packs = f64::from(small.cells) / f64::from(big.cells);
    let to = share(big, e2.cut_off_v.nominal)
        + gap * small.usable_capacity_ah() / big.usable_capacity_ah() * packs;
    let volts = single_unit::rest_volts(big.chemistry, to.clamp(0.0, 1.0)) * f64::from(big.cells);
    // Below the cut-off there is nothing to reconnect to.
    let volts = volts.max(e2.cut_off_v.nominal + 0.05);
    (volts < e2.reconnect_v.nominal - 0.005).then_some(volts)
}

/// State of charge at which a cell rests at this voltage: the curve rises, so halving finds it.
fn share_at(b: &Battery<Uncertain>, cell_v: f64) -> f64 {
    let (mut lo, mut hi) = (0.0, 1.0);
    for _ in 0..50 {
        let mid = 0.5 * (lo + hi);
        if single_unit::rest_volts(b.chemistry, mid) < cell_v { lo = mid } else { hi = mid }
    }
    0.5 * (lo + hi)
}
