//! Part luck: draws the parts of one unit within their tolerances, or from units learned from a logbook.

use crate::design::{Design, DesignFile, LearnedUnits};
use crate::lanes::BLOCK;
use crate::seed::{self, Purpose};
use crate::units::Uncertain;
use rand::RngExt;

/// Draws the units of a design, one for each trial.
pub(crate) struct PartDraws<'d> {
    design: &'d Design<Uncertain>,
    /// Uncertain quantities in the order of the design, and the column of the learned units that holds for each.
    keys: Vec<(String, Uncertain)>,
    learned: Option<(&'d LearnedUnits, Vec<Option<usize>>)>,
}

impl<'d> PartDraws<'d> {
    /// Of a design.
    pub(crate) fn new(file: &'d DesignFile) -> Self {
        let keys = file.beliefs();
        let learned = file.learned.as_deref().map(|units| (units, units.columns(&keys)));
        PartDraws { design: &file.design, keys, learned }
    }

    /// Draws the parts of one unit. Also gives the uniform number (0..1) behind each uncertain quantity, in the order of
    /// [`Design::uncertain_keys`]. Each quantity has its own stream, named by its key: two designs that share uncertain
    /// quantities get the same luck in them, whatever else is uncertain. What was learned comes from one row, the same for all quantities.
    pub(crate) fn draw(&self, seed: u64, trial: u64) -> (Design<f64>, Vec<f64>) {
        let mut luck: Vec<f64> = Vec::with_capacity(self.keys.len());
        let row =
            self.learned.as_ref().map(|(units, _)| &units.units[row_of(units.units.len(), seed, trial)]);
        let unit = self.design.draw(&mut |key| {
            // The draw asks for every key in a fixed order; only uncertain ones need a stream.
            let Some((_, belief)) = self.keys.get(luck.len()).filter(|(next, _)| next == key) else {
                return 0.5;
            };
            let column = self.learned.as_ref().and_then(|(_, columns)| columns[luck.len()]);
            let u = match row.zip(column) {
                Some((row, column)) => belief.share_below(row[column]),
                None => luck_of(key, seed, trial),
            };
            luck.push(u);
            u
        });
        (unit, luck)
    }
}

/// The uniform number of a quantity in a trial. The sixteen trials of a block have one in each sixteenth of 0..1, in an order of their own for
/// each quantity (Latin hypercube: McKay, Beckman & Conover 1979, Technometrics 21:239, from memory): what one part does by itself comes out
/// nearly even over a block, and each trial alone has a number that is uniform.
fn luck_of(key: &str, seed: u64, trial: u64) -> f64 {
    const ORDER: u64 = 1;
    let (block, lane) = (trial / BLOCK as u64, (trial % BLOCK as u64) as usize);
    let mut rng = seed::stream(seed, Purpose::Part(key), block, ORDER);
    let order: [u64; BLOCK] = std::array::from_fn(|_| rng.random());
    let sixteenth = order.iter().filter(|other| **other < order[lane]).count() as f64;
    let within = seed::open_unit(&mut seed::stream(seed, Purpose::Part(key), trial, 0));
    ((sixteenth + within) / BLOCK as f64).min(1.0 - f64::EPSILON / 2.0)
}

/// The row of a trial: one after the other from a place that the seed decides, so that any run of trials takes all rows about equally
/// often. The rows stand in no order.
fn row_of(rows: usize, seed: u64, trial: u64) -> usize {
    let first = seed::stream(seed, Purpose::Learn("first row"), 0, 0).random::<u32>();
    ((u64::from(first) + trial) % rows.max(1) as u64) as usize
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Each block has one number in each sixteenth; lanes meet every sixteenth about equally often (0.01 % of false alarms: chi-square of 15
    /// degrees below 44), and two quantities stand in different orders.
    #[test]
    fn parts_are_spread_evenly_over_a_block() {
        let sixteenth = |key: &str, trial: u64| (luck_of(key, 5, trial) * BLOCK as f64) as usize;
        let mut met = [[0.0f64; BLOCK]; BLOCK];
        let mut alike = 0;
        for block in 0..400u64 {
            let trials = (block * BLOCK as u64..(block + 1) * BLOCK as u64).collect::<Vec<_>>();
            let mut places: Vec<usize> = trials.iter().map(|t| sixteenth("a", *t)).collect();
            places.iter().enumerate().for_each(|(lane, place)| met[lane][*place] += 1.0);
            alike += trials.iter().filter(|t| sixteenth("a", **t) == sixteenth("b", **t)).count();
            places.sort_unstable();
            assert_eq!(places, (0..BLOCK).collect::<Vec<_>>(), "block {block}");
        }
        for (lane, met) in met.iter().enumerate() {
            let chi: f64 = met.iter().map(|n| (n - 25.0) * (n - 25.0) / 25.0).sum();
            assert!(chi < 44.0, "lane {lane}: {chi}");
        }
        // 400 of 6,400 are expected; four standard deviations.
        assert!((320..480).contains(&alike), "{alike}");
    }
}
