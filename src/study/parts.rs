//! Part luck: one unit built from one draw of its parts.

use crate::design::Design;
use crate::seed::{self, Purpose};
use crate::units::Uncertain;

/// One unit built from one draw of its parts, and the uniform number behind each uncertain quantity
/// (in the order of [`Design::uncertain_keys`]). Each quantity has a stream of its own, named by its
/// key: a design that leaves more open, or other things, meets the same luck in what both leave open.
pub fn draw(design: &Design<Uncertain>, seed: u64, trial: u64) -> (Design<f64>, Vec<f64>) {
    let keys = design.uncertain_keys();
    let mut luck = Vec::with_capacity(keys.len());
    let unit = design.draw(&mut |key| {
        // The draw asks for every key in the fixed order; only uncertain ones cost a stream.
        if keys.get(luck.len()).is_none_or(|next| next != key) {
            return 0.5;
        }
        let u = seed::open_unit(&mut seed::stream(seed, Purpose::Part(key), trial, 0));
        luck.push(u);
        u
    });
    (unit, luck)
}
