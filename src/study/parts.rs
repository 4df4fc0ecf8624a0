//! Part luck: draws the parts of one unit within their tolerances.

use crate::design::Design;
use crate::seed::{self, Purpose};
use crate::units::Uncertain;

/// Draws the parts of one unit. Also gives the uniform number (0..1) behind each uncertain quantity, in the order of
/// [`Design::uncertain_keys`]. Each quantity has its own stream, named by its key: two designs that share uncertain
/// quantities get the same luck in them, whatever else is uncertain.
pub(crate) fn draw(design: &Design<Uncertain>, seed: u64, trial: u64) -> (Design<f64>, Vec<f64>) {
    let keys = design.uncertain_keys();
    let mut luck = Vec::with_capacity(keys.len());
    let unit = design.draw(&mut |key| {
        // The draw asks for every key in a fixed order; only uncertain ones need a stream.
        if keys.get(luck.len()).is_none_or(|next| next != key) {
            return 0.5;
        }
        let u = seed::open_unit(&mut seed::stream(seed, Purpose::Part(key), trial, 0));
        luck.push(u);
        u
    });
    (unit, luck)
}
