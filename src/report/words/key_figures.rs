//! The figures of a design that its builder can check by eye, in sentences.

use super::names::month;
use crate::study::key_figures::KeyFigures;
use crate::units::{Dimension, System, show};

/// A sentence for each figure.
pub fn key_figures(f: &KeyFigures, units: System) -> Vec<String> {
    let shown = |v: f64, d: Dimension| show(v, d, 2, units);
    let (jet_m, at_v) = f.highest_jet;
    let mut lines = vec![
        format!("highest jet {} at {}", shown(jet_m, Dimension::Length), shown(at_v, Dimension::Voltage)),
        format!(
            "water lost {} a day, basin {} above the low-water mark",
            shown(f.lost_l_day, Dimension::Volume),
            shown(f.usable_l, Dimension::Volume)
        ),
    ];
    if let Some((worst, wanted_wh, given_wh)) = f.worst_month {
        lines.push(format!(
            "worst month {}: {} a day wanted, {} a day from the panel at its rated power",
            month(worst),
            shown(wanted_wh, Dimension::Energy),
            shown(given_wh, Dimension::Energy)
        ));
    }
    if let Some(hours) = f.battery_h {
        lines.push(format!("full battery without sun: {} of jet", shown(hours, Dimension::Hours)));
    }
    lines
}
