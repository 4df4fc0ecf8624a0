//! Wear of a battery by cycling: Miner's rule with N(D) = N100 D^-p cycles. Counting the cycles: [`super::rainflow`].

use crate::lanes::{BLOCK, Isa, Kernel, Lane, RowF64, math, run};

/// Cycle life of a battery: N(D) = N100 D^-p cycles of depth D until its end of life.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CycleLife {
    /// Cycles of full depth, > 0.
    pub at_full_depth: f64,
    /// Exponent p, >= 0.
    pub exponent: f64,
}

impl CycleLife {
    /// Share of the life that `count` cycles of this depth use (Miner 1945: the shares add up to 1 at the end of life).
    #[inline]
    pub fn used(self, depth: f64, count: f64) -> f64 {
        // This kernel is several times as fast as libm's `pow`, and as portable.
        if depth > 0.0 { count * math::pow(depth, self.exponent) / self.at_full_depth } else { 0.0 }
    }

    /// Adds the life used by cycles, lane by lane: `used += count · depth^p / N100`, to six digits. Depths > 0.
    pub(super) fn use_up(self, isa: Isa, depths: &RowF64, counts: &RowF64, used: &mut RowF64) {
        run(isa, UseUp { life: self, depths, counts, used });
    }
}

/// Miner's rule for sixteen cycles at once: a season has thousands, and each needs a power.
struct UseUp<'a> {
    life: CycleLife,
    depths: &'a RowF64,
    counts: &'a RowF64,
    used: &'a mut RowF64,
}

impl Kernel for UseUp<'_> {
    type Out = ();
    #[inline(always)]
    fn run<V: Lane>(self) {
        let (p, whole) = (V::splat(self.life.exponent), V::splat(self.life.at_full_depth));
        for at in (0..BLOCK).step_by(V::N) {
            let share = V::of(self.counts, at) * math::pow(V::of(self.depths, at), p) / whole;
            self.used.add(at, share);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cycles_side_by_side_use_what_single_ones_do_on_every_processor() {
        let life = CycleLife { at_full_depth: 300.0, exponent: 1.37 };
        let depths = RowF64(std::array::from_fn(|k| (k + 1) as f64 / 16.0));
        let counts = RowF64(std::array::from_fn(|k| 0.5 * (1 + k % 2) as f64));
        let mut plain = RowF64::splat(0.25);
        life.use_up(Isa::PLAIN, &depths, &counts, &mut plain);
        for isa in Isa::available() {
            let mut used = RowF64::splat(0.25);
            life.use_up(isa, &depths, &counts, &mut used);
            assert!(used == plain, "{isa:?}");
        }
        for k in 0..BLOCK {
            // Single precision, added up in double.
            let one = life.used(depths.0[k], counts.0[k]);
            assert!((plain.0[k] - (0.25 + one)).abs() < 5e-7 * one, "{k}: {} {one}", plain.0[k]);
        }
    }

    #[test]
    fn full_cycles_use_one_by_one() {
        let life = CycleLife { at_full_depth: 300.0, exponent: 1.2 };
        assert!((life.used(1.0, 300.0) - 1.0).abs() < 1e-12);
        assert_eq!(life.used(0.0, 5.0), 0.0);
        // N(0.3) = 300 · 0.3^-1.2 cycles of that depth end it.
        assert!((life.used(0.3, 300.0 / libm::pow(0.3, 1.2)) - 1.0).abs() < 1e-12);
    }
}
