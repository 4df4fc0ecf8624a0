//! The mount: which directions it reaches and how it turns.
//!
//! A mount moves at the end of a minute, with the light it saw and the supply it had in that minute, so a turn shows in
//! the next. Where it would look is computed once a day in [`light`](super::light), by the heads in
//! [`sky::seek`](crate::sky::seek); whether its supply lets it turn, in [`bus`](super::bus).

mod direction;
mod hunt;
mod mounts;
mod turn;

pub(crate) use direction::{Direction, direction, leaned, pick, pulled};
pub(crate) use hunt::{HUNTS_FROM, noise_share, overshoot_share};
pub(crate) use mounts::{MountUnit, Mounts};
pub(crate) use turn::{Turn, go, turn};
