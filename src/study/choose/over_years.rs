//! What the builds beside the answer cost over some years: the cheapest to buy need not be the cheapest to keep.

use super::field::Field;
use crate::design::shelf::Kind;
use crate::study::engine::Engine;
use crate::study::years::kept::{self, ToKeep};
use serde::Serialize;

/// The builds beside the answer over some years.
pub type OverYears = kept::OverYears<ShelfBuild>;
/// A build of the shelf that is kept over some years.
pub type KeptBuild = kept::Kept<ShelfBuild>;

/// Which build of the shelf it is.
#[derive(Clone, Debug, Serialize)]
pub struct ShelfBuild {
    /// Its place in the order of prices, from 1.
    pub place: usize,
    /// Its parts of the shelf: kind and name.
    pub parts: Vec<(Kind, String)>,
}

/// Keeps builds of the field, one of which is named, over some years; `None` if it was stopped.
pub(super) fn over_years(
    engine: &Engine<'_>,
    field: &Field,
    (members, named): (&[usize], usize),
    years: u16,
) -> Option<OverYears> {
    let of_named = members.iter().position(|&i| i == named)?;
    let list = members.iter().map(|&i| {
        let contender = &field.contenders[i];
        let build = ShelfBuild { place: i + 1, parts: contender.parts.clone() };
        ToKeep { build, plan: &contender.plan, price: contender.price }
    });
    kept::over_years(engine, list.collect(), of_named, years)
}
