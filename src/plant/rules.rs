//! The rules by which the pumps of a block are let run.

use crate::design::{Design, RunsWhen};
use crate::lanes::{BLOCK, RowF64};

/// The rules of a block.
#[derive(Clone, Debug)]
pub(crate) struct Rules {
    /// What lets the pump run; hours are those of the scene.
    pub when: RunsWhen,
    /// Light on the panel from which a light switch lets it run, W/m².
    pub light_w_m2: RowF64,
}

impl Rules {
    /// Of 16 drawn designs of one structure.
    pub(crate) fn new(designs: &[&Design<f64>]) -> Rules {
        let mut light_w_m2 = RowF64::default();
        for (row, d) in light_w_m2.0.iter_mut().zip(designs.iter().take(BLOCK)) {
            *row = d.running.light_w_m2;
        }
        Rules { when: designs[0].running.when, light_w_m2 }
    }
}
