//! Attributes each missing minute to one cause.
//!
//! [`Cause`] lists the causes, what each means, and their order. The evidence is gathered in [`attribute`](super::attribute).

use crate::lanes::{Lane, Mask};
use crate::plant::record::Cause;

/// What is known about a minute: for each cause, whether it applies unless one before it in [`Cause`] does. The last one, too
/// little sun, needs no evidence.
pub(super) struct Evidence<V: Lane> {
    pub blocked: V::Mask,
    pub frozen: V::Mask,
    pub low_water: V::Mask,
    pub wind: V::Mask,
    pub too_cold: V::Mask,
    pub battery_flat: V::Mask,
    pub held_back: V::Mask,
    pub mount_starved: V::Mask,
    pub behind_skyline: V::Mask,
    pub covered: V::Mask,
    pub pulsing: V::Mask,
    pub too_low: V::Mask,
}

impl<V: Lane> Evidence<V> {
    #[inline(always)]
    fn of(&self, cause: Cause) -> V::Mask {
        match cause {
            Cause::Blocked => self.blocked,
            Cause::Frozen => self.frozen,
            Cause::LowWater => self.low_water,
            Cause::Wind => self.wind,
            Cause::TooCold => self.too_cold,
            Cause::BatteryFlat => self.battery_flat,
            Cause::HeldBack => self.held_back,
            Cause::MountStarved => self.mount_starved,
            Cause::BehindSkyline => self.behind_skyline,
            Cause::Covered => self.covered,
            Cause::Pulsing => self.pulsing,
            Cause::TooLow => self.too_low,
            Cause::TooLittleSun => V::Mask::splat(true),
        }
    }

    /// The same by the causes' numbers: looked up once, the loop that assigns minutes needs no jump for each cause.
    #[inline(always)]
    fn by_number(&self) -> [V::Mask; Cause::COUNT] {
        let mut holds = [V::Mask::splat(false); Cause::COUNT];
        for cause in Cause::ALL {
            holds[cause as usize] = self.of(cause);
        }
        holds
    }
}

/// Adds the missing minutes (0..=1 a lane) to their causes' sums; gives the number of the cause in [`Cause::ALL`], meaningless
/// where nothing is missing.
#[inline(always)]
pub(super) fn assign<V: Lane>(
    missing_min: V,
    evidence: &Evidence<V>,
    cause_min: &mut [V; Cause::COUNT],
) -> V {
    let c = V::splat;
    let mut number = c(0.0);
    let mut open = missing_min.gt(c(0.0));
    let holds = evidence.by_number();
    // Most missing minutes have too little sun and nothing else: one look at all other causes together.
    let mut first = Cause::COUNT - 1;
    let mut other = V::Mask::splat(false);
    for holds in &holds[..first] {
        other = other | *holds;
    }
    if (open & other).any() {
        first = 0;
    }
    for (k, holds) in holds.iter().enumerate().skip(first) {
        let here = open & *holds;
        // Most causes hold nowhere in most minutes.
        if !here.any() {
            continue;
        }
        cause_min[k] = cause_min[k] + V::only(here, missing_min);
        number = V::select(here, c(k as f64), number);
        open = open & !here;
        if !open.any() {
            break;
        }
    }
    number
}
