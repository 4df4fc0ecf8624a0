//! Why a larger battery may give more jet minutes, but no fewer still days, and what to do about it.
//!
//! The pump is cut off and reconnected at fixed voltages. At rest each corresponds to a fixed state of charge. After a
//! cut-off the pump waits until the state of charge of the reconnect voltage is reached; a larger battery needs more Wh,
//! and so more days, to get there. With a lower reconnect voltage, chosen so that as many Wh are needed as before, it does
//! not wait longer.

use super::paired::Difference;
use crate::design::{Battery, Design};
use crate::plant::single_unit;
use crate::units::Uncertain;
use std::cmp::Ordering;

/// The reason, for the user.
pub(super) const WAITS: &str = "after a cut-off the pump waits for the reconnect voltage, which corresponds to a fixed state of \
                                charge, and a larger battery takes longer to reach it";

/// The note, if `other` has a larger battery than `first` and significantly more jet minutes, but not significantly fewer
/// still days.
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
        Some(Ordering::Greater) => "More still days, although there are more jet minutes",
        _ => "More jet minutes, but not significantly fewer still days",
    };
    let cure = match held_v(first, other, small, big) {
        Some(v) => {
            format!("electronics.reconnect = \"{v:.2} V\" reconnects the pump after as many Wh as before")
        }
        None => "a lower electronics.reconnect reconnects the pump sooner".to_owned(),
    };
    Some(format!("{found}: {WAITS}. Remedy: {cure}."))
}

/// Reconnect voltage, V, at which the larger battery has regained as many Wh since its cut-off as the smaller one at its
/// own; none if that is not lower than now.
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
    // The pump must reconnect above its cut-off voltage.
    let volts = volts.max(e2.cut_off_v.nominal + 0.05);
    (volts < e2.reconnect_v.nominal - 0.005).then_some(volts)
}

/// State of charge, 0..=1, at which a cell rests at this voltage; found by bisection, as the curve rises.
fn share_at(b: &Battery<Uncertain>, cell_v: f64) -> f64 {
    let (mut lo, mut hi) = (0.0, 1.0);
    for _ in 0..50 {
        let mid = 0.5 * (lo + hi);
        if single_unit::rest_volts(b.chemistry, mid) < cell_v { lo = mid } else { hi = mid }
    }
    0.5 * (lo + hi)
}
