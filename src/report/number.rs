//! Numbers as text, rounded to what their error supports.

use crate::tally::summary::Estimate;

/// What is said in place of a number that cannot be computed.
pub(crate) const NOT_COMPUTABLE: &str = "not computable";

/// Coverage factor of every `±` shown: twice the standard error, about 95 %.
pub(crate) const COVERAGE: f64 = 2.0;

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

/// `1.8 ± 0.1`: the mean to the place its error supports, the error rounded up. Without an error
/// the mean stands alone, to one decimal.
pub fn estimate(e: Estimate, most: usize, pm: &str) -> String {
    if !e.mean.is_finite() {
        return NOT_COMPUTABLE.to_owned();
    }
    match e.se.filter(|se| se.is_finite() && *se > 0.0) {
        None => fixed(e.mean, most.min(1)),
        Some(se) => estimate_to(e, decimals(COVERAGE * se, most), pm),
    }
}

/// As [`estimate`], with so many decimals whatever the error: for columns of a table.
pub(crate) fn estimate_to(e: Estimate, decimals: usize, pm: &str) -> String {
    match e.se.filter(|se| se.is_finite() && *se > 0.0 && e.mean.is_finite()) {
        None => fixed(e.mean, decimals),
        Some(se) => {
            format!(
                "{} {pm} {}",
                fixed(e.mean, decimals),
                fixed(rounded_up(COVERAGE * se, decimals), decimals)
            )
        }
    }
}

/// Decimals that the largest error of a column supports; 1 where there is none.
pub(crate) fn column_decimals(column: impl IntoIterator<Item = Estimate>, most: usize) -> usize {
    let largest = column.into_iter().filter_map(|e| e.se).filter(|se| se.is_finite()).fold(0.0, f64::max);
    if largest > 0.0 { decimals(COVERAGE * largest, most) } else { most.min(1) }
}

/// The mean alone, to the place its error supports.
pub(crate) fn mean(e: Estimate, most: usize) -> String {
    if !e.mean.is_finite() {
        return NOT_COMPUTABLE.to_owned();
    }
    let d =
        e.se.filter(|se| se.is_finite() && *se > 0.0).map_or(most.min(1), |se| decimals(COVERAGE * se, most));
    fixed(e.mean, d)
}

/// The error alone, `± 0.1`.
pub(crate) fn error(e: Estimate, most: usize) -> Option<String> {
    let error = COVERAGE * e.se.filter(|se| se.is_finite() && *se > 0.0)?;
    let d = decimals(error, most);
    Some(fixed(rounded_up(error, d), d))
}

/// Text with so many decimals; "not computable" for what is no number; never "-0".
pub(crate) fn fixed(x: f64, decimals: usize) -> String {
    if !x.is_finite() {
        return NOT_COMPUTABLE.to_owned();
    }
    let s = format!("{x:.decimals$}");
    match s.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| c == '0' || c == '.') => rest.to_owned(),
        _ => s,
    }
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

/// A share and its error: `53 ± 2 %`.
pub(crate) fn percent_estimate(e: Estimate, pm: &str) -> String {
    let hundred = Estimate { mean: e.mean * 100.0, se: e.se.map(|s| s * 100.0) };
    match hundred.se {
        Some(se) if se > 0.0 => format!("{} %", estimate(hundred, 1, pm)),
        _ => percent(e.mean),
    }
}

/// Groups of three: `12,345`.
pub(crate) fn grouped(n: u64) -> String {
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
        Estimate { mean, se: Some(se) }
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
    fn what_is_not_known_is_said() {
        assert_eq!(estimate(Estimate { mean: f64::NAN, se: None }, 2, "±"), NOT_COMPUTABLE);
        assert_eq!(estimate(Estimate { mean: 2.04, se: None }, 2, "±"), "2.0");
        assert_eq!(percent(f64::INFINITY), NOT_COMPUTABLE);
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
