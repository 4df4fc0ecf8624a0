//! Every width gives the bits of the plain one, and the plain one is close to `libm`.

use super::math::{atan2, exp, exp_fast, floor, ln, ln_fast, sin_cos};
use super::{BLOCK, Isa, Kernel, Lane, RowF32, RowF64, run};

/// All functions on all values, as bits.
struct All<'a>(&'a [f64]);

impl Kernel for All<'_> {
    type Out = Vec<u64>;
    #[inline(always)]
    fn run<V: Lane>(self) -> Vec<u64> {
        let mut out = Vec::new();
        let mut buffer = [0.0; super::BLOCK];
        // One function after the other, so that the order does not depend on the width.
        for f in 0..10 {
            for chunk in self.0.chunks_exact(V::N) {
                let x = V::load(chunk);
                let y = match f {
                    0 => exp(x),
                    1 => ln(x.abs() + V::splat(V::SMALLEST)),
                    2 => sin_cos(x).0,
                    3 => sin_cos(x).1,
                    4 => floor(x),
                    5 => atan2(x, V::splat(3.0) - x),
                    6 => V::select(
                        x.lt(V::splat(0.0)) & !x.ge(V::splat(-5.0)),
                        -x,
                        x.sqrt().max(V::splat(0.5)),
                    ),
                    7 => exp_fast(x),
                    8 => ln_fast(x.abs() + V::splat(V::SMALLEST)),
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

/// The instruction sets to be compared; prints them. `STILLDAYS_REQUIRE_TIERS` names those (with commas between) without which the
/// test fails.
fn tiers() -> Vec<Isa> {
    let tiers: Vec<Isa> = Isa::available().collect();
    let names: Vec<_> = tiers.iter().map(|isa| isa.name()).collect();
    println!("instruction sets compared: {}", names.join(", "));
    let required = std::env::var("STILLDAYS_REQUIRE_TIERS").unwrap_or_default();
    for name in required.split(',').map(str::trim).filter(|name| !name.is_empty()) {
        assert!(names.contains(&name), "{name} is required, and this processor has only {names:?}");
    }
    tiers
}

#[test]
fn an_instruction_set_is_found_by_its_name_or_the_others_are_named() {
    for isa in Isa::available() {
        assert_eq!(Isa::named(isa.name()), Ok(isa));
    }
    for missing in ["double", "abacus", ""] {
        assert!(Isa::named(missing).unwrap_err().contains("it has: plain"), "{missing}");
    }
}

/// Zeros of either sign and what is no number, in all pairs: the smaller and the larger of two are the second operand wherever
/// neither is smaller.
struct Pairs<'a>(&'a [f64]);

impl Kernel for Pairs<'_> {
    type Out = Vec<u64>;
    #[inline(always)]
    fn run<V: Lane>(self) -> Vec<u64> {
        let mut buffer = [0.0; BLOCK];
        let mut out = Vec::new();
        for a in self.0 {
            for b in self.0 {
                let (a, b) = (V::splat(*a), V::splat(*b));
                let yes = V::one_if(a.lt(b)) + V::splat(2.0) * V::one_if(a.ge(b));
                for y in [a.min(b), a.max(b), b.clamp(a, a), yes] {
                    y.store(&mut buffer);
                    out.push(if buffer[0].is_nan() { 1 } else { buffer[0].to_bits() });
                }
            }
        }
        out
    }
}

#[test]
fn odd_values_are_compared_alike_on_every_width() {
    let odd = [0.0, -0.0, f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1.0, -1.0, 1e-40, f64::from(f32::MAX)];
    let plain = run(Isa::PLAIN, Pairs(&odd));
    for isa in tiers() {
        assert_eq!(run(isa, Pairs(&odd)), plain, "{isa:?} differs from plain");
    }
}

#[test]
fn every_width_gives_the_same_bits() {
    let x = values();
    let plain = run(Isa::PLAIN, All(&x));
    for isa in tiers() {
        assert!(run(isa, All(&x)) == plain, "{isa:?} differs from plain");
    }
}

/// Largest errors of the functions against `libm`, over arguments up to `reach` in size.
fn largest_errors<V: Lane>(reach: f64) -> [(&'static str, f64); 7] {
    let value = |v: V| {
        let mut out = [0.0];
        v.store(&mut out);
        out[0]
    };
    let mut worst = [
        ("exp", 0.0_f64),
        ("ln", 0.0),
        ("sin", 0.0),
        ("cos", 0.0),
        ("atan2", 0.0),
        ("exp_fast", 0.0),
        ("ln_fast", 0.0),
    ];
    for x in values() {
        // What a lane holds of it: rounding an argument is not the function's error.
        let held = |x: f64| (V::splat(x), value(V::splat(x)));
        let (l, x) = held(x * reach / 700.0);
        let e = libm::exp(x);
        let (la, a) = held(x.abs() + 1e-6);
        let (s, c) = sin_cos(l);
        let (ly, y) = held(2.0 - x);
        // Brief logarithms over all exponents.
        let (lb, b) = held(libm::exp(x));
        // No diode's exponent leaves this range.
        let (ld, d) = held(x.clamp(-70.0, 70.0));
        let errors = [
            (value(exp(l)) - e) / e,
            (value(ln(la)) - libm::log(a)) / libm::log(a).abs().max(1.0),
            value(s) - libm::sin(x),
            value(c) - libm::cos(x),
            value(atan2(l, ly)) - libm::atan2(x, y),
            value(exp_fast(ld)) / libm::exp(d) - 1.0,
            value(ln_fast(lb)) - libm::log(b),
        ];
        for (w, e) in worst.iter_mut().zip(errors) {
            w.1 = w.1.max(e.abs());
        }
    }
    println!("largest errors: {}", worst.map(|(name, e)| format!("{name} {e:.1e}")).join(", "));
    worst
}

#[test]
fn functions_are_close_to_libm() {
    let limits = [5e-16, 5e-16, 3e-16, 3e-16, 1e-15, 3e-14, 3e-11];
    for ((name, error), limit) in largest_errors::<f64>(700.0).into_iter().zip(limits) {
        assert!(error < limit, "{name}: {error:e} is not below {limit:e}");
    }
}

#[test]
fn functions_are_close_to_libm_in_single_precision() {
    let limits = [2e-7, 2e-7, 2e-7, 2e-7, 3e-7, 5e-6, 8e-6];
    for ((name, error), limit) in largest_errors::<f32>(86.0).into_iter().zip(limits) {
        assert!(error < limit, "{name}: {error:e} is not below {limit:e}");
    }
}

/// A table's values, and rows written and added to.
struct Stores<'a>(&'a [f64; 8]);

impl Kernel for Stores<'_> {
    type Out = [RowF64; 3];
    #[inline(always)]
    fn run<V: Lane>(self) -> [RowF64; 3] {
        let places = RowF64(std::array::from_fn(|k| (k % 8) as f64));
        let (mut found, mut sum, mut kept) = (RowF64::default(), RowF64::splat(1e9), RowF32::default());
        for at in (0..BLOCK).step_by(V::N) {
            let place = V::of(&places, at);
            V::look_up([self.0], place)[0].put(&mut found, at);
            sum.add(at, place * V::splat(1e-3));
            (place * V::splat(0.1)).put(&mut kept, at);
        }
        [found, sum, RowF64(kept.0.map(f64::from))]
    }
}

#[test]
fn tables_and_rows_are_alike_on_every_width() {
    let table = [0.25, -1.5, 3.0, 0.0, 7.75, 1e-3, -2e5, 12.0];
    let plain = run(Isa::PLAIN, Stores(&table));
    for k in 0..BLOCK {
        assert_eq!(plain[0].0[k], f64::from(table[k % 8] as f32));
        // Added in double precision: nothing of it is lost beside a thousand million.
        assert!((plain[1].0[k] - 1e9 - 1e-3 * (k % 8) as f64).abs() < 2e-7);
    }
    for isa in tiers() {
        assert!(run(isa, Stores(&table)) == plain, "{isa:?} differs from plain");
    }
}

#[test]
fn a_sum_that_is_kept_loses_nothing() {
    // A battery of 100 Ah that gives 1 mA for a week: 1.7e-5 Ah a minute, of which plain addition would lose a tenth.
    let (start, each) = (100.0_f32, (-0.001_f32 / 60.0));
    let mut kept = super::Compensated { value: start, carry: 0.0 };
    let mut plain = start;
    for _ in 0..10_080 {
        kept = kept.plus(each);
        plain += each;
    }
    let exact = f64::from(start) + 10_080.0 * f64::from(each);
    let now = f64::from(kept.value) + f64::from(kept.carry);
    assert!((now - exact).abs() < 1e-8 * exact, "{now} {exact}");
    assert!((f64::from(plain) - exact).abs() > 1e-5 * exact, "{plain} {exact}");
}
