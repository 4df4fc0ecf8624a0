//! Two vectors side by side: while one waits for a long chain of dependent operations, the other works.

use super::lane::{Aside, Lane, Mask, Sealed};
use std::ops::{Add, BitAnd, BitOr, Div, Mul, Neg, Not, Sub};

/// Two vectors side by side, twice as many trials.
#[derive(Clone, Copy, Debug)]
pub struct Pair<T>(pub T, pub T);

macro_rules! both {
    ($trait:ident, $method:ident) => {
        impl<T: $trait<Output = T>> $trait for Pair<T> {
            type Output = Self;
            #[inline(always)]
            fn $method(self, o: Self) -> Self {
                Pair(self.0.$method(o.0), self.1.$method(o.1))
            }
        }
    };
}
both!(Add, add);
both!(Sub, sub);
both!(Mul, mul);
both!(Div, div);
both!(BitAnd, bitand);
both!(BitOr, bitor);

impl<T: Neg<Output = T>> Neg for Pair<T> {
    type Output = Self;
    #[inline(always)]
    fn neg(self) -> Self {
        Pair(-self.0, -self.1)
    }
}

impl<T: Not<Output = T>> Not for Pair<T> {
    type Output = Self;
    #[inline(always)]
    fn not(self) -> Self {
        Pair(!self.0, !self.1)
    }
}

impl<T: Sealed> Sealed for Pair<T> {}

impl<M: Mask> Mask for Pair<M> {
    #[inline(always)]
    fn splat(b: bool) -> Self {
        Pair(M::splat(b), M::splat(b))
    }
    #[inline(always)]
    fn any(self) -> bool {
        (self.0 | self.1).any()
    }
}

impl<V: Lane> Lane for Pair<V> {
    const N: usize = 2 * V::N;
    const SINGLE: bool = V::SINGLE;
    type Mask = Pair<V::Mask>;

    #[inline(always)]
    fn splat(x: f64) -> Self {
        Pair(V::splat(x), V::splat(x))
    }
    #[inline(always)]
    fn load(p: &[f64]) -> Self {
        Pair(V::load(p), V::load(&p[V::N..]))
    }
    #[inline(always)]
    fn store(self, p: &mut [f64]) {
        self.0.store(p);
        self.1.store(&mut p[V::N..]);
    }
    #[inline(always)]
    fn load_single(p: &[f32]) -> Self {
        Pair(V::load_single(p), V::load_single(&p[V::N..]))
    }
    #[inline(always)]
    fn store_single(self, p: &mut [f32]) {
        self.0.store_single(p);
        self.1.store_single(&mut p[V::N..]);
    }
    #[inline(always)]
    fn sqrt(self) -> Self {
        Pair(self.0.sqrt(), self.1.sqrt())
    }
    #[inline(always)]
    fn min(self, o: Self) -> Self {
        Pair(self.0.min(o.0), self.1.min(o.1))
    }
    #[inline(always)]
    fn max(self, o: Self) -> Self {
        Pair(self.0.max(o.0), self.1.max(o.1))
    }
    #[inline(always)]
    fn abs(self) -> Self {
        Pair(self.0.abs(), self.1.abs())
    }
    #[inline(always)]
    fn lt(self, o: Self) -> Self::Mask {
        Pair(self.0.lt(o.0), self.1.lt(o.1))
    }
    #[inline(always)]
    fn ge(self, o: Self) -> Self::Mask {
        Pair(self.0.ge(o.0), self.1.ge(o.1))
    }
    #[inline(always)]
    fn select(m: Self::Mask, a: Self, b: Self) -> Self {
        Pair(V::select(m.0, a.0, b.0), V::select(m.1, a.1, b.1))
    }
    #[inline(always)]
    fn only(m: Self::Mask, a: Self) -> Self {
        Pair(V::only(m.0, a.0), V::only(m.1, a.1))
    }
    #[inline(always)]
    fn look_up<const T: usize>(tables: [&[f64; 8]; T], k: Self) -> [Self; T] {
        let (a, b) = (V::look_up(tables, k.0), V::look_up(tables, k.1));
        let mut found = [k; T];
        for t in 0..T {
            found[t] = Pair(a[t], b[t]);
        }
        found
    }
    #[inline(always)]
    fn aside<W: Aside>(work: W) -> W::Out {
        V::aside(work)
    }
    #[inline(always)]
    fn shift_to_exponent(self) -> Self {
        Pair(self.0.shift_to_exponent(), self.1.shift_to_exponent())
    }
    #[inline(always)]
    fn split(self) -> (Self, Self) {
        let ((a, e), (b, f)) = (self.0.split(), self.1.split());
        (Pair(a, b), Pair(e, f))
    }
}
