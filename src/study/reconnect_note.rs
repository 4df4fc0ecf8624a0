//! Why a larger battery may give more jet minutes, but no fewer still days, and what to do about it.
//!
//! The pump is cut off and reconnected at fixed voltages. At rest each corresponds to a fixed state of charge. After a
//! cut-off the pump waits until the state of charge of the reconnect voltage is reached; a larger battery needs more Wh,
//! and so more days, to get there. With a lower reconnect voltage, chosen so that as many Wh are needed as before, it does
//! not wait longer.

use super::engine::Engine;
use super::paired::{CONFIDENCE, Difference};
use super::paired_run::PairedRun;
use super::plan::Plan;
use crate::design::{Battery, Change, Design};
use crate::plant::single_unit;
use crate::units::Uncertain;
use std::cmp::Ordering;
use std::sync::Arc;

/// The reason, for the user.
pub(super) const WAITS: &str = "after a cut-off the pump waits for the reconnect voltage, which corresponds to a fixed state of \
                                charge, and a larger battery takes longer to reach it";

/// Most and fewest trials in which the cure is tried.
const TRIALS: (u64, u64) = (128, 512);

/// The note, if the second design has a larger battery than the first and significantly more jet minutes, but not significantly
/// fewer still days, and if the cure that it names, applied to it, avoids still days.
pub(super) fn tried(
    engine: &Engine<'_>,
    [first, other]: [&Plan; 2],
    (still, jet_min): (&Difference, Option<&Difference>),
    trials: u64,
) -> Option<String> {
    let (text, volts) = note(&first.file.design, &other.file.design, still, jet_min)?;
    let sooner = toml::Value::String(format!("{volts:.2} V"));
    let changes = [("electronics.reconnect".to_owned(), Change::Set(sooner))];
    let cured = other.file.patched("reconnected sooner", &changes).ok()?;
    let mut run = PairedRun::new(vec![other.beside(other.file.clone()), other.beside(cured)]);
    let quiet = Engine { pool: Arc::clone(&engine.pool), progress: &|_| (), ..*engine };
    let trials = trials.clamp(TRIALS.0, TRIALS.1);
    while run.trials() < trials && !quiet.stopped() {
        run.wave(&quiet, trials);
    }
    let cure = run.builds[1].against_first.still_days.difference(CONFIDENCE)?;
    (cure.told_apart() == Some(Ordering::Less)).then_some(text)
}

/// The note and the reconnect voltage that it names, V.
fn note(
    first: &Design<Uncertain>,
    other: &Design<Uncertain>,
    still: &Difference,
    jet_min: Option<&Difference>,
) -> Option<(String, f64)> {
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
    let volts = held_v(first, other, small, big)?;
    let text = format!(
        "{found}: {WAITS}. Remedy: electronics.reconnect = \"{volts:.2} V\" reconnects the pump after as many Wh as before; tried, it \
         avoids still days."
    );
    Some((text, volts))
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
