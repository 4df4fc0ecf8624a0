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
        kernel.run::<F16>()
    }
    #[target_feature(enable = "avx2")]
    unsafe fn avx2<K: Kernel>(kernel: K) -> K::Out {
        kernel.run::<Pair<F8>>()
    }
    match isa {
        // SAFETY: the caller asked the processor for these features.
        Isa::Avx512 => unsafe { avx512(kernel) },
        // SAFETY: as above.
        Isa::Avx2 => unsafe { avx2(kernel) },
        Isa::Sse2 => kernel.run::<Pair<F4>>(),
        Isa::Plain => kernel.run::<f32>(),
        Isa::Double => kernel.run::<f64>(),
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
        $splat:ident, $load:ident, $store:ident, $from_double:expr, $to_double:expr, $cast:ident, $uncast:ident,
        $and_i:ident, $or_i:ident, $xor_i:ident, $slli:ident, $srli:ident, $splat_i:ident,
        $lt:expr, $ge:expr, $select:expr, $only:expr
        $(, $look_up:item)?
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
                unsafe { $t($uncast($xor_i($cast(self.0), $splat_i(i32::MIN)))) }
            }
        }

        impl Lane for $t {
            const N: usize = $n;
            const SINGLE: bool = true;
            type Mask = $mask;

            #[inline(always)]
            fn splat(x: f64) -> Self {
                // SAFETY: reached only below `run`, features checked.
                unsafe { $t($splat(x as f32)) }
            }
            #[inline(always)]
            fn load(p: &[f64]) -> Self {
                let p = &p[..$n];
                // SAFETY: `p` has `N` values; the loads need no alignment.
                unsafe { $t($from_double(p.as_ptr())) }
            }
            #[inline(always)]
            fn store(self, p: &mut [f64]) {
                let p = &mut p[..$n];
                // SAFETY: `p` has `N` places; the stores need no alignment.
                unsafe { $to_double(p.as_mut_ptr(), self.0) }
            }
            #[inline(always)]
            fn load_single(p: &[f32]) -> Self {
                let p = &p[..$n];
                // SAFETY: `p` has `N` values; the load needs no alignment.
                unsafe { $t($load(p.as_ptr())) }
            }
            #[inline(always)]
            fn store_single(self, p: &mut [f32]) {
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
                unsafe { $t($uncast($and_i($cast(self.0), $splat_i(i32::MAX)))) }
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
            fn only(m: $mask, a: Self) -> Self {
                // SAFETY: reached only below `run`, features checked.
                unsafe { $t($only(m.0, a.0)) }
            }
            $($look_up)?
            #[inline(always)]
            fn shift_to_exponent(self) -> Self {
                // SAFETY: reached only below `run`, features checked.
                unsafe { $t($uncast($slli::<23>($cast(self.0)))) }
            }
            #[inline(always)]
            fn split(self) -> (Self, Self) {
                // SAFETY: reached only below `run`, features checked.
                unsafe {
                    let bits = $cast(self.0);
                    let mantissa = $or_i($and_i(bits, $splat_i(0x007f_ffff)), $splat_i(0x3f80_0000));
                    let exponent = $or_i($srli::<23>(bits), $splat_i(0x4b00_0000));
                    let offset = $splat(8_388_608.0 + 127.0);
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
                unsafe { $m($uncast($splat_i(-i32::from(b)))) }
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
    M4,
    __m128,
    _mm_and_ps,
    _mm_or_ps,
    _mm_castps_si128,
    _mm_castsi128_ps,
    _mm_xor_si128,
    _mm_set1_epi32,
    _mm_movemask_ps
);
vector!(
    F4,
    __m128,
    4,
    M4,
    _mm_add_ps,
    _mm_sub_ps,
    _mm_mul_ps,
    _mm_div_ps,
    _mm_sqrt_ps,
    _mm_min_ps,
    _mm_max_ps,
    _mm_set1_ps,
    _mm_loadu_ps,
    _mm_storeu_ps,
    |p: *const f64| _mm_movelh_ps(_mm_cvtpd_ps(_mm_loadu_pd(p)), _mm_cvtpd_ps(_mm_loadu_pd(p.add(2)))),
    |p: *mut f64, x| {
        _mm_storeu_pd(p, _mm_cvtps_pd(x));
        _mm_storeu_pd(p.add(2), _mm_cvtps_pd(_mm_movehl_ps(x, x)));
    },
    _mm_castps_si128,
    _mm_castsi128_ps,
    _mm_and_si128,
    _mm_or_si128,
    _mm_xor_si128,
    _mm_slli_epi32,
    _mm_srli_epi32,
    _mm_set1_epi32,
    _mm_cmplt_ps,
    _mm_cmpge_ps,
    |m, a, b| _mm_or_ps(_mm_and_ps(m, a), _mm_andnot_ps(m, b)),
    _mm_and_ps
);

vector_mask!(
    M8,
    __m256,
    _mm256_and_ps,
    _mm256_or_ps,
    _mm256_castps_si256,
    _mm256_castsi256_ps,
    _mm256_xor_si256,
    _mm256_set1_epi32,
    _mm256_movemask_ps
);
vector!(
    F8,
    __m256,
    8,
    M8,
    _mm256_add_ps,
    _mm256_sub_ps,
    _mm256_mul_ps,
    _mm256_div_ps,
    _mm256_sqrt_ps,
    _mm256_min_ps,
    _mm256_max_ps,
    _mm256_set1_ps,
    _mm256_loadu_ps,
    _mm256_storeu_ps,
    |p: *const f64| _mm256_set_m128(
        _mm256_cvtpd_ps(_mm256_loadu_pd(p.add(4))),
        _mm256_cvtpd_ps(_mm256_loadu_pd(p))
    ),
    |p: *mut f64, x| {
        _mm256_storeu_pd(p, _mm256_cvtps_pd(_mm256_castps256_ps128(x)));
        _mm256_storeu_pd(p.add(4), _mm256_cvtps_pd(_mm256_extractf128_ps::<1>(x)));
    },
    _mm256_castps_si256,
    _mm256_castsi256_ps,
    _mm256_and_si256,
    _mm256_or_si256,
    _mm256_xor_si256,
    _mm256_slli_epi32,
    _mm256_srli_epi32,
    _mm256_set1_epi32,
    _mm256_cmp_ps::<_CMP_LT_OQ>,
    _mm256_cmp_ps::<_CMP_GE_OQ>,
    |m, a, b| _mm256_blendv_ps(b, a, m),
    _mm256_and_ps,
    #[inline(always)]
    fn look_up<const T: usize>(tables: [&[f64; 8]; T], k: Self) -> [Self; T] {
        let mut found = [k; T];
        for (found, table) in found.iter_mut().zip(tables) {
            // SAFETY: reached only below `run`, features checked.
            *found = unsafe { F8(_mm256_permutevar8x32_ps(F8::load(table).0, _mm256_cvtps_epi32(k.0))) };
        }
        found
    }
);

/// The masks of AVX-512 live in registers of their own.
#[derive(Clone, Copy)]
pub(super) struct M16(__mmask16);
impl BitAnd for M16 {
    type Output = Self;
    #[inline(always)]
    fn bitand(self, o: Self) -> Self {
        M16(self.0 & o.0)
    }
}
impl BitOr for M16 {
    type Output = Self;
    #[inline(always)]
    fn bitor(self, o: Self) -> Self {
        M16(self.0 | o.0)
    }
}
impl Not for M16 {
    type Output = Self;
    #[inline(always)]
    fn not(self) -> Self {
        M16(!self.0)
    }
}
impl Mask for M16 {
    #[inline(always)]
    fn splat(b: bool) -> Self {
        M16(if b { 0xffff } else { 0 })
    }
    #[inline(always)]
    fn any(self) -> bool {
        self.0 != 0
    }
}
vector!(
    F16,
    __m512,
    16,
    M16,
    _mm512_add_ps,
    _mm512_sub_ps,
    _mm512_mul_ps,
    _mm512_div_ps,
    _mm512_sqrt_ps,
    _mm512_min_ps,
    _mm512_max_ps,
    _mm512_set1_ps,
    _mm512_loadu_ps,
    _mm512_storeu_ps,
    |p: *const f64| {
        let (low, high) = (_mm512_cvtpd_ps(_mm512_loadu_pd(p)), _mm512_cvtpd_ps(_mm512_loadu_pd(p.add(8))));
        _mm512_insertf32x8::<1>(_mm512_castps256_ps512(low), high)
    },
    |p: *mut f64, x| {
        _mm512_storeu_pd(p, _mm512_cvtps_pd(_mm512_castps512_ps256(x)));
        _mm512_storeu_pd(p.add(8), _mm512_cvtps_pd(_mm512_extractf32x8_ps::<1>(x)));
    },
    _mm512_castps_si512,
    _mm512_castsi512_ps,
    _mm512_and_si512,
    _mm512_or_si512,
    _mm512_xor_si512,
    _mm512_slli_epi32,
    _mm512_srli_epi32,
    _mm512_set1_epi32,
    _mm512_cmp_ps_mask::<_CMP_LT_OQ>,
    _mm512_cmp_ps_mask::<_CMP_GE_OQ>,
    |m, a, b| _mm512_mask_blend_ps(m, b, a),
    _mm512_maskz_mov_ps,
    #[inline(always)]
    fn look_up<const T: usize>(tables: [&[f64; 8]; T], k: Self) -> [Self; T] {
        let mut found = [k; T];
        for (found, table) in found.iter_mut().zip(tables) {
            // SAFETY: reached only below `run`, features checked.
            *found = unsafe {
                let table = _mm512_zextps256_ps512(_mm512_cvtpd_ps(_mm512_loadu_pd(table.as_ptr())));
                F16(_mm512_permutexvar_ps(_mm512_cvtps_epi32(k.0), table))
            };
        }
        found
    }
);
