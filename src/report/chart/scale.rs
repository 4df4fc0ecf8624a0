//! From values to places, and the round values to mark.

/// A straight line from values to drawing units.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scale {
    /// Value at the start.
    pub lo: f64,
    /// Value at the end; always above `lo`.
    pub hi: f64,
    from: f64,
    to: f64,
}

impl Scale {
    /// Values `lo..hi` onto places `from..to`. A range that is empty or no number becomes `lo..lo + 1`.
    pub(crate) fn new(lo: f64, hi: f64, from: f64, to: f64) -> Self {
        let lo = if lo.is_finite() { lo } else { 0.0 };
        let hi = if hi.is_finite() && hi > lo { hi } else { lo + 1.0 };
        Scale { lo, hi, from, to }
    }

    /// Place of a value; values outside the range stand at its ends.
    pub(crate) fn at(&self, value: f64) -> f64 {
        let share = ((value - self.lo) / (self.hi - self.lo)).clamp(0.0, 1.0);
        self.from + share * (self.to - self.from)
    }

    /// Round values within the range, about `wanted` of them, steps of 1, 2, or 5 times a power of ten.
    pub(crate) fn ticks(&self, wanted: usize) -> Vec<f64> {
        let step = step((self.hi - self.lo) / wanted.max(1) as f64);
        let first = (self.lo / step - 1e-9).ceil() as i64;
        let last = (self.hi / step + 1e-9).floor() as i64;
        (first..=last).map(|k| k as f64 * step).collect()
    }

    /// The least round value at or above `value`, so that an axis ends on a mark.
    pub(crate) fn round_up(value: f64, wanted: usize) -> f64 {
        if !(value > 0.0 && value.is_finite()) {
            return 1.0;
        }
        let step = step(value / wanted.max(1) as f64);
        (value / step - 1e-9).ceil() * step
    }
}

/// The least of 1, 2, 5 times a power of ten that is not below `raw`.
fn step(raw: f64) -> f64 {
    let mut power = 1e-9;
    while power < 1e12 {
        for factor in [1.0, 2.0, 5.0] {
            if power * factor >= raw * (1.0 - 1e-9) {
                return power * factor;
            }
        }
        power *= 10.0;
    }
    power
}

/// Decimals that tell ticks of this step apart.
pub(super) fn decimals(ticks: &[f64]) -> usize {
    let step = ticks.get(1).map_or(1.0, |second| (second - ticks[0]).abs());
    super::super::number::decimals(step * 1.000_001, 6)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_and_within() {
        assert_eq!(Scale::new(0.0, 10.0, 0.0, 1.0).ticks(5), [0.0, 2.0, 4.0, 6.0, 8.0, 10.0]);
        assert_eq!(Scale::new(0.3, 1.2, 0.0, 1.0).ticks(4).len(), 2);
        assert_eq!(Scale::round_up(9.3, 5), 10.0);
        assert_eq!(Scale::round_up(0.0, 5), 1.0);
        assert_eq!(Scale::round_up(f64::NAN, 5), 1.0);
    }

    #[test]
    fn an_empty_range_still_has_a_place_for_everything() {
        let s = Scale::new(3.0, 3.0, 100.0, 0.0);
        assert_eq!(s.at(3.0), 100.0);
        assert_eq!(s.at(99.0), 0.0);
    }
}
