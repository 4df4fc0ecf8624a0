//! Why a wanted minute went without a jet that counts: one cause each.
//!
//! The rule asks in the order of [`Cause::ALL`] and takes the first that holds:
//!
//! 1. *blocked*: the fault asked for.
//! 2. *low water*: the basin is at its low-water mark, which stops the pump.
//! 3. *wind*: the wind cut-off has stopped it.
//! 4. *battery too cold*: the battery is cut off, and frost has refused it charge since it was last connected.
//! 5. *battery flat*: the battery is cut off, or its voltage does not start the pump.
//! 6. *mount starved*: the mount wanted to move and could not (supply too low, or stuck); the panel, aimed where the
//!    mount wanted to look, would have carried the counted jet with no motor turning.
//! 7. *behind the skyline*: the skyline hides the sun; in the open (at its best direction for a mount that
//!    moves, at its place for a fixed one) the panel would have carried it.
//! 8. *pulsing*: the pump runs for part of the minute, and for too small a part.
//! 9. *too low*: it runs, below the wished height.
//! 10. *too little sun*: all else.
//!
//! "Would have carried" is the panel's own curve asked one question: does it give, at the voltage where the
//! jet counts, the current that pump and electronics take there?

use crate::lanes::{Lane, Mask};
use crate::plant::record::Cause;

/// What is known about a minute when its cause is asked for.
pub(crate) struct Evidence<V: Lane> {
    /// In the order of [`Cause::ALL`], without the last, which needs none.
    pub holds: [V::Mask; Cause::COUNT - 1],
}

/// Lays the missing minutes (0..=1 a lane) to their causes; gives the number of the cause in [`Cause::ALL`].
#[inline(always)]
pub(crate) fn assign<V: Lane>(missing: V, evidence: &Evidence<V>, out: &mut [V; Cause::COUNT]) -> V {
    let c = V::splat;
    let mut left = missing;
    let mut number = c((Cause::COUNT - 1) as f64);
    let mut open = missing.gt(c(0.0));
    for (k, &holds) in evidence.holds.iter().enumerate() {
        let here = open & holds;
        // Most causes hold nowhere in most minutes.
        if !here.any() {
            continue;
        }
        let taken = V::only(here, left);
        out[k] = out[k] + taken;
        number = V::select(here, c(k as f64), number);
        left = left - taken;
        open = open & !holds;
        if !open.any() {
            return number;
        }
    }
    out[Cause::COUNT - 1] = out[Cause::COUNT - 1] + left;
    number
}
