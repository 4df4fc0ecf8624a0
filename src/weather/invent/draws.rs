//! Which random streams a year is made from.

/// What a random stream is for, so that a change in one quantity shifts no other.
#[derive(Clone, Copy)]
pub(crate) enum Draws {
    Days,
    Hours,
    Wind,
    Rain,
}
