//! Part luck: draws the parts of one unit within their tolerances, or from units learned from a logbook.

use crate::design::{Design, DesignFile, LearnedUnits};
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
                None => seed::open_unit(&mut seed::stream(seed, Purpose::Part(key), trial, 0)),
            };
            luck.push(u);
            u
        });
        (unit, luck)
    }
}

/// The row of a trial: one after the other from a place that the seed decides, so that any run of trials takes all rows about equally
/// often. The rows stand in no order.
fn row_of(rows: usize, seed: u64, trial: u64) -> usize {
    let first = seed::stream(seed, Purpose::Learn("first row"), 0, 0).random::<u32>();
    ((u64::from(first) + trial) % rows.max(1) as u64) as usize
}
