//! The byte format of a tally: how its fields are added, written and read.
//!
//! Integers are written in groups of seven bits, so that a tally of few trials is small. Reading never panics, and never
//! allocates more than a small multiple of the input. The sums themselves: [`super::fixed_point`].

use std::fmt;

/// A field of a tally: can be added to another, written and read.
pub(super) trait TallyField: Sized {
    /// Adds another field of the same shape.
    fn add(&mut self, other: &Self);
    /// Whether all lists in it are as long as those of `other`.
    fn same_shape(&self, _other: &Self) -> bool {
        true
    }
    /// Appends its bytes.
    fn write(&self, out: &mut Vec<u8>);
    /// Reads it.
    fn read(from: &mut ByteReader<'_>) -> Result<Self, Damage>;
}

/// Why bytes are not a valid tally.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Damage {
    /// They do not start like a tally.
    NotATally,
    /// Written by a version of the format that this program does not read.
    Version(u32),
    /// Too few bytes, or too many.
    Length,
    /// Wrong checksum: some byte has changed.
    Checksum,
    /// An impossible value.
    Value,
    /// Larger than any tally can be.
    TooLarge,
}

impl fmt::Display for Damage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Damage::NotATally => f.write_str("not a tally"),
            Damage::Version(v) => write!(f, "a tally in format {v}, which this version does not read"),
            Damage::Length => f.write_str("a tally with too few or too many bytes"),
            Damage::Checksum => f.write_str("a damaged tally: wrong checksum"),
            Damage::Value => f.write_str("a damaged tally: an impossible value"),
            Damage::TooLarge => f.write_str("too large for a tally"),
        }
    }
}

impl std::error::Error for Damage {}

/// The bytes not read yet.
pub(super) struct ByteReader<'a>(pub &'a [u8]);

impl ByteReader<'_> {
    fn byte(&mut self) -> Result<u8, Damage> {
        let (&first, rest) = self.0.split_first().ok_or(Damage::Length)?;
        self.0 = rest;
        Ok(first)
    }
    /// An integer in groups of seven bits, lowest first; the eighth bit says that more follow.
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

pub(super) fn write_varint(mut value: u128, out: &mut Vec<u8>) {
    while value >= 0x80 {
        out.push((value as u8 & 0x7f) | 0x80);
        value >>= 7;
    }
    out.push(value as u8);
}

impl TallyField for u64 {
    fn add(&mut self, other: &Self) {
        *self = self.wrapping_add(*other);
    }
    fn write(&self, out: &mut Vec<u8>) {
        write_varint(u128::from(*self), out);
    }
    fn read(from: &mut ByteReader<'_>) -> Result<Self, Damage> {
        u64::try_from(from.varint()?).map_err(|_| Damage::Value)
    }
}

impl TallyField for i128 {
    fn add(&mut self, other: &Self) {
        *self = self.wrapping_add(*other);
    }
    fn write(&self, out: &mut Vec<u8>) {
        // Zigzag: small numbers of either sign in few bytes.
        write_varint(((*self << 1) ^ (*self >> 127)) as u128, out);
    }
    fn read(from: &mut ByteReader<'_>) -> Result<Self, Damage> {
        let z = from.varint()?;
        Ok((z >> 1) as i128 ^ -((z & 1) as i128))
    }
}

impl<T: TallyField> TallyField for Vec<T> {
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
    fn read(from: &mut ByteReader<'_>) -> Result<Self, Damage> {
        // Each item takes at least one byte, so a false length cannot ask for more memory than that.
        let n = usize::try_from(from.varint()?).map_err(|_| Damage::Length)?;
        if n > from.0.len() {
            return Err(Damage::Length);
        }
        (0..n).map(|_| T::read(from)).collect()
    }
}

/// An optional field: written as a list of one item or none.
impl<T: TallyField> TallyField for Option<T> {
    fn add(&mut self, other: &Self) {
        if let (Some(a), Some(b)) = (self, other) {
            a.add(b);
        }
    }
    fn same_shape(&self, other: &Self) -> bool {
        match (self, other) {
            (Some(a), Some(b)) => a.same_shape(b),
            (None, None) => true,
            (Some(_), None) | (None, Some(_)) => false,
        }
    }
    fn write(&self, out: &mut Vec<u8>) {
        write_varint(u128::from(self.is_some()), out);
        if let Some(part) = self {
            part.write(out);
        }
    }
    fn read(from: &mut ByteReader<'_>) -> Result<Self, Damage> {
        match from.varint()? {
            0 => Ok(None),
            1 => T::read(from).map(Some),
            _ => Err(Damage::Value),
        }
    }
}

impl<T: TallyField, const N: usize> TallyField for [T; N] {
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
    fn read(from: &mut ByteReader<'_>) -> Result<Self, Damage> {
        let parts: Vec<T> = (0..N).map(|_| T::read(from)).collect::<Result<_, _>>()?;
        parts.try_into().map_err(|_| Damage::Length)
    }
}

/// Implements [`TallyField`] for a struct, field by field.
macro_rules! tally_field {
    ($name:ident { $($field:ident),+ $(,)? }) => {
        impl $crate::tally::codec::TallyField for $name {
            fn add(&mut self, other: &Self) { $($crate::tally::codec::TallyField::add(&mut self.$field, &other.$field);)+ }
            fn same_shape(&self, other: &Self) -> bool { $($crate::tally::codec::TallyField::same_shape(&self.$field, &other.$field))&&+ }
            fn write(&self, out: &mut Vec<u8>) { $($crate::tally::codec::TallyField::write(&self.$field, out);)+ }
            fn read(
                from: &mut $crate::tally::codec::ByteReader<'_>,
            ) -> Result<Self, $crate::tally::codec::Damage> {
                Ok($name { $($field: $crate::tally::codec::TallyField::read(from)?),+ })
            }
        }
    };
}
pub(super) use tally_field;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_survive_their_bytes() {
        for v in [0i128, 1, -1, 63, -64, 64, i128::MAX, i128::MIN, 1 << 100] {
            let mut out = Vec::new();
            v.write(&mut out);
            let mut r = ByteReader(&out);
            assert_eq!(i128::read(&mut r), Ok(v));
            assert!(r.0.is_empty());
        }
        assert_eq!(u64::read(&mut ByteReader(&[0xff; 30])), Err(Damage::Value));
        assert_eq!(u64::read(&mut ByteReader(&[0x80])), Err(Damage::Length));
        assert_eq!(Vec::<u64>::read(&mut ByteReader(&[100, 1, 2])), Err(Damage::Length));
    }
}
