//! Numbers as text, rounded to what their error supports.

use crate::tally::summary::Estimate;

/// What is said in place of a number that cannot be computed.
pub(crate) const NOT_COMPUTABLE: &str = "not computable";

/// Decimals at which an error of this size shows one significant digit, at most `most`.
pub(crate) fn decimals(error: f64, most: usize) -> usize {
    let mut d = 0;
    let mut step = 1.0;
    while d < most && error < step {
        d += 1;
        step /= 10.0;
    }
    d
}

/// The larger half of an interval, if it has one of some width.
fn half(e: Estimate) -> Option<f64> {
    e.half_width().filter(|half| half.is_finite() && *half > 0.0 && e.mean.is_finite())
}

/// `1.8 ± 0.1`: the mean to the place its error supports, the error rounded up. Where the error is lopsided, its ends:
/// `0.04 (0.01 to 0.25)`; where nothing was seen, its bound: `below 0.3`. Without an error the mean stands alone, to one
/// decimal.
pub fn estimate(e: Estimate, most: usize, pm: &str) -> String {
    if !e.mean.is_finite() {
        return NOT_COMPUTABLE.to_owned();
    }
    match half(e) {
        None => fixed(e.mean, most.min(1)),
        Some(half) => estimate_to(e, decimals(half, most), most, pm),
    }
}

/// As [`estimate`], with so many decimals whatever the error, for columns of a table; rare events take the decimals they need,
/// up to `most`.
pub(crate) fn estimate_to(e: Estimate, decimals: usize, most: usize, pm: &str) -> String {
    match (half(e), e.interval_95) {
        (Some(_), Some([lo, hi])) if e.is_lopsided() => ends(e.mean, lo, hi, decimals, most.max(decimals)),
        (Some(half), _) => {
            format!("{} {pm} {}", fixed(e.mean, decimals), fixed(rounded_up(half, decimals), decimals))
        }
        _ => fixed(e.mean, decimals),
    }
}

/// A mean by the ends of its interval; the lower end rounded down, the upper up.
fn ends(mean: f64, lo: f64, hi: f64, least: usize, most: usize) -> String {
    let digits = decimals(hi - lo, most).max(least);
    if mean == 0.0 {
        return format!("below {}", fixed(rounded_up(hi, digits), digits));
    }
    let digits = digits.max(decimals(mean.abs(), most));
    let end = |x: f64| if x == 0.0 { "0".to_owned() } else { fixed(x, digits) };
    let (lo, hi) = (-rounded_up(-lo, digits), rounded_up(hi, digits));
    format!("{} ({} to {})", fixed(mean, digits), end(lo), end(hi))
}

/// Decimals that the largest error of a column supports; 1 where there is none.
pub(crate) fn column_decimals(column: impl IntoIterator<Item = Estimate>, most: usize) -> usize {
    let errors = column.into_iter().filter(|e| !e.is_lopsided()).filter_map(half);
    let largest = errors.fold(0.0, f64::max);
    if largest > 0.0 { decimals(largest, most) } else { most.min(1) }
}

/// The mean alone, to the place its error supports; a bound where nothing was seen.
pub(crate) fn mean(e: Estimate, most: usize) -> String {
    if !e.mean.is_finite() {
        return NOT_COMPUTABLE.to_owned();
    }
    match (half(e), e.interval_95) {
        (Some(_), Some([lo, hi])) if e.mean == 0.0 => ends(e.mean, lo, hi, 0, most),
        (Some(half), _) => fixed(e.mean, decimals(half.min(e.mean.abs()), most)),
        (None, _) => fixed(e.mean, most.min(1)),
    }
}

/// The larger half of the error alone, `0.1`.
pub(crate) fn error(e: Estimate, most: usize) -> Option<String> {
    let half = half(e)?;
    let d = decimals(half, most);
    Some(fixed(rounded_up(half, d), d))
}

/// Text with so many decimals; "not computable" for what is no number; never "-0".
pub(crate) fn fixed(x: f64, decimals: usize) -> String {
    if !x.is_finite() {
        return NOT_COMPUTABLE.to_owned();
    }
    if let Some(s) = by_integer(x, decimals) {
        return s;
    }
    let s = format!("{x:.decimals$}");
    match s.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| c == '0' || c == '.') => rest.to_owned(),
        _ => s,
    }
}

/// The same by rounding to an integer, which takes a tenth of the time: drawings have thousands of numbers. `None` where the
/// number is large, has many decimals, or lies so close to the middle of two texts that its exact digits must decide.
fn by_integer(x: f64, decimals: usize) -> Option<String> {
    const TENS: [u64; 4] = [1, 10, 100, 1000];
    let ten = *TENS.get(decimals)?;
    let scaled = x.abs() * ten as f64;
    if scaled >= 1e8 {
        return None;
    }
    let (whole, over) = (scaled as u64, scaled.fract());
    // The product is off by 1e-8 at most.
    if (over - 0.5).abs() < 1e-6 {
        return None;
    }
    let rounded = whole + u64::from(over > 0.5);
    let mut digits = [0u8; 12];
    let mut at = digits.len();
    let mut rest = rounded;
    let mut written = 0;
    while rest > 0 || written <= decimals {
        if written == decimals && decimals > 0 {
            at -= 1;
            digits[at] = b'.';
        }
        at -= 1;
        digits[at] = b'0' + (rest % 10) as u8;
        rest /= 10;
        written += 1;
    }
    if x < 0.0 && rounded > 0 {
        at -= 1;
        digits[at] = b'-';
    }
    std::str::from_utf8(&digits[at..]).ok().map(str::to_owned)
}

/// Two significant digits, and all before the point: `0.034`, `1.7`, `23`, `1840`.
pub(crate) fn two_digits(x: f64) -> String {
    let a = x.abs();
    if a >= 10.0 || a == 0.0 {
        fixed(x, 0)
    } else if a >= 1.0 {
        fixed(x, 1)
    } else if a >= 0.1 {
        fixed(x, 2)
    } else if a >= 1e-4 {
        let (mut decimals, mut first) = (2, 0.1);
        while a < first {
            decimals += 1;
            first /= 10.0;
        }
        fixed(x, decimals).trim_end_matches('0').to_owned()
    } else {
        format!("{x:.0e}")
    }
}

/// Two significant digits and a power of ten, for what is next to nothing: `5.9 × 10⁻¹³`.
pub(crate) fn scientific(x: f64) -> String {
    if !x.is_finite() {
        return NOT_COMPUTABLE.to_owned();
    }
    let text = format!("{x:.1e}");
    let Some((digits, power)) = text.split_once('e').filter(|_| x != 0.0) else { return "0".to_owned() };
    let raised: String = power
        .chars()
        .map(|c| match c.to_digit(10) {
            Some(d) => ['⁰', '¹', '²', '³', '⁴', '⁵', '⁶', '⁷', '⁸', '⁹'][d as usize],
            None => '⁻',
        })
        .collect();
    format!("{digits} × 10{raised}")
}

/// A number that was given, not estimated: `4`, `0.5`.
pub(crate) fn given(x: f64) -> String {
    if x.is_finite() { x.to_string() } else { NOT_COMPUTABLE.to_owned() }
}

/// A share of 1 as per cent: `34 %`, `0.4 %`, `< 0.1 %`.
pub(crate) fn percent(share: f64) -> String {
    if !share.is_finite() {
        return NOT_COMPUTABLE.to_owned();
    }
    let p = share * 100.0;
    match p {
        0.0 => "0 %".to_owned(),
        p if p < 0.1 => "< 0.1 %".to_owned(),
        p if p > 99.9 && p < 100.0 => "> 99.9 %".to_owned(),
        p if p < 9.95 || (p > 99.0 && p < 100.0) => format!("{} %", fixed(p, 1).trim_end_matches(".0")),
        p => format!("{} %", fixed(p, 0)),
    }
}

/// A bound of a share, rounded up so that it stays one: `6.1 %`, `0.75 %`, `< 0.01 %`.
pub(crate) fn percent_up(share: f64) -> String {
    let p = share * 100.0;
    match p {
        p if !p.is_finite() => NOT_COMPUTABLE.to_owned(),
        p if p < 0.01 => "< 0.01 %".to_owned(),
        p => {
            let decimals = if p >= 10.0 {
                0
            } else if p >= 1.0 {
                1
            } else {
                2
            };
            format!("{} %", fixed(rounded_up(p, decimals), decimals))
        }
    }
}

/// A share and its error: `53 ± 2 %`, `0.4 (0.1 to 1.9) %`, `below 3.7 %`.
pub(crate) fn percent_estimate(e: Estimate, pm: &str) -> String {
    match half(e) {
        Some(_) => format!("{} %", estimate(e.times(100.0), 1, pm)),
        None => percent(e.mean),
    }
}

/// A share and its 95 % interval: `31 % (29 to 33 %)`; a bound where nothing was seen.
pub(crate) fn percent_within(share: f64, [lo, hi]: [f64; 2]) -> String {
    match share {
        0.0 => format!("below {}", percent_up(hi)),
        _ => format!("{} ({} to {})", percent(share), percent(lo).trim_end_matches(" %"), percent_up(hi)),
    }
}

/// A whole number with its interval, if that is more than the number: `3`, `3 (2 to 5)`.
pub(crate) fn whole_within(x: f64, [lo, hi]: [f64; 2]) -> String {
    let (x, lo, hi) = (fixed(x, 0), fixed(lo, 0), fixed(hi, 0));
    if lo == hi { x } else { format!("{x} ({lo} to {hi})") }
}

/// Years with their interval: `7.1 (6.8 to 7.4)`.
pub(crate) fn years_within(years: f64, [lo, hi]: [f64; 2]) -> String {
    format!("{} ({} to {})", fixed(years, 1), fixed(lo, 1), fixed(hi, 1))
}

/// Groups of three: `12,345`.
pub fn grouped(n: u64) -> String {
    let s = n.to_string();
    let mut out = String::with_capacity(s.len() + s.len() / 3);
    for (i, c) in s.chars().enumerate() {
        if i > 0 && (s.len() - i).is_multiple_of(3) {
            out.push(',');
        }
        out.push(c);
    }
    out
}

/// Errors are rounded up, so that none looks smaller than it is.
fn rounded_up(error: f64, decimals: usize) -> f64 {
    let scale = [1.0, 10.0, 100.0, 1e3, 1e4, 1e5][decimals.min(5)];
    // The small allowance keeps 0.1 from becoming 0.2 by its last bit.
    (error * scale - 1e-9).ceil() / scale
}

#[cfg(test)]
mod tests {
    use super::*;

    fn e(mean: f64, se: f64) -> Estimate {
        Estimate::new(mean, Some(se))
    }

    #[test]
    fn a_mean_is_rounded_to_the_place_of_its_error() {
        assert_eq!(estimate(e(1.834, 0.05), 2, "±"), "1.8 ± 0.1");
        assert_eq!(estimate(e(1.834, 0.021), 2, "±"), "1.83 ± 0.05");
        assert_eq!(estimate(e(62.4, 0.6), 1, "±"), "62 ± 2");
        assert_eq!(estimate(e(1.834, 1e-7), 2, "±"), "1.83 ± 0.01");
        assert_eq!(estimate(e(-0.001, 0.05), 2, "+/-"), "0.0 +/- 0.1");
    }

    #[test]
    fn rounding_to_an_integer_gives_the_text_of_the_formatter() {
        arbtest::arbtest(|u| {
            let decimals = u.int_in_range(0..=4usize)?;
            let near = f64::from(u.int_in_range(-40_000..=40_000i32)?) / 80.0;
            for x in [near, near * (1.0 + f64::EPSILON), near + f64::from(u.arbitrary::<i8>()?) * 1e-9] {
                let plain = format!("{x:.decimals$}");
                let expected = match plain.strip_prefix('-') {
                    Some(rest) if rest.chars().all(|c| c == '0' || c == '.') => rest,
                    _ => &plain,
                };
                assert_eq!(fixed(x, decimals), expected, "{x} {decimals}");
            }
            Ok(())
        });
        assert_eq!(
            [fixed(99_999_999.4, 0), fixed(0.25, 1), fixed(-0.04, 1), fixed(12_345.678, 3)],
            ["99999999", "0.2", "0.0", "12345.678"]
        );
    }

    #[test]
    fn what_is_not_known_is_said() {
        assert_eq!(estimate(Estimate::alone(f64::NAN), 2, "±"), NOT_COMPUTABLE);
        assert_eq!(estimate(Estimate::alone(2.04), 2, "±"), "2.0");
        assert_eq!(percent(f64::INFINITY), NOT_COMPUTABLE);
    }

    #[test]
    fn rare_events_are_told_by_the_ends_of_their_interval() {
        let rare = |mean, lo, hi| Estimate { mean, se: Some(mean), interval_95: Some([lo, hi]) };
        assert_eq!(estimate(rare(0.04, 0.008, 0.241), 2, "±"), "0.04 (0 to 0.25)");
        assert_eq!(estimate(rare(0.02, 0.0, 0.28), 2, "±"), "0.02 (0 to 0.28)");
        assert_eq!(estimate(rare(0.0, 0.0, 0.264), 2, "±"), "below 0.3");
        assert_eq!(estimate(rare(0.0, 0.0, 0.0003), 2, "±"), "below 0.01");
        assert_eq!(mean(rare(0.0, 0.0, 0.264), 1), "below 0.3");
        assert_eq!(percent_estimate(rare(0.0, 0.0, 0.0362), "±"), "below 4 %");
        assert_eq!(percent_within(0.0, [0.0, 0.0362]), "below 3.7 %");
        assert_eq!(percent_within(0.05, [0.0164, 0.1128]), "5 % (1.6 to 12 %)");
        assert_eq!(percent_within(1.0, [0.9638, 1.0]), "100 % (96 to 100 %)");
        assert_eq!(
            (whole_within(3.0, [2.0, 5.0]).as_str(), whole_within(0.0, [0.0, 0.0]).as_str()),
            ("3 (2 to 5)", "0")
        );
        // A column keeps its decimals for what is not rare.
        assert_eq!(column_decimals([rare(0.0, 0.0, 0.3), e(3.0, 0.1)], 2), 1);
    }

    #[test]
    fn small_shares_are_not_zero() {
        assert_eq!(percent(0.0), "0 %");
        assert_eq!(percent(0.0004), "< 0.1 %");
        assert_eq!(percent(0.034), "3.4 %");
        assert_eq!(percent(0.34), "34 %");
        assert_eq!(percent(0.996), "99.6 %");
        assert_eq!(percent(0.99997), "> 99.9 %");
        assert_eq!(percent(1.0), "100 %");
        assert_eq!(percent_up(0.0605), "6.1 %");
        assert_eq!(percent_up(0.00744), "0.75 %");
        assert_eq!(percent_up(3e-6), "< 0.01 %");
    }

    #[test]
    fn what_is_small_keeps_two_digits() {
        for (x, text) in [
            (0.088_84, "0.089"),
            (0.1, "0.10"),
            (0.034, "0.034"),
            (0.000_123_4, "0.00012"),
            (0.03, "0.03"),
            (0.0999, "0.1"),
        ] {
            assert_eq!(two_digits(x), text);
        }
        assert_eq!(scientific(5.93e-13), "5.9 × 10⁻¹³");
        assert_eq!(scientific(0.0), "0");
        assert_eq!(scientific(f64::NAN), NOT_COMPUTABLE);
    }

    #[test]
    fn thousands_are_grouped() {
        assert_eq!(grouped(0), "0");
        assert_eq!(grouped(999), "999");
        assert_eq!(grouped(1_234_567), "1,234,567");
    }
}
