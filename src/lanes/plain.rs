//! One trial at a time: a plain `f64` is a lane of one.

use super::{Lane, Mask};

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

impl Lane for f64 {
    const N: usize = 1;
    type Mask = bool;

    #[inline(always)]
    fn splat(x: f64) -> Self {
        x
    }
    #[inline(always)]
    fn load(p: &[f64]) -> Self {
        p[0]
    }
    #[inline(always)]
    fn store(self, p: &mut [f64]) {
        p[0] = self;
    }
    #[inline(always)]
    fn sqrt(self) -> Self {
        f64::sqrt(self)
    }
    // Written as the machine instruction decides, so that NaN and signed zero agree with it.
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
        f64::abs(self)
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
    #[inline(always)]
    fn shift_to_exponent(self) -> Self {
        f64::from_bits(self.to_bits() << 52)
    }
    #[inline(always)]
    fn split(self) -> (Self, Self) {
        let bits = self.to_bits();
        let mantissa = f64::from_bits((bits & 0x000f_ffff_ffff_ffff) | 0x3ff0_0000_0000_0000);
        let exponent = f64::from_bits((bits >> 52) | 0x4330_0000_0000_0000);
        (mantissa, exponent - (4_503_599_627_370_496.0 + 1023.0))
    }
}
