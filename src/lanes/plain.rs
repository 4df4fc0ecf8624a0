//! One trial at a time: a plain number is a lane of one.

use super::lane::{Aside, Lane, Mask, Sealed};

impl Sealed for bool {}

impl Mask for bool {
    #[inline(always)]
    fn splat(b: bool) -> Self {
        b
    }
    #[inline(always)]
    fn any(self) -> bool {
        self
    }
}

macro_rules! plain {
    ($t:ident, $bits:ident, $single:literal, $mantissa_bits:literal, $bias:literal) => {
        impl Sealed for $t {}

        impl Lane for $t {
            const N: usize = 1;
            const SINGLE: bool = $single;
            type Mask = bool;

            #[inline(always)]
            fn splat(x: f64) -> Self {
                x as $t
            }
            #[inline(always)]
            fn load(p: &[f64]) -> Self {
                p[0] as $t
            }
            #[inline(always)]
            fn store(self, p: &mut [f64]) {
                p[0] = self.into();
            }
            #[inline(always)]
            fn load_single(p: &[f32]) -> Self {
                p[0].into()
            }
            #[inline(always)]
            fn store_single(self, p: &mut [f32]) {
                p[0] = self as f32;
            }
            #[inline(always)]
            fn sqrt(self) -> Self {
                $t::sqrt(self)
            }
            // Written like the machine instruction, so that NaN and signed zero give the same.
            #[inline(always)]
            fn min(self, o: Self) -> Self {
                if self < o { self } else { o }
            }
            #[inline(always)]
            fn max(self, o: Self) -> Self {
                if self > o { self } else { o }
            }
            #[inline(always)]
            fn abs(self) -> Self {
                $t::abs(self)
            }
            #[inline(always)]
            fn lt(self, o: Self) -> bool {
                self < o
            }
            #[inline(always)]
            fn ge(self, o: Self) -> bool {
                self >= o
            }
            #[inline(always)]
            fn select(m: bool, a: Self, b: Self) -> Self {
                if m { a } else { b }
            }
            #[inline(never)]
            fn aside<W: Aside>(work: W) -> W::Out {
                work.work()
            }
            #[inline(always)]
            fn shift_to_exponent(self) -> Self {
                $t::from_bits(self.to_bits() << $mantissa_bits)
            }
            #[inline(always)]
            fn split(self) -> (Self, Self) {
                const MANTISSA: $bits = (1 << $mantissa_bits) - 1;
                const ONE: $bits = (1 as $t).to_bits();
                // 2^52 or 2^23: the lowest bit counts 1.
                const WHOLE: $t = (MANTISSA + 1) as $t;
                let bits = self.to_bits();
                let mantissa = $t::from_bits((bits & MANTISSA) | ONE);
                let exponent = $t::from_bits((bits >> $mantissa_bits) | WHOLE.to_bits());
                (mantissa, exponent - (WHOLE + $bias))
            }
        }
    };
}
plain!(f64, u64, false, 52, 1023.0);
plain!(f32, u32, true, 23, 127.0);
