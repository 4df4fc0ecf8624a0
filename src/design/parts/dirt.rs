//! `[panel]`: dirt that grows, and leaves and droppings that come by chance.

use crate::units::Uncertain;

/// Dirt that grows on the panel and is washed off.
#[derive(Clone, Debug, PartialEq)]
pub struct Dirt<N> {
    /// Whether it does; if not, `soiling` is all.
    pub grows: bool,
    /// Share of the light that it takes more each day.
    pub per_day: N,
    /// Rain of a day above which it is washed off, mm.
    pub washed_mm: N,
    /// Days, with that of the rain, on which nothing grows.
    pub grace_days: u32,
    /// The most that it takes, share.
    pub most: N,
    /// Days from one washing rain to the next, where the weather has no rain.
    pub rain_every_days: N,
}

/// Leaves and droppings.
#[derive(Clone, Debug, PartialEq)]
pub struct Litter<N> {
    /// Whether any come.
    pub falls: bool,
    /// Leaves for each m² and day while leaves fall.
    pub leaves: N,
    /// Droppings for each m² and day.
    pub droppings: N,
}

impl<N> Dirt<N> {
    pub(in crate::design) fn map<M>(&self, f: &mut impl FnMut(&str, &N) -> M) -> Dirt<M> {
        Dirt {
            grows: self.grows,
            per_day: f("panel.dirt_a_day", &self.per_day),
            washed_mm: f("panel.dirt_washed_by", &self.washed_mm),
            grace_days: self.grace_days,
            most: f("panel.dirt_at_most", &self.most),
            rain_every_days: f("panel.dirt_rain_every", &self.rain_every_days),
        }
    }
}

impl<N> Litter<N> {
    pub(in crate::design) fn map<M>(&self, f: &mut impl FnMut(&str, &N) -> M) -> Litter<M> {
        Litter {
            falls: self.falls,
            leaves: f("panel.leaves", &self.leaves),
            droppings: f("panel.droppings", &self.droppings),
        }
    }
}

impl Default for Dirt<Uncertain> {
    /// None grows.
    fn default() -> Self {
        let x = Uncertain::exact;
        Dirt {
            grows: false,
            per_day: x(0.0),
            washed_mm: x(5.0),
            grace_days: 3,
            most: x(0.3),
            rain_every_days: x(15.0),
        }
    }
}

impl Default for Litter<Uncertain> {
    /// None.
    fn default() -> Self {
        Litter { falls: false, leaves: Uncertain::exact(0.0), droppings: Uncertain::exact(0.0) }
    }
}
