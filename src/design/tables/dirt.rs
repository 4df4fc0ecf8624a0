//! `[panel]`: dirt that grows, and what falls on the panel.

use crate::design::parts::{Dirt, Litter};
use crate::design::reader::DesignReader;
use crate::units::Uncertain;

const A_DAY: &str = "panel.dirt_a_day";

/// Share of the light that dirt takes and rain does not wash off: none is assumed where dirt that grows is given.
pub(super) fn soiling(r: &mut DesignReader<'_>) -> Option<Uncertain> {
    let grows = r.given(A_DAY);
    r.quantity_or("panel.soiling", grows.then(|| Uncertain::exact(0.0)))
}

/// Dirt that grows.
pub(super) fn dirt(r: &mut DesignReader<'_>) -> Option<Dirt<Uncertain>> {
    let grows = r.given(A_DAY);
    let per_day = if grows { r.quantity(A_DAY) } else { None };
    let washed = r.quantity("panel.dirt_washed_by");
    // What cannot be read is an error already.
    let grace_days = r.count("panel.dirt_grace").unwrap_or(i64::from(Dirt::default().grace_days));
    let most = r.quantity("panel.dirt_at_most");
    let rain_every = r.quantity("panel.dirt_rain_every");
    if !grows {
        return Some(Dirt::default());
    }
    Some(Dirt {
        grows,
        per_day: per_day?,
        washed_mm: washed?,
        grace_days: grace_days as u32,
        most: most?,
        rain_every_days: rain_every?.times(1.0 / 1440.0),
    })
}

/// Leaves and droppings.
pub(super) fn litter(r: &mut DesignReader<'_>) -> Option<Litter<Uncertain>> {
    let mut of = |key: &str| match r.given(key) {
        true => r.quantity(key),
        false => Some(Uncertain::exact(0.0)),
    };
    let (leaves, droppings) = (of("panel.leaves"), of("panel.droppings"));
    let (leaves, droppings) = (leaves?, droppings?);
    Some(Litter { falls: leaves.highest() > 0.0 || droppings.highest() > 0.0, leaves, droppings })
}
