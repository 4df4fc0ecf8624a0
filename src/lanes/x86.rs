//! Vectors of x86-64. The only module of the library with `unsafe`: intrinsics, each reached only
//! through [`run`] after the processor was asked.
#![allow(unsafe_code, reason = "machine intrinsics; features are checked in `Isa::available`")]

use super::{Isa, Kernel, Lane, Mask, Pair};
use std::arch::x86_64::*;
use std::ops::{Add, BitAnd, BitOr, Div, Mul, Neg, Not, Sub};

/// Runs a kernel on an instruction set the processor has (checked by the caller, [`super::run`]).
pub(super) fn run<K: Kernel>(isa: Isa, kernel: K) -> K::Out {
    #[target_feature(enable = "avx512f,avx512dq,avx2")]
    unsafe fn avx512<K: Kernel>(kernel: K) -> K::Out {
        kernel.run::<Pair<F8>>()
    }
    #[target_feature(enable = "avx2")]
    unsafe fn avx2<K: Kernel>(kernel: K) -> K::Out {
        kernel.run::<Pair<F4>>()
    }
    match isa {
        // SAFETY: the caller asked the processor for these features.
        Isa::Avx512 => unsafe { avx512(kernel) },
        // SAFETY: as above.
        Isa::Avx2 => unsafe { avx2(kernel) },
        Isa::Sse2 => kernel.run::<Pair<F2>>(),
        Isa::Plain => kernel.run::<f64>(),
    }
}

macro_rules! operator {
    ($t:ident, $trait:ident, $method:ident, $intrinsic:ident) => {
        impl $trait for $t {
            type Output = Self;
            #[inline(always)]
            fn $method(self, o: Self) -> Self {
                // SAFETY: reached only below `run`, features checked.
                unsafe { $t($intrinsic(self.0, o.0)) }
            }
        }
    };
}

macro_rules! vector {
    (
        $t:ident, $raw:ty, $n:literal, $mask:ident,
        $add:ident, $sub:ident, $mul:ident, $div:ident, $sqrt:ident, $min:ident, $max:ident,
        $splat:ident, $load:ident, $store:ident, $cast:ident, $uncast:ident,
        $and_i:ident, $or_i:ident, $xor_i:ident, $slli:ident, $srli:ident, $splat_i:ident,
        $lt:expr, $ge:expr, $select:expr
    ) => {
        #[derive(Clone, Copy)]
        pub(super) struct $t($raw);

        operator!($t, Add, add, $add);
        operator!($t, Sub, sub, $sub);
        operator!($t, Mul, mul, $mul);
        operator!($t, Div, div, $div);

        impl Neg for $t {
            type Output = Self;
            #[inline(always)]
            fn neg(self) -> Self {
                // SAFETY: reached only below `run`, features checked.
                unsafe { $t($uncast($xor_i($cast(self.0), $splat_i(i64::MIN)))) }
            }
        }

        impl Lane for $t {
            const N: usize = $n;
            type Mask = $mask;

            #[inline(always)]
            fn splat(x: f64) -> Self {
                // SAFETY: reached only below `run`, features checked.
                unsafe { $t($splat(x)) }
            }
            #[inline(always)]
            fn load(p: &[f64]) -> Self {
                let p = &p[..$n];
                // SAFETY: `p` has `N` values; the load needs no alignment.
                unsafe { $t($load(p.as_ptr())) }
            }
            #[inline(always)]
            fn store(self, p: &mut [f64]) {
                let p = &mut p[..$n];
                // SAFETY: `p` has `N` places; the store needs no alignment.
                unsafe { $store(p.as_mut_ptr(), self.0) }
            }
            #[inline(always)]
            fn sqrt(self) -> Self {
                // SAFETY: reached only below `run`, features checked.
                unsafe { $t($sqrt(self.0)) }
            }
            #[inline(always)]
            fn min(self, o: Self) -> Self {
                // SAFETY: reached only below `run`, features checked.
                unsafe { $t($min(self.0, o.0)) }
            }
            #[inline(always)]
            fn max(self, o: Self) -> Self {
                // SAFETY: reached only below `run`, features checked.
                unsafe { $t($max(self.0, o.0)) }
            }
            #[inline(always)]
            fn abs(self) -> Self {
                // SAFETY: reached only below `run`, features checked.
                unsafe { $t($uncast($and_i($cast(self.0), $splat_i(i64::MAX)))) }
            }
            #[inline(always)]
            fn lt(self, o: Self) -> $mask {
                // SAFETY: reached only below `run`, features checked.
                unsafe { $mask($lt(self.0, o.0)) }
            }
            #[inline(always)]
            fn ge(self, o: Self) -> $mask {
                // SAFETY: reached only below `run`, features checked.
                unsafe { $mask($ge(self.0, o.0)) }
            }
            #[inline(always)]
            fn select(m: $mask, a: Self, b: Self) -> Self {
                // SAFETY: reached only below `run`, features checked.
                unsafe { $t($select(m.0, a.0, b.0)) }
            }
            #[inline(always)]
            fn shift_to_exponent(self) -> Self {
                // SAFETY: reached only below `run`, features checked.
                unsafe { $t($uncast($slli::<52>($cast(self.0)))) }
            }
            #[inline(always)]
            fn split(self) -> (Self, Self) {
                // SAFETY: reached only below `run`, features checked.
                unsafe {
                    let bits = $cast(self.0);
                    let mantissa =
                        $or_i($and_i(bits, $splat_i(0x000f_ffff_ffff_ffff)), $splat_i(0x3ff0_0000_0000_0000));
                    let exponent = $or_i($srli::<52>(bits), $splat_i(0x4330_0000_0000_0000));
                    let offset = $splat(4_503_599_627_370_496.0 + 1023.0);
                    ($t($uncast(mantissa)), $t($sub($uncast(exponent), offset)))
                }
            }
        }
    };
}

/// The masks of SSE2 and AVX2 are vectors of all-ones or all-zeros.
macro_rules! vector_mask {
    ($m:ident, $raw:ty, $and:ident, $or:ident, $cast:ident, $uncast:ident, $xor_i:ident, $splat_i:ident, $bits:ident) => {
        #[derive(Clone, Copy)]
        pub(super) struct $m($raw);
        operator!($m, BitAnd, bitand, $and);
        operator!($m, BitOr, bitor, $or);
        impl Not for $m {
            type Output = Self;
            #[inline(always)]
            fn not(self) -> Self {
                // SAFETY: reached only below `run`, features checked.
                unsafe { $m($uncast($xor_i($cast(self.0), $splat_i(-1)))) }
            }
        }
        impl Mask for $m {
            #[inline(always)]
            fn splat(b: bool) -> Self {
                // SAFETY: reached only below `run`, features checked.
                unsafe { $m($uncast($splat_i(-i64::from(b)))) }
            }
            #[inline(always)]
            fn any(self) -> bool {
                // SAFETY: reached only below `run`, features checked.
                unsafe { $bits(self.0) != 0 }
            }
        }
    };
}

vector_mask!(
    M2,
    __m128d,
    _mm_and_pd,
    _mm_or_pd,
    _mm_castpd_si128,
    _mm_castsi128_pd,
    _mm_xor_si128,
    _mm_set1_epi64x,
    _mm_movemask_pd
);
vector!(
    F2,
    __m128d,
    2,
    M2,
    _mm_add_pd,
    _mm_sub_pd,
    _mm_mul_pd,
    _mm_div_pd,
    _mm_sqrt_pd,
    _mm_min_pd,
    _mm_max_pd,
    _mm_set1_pd,
    _mm_loadu_pd,
    _mm_storeu_pd,
    _mm_castpd_si128,
    _mm_castsi128_pd,
    _mm_and_si128,
    _mm_or_si128,
    _mm_xor_si128,
    _mm_slli_epi64,
    _mm_srli_epi64,
    _mm_set1_epi64x,
    _mm_cmplt_pd,
    _mm_cmpge_pd,
    |m, a, b| _mm_or_pd(_mm_and_pd(m, a), _mm_andnot_pd(m, b))
);

vector_mask!(
    M4,
    __m256d,
    _mm256_and_pd,
    _mm256_or_pd,
    _mm256_castpd_si256,
    _mm256_castsi256_pd,
    _mm256_xor_si256,
    _mm256_set1_epi64x,
    _mm256_movemask_pd
);
vector!(
    F4,
    __m256d,
    4,
    M4,
    _mm256_add_pd,
    _mm256_sub_pd,
    _mm256_mul_pd,
    _mm256_div_pd,
    _mm256_sqrt_pd,
    _mm256_min_pd,
    _mm256_max_pd,
    _mm256_set1_pd,
    _mm256_loadu_pd,
    _mm256_storeu_pd,
    _mm256_castpd_si256,
    _mm256_castsi256_pd,
    _mm256_and_si256,
    _mm256_or_si256,
    _mm256_xor_si256,
    _mm256_slli_epi64,
    _mm256_srli_epi64,
    _mm256_set1_epi64x,
    _mm256_cmp_pd::<_CMP_LT_OQ>,
    _mm256_cmp_pd::<_CMP_GE_OQ>,
    |m, a, b| _mm256_blendv_pd(b, a, m)
);

/// The masks of AVX-512 live in registers of their own.
#[derive(Clone, Copy)]
pub(super) struct M8(__mmask8);
impl BitAnd for M8 {
    type Output = Self;
    #[inline(always)]
    fn bitand(self, o: Self) -> Self {
        M8(self.0 & o.0)
    }
}
impl BitOr for M8 {
    type Output = Self;
    #[inline(always)]
    fn bitor(self, o: Self) -> Self {
        M8(self.0 | o.0)
    }
}
impl Not for M8 {
    type Output = Self;
    #[inline(always)]
    fn not(self) -> Self {
        M8(!self.0)
    }
}
impl Mask for M8 {
    #[inline(always)]
    fn splat(b: bool) -> Self {
        M8(if b { 0xff } else { 0 })
    }
    #[inline(always)]
    fn any(self) -> bool {
        self.0 != 0
    }
}
vector!(
    F8,
    __m512d,
    8,
    M8,
    _mm512_add_pd,
    _mm512_sub_pd,
    _mm512_mul_pd,
    _mm512_div_pd,
    _mm512_sqrt_pd,
    _mm512_min_pd,
    _mm512_max_pd,
    _mm512_set1_pd,
    _mm512_loadu_pd,
    _mm512_storeu_pd,
    _mm512_castpd_si512,
    _mm512_castsi512_pd,
    _mm512_and_si512,
    _mm512_or_si512,
    _mm512_xor_si512,
    _mm512_slli_epi64,
    _mm512_srli_epi64,
    _mm512_set1_epi64,
    _mm512_cmp_pd_mask::<_CMP_LT_OQ>,
    _mm512_cmp_pd_mask::<_CMP_GE_OQ>,
    |m, a, b| _mm512_mask_blend_pd(m, b, a)
);
