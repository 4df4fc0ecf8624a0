//! Every width gives the bits of the plain one, and the plain one is close to `libm`.

use super::math::{acos, atan2, exp, exp_brief, floor, ln, ln_brief, sin_cos};
use super::{Isa, Kernel, Lane, run};

/// All functions on all values, as bits.
struct All<'a>(&'a [f64]);

impl Kernel for All<'_> {
    type Out = Vec<u64>;
    #[inline(always)]
    fn run<V: Lane>(self) -> Vec<u64> {
        let mut out = Vec::new();
        let mut buffer = [0.0; super::BLOCK];
        // One function after the other, so that the order does not depend on the width.
        for f in 0..11 {
            for chunk in self.0.chunks_exact(V::N) {
                let x = V::load(chunk);
                let y = match f {
                    0 => exp(x),
                    1 => ln(x.abs() + V::splat(1e-300)),
                    2 => sin_cos(x).0,
                    3 => sin_cos(x).1,
                    4 => floor(x),
                    5 => atan2(x, V::splat(3.0) - x),
                    6 => acos(x * V::splat(1e-3)),
                    7 => V::select(
                        x.lt(V::splat(0.0)) & !x.ge(V::splat(-5.0)),
                        -x,
                        x.sqrt().max(V::splat(0.5)),
                    ),
                    8 => exp_brief(x),
                    9 => ln_brief(x.abs() + V::splat(1e-300)),
                    _ => x.abs().min(V::splat(1.0)) / (x + V::splat(0.1)),
                };
                y.store(&mut buffer);
                out.extend(buffer[..V::N].iter().map(|v| v.to_bits()));
            }
        }
        out
    }
}

fn values() -> Vec<f64> {
    // A fixed quasi-random sequence over -700..700, dense near zero, without a library.
    (0..4096)
        .map(|i| {
            let u = (f64::from(i) * 0.618_033_988_749_894_9).fract() * 2.0 - 1.0;
            u * u * u * 700.0
        })
        .collect()
}

#[test]
fn every_width_gives_the_same_bits() {
    let x = values();
    let plain = run(Isa::Plain, All(&x));
    for isa in Isa::ALL {
        if isa.available() {
            assert!(run(isa, All(&x)) == plain, "{isa:?} differs from plain");
        }
    }
}

#[test]
fn functions_are_close_to_libm() {
    let mut worst = [0.0_f64; 8];
    for x in values() {
        let e = libm::exp(x);
        worst[0] = worst[0].max(((exp(x) - e) / e).abs());
        let a = x.abs() + 1e-6;
        worst[1] = worst[1].max((ln(a) - libm::log(a)).abs() / libm::log(a).abs().max(1.0));
        let (s, c) = sin_cos(x);
        worst[2] = worst[2].max((s - libm::sin(x)).abs());
        worst[3] = worst[3].max((c - libm::cos(x)).abs());
        worst[4] = worst[4].max((atan2(x, 2.0 - x) - libm::atan2(x, 2.0 - x)).abs());
        let u = x / 701.0;
        worst[5] = worst[5].max((acos(u) - libm::acos(u)).abs());
        // No diode's exponent leaves this range.
        let d = x / 10.0;
        worst[6] = worst[6].max((exp_brief(d) / libm::exp(d) - 1.0).abs());
        worst[7] = worst[7].max((ln_brief(a) - libm::log(a)).abs());
    }
    println!(
        "largest errors: exp {:e}, ln {:e}, sin {:e}, cos {:e}, atan2 {:e}, acos {:e}, brief {:e} and {:e}",
        worst[0], worst[1], worst[2], worst[3], worst[4], worst[5], worst[6], worst[7]
    );
    for (name, error, limit) in [
        ("exp", worst[0], 5e-16),
        ("ln", worst[1], 5e-16),
        ("sin", worst[2], 3e-16),
        ("cos", worst[3], 3e-16),
        ("atan2", worst[4], 1e-15),
        ("acos", worst[5], 2e-15),
        ("exp_brief", worst[6], 3e-14),
        ("ln_brief", worst[7], 3e-11),
    ] {
        assert!(error < limit, "{name}: {error:e} is not below {limit:e}");
    }
}
