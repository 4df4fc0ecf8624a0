//! Part luck: one unit built from one draw of its parts.

use crate::design::Design;
use crate::seed::{self, Purpose};
use crate::units::Uncertain;

/// Keys of the quantities a design leaves open, in its fixed order.
pub fn unknowns(design: &Design<Uncertain>) -> Vec<String> {
    let mut keys = Vec::new();
    design.map(&mut |key, q| {
        if !q.is_exact() {
            keys.push(key.to_owned());
        }
    });
    keys
}

/// One unit built from one draw of its parts, and the uniform number behind each open quantity
/// (in the order of [`unknowns`]). Each quantity has a stream of its own, named by its key: a
/// design that leaves more open, or other things, meets the same luck in what both leave open.
pub fn draw(design: &Design<Uncertain>, seed: u64, trial: u64) -> (Design<f64>, Vec<f64>) {
    let mut luck = Vec::new();
    let unit = design.map(&mut |key, q| {
        if q.is_exact() {
            return q.nominal;
        }
        let u = seed::open_unit(&mut seed::stream(seed, Purpose::Part(key), trial, 0));
        luck.push(u);
        q.at(u)
    });
    (unit, luck)
}

/// The unit as labelled: every quantity at its nominal value.
pub fn as_labelled(design: &Design<Uncertain>) -> Design<f64> {
    design.map(&mut |_, q| q.nominal)
}
