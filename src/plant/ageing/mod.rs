//! How a battery wears: by the calendar and by cycles, and what capacity is left.
//!
//! The one home of these laws. A season's run uses them for the battery's life ([`crate::tally`]). What they leave out is
//! said beside them: harm from lying empty (except that lead-acid wears faster the longer it has not been full), frost damage,
//! and the knee of lithium cells near the end.

pub(crate) mod calendar;
pub(crate) mod wear;

/// Every kind of battery, for the tests of its laws.
#[cfg(test)]
const ALL: &[crate::design::Chemistry] = &[
    crate::design::Chemistry::LithiumIon,
    crate::design::Chemistry::LithiumIronPhosphate,
    crate::design::Chemistry::LeadAcid,
    crate::design::Chemistry::NickelMetalHydride,
];
