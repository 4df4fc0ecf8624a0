//! Vectors of 64-bit ARM. With `x86` the only modules of the library with `unsafe`: machine intrinsics.
//!
//! Why they are sound: every 64-bit ARM processor has NEON, and the standard library is built for it. Loads and stores slice first, which
//! checks the length.
//!
//! Minimum and maximum are written as comparison and choice: the machine's own differ from those of x86-64 for zeros of either sign and for
//! what is not a number. No intrinsic here multiplies and adds with one rounding.
#![allow(unsafe_code, reason = "machine intrinsics; every processor of this kind has them")]

use super::lane::{Aside, Kernel, Lane, Mask, Sealed, debug_assert_in_table};
use super::pair::Pair;
use std::arch::aarch64::*;
use std::ops::{Add, BitAnd, BitOr, Div, Mul, Neg, Not, Sub};

/// Runs a kernel on the vectors, two side by side.
pub(super) fn run<K: Kernel>(kernel: K) -> K::Out {
    kernel.run::<Pair<F4>>()
}

/// Four single-precision numbers.
#[derive(Clone, Copy)]
pub(super) struct F4(float32x4_t);

/// A yes (all bits) or no (none) for each of four lanes.
#[derive(Clone, Copy)]
pub(super) struct M4(uint32x4_t);

macro_rules! operator {
    ($t:ident, $trait:ident, $method:ident, $intrinsic:ident) => {
        impl $trait for $t {
            type Output = Self;
            #[inline(always)]
            fn $method(self, o: Self) -> Self {
                // SAFETY: every processor of this kind has NEON.
                unsafe { $t($intrinsic(self.0, o.0)) }
            }
        }
    };
}
operator!(F4, Add, add, vaddq_f32);
operator!(F4, Sub, sub, vsubq_f32);
operator!(F4, Mul, mul, vmulq_f32);
operator!(F4, Div, div, vdivq_f32);
operator!(M4, BitAnd, bitand, vandq_u32);
operator!(M4, BitOr, bitor, vorrq_u32);

impl Not for M4 {
    type Output = Self;
    #[inline(always)]
    fn not(self) -> Self {
        // SAFETY: every processor of this kind has NEON.
        unsafe { M4(vmvnq_u32(self.0)) }
    }
}

impl Sealed for M4 {}

impl Mask for M4 {
    #[inline(always)]
    fn splat(b: bool) -> Self {
        // SAFETY: every processor of this kind has NEON.
        unsafe { M4(vdupq_n_u32(if b { u32::MAX } else { 0 })) }
    }
    #[inline(always)]
    fn any(self) -> bool {
        // SAFETY: every processor of this kind has NEON.
        unsafe { vmaxvq_u32(self.0) != 0 }
    }
}

impl Neg for F4 {
    type Output = Self;
    #[inline(always)]
    fn neg(self) -> Self {
        // SAFETY: every processor of this kind has NEON.
        unsafe { F4(vnegq_f32(self.0)) }
    }
}

impl Sealed for F4 {}

impl Lane for F4 {
    const N: usize = 4;
    const SINGLE: bool = true;
    type Mask = M4;

    #[inline(always)]
    fn splat(x: f64) -> Self {
        // SAFETY: every processor of this kind has NEON.
        unsafe { F4(vdupq_n_f32(x as f32)) }
    }
    #[inline(always)]
    fn load(p: &[f64]) -> Self {
        let p = &p[..4];
        // SAFETY: `p` has four values; the loads need no alignment.
        unsafe {
            let (low, high) = (vld1q_f64(p.as_ptr()), vld1q_f64(p.as_ptr().add(2)));
            F4(vcvt_high_f32_f64(vcvt_f32_f64(low), high))
        }
    }
    #[inline(always)]
    fn store(self, p: &mut [f64]) {
        let p = &mut p[..4];
        // SAFETY: `p` has four places; the stores need no alignment.
        unsafe {
            vst1q_f64(p.as_mut_ptr(), vcvt_f64_f32(vget_low_f32(self.0)));
            vst1q_f64(p.as_mut_ptr().add(2), vcvt_high_f64_f32(self.0));
        }
    }
    #[inline(always)]
    fn load_single(p: &[f32]) -> Self {
        let p = &p[..4];
        // SAFETY: `p` has four values; the load needs no alignment.
        unsafe { F4(vld1q_f32(p.as_ptr())) }
    }
    #[inline(always)]
    fn store_single(self, p: &mut [f32]) {
        let p = &mut p[..4];
        // SAFETY: `p` has four places; the store needs no alignment.
        unsafe { vst1q_f32(p.as_mut_ptr(), self.0) }
    }
    #[inline(always)]
    fn sqrt(self) -> Self {
        // SAFETY: every processor of this kind has NEON.
        unsafe { F4(vsqrtq_f32(self.0)) }
    }
    #[inline(always)]
    fn min(self, o: Self) -> Self {
        Self::select(self.lt(o), self, o)
    }
    #[inline(always)]
    fn max(self, o: Self) -> Self {
        Self::select(o.lt(self), self, o)
    }
    #[inline(always)]
    fn abs(self) -> Self {
        // SAFETY: every processor of this kind has NEON.
        unsafe { F4(vabsq_f32(self.0)) }
    }
    #[inline(always)]
    fn lt(self, o: Self) -> M4 {
        // SAFETY: every processor of this kind has NEON.
        unsafe { M4(vcltq_f32(self.0, o.0)) }
    }
    #[inline(always)]
    fn ge(self, o: Self) -> M4 {
        // SAFETY: every processor of this kind has NEON.
        unsafe { M4(vcgeq_f32(self.0, o.0)) }
    }
    #[inline(always)]
    fn select(m: M4, a: Self, b: Self) -> Self {
        // SAFETY: every processor of this kind has NEON.
        unsafe { F4(vbslq_f32(m.0, a.0, b.0)) }
    }
    #[inline(always)]
    fn only(m: M4, a: Self) -> Self {
        // SAFETY: every processor of this kind has NEON.
        unsafe { F4(vreinterpretq_f32_u32(vandq_u32(m.0, vreinterpretq_u32_f32(a.0)))) }
    }
    #[inline(always)]
    fn look_up<const T: usize>(tables: [&[f64; 8]; T], k: Self) -> [Self; T] {
        debug_assert_in_table(k);
        let mut found = [k; T];
        for (t, found) in found.iter_mut().enumerate() {
            let (low, high) = (F4::load(&tables[t][..4]), F4::load(&tables[t][4..]));
            // SAFETY: every processor of this kind has NEON.
            *found = unsafe {
                // The four bytes of place k stand at 4k, 4k + 1, 4k + 2, 4k + 3.
                let first = vmulq_n_u32(vcvtq_u32_f32(k.0), 0x0404_0404);
                let bytes = vreinterpretq_u8_u32(vaddq_u32(first, vdupq_n_u32(0x0302_0100)));
                let table = uint8x16x2_t(vreinterpretq_u8_f32(low.0), vreinterpretq_u8_f32(high.0));
                F4(vreinterpretq_f32_u8(vqtbl2q_u8(table, bytes)))
            };
        }
        found
    }
    #[inline(never)]
    fn aside<W: Aside>(work: W) -> W::Out {
        work.work()
    }
    #[inline(always)]
    fn shift_to_exponent(self) -> Self {
        // SAFETY: every processor of this kind has NEON.
        unsafe { F4(vreinterpretq_f32_u32(vshlq_n_u32::<23>(vreinterpretq_u32_f32(self.0)))) }
    }
    #[inline(always)]
    fn split(self) -> (Self, Self) {
        // SAFETY: every processor of this kind has NEON.
        unsafe {
            let bits = vreinterpretq_u32_f32(self.0);
            let mantissa = vorrq_u32(vandq_u32(bits, vdupq_n_u32(0x007f_ffff)), vdupq_n_u32(0x3f80_0000));
            let exponent = vorrq_u32(vshrq_n_u32::<23>(bits), vdupq_n_u32(0x4b00_0000));
            let offset = vdupq_n_f32(8_388_608.0 + 127.0);
            (F4(vreinterpretq_f32_u32(mantissa)), F4(vsubq_f32(vreinterpretq_f32_u32(exponent), offset)))
        }
    }
}
