//! Sums that come out the same however they are grouped, and their bytes.
//!
//! A value is rounded once to a whole number of steps ([`steps`]); from there on everything is
//! whole numbers, whose addition is associative, so `(a + b) + c` and `a + (b + c)` are the same
//! bytes. Sums wrap around rather than panic; with the bound of [`steps`] that takes more than
//! 2^22 trials at the very largest value, and 2^60 at a usual one.

use std::fmt;

/// Steps in one unit of whatever is counted (Wh, min, days, shares).
pub const STEPS_PER_UNIT: f64 = 1e6;

/// Largest number of steps a single value may have: 2^52, or 4.5e9 units.
const LARGEST: f64 = 4_503_599_627_370_496.0;

/// A value as a whole number of steps of a millionth, rounded half away from zero, held within
/// ±2^52 steps; 0 for what is not a number (callers count those, see `Tally::not_finite`).
pub fn steps(value: f64) -> i64 {
    (value * STEPS_PER_UNIT).round().clamp(-LARGEST, LARGEST) as i64
}

/// What a tally is made of: can be added to its like, written and read.
pub(super) trait Part: Sized {
    /// Adds another of the same shape.
    fn add(&mut self, other: &Self);
    /// Whether `other` has as many places everywhere.
    fn same_shape(&self, _other: &Self) -> bool {
        true
    }
    /// Appends its bytes.
    fn write(&self, out: &mut Vec<u8>);
    /// Reads it back.
    fn read(from: &mut Reader<'_>) -> Result<Self, Damage>;
}

/// What is wrong with bytes that should be a tally.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Damage {
    /// They do not begin as a tally does.
    NotATally,
    /// Written by a version of the format that this program does not read.
    Version(u32),
    /// They end too early, or there are more than belong.
    Length,
    /// The checksum does not fit: some byte has changed.
    Checksum,
    /// A value outside what can be.
    Value,
    /// Larger than any tally.
    TooLarge,
}

impl fmt::Display for Damage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Damage::NotATally => f.write_str("not a tally"),
            Damage::Version(v) => write!(f, "a tally in format {v}, which this version does not read"),
            Damage::Length => f.write_str("a tally that ends too early or too late"),
            Damage::Checksum => f.write_str("a damaged tally: its checksum does not fit"),
            Damage::Value => f.write_str("a damaged tally: a value outside what can be"),
            Damage::TooLarge => f.write_str("too large for a tally"),
        }
    }
}

impl std::error::Error for Damage {}

/// Bytes still to be read.
pub(super) struct Reader<'a>(pub &'a [u8]);

impl Reader<'_> {
    fn byte(&mut self) -> Result<u8, Damage> {
        let (&first, rest) = self.0.split_first().ok_or(Damage::Length)?;
        self.0 = rest;
        Ok(first)
    }
    /// A whole number in groups of seven bits, least first; the eighth bit says "more follows".
    fn varint(&mut self) -> Result<u128, Damage> {
        let mut value = 0u128;
        for k in 0..19 {
            let b = self.byte()?;
            // The 19th group has room for two bits only.
            if k == 18 && b > 3 {
                return Err(Damage::Value);
            }
            value |= u128::from(b & 0x7f) << (7 * k);
            if b < 0x80 {
                return Ok(value);
            }
        }
        Err(Damage::Value)
    }
}

fn write_varint(mut value: u128, out: &mut Vec<u8>) {
    while value >= 0x80 {
        out.push((value as u8 & 0x7f) | 0x80);
        value >>= 7;
    }
    out.push(value as u8);
}

impl Part for u64 {
    fn add(&mut self, other: &Self) {
        *self = self.wrapping_add(*other);
    }
    fn write(&self, out: &mut Vec<u8>) {
        write_varint(u128::from(*self), out);
    }
    fn read(from: &mut Reader<'_>) -> Result<Self, Damage> {
        u64::try_from(from.varint()?).map_err(|_| Damage::Value)
    }
}

impl Part for i128 {
    fn add(&mut self, other: &Self) {
        *self = self.wrapping_add(*other);
    }
    fn write(&self, out: &mut Vec<u8>) {
        // Zigzag: small numbers of either sign in few bytes.
        write_varint(((*self << 1) ^ (*self >> 127)) as u128, out);
    }
    fn read(from: &mut Reader<'_>) -> Result<Self, Damage> {
        let z = from.varint()?;
        Ok((z >> 1) as i128 ^ -((z & 1) as i128))
    }
}

impl<T: Part> Part for Vec<T> {
    fn add(&mut self, other: &Self) {
        for (a, b) in self.iter_mut().zip(other) {
            a.add(b);
        }
    }
    fn same_shape(&self, other: &Self) -> bool {
        self.len() == other.len() && self.iter().zip(other).all(|(a, b)| a.same_shape(b))
    }
    fn write(&self, out: &mut Vec<u8>) {
        write_varint(self.len() as u128, out);
        for part in self {
            part.write(out);
        }
    }
    fn read(from: &mut Reader<'_>) -> Result<Self, Damage> {
        // Each part takes at least a byte: a lying length cannot ask for more memory than that.
        let n = usize::try_from(from.varint()?).map_err(|_| Damage::Length)?;
        if n > from.0.len() {
            return Err(Damage::Length);
        }
        (0..n).map(|_| T::read(from)).collect()
    }
}

impl<T: Part, const N: usize> Part for [T; N] {
    fn add(&mut self, other: &Self) {
        for (a, b) in self.iter_mut().zip(other) {
            a.add(b);
        }
    }
    fn same_shape(&self, other: &Self) -> bool {
        self.iter().zip(other).all(|(a, b)| a.same_shape(b))
    }
    fn write(&self, out: &mut Vec<u8>) {
        for part in self {
            part.write(out);
        }
    }
    fn read(from: &mut Reader<'_>) -> Result<Self, Damage> {
        let parts: Vec<T> = (0..N).map(|_| T::read(from)).collect::<Result<_, _>>()?;
        parts.try_into().map_err(|_| Damage::Length)
    }
}

/// Makes a [`Part`] of a struct whose fields are parts.
macro_rules! part {
    ($name:ident { $($field:ident),+ $(,)? }) => {
        impl $crate::tally::exact::Part for $name {
            fn add(&mut self, other: &Self) { $($crate::tally::exact::Part::add(&mut self.$field, &other.$field);)+ }
            fn same_shape(&self, other: &Self) -> bool { $($crate::tally::exact::Part::same_shape(&self.$field, &other.$field))&&+ }
            fn write(&self, out: &mut Vec<u8>) { $($crate::tally::exact::Part::write(&self.$field, out);)+ }
            fn read(
                from: &mut $crate::tally::exact::Reader<'_>,
            ) -> Result<Self, $crate::tally::exact::Damage> {
                Ok($name { $($field: $crate::tally::exact::Part::read(from)?),+ })
            }
        }
    };
}
pub(super) use part;

/// The largest of the values seen, exact; 0 before the first.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Peak(f64);

impl Peak {
    /// Takes a value's size into account; what is not a number counts as infinite.
    pub fn see(&mut self, value: f64) {
        let size = if value.is_nan() { f64::INFINITY } else { value.abs() };
        self.0 = self.0.max(size);
    }
    /// The largest so far.
    pub fn get(self) -> f64 {
        self.0
    }
}

impl Part for Peak {
    fn add(&mut self, other: &Self) {
        self.see(other.0);
    }
    fn write(&self, out: &mut Vec<u8>) {
        write_varint(u128::from(self.0.to_bits()), out);
    }
    fn read(from: &mut Reader<'_>) -> Result<Self, Damage> {
        let value = f64::from_bits(u64::read(from)?);
        if value.is_nan() || value.is_sign_negative() {
            return Err(Damage::Value);
        }
        Ok(Peak(value))
    }
}

/// Number, sum and sum of squares of some values: their mean and its standard error.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Moments {
    n: u64,
    /// Steps.
    sum: i128,
    /// Steps squared.
    squares: i128,
}

part!(Moments { n, sum, squares });

impl Moments {
    /// Takes in one value, rounded to steps of a millionth.
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
    /// Their sum, units.
    pub fn sum(&self) -> f64 {
        self.sum as f64 / STEPS_PER_UNIT
    }
    /// Their mean; none of none.
    pub fn mean(&self) -> Option<f64> {
        (self.n > 0).then(|| self.sum as f64 / (self.n as f64 * STEPS_PER_UNIT))
    }
    /// Their variance (divisor n - 1); none below two.
    ///
    /// `n Σq² - (Σq)²` is a difference of nearly equal numbers: taken in whole numbers as far as
    /// they reach, so that nothing cancels away.
    pub fn variance(&self) -> Option<f64> {
        if self.n < 2 {
            return None;
        }
        let n = self.n as f64;
        let spread = match (self.squares.checked_mul(i128::from(self.n)), self.sum.checked_mul(self.sum)) {
            (Some(a), Some(b)) => a.saturating_sub(b) as f64,
            _ => {
                // Shift by the mean in whole steps: Σ(q - m)² = Σq² - 2mΣq + nm².
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
    /// Standard error of the mean; none below two.
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
    fn numbers_survive_their_bytes() {
        for v in [0i128, 1, -1, 63, -64, 64, i128::MAX, i128::MIN, 1 << 100] {
            let mut out = Vec::new();
            v.write(&mut out);
            let mut r = Reader(&out);
            assert_eq!(i128::read(&mut r), Ok(v));
            assert!(r.0.is_empty());
        }
        assert_eq!(u64::read(&mut Reader(&[0xff; 30])), Err(Damage::Value));
        assert_eq!(u64::read(&mut Reader(&[0x80])), Err(Damage::Length));
        assert_eq!(Vec::<u64>::read(&mut Reader(&[100, 1, 2])), Err(Damage::Length));
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
