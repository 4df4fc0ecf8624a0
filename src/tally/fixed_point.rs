//! Fixed-point sums: the same result in any order and grouping. Their byte format: [`super::codec`].
//!
//! A value is rounded once to an integer number of steps ([`steps`]). From then on everything is integer addition, which is
//! associative: `(a + b) + c` and `a + (b + c)` are equal. Sums wrap around instead of panicking; because [`steps`] is
//! bounded, that takes more than 2^22 trials of the largest value, or 2^60 of a usual one.

use super::codec::{ByteReader, Damage, TallyField, tally_field, write_varint};

/// Steps per unit of the quantity (Wh, min, days, shares).
pub(crate) const STEPS_PER_UNIT: f64 = 1e6;

/// Maximum number of steps of a single value: 2^52, or 4.5e9 units.
const LARGEST: f64 = 4_503_599_627_370_496.0;

/// A value in steps of a millionth, rounded half away from zero and limited to ±2^52 steps; 0 for NaN (callers count those,
/// see `Tally::not_finite`).
pub(crate) fn steps(value: f64) -> i64 {
    (value * STEPS_PER_UNIT).round().clamp(-LARGEST, LARGEST) as i64
}

/// The largest absolute value so far; 0 before the first.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Peak(f64);

impl Peak {
    /// Adds a value; NaN counts as infinite.
    pub(crate) fn see(&mut self, value: f64) {
        let size = if value.is_nan() { f64::INFINITY } else { value.abs() };
        self.0 = self.0.max(size);
    }
    /// The largest so far.
    pub(crate) fn get(self) -> f64 {
        self.0
    }
}

impl TallyField for Peak {
    fn add(&mut self, other: &Self) {
        self.see(other.0);
    }
    fn write(&self, out: &mut Vec<u8>) {
        write_varint(u128::from(self.0.to_bits()), out);
    }
    fn read(from: &mut ByteReader<'_>) -> Result<Self, Damage> {
        let value = f64::from_bits(u64::read(from)?);
        if value.is_nan() || value.is_sign_negative() {
            return Err(Damage::Value);
        }
        Ok(Peak(value))
    }
}

/// Number, sum and sum of squares of values: gives their mean and its standard error.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Moments {
    n: u64,
    /// Steps.
    sum: i128,
    /// Steps squared.
    squares: i128,
}

tally_field!(Moments { n, sum, squares });

impl Moments {
    /// Adds one value, rounded to steps of a millionth.
    pub fn push(&mut self, value: f64) {
        let q = i128::from(steps(value));
        self.n = self.n.wrapping_add(1);
        self.sum = self.sum.wrapping_add(q);
        self.squares = self.squares.wrapping_add(q * q);
    }
    /// How many values.
    pub fn n(&self) -> u64 {
        self.n
    }
    /// Their mean; none without values.
    pub fn mean(&self) -> Option<f64> {
        (self.n > 0).then(|| self.sum as f64 / (self.n as f64 * STEPS_PER_UNIT))
    }
    /// Their variance (divisor n - 1); none for fewer than two.
    ///
    /// `n Σq² - (Σq)²` is a difference of nearly equal numbers: computed in integers as long as they do not overflow, so that
    /// no digits are lost.
    pub(crate) fn variance(&self) -> Option<f64> {
        if self.n < 2 {
            return None;
        }
        let n = self.n as f64;
        let spread = match (self.squares.checked_mul(i128::from(self.n)), self.sum.checked_mul(self.sum)) {
            (Some(a), Some(b)) => a.saturating_sub(b) as f64,
            _ => {
                // Shifted by the mean in steps: Σ(q - m)² = Σq² - 2mΣq + nm².
                let m = self.sum / i128::from(self.n);
                let centred = (|| {
                    let cross = m.checked_mul(self.sum)?.checked_mul(2)?;
                    let whole = m.checked_mul(m)?.checked_mul(i128::from(self.n))?;
                    self.squares.checked_sub(cross)?.checked_add(whole)
                })();
                let rest = (self.sum - m * i128::from(self.n)) as f64;
                match centred {
                    Some(c) => n * (c as f64) - rest * rest,
                    None => n * self.squares as f64 - self.sum as f64 * self.sum as f64,
                }
            }
        };
        Some((spread / (n * (n - 1.0))).max(0.0) / (STEPS_PER_UNIT * STEPS_PER_UNIT))
    }
    /// Standard error of the mean; none for fewer than two values.
    pub fn se(&self) -> Option<f64> {
        self.variance().map(|v| (v / self.n as f64).sqrt())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn mean_and_error_are_those_of_the_values() {
        let mut m = Moments::default();
        for v in [1.0, 2.0, 4.0] {
            m.push(v);
        }
        assert_eq!(m.mean(), Some(7.0 / 3.0));
        let var = m.variance().unwrap();
        assert!((var - 7.0 / 3.0).abs() < 1e-12, "{var}");
        assert_eq!(Moments::default().mean(), None);
        let mut one = Moments::default();
        one.push(3.0);
        assert_eq!(one.se(), None);
    }

    #[test]
    fn a_small_spread_about_a_large_mean_is_not_lost() {
        // 1e9 ± 0.5: in floating sums of squares the spread would drown.
        let mut m = Moments::default();
        for k in 0..1000 {
            m.push(1e9 + f64::from(k % 2));
        }
        let expected = 250.0 / 999.0;
        assert!((m.variance().unwrap() - expected).abs() < 1e-6, "{:?}", m.variance());
    }

    #[test]
    fn what_is_not_a_number_does_not_poison_a_sum() {
        assert_eq!(steps(f64::NAN), 0);
        assert_eq!(steps(f64::INFINITY), 1 << 52);
        let mut p = Peak::default();
        p.see(f64::NAN);
        assert_eq!(p.get(), f64::INFINITY);
    }
}
