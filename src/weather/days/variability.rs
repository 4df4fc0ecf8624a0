//! How much the light of months and years differs: coefficients of variation.

/// Coefficients of variation of sums of GHI between years, shares of 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Variability {
    /// Of each calendar month.
    pub monthly: [f64; 12],
    /// Of the year.
    pub annual: f64,
}

impl Variability {
    /// The variability that a user gives: the monthly pattern of the climate, scaled to the given mean.
    pub fn given(climate: Variability, monthly: f64, annual: f64) -> Variability {
        let mean = climate.monthly.iter().sum::<f64>() / 12.0;
        Variability { monthly: climate.monthly.map(|c| c * monthly / mean), annual }
    }

    /// Coefficients of variation of monthly sums, one array a year in order, after a straight line through the years is
    /// removed; `None` for fewer than two years.
    pub fn of_detrended(years: &[[f64; 12]]) -> Option<Variability> {
        let annual: Vec<f64> = years.iter().map(|y| y.iter().sum()).collect();
        let annual = detrended_variation(&annual)?;
        let month =
            |m: usize| detrended_variation(&years.iter().map(|y| y[m]).collect::<Vec<f64>>()).unwrap_or(0.0);
        Some(Variability { monthly: std::array::from_fn(month), annual })
    }

    /// Coefficients of variation of monthly sums, one array a year.
    pub fn of_sums(years: &[[f64; 12]]) -> Variability {
        let annual: Vec<f64> = years.iter().map(|y| y.iter().sum()).collect();
        Variability {
            monthly: std::array::from_fn(|m| variation(&years.iter().map(|y| y[m]).collect::<Vec<f64>>())),
            annual: variation(&annual),
        }
    }
}

/// Of sums of years in order, each less its straight line; `None` for fewer than two years.
fn detrended_variation(values: &[f64]) -> Option<f64> {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let middle = 0.5 * (n - 1.0);
    let (mut tt, mut ty, mut yy) = (0.0, 0.0, 0.0);
    for (i, v) in values.iter().enumerate() {
        let t = i as f64 - middle;
        tt += t * t;
        ty += t * (v - mean);
        yy += (v - mean) * (v - mean);
    }
    // A line through two years would leave nothing.
    let (square, freedom) = if values.len() > 3 { (yy - ty * ty / tt, n - 2.0) } else { (yy, n - 1.0) };
    (values.len() > 1 && mean > 0.0).then(|| (square.max(0.0) / freedom).sqrt() / mean)
}

/// Standard deviation (n - 1) over mean; 0 if the mean is 0.
pub(crate) fn variation(values: &[f64]) -> f64 {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let square = values.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>();
    if mean > 0.0 && n > 1.0 { (square / (n - 1.0)).sqrt() / mean } else { 0.0 }
}
