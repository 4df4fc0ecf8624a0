//! Rainflow counting of cycles, ASTM E1049-85 §5.4.4, as a stream.
//!
//! Values come one by one; only turning points that are not counted yet are kept. Nothing is binned before counting. Written
//! here because it must count a stream without allocating.

/// Counts cycles of a stream of values.
///
/// ```
/// use stilldays::tally::Rainflow;
/// let (mut flow, mut cycles) = (Rainflow::new(), vec![]);
/// for soc in [0.9, 0.4, 0.6, 0.2, 0.9] {
///     flow.push(soc, &mut |range, count| cycles.push((range, count)));
/// }
/// flow.finish(&mut |range, count| cycles.push((range, count)));
/// let travelled: f64 = cycles.iter().map(|(range, count)| range * count).sum();
/// assert!((travelled - 0.5 * (0.5 + 0.2 + 0.4 + 0.7)).abs() < 1e-12);
/// ```
#[derive(Clone, Debug)]
pub struct Rainflow {
    /// Reversals not counted yet; from the second on, their ranges decrease.
    open: Vec<f64>,
    /// The last value: a reversal if the next one turns.
    last: f64,
    /// Direction of the values: 1, -1, or 0 at the start.
    heading: f64,
    /// Whether there was a value yet.
    begun: bool,
}

impl Default for Rainflow {
    fn default() -> Self {
        Self::new()
    }
}

impl Rainflow {
    /// Without values yet.
    pub fn new() -> Self {
        // A season leaves a few dozen reversals open; memory for them is allocated once.
        Rainflow { open: Vec::with_capacity(512), last: 0.0, heading: 0.0, begun: false }
    }

    /// Back to the start, keeping the memory.
    pub(crate) fn reset(&mut self) {
        self.open.clear();
        self.heading = 0.0;
        self.begun = false;
    }

    /// Adds the next value (finite). `count(range, n)` is called for every cycle that it closes: `n` is 1 for a cycle, 0.5 for
    /// a half cycle.
    #[inline]
    pub fn push(&mut self, value: f64, count: &mut impl FnMut(f64, f64)) {
        let step = value - self.last;
        if step * self.heading > 0.0 || (step == 0.0 && self.begun) {
            self.last = value;
            return;
        }
        if self.begun {
            // The last value was a turning point (or the first of all).
            self.reversal(self.last, count);
            self.heading = step.signum();
        }
        self.begun = true;
        self.last = value;
    }

    /// Counts the rest as half cycles; the last value is the last reversal.
    pub fn finish(&mut self, count: &mut impl FnMut(f64, f64)) {
        if self.begun {
            self.reversal(self.last, count);
            for pair in self.open.windows(2) {
                let range = (pair[1] - pair[0]).abs();
                if range > 0.0 {
                    count(range, 0.5);
                }
            }
        }
        self.reset();
    }

    /// ASTM E1049-85 §5.4.4: with X the newest range and Y the one before, count Y when X >= Y; as a half
    /// cycle, dropping its first point, if Y holds the starting point, else as a cycle, dropping both points.
    #[inline]
    fn reversal(&mut self, value: f64, count: &mut impl FnMut(f64, f64)) {
        while let [.., a, b] = self.open[..] {
            let (x, y) = ((value - b).abs(), (b - a).abs());
            if x < y {
                break;
            }
            let n = self.open.len();
            if n == 2 {
                count(y, 0.5);
                self.open[0] = b;
                self.open.truncate(1);
            } else {
                count(y, 1.0);
                self.open.truncate(n - 2);
            }
        }
        self.open.push(value);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cycles(values: &[f64]) -> Vec<(f64, f64)> {
        let (mut flow, mut found) = (Rainflow::new(), vec![]);
        for &v in values {
            flow.push(v, &mut |r, n| found.push((r, n)));
        }
        flow.finish(&mut |r, n| found.push((r, n)));
        found
    }

    #[test]
    fn nothing_that_moves_makes_no_cycle() {
        assert!(cycles(&[]).is_empty());
        assert!(cycles(&[0.5]).is_empty());
        assert!(cycles(&[0.5, 0.5, 0.5]).is_empty());
    }

    #[test]
    fn a_one_way_trip_is_half_a_cycle_however_many_steps_it_takes() {
        assert_eq!(cycles(&[1.0, 0.75, 0.75, 0.5, 0.0]), [(1.0, 0.5)]);
        // Standing still at the start is not a turn.
        assert_eq!(cycles(&[1.0, 1.0, 0.0]), [(1.0, 0.5)]);
    }

    #[test]
    fn counted_travel_is_half_of_all_travel() {
        arbtest::arbtest(|u| {
            let values: Vec<f64> = (0..u.arbitrary_len::<u8>()?)
                .map(|_| Ok(f64::from(u.arbitrary::<u8>()?) / 256.0))
                .collect::<arbtest::arbitrary::Result<_>>()?;
            let travelled: f64 = values.windows(2).map(|w| (w[1] - w[0]).abs()).sum();
            let counted: f64 = cycles(&values).iter().map(|(r, n)| r * n).sum();
            // Multiples of 1/256: sums are exact.
            assert_eq!(2.0 * counted, travelled);
            Ok(())
        });
    }
}
