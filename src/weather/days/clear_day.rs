//! Hourly means of the clear sky of a calendar day, slot by slot.

use crate::sky::CalendarDay;
use std::ops::Range;

/// Mean elevation of the sun below which an hour takes the index of a neighbouring hour, °.
pub(crate) const LOW_SUN_DEG: f64 = 8.0;

/// The clear sky of one calendar day by hour slot. Means are over the whole hour, also where the
/// sun is up for a part of it.
#[derive(Clone, Debug)]
pub(crate) struct ClearDay {
    /// Beam normal, W/m².
    pub dni_w_m2: [f64; 24],
    /// Beam on the horizontal, W/m².
    pub beam_horizontal_w_m2: [f64; 24],
    /// Diffuse horizontal, W/m².
    pub dhi_w_m2: [f64; 24],
    /// Whether the hour's own index is used (the sun is high enough).
    pub high: [bool; 24],
    /// Whether the sun is above 5° on average over the hour; below, no cloud edges are drawn.
    pub edges: [bool; 24],
    /// The slot's minutes as places in [`CalendarDay::minutes`]; empty at night.
    pub minutes: [Range<usize>; 24],
}

impl ClearDay {
    /// Averages a day.
    pub(crate) fn new(day: &CalendarDay) -> ClearDay {
        let mut clear = ClearDay {
            dni_w_m2: [0.0; 24],
            beam_horizontal_w_m2: [0.0; 24],
            dhi_w_m2: [0.0; 24],
            high: [false; 24],
            edges: [false; 24],
            minutes: std::array::from_fn(|_| 0..0),
        };
        let mut up = [0.0_f64; 24];
        for (h, up) in up.iter_mut().enumerate() {
            let range = day.minutes_of_slot(h);
            for m in &day.minutes[range.clone()] {
                clear.dni_w_m2[h] += m.dni_clear_w_m2 / 60.0;
                clear.beam_horizontal_w_m2[h] += m.dni_clear_w_m2 * m.up / 60.0;
                clear.dhi_w_m2[h] += m.dhi_clear_w_m2 / 60.0;
                *up += m.up / 60.0;
            }
            clear.minutes[h] = range;
        }
        let sine = |deg: f64| libm::sin(deg.to_radians());
        // Where the sun is low even at noon, hours above half of its noon height still count.
        let highest = up.iter().copied().fold(0.0, f64::max);
        let least = sine(LOW_SUN_DEG).min(0.5 * highest);
        for (h, &up) in up.iter().enumerate() {
            clear.high[h] = up >= least && up > 0.0 && clear.dni_w_m2[h] > 0.0;
            clear.edges[h] = up > sine(5.0);
        }
        clear
    }

    /// Whether the sun is up in some of a slot.
    pub(crate) fn sun(&self, slot: usize) -> bool {
        self.dhi_w_m2[slot] > 0.0
    }

    /// The nearest slot whose own index is used; the slot itself in polar night.
    pub(crate) fn nearest_high(&self, slot: usize) -> usize {
        (0..24).filter(|&h| self.high[h]).min_by_key(|&h| h.abs_diff(slot)).unwrap_or(slot)
    }

    /// Global horizontal of the whole day, Wh/m².
    pub(crate) fn ghi_sum_w_h_m2(&self) -> f64 {
        (0..24).map(|h| self.beam_horizontal_w_m2[h] + self.dhi_w_m2[h]).sum()
    }
}
