//! Bisection that evaluates less.

/// Steps of the secant, at most.
const SECANTS: usize = 12;

/// Where a function that rises from `below` (value at most 0) to `above` (value over 0; either may be the larger number) passes 0:
/// the middle of what is left after so many halvings, to the same bit as by plain bisection.
///
/// First the secant (Illinois variant: Dowell & Jarratt 1971, BIT 11:168) finds the place, and points `slack` to either side of it
/// prove it. Then a halving that falls farther than `slack` outside of what is proved needs no evaluation. `slack` is more than rounding
/// can blur the place; infinite: plain bisection.
pub(crate) fn bisect(
    (below, above): (f64, f64),
    (at_below, at_above): (f64, f64),
    (halvings, slack): (usize, f64),
    f: impl Fn(f64) -> f64,
) -> f64 {
    let up = (above - below).signum();
    // Known to be at most 0, and over 0.
    let mut known = (below, above);
    if slack.is_finite() {
        let mut look = |x: f64| {
            let y = f(x);
            if y > 0.0 {
                known.1 = x
            } else {
                known.0 = x
            }
            y
        };
        let place = secant(((below, at_below), (above, at_above)), slack, &mut look);
        for x in [place - up * slack, place + up * slack] {
            if (x - known.0) * up > 0.0 && (known.1 - x) * up > 0.0 {
                if f(x) > 0.0 { known.1 = x } else { known.0 = x }
            }
        }
    }
    let (mut lo, mut hi) = (below, above);
    for _ in 0..halvings {
        let mid = 0.5 * (lo + hi);
        let beyond = (mid - known.1) * up > slack;
        let short = (known.0 - mid) * up > slack;
        if beyond || (!short && f(mid) > 0.0) { hi = mid } else { lo = mid }
    }
    0.5 * (lo + hi)
}

/// The place to half of `slack`, if the function is tame. `look` gives its values; every point lies between those that are known.
fn secant(
    (mut under, mut over): ((f64, f64), (f64, f64)),
    slack: f64,
    look: &mut dyn FnMut(f64) -> f64,
) -> f64 {
    let mut last = f64::NAN;
    let mut was_over = None;
    for _ in 0..SECANTS {
        let x = under.0 + (over.0 - under.0) * (under.1 / (under.1 - over.1));
        let is_between = (x - under.0) * (over.0 - x) > 0.0;
        if !is_between {
            break;
        }
        let y = look(x);
        let moved = (x - last).abs();
        last = x;
        if moved < 0.5 * slack {
            break;
        }
        let is_over = y > 0.0;
        // An end that stays twice is weighed half, so that the next step crosses over.
        let again = was_over == Some(is_over);
        if is_over {
            over = (x, y)
        } else {
            under = (x, y)
        }
        match (again, is_over) {
            (true, true) => under.1 *= 0.5,
            (true, false) => over.1 *= 0.5,
            (false, _) => {}
        }
        was_over = Some(is_over);
    }
    last
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::cell::Cell;
    use std::f64::consts::PI;

    /// Evaluations by plain bisection and by this one, which must agree.
    fn evaluations(ends: (f64, f64), place: f64, f: impl Fn(f64) -> f64) -> [u32; 2] {
        let count = Cell::new(0);
        let counted = |x: f64| {
            count.set(count.get() + 1);
            f(x)
        };
        let values = (f(ends.0), f(ends.1));
        let [plain, guided] = [f64::INFINITY, 1e-8].map(|slack| {
            count.set(0);
            (bisect(ends, values, (28, slack), counted), count.get())
        });
        assert_eq!(plain.0.to_bits(), guided.0.to_bits(), "{ends:?} {place}");
        assert!((guided.0 - place).abs() < 1e-8, "{guided:?} {place}");
        [plain.1, guided.1]
    }

    #[test]
    fn the_bits_are_those_of_plain_bisection() {
        arbtest::arbtest(|u| {
            let place = f64::from(u.int_in_range(1..=999_999u32)?) * 1e-6;
            let power = f64::from(u.int_in_range(1..=5u32)?);
            let over = |x: f64| libm::pow(x, power) - libm::pow(place, power);
            evaluations((0.0, 1.0), place, over);
            evaluations((1.0, 0.0), place, |x| -over(x));
            Ok(())
        });
    }

    #[test]
    fn a_sunrise_takes_less_than_half_the_evaluations() {
        let mut sum = 0;
        for share in (1..40).map(|k| f64::from(k) / 40.0) {
            let height = |t: f64| libm::cos(PI * share) - libm::cos(2.0 * PI * t);
            let [plain, guided] = evaluations((0.0, 0.5), 0.5 * share, height);
            assert!(plain == 28 && guided < 20, "{share}: {guided}");
            sum += guided;
        }
        assert!(sum < 39 * 14, "{sum}");
    }
}
