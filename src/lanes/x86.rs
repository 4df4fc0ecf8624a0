//! Vectors of x86-64. The only module of the library with `unsafe`: machine intrinsics.
//!
//! Why they are sound: only [`run`] hands these vectors to a kernel, inside a function that enables their instruction set; and `run`
//! takes an [`Isa`], which only a check of the processor can make ([`Isa::available`]). So an intrinsic is reached only where the
//! processor has it. Loads and stores slice first, which checks the length.
#![allow(unsafe_code, reason = "machine intrinsics; the processor has what an `Isa` stands for")]

use super::isa::{Isa, Kind};
use super::lane::{Aside, Kernel, Lane, Mask, Sealed, debug_assert_in_table};
use super::pair::Pair;
use std::arch::x86_64::*;
use std::ops::{Add, BitAnd, BitOr, Div, Mul, Neg, Not, Sub};

/// Runs a kernel on the vectors of an instruction set. Kinds without vectors never come here ([`super::run`]): naming them would
/// compile every kernel for them once more.
pub(super) fn run<K: Kernel>(isa: Isa, kernel: K) -> K::Out {
    #[target_feature(enable = "avx512f,avx512dq,avx2")]
    fn avx512<K: Kernel>(kernel: K) -> K::Out {
        kernel.run::<F16>()
    }
    #[target_feature(enable = "avx2")]
    fn avx2<K: Kernel>(kernel: K) -> K::Out {
        kernel.run::<Pair<F8>>()
    }
    match isa.kind() {
        // SAFETY: `Isa::available` makes this kind only if the processor has all three features.
        Kind::Avx512 => unsafe { avx512(kernel) },
        // SAFETY: as above, with its one feature.
        Kind::Avx2 => unsafe { avx2(kernel) },
        Kind::Sse2 | Kind::Plain | Kind::Double => kernel.run::<Pair<F4>>(),
    }
}

macro_rules! operator {
    ($t:ident, $trait:ident, $method:ident, $intrinsic:ident) => {
        impl $trait for $t {
            type Output = Self;
            #[inline(always)]
            fn $method(self, o: Self) -> Self {
                // SAFETY: reached only below `run`; see the head of this module.
                unsafe { $t($intrinsic(self.0, o.0)) }
            }
        }
    };
}

macro_rules! vector {
    (
        $t:ident, features: $features:literal, raw: $raw:ty, lanes: $n:literal, mask: $mask:ident,
        add: $add:ident, sub: $sub:ident, mul: $mul:ident, div: $div:ident, sqrt: $sqrt:ident, min: $min:ident, max: $max:ident,
        splat: $splat:ident, load: $load:ident, store: $store:ident, load_double: $from_double:expr, store_double: $to_double:expr,
        as_integers: $cast:ident, as_floats: $uncast:ident,
        and: $and_i:ident, or: $or_i:ident, xor: $xor_i:ident, shift_left: $slli:ident, shift_right: $srli:ident,
        splat_integer: $splat_i:ident,
        less: $lt:expr, not_less: $ge:expr, select: $select:expr, only: $only:expr
        $(, look_up: $look_up:item)? $(,)?
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
                // SAFETY: reached only below `run`; see the head of this module.
                unsafe { $t($uncast($xor_i($cast(self.0), $splat_i(i32::MIN)))) }
            }
        }

        impl Sealed for $t {}

        impl Lane for $t {
            const N: usize = $n;
            const SINGLE: bool = true;
            type Mask = $mask;

            #[inline(always)]
            fn splat(x: f64) -> Self {
                // SAFETY: reached only below `run`; see the head of this module.
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
                // SAFETY: reached only below `run`; see the head of this module.
                unsafe { $t($sqrt(self.0)) }
            }
            #[inline(always)]
            fn min(self, o: Self) -> Self {
                // SAFETY: reached only below `run`; see the head of this module.
                unsafe { $t($min(self.0, o.0)) }
            }
            #[inline(always)]
            fn max(self, o: Self) -> Self {
                // SAFETY: reached only below `run`; see the head of this module.
                unsafe { $t($max(self.0, o.0)) }
            }
            #[inline(always)]
            fn abs(self) -> Self {
                // SAFETY: reached only below `run`; see the head of this module.
                unsafe { $t($uncast($and_i($cast(self.0), $splat_i(i32::MAX)))) }
            }
            #[inline(always)]
            fn lt(self, o: Self) -> $mask {
                // SAFETY: reached only below `run`; see the head of this module.
                unsafe { $mask($lt(self.0, o.0)) }
            }
            #[inline(always)]
            fn ge(self, o: Self) -> $mask {
                // SAFETY: reached only below `run`; see the head of this module.
                unsafe { $mask($ge(self.0, o.0)) }
            }
            #[inline(always)]
            fn select(m: $mask, a: Self, b: Self) -> Self {
                // SAFETY: reached only below `run`; see the head of this module.
                unsafe { $t($select(m.0, a.0, b.0)) }
            }
            #[inline(always)]
            fn only(m: $mask, a: Self) -> Self {
                // SAFETY: reached only below `run`; see the head of this module.
                unsafe { $t($only(m.0, a.0)) }
            }
            $($look_up)?
            #[inline(always)]
            fn aside<W: Aside>(work: W) -> W::Out {
                #[target_feature(enable = $features)]
                #[inline(never)]
                fn there<W: Aside>(work: W) -> W::Out {
                    work.work()
                }
                // SAFETY: reached only below `run`; see the head of this module.
                unsafe { there(work) }
            }
            #[inline(always)]
            fn shift_to_exponent(self) -> Self {
                // SAFETY: reached only below `run`; see the head of this module.
                unsafe { $t($uncast($slli::<23>($cast(self.0)))) }
            }
            #[inline(always)]
            fn split(self) -> (Self, Self) {
                // SAFETY: reached only below `run`; see the head of this module.
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
    (
        $m:ident, raw: $raw:ty, and: $and:ident, or: $or:ident, as_integers: $cast:ident, as_floats: $uncast:ident,
        xor: $xor_i:ident, splat_integer: $splat_i:ident, sign_bits: $bits:ident $(,)?
    ) => {
        #[derive(Clone, Copy)]
        pub(super) struct $m($raw);
        operator!($m, BitAnd, bitand, $and);
        operator!($m, BitOr, bitor, $or);
        impl Not for $m {
            type Output = Self;
            #[inline(always)]
            fn not(self) -> Self {
                // SAFETY: reached only below `run`; see the head of this module.
                unsafe { $m($uncast($xor_i($cast(self.0), $splat_i(-1)))) }
            }
        }
        impl Sealed for $m {}
        impl Mask for $m {
            #[inline(always)]
            fn splat(b: bool) -> Self {
                // SAFETY: reached only below `run`; see the head of this module.
                unsafe { $m($uncast($splat_i(-i32::from(b)))) }
            }
            #[inline(always)]
            fn any(self) -> bool {
                // SAFETY: reached only below `run`; see the head of this module.
                unsafe { $bits(self.0) != 0 }
            }
        }
    };
}

vector_mask! {
    M4,
    raw: __m128,
    and: _mm_and_ps,
    or: _mm_or_ps,
    as_integers: _mm_castps_si128,
    as_floats: _mm_castsi128_ps,
    xor: _mm_xor_si128,
    splat_integer: _mm_set1_epi32,
    sign_bits: _mm_movemask_ps,
}
vector! {
    F4,
    features: "sse2",
    raw: __m128,
    lanes: 4,
    mask: M4,
    add: _mm_add_ps,
    sub: _mm_sub_ps,
    mul: _mm_mul_ps,
    div: _mm_div_ps,
    sqrt: _mm_sqrt_ps,
    min: _mm_min_ps,
    max: _mm_max_ps,
    splat: _mm_set1_ps,
    load: _mm_loadu_ps,
    store: _mm_storeu_ps,
    load_double: |p: *const f64| _mm_movelh_ps(_mm_cvtpd_ps(_mm_loadu_pd(p)), _mm_cvtpd_ps(_mm_loadu_pd(p.add(2)))),
    store_double: |p: *mut f64, x| {
        _mm_storeu_pd(p, _mm_cvtps_pd(x));
        _mm_storeu_pd(p.add(2), _mm_cvtps_pd(_mm_movehl_ps(x, x)));
    },
    as_integers: _mm_castps_si128,
    as_floats: _mm_castsi128_ps,
    and: _mm_and_si128,
    or: _mm_or_si128,
    xor: _mm_xor_si128,
    shift_left: _mm_slli_epi32,
    shift_right: _mm_srli_epi32,
    splat_integer: _mm_set1_epi32,
    less: _mm_cmplt_ps,
    not_less: _mm_cmpge_ps,
    select: |m, a, b| _mm_or_ps(_mm_and_ps(m, a), _mm_andnot_ps(m, b)),
    only: _mm_and_ps,
}

vector_mask! {
    M8,
    raw: __m256,
    and: _mm256_and_ps,
    or: _mm256_or_ps,
    as_integers: _mm256_castps_si256,
    as_floats: _mm256_castsi256_ps,
    xor: _mm256_xor_si256,
    splat_integer: _mm256_set1_epi32,
    sign_bits: _mm256_movemask_ps,
}
vector! {
    F8,
    features: "avx2",
    raw: __m256,
    lanes: 8,
    mask: M8,
    add: _mm256_add_ps,
    sub: _mm256_sub_ps,
    mul: _mm256_mul_ps,
    div: _mm256_div_ps,
    sqrt: _mm256_sqrt_ps,
    min: _mm256_min_ps,
    max: _mm256_max_ps,
    splat: _mm256_set1_ps,
    load: _mm256_loadu_ps,
    store: _mm256_storeu_ps,
    load_double: |p: *const f64| _mm256_set_m128(
        _mm256_cvtpd_ps(_mm256_loadu_pd(p.add(4))),
        _mm256_cvtpd_ps(_mm256_loadu_pd(p))
    ),
    store_double: |p: *mut f64, x| {
        _mm256_storeu_pd(p, _mm256_cvtps_pd(_mm256_castps256_ps128(x)));
        _mm256_storeu_pd(p.add(4), _mm256_cvtps_pd(_mm256_extractf128_ps::<1>(x)));
    },
    as_integers: _mm256_castps_si256,
    as_floats: _mm256_castsi256_ps,
    and: _mm256_and_si256,
    or: _mm256_or_si256,
    xor: _mm256_xor_si256,
    shift_left: _mm256_slli_epi32,
    shift_right: _mm256_srli_epi32,
    splat_integer: _mm256_set1_epi32,
    less: _mm256_cmp_ps::<_CMP_LT_OQ>,
    not_less: _mm256_cmp_ps::<_CMP_GE_OQ>,
    select: |m, a, b| _mm256_blendv_ps(b, a, m),
    only: _mm256_and_ps,
    look_up: #[inline(always)]
    fn look_up<const T: usize>(tables: [&[f64; 8]; T], k: Self) -> [Self; T] {
        debug_assert_in_table(k);
        let mut found = [k; T];
        for (t, found) in found.iter_mut().enumerate() {
            // SAFETY: reached only below `run`; see the head of this module.
            *found = unsafe { F8(_mm256_permutevar8x32_ps(F8::load(tables[t]).0, _mm256_cvtps_epi32(k.0))) };
        }
        found
    },
}

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
impl Sealed for M16 {}
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
vector! {
    F16,
    features: "avx512f,avx512dq,avx2",
    raw: __m512,
    lanes: 16,
    mask: M16,
    add: _mm512_add_ps,
    sub: _mm512_sub_ps,
    mul: _mm512_mul_ps,
    div: _mm512_div_ps,
    sqrt: _mm512_sqrt_ps,
    min: _mm512_min_ps,
    max: _mm512_max_ps,
    splat: _mm512_set1_ps,
    load: _mm512_loadu_ps,
    store: _mm512_storeu_ps,
    load_double: |p: *const f64| {
        let (low, high) = (_mm512_cvtpd_ps(_mm512_loadu_pd(p)), _mm512_cvtpd_ps(_mm512_loadu_pd(p.add(8))));
        _mm512_insertf32x8::<1>(_mm512_castps256_ps512(low), high)
    },
    store_double: |p: *mut f64, x| {
        _mm512_storeu_pd(p, _mm512_cvtps_pd(_mm512_castps512_ps256(x)));
        _mm512_storeu_pd(p.add(8), _mm512_cvtps_pd(_mm512_extractf32x8_ps::<1>(x)));
    },
    as_integers: _mm512_castps_si512,
    as_floats: _mm512_castsi512_ps,
    and: _mm512_and_si512,
    or: _mm512_or_si512,
    xor: _mm512_xor_si512,
    shift_left: _mm512_slli_epi32,
    shift_right: _mm512_srli_epi32,
    splat_integer: _mm512_set1_epi32,
    less: _mm512_cmp_ps_mask::<_CMP_LT_OQ>,
    not_less: _mm512_cmp_ps_mask::<_CMP_GE_OQ>,
    select: |m, a, b| _mm512_mask_blend_ps(m, b, a),
    only: _mm512_maskz_mov_ps,
    look_up: #[inline(always)]
    fn look_up<const T: usize>(tables: [&[f64; 8]; T], k: Self) -> [Self; T] {
        debug_assert_in_table(k);
        let mut found = [k; T];
        for (t, found) in found.iter_mut().enumerate() {
            // SAFETY: reached only below `run`; see the head of this module.
            *found = unsafe {
                let table = _mm512_zextps256_ps512(_mm512_cvtpd_ps(_mm512_loadu_pd(tables[t].as_ptr())));
                F16(_mm512_permutexvar_ps(_mm512_cvtps_epi32(k.0), table))
            };
        }
        found
    },
}
