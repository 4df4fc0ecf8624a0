//! What a life costs: expenses of each year, in constant prices, worth less the later they are.

/// What an expense at the end of a year is worth today, at a real rate of interest.
pub(super) fn worth(years: f64, interest: f64) -> f64 {
    libm::pow(1.0 + interest, -years)
}

/// What 1 at the end of each of `years` years is worth today: (1 - (1 + i)^-n) / i.
pub(super) fn annuity(years: u16, interest: f64) -> f64 {
    let n = f64::from(years);
    if interest > 0.0 { (1.0 - worth(n, interest)) / interest } else { n }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against the five-figure interest table of a finance textbook (as given with the checks of this law).
    #[test]
    fn annuities_are_those_of_the_table() {
        for (rate, years, printed) in [
            (0.09, 5, 3.88965),
            (0.09, 10, 6.41766),
            (0.10, 5, 3.79079),
            (0.10, 10, 6.14457),
            (0.10, 20, 8.51356),
            (0.12, 10, 5.65022),
            (0.14, 15, 6.14217),
        ] {
            assert!(
                (annuity(years, rate) - printed).abs() < 5e-6,
                "{rate} {years}: {}",
                annuity(years, rate)
            );
            // The same year by year.
            let sum: f64 = (1..=years).map(|y| worth(f64::from(y), rate)).sum();
            assert!((annuity(years, rate) - sum).abs() < 1e-12 * sum);
        }
        assert_eq!(annuity(7, 0.0), 7.0);
    }
}
