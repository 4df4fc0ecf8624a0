//! How much the light of months and years differs: coefficients of variation, measured and wanted.
//!
//! The tilt that makes the years of a chain differ so much is found in `calibrate`.

use super::pool::DonorPool;
use crate::design::YearSpread;
use crate::sky::calendar::DAYS;

/// Fewest complete years from which variability is estimated rather than assumed.
const ENOUGH_YEARS: usize = 8;

/// Coefficients of variation of sums of GHI between years, shares of 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Variability {
    /// Of each calendar month.
    pub monthly: [f64; 12],
    /// Of the year.
    pub annual: f64,
}

/// Means over twelve Dutch stations, 24 to 36 years each, of the monthly coefficients of variation, and of the
/// annual one after a linear trend was taken out (`tests/published/data/10i_interannual_cov.csv`, from KNMI daily records).
pub const TEMPERATE: Variability = Variability {
    monthly: [0.1236, 0.1865, 0.1589, 0.1199, 0.1006, 0.0962, 0.1105, 0.0932, 0.1044, 0.1119, 0.1146, 0.1469],
    annual: 0.041,
};
/// Sunny, dry climates (common practice, no source: months about 5 %, years about 2 %).
const ARID: Variability = Variability { monthly: [0.05; 12], annual: 0.02 };
/// Mean clear-sky index up to which a climate counts as temperate, and from which on as arid. In between, variability is
/// interpolated linearly.
const CLIMATE_INDEX: [f64; 2] = [0.60, 0.90];

impl Variability {
    /// The variability expected of a climate with a mean clear-sky index, at a latitude: months differ most in the winter of
    /// the hemisphere; in the tropics they are alike.
    pub(crate) fn of_climate(mean_index: f64, latitude_deg: f64) -> Variability {
        let arid = ((mean_index - CLIMATE_INDEX[0]) / (CLIMATE_INDEX[1] - CLIMATE_INDEX[0])).clamp(0.0, 1.0);
        let mean = TEMPERATE.monthly.iter().sum::<f64>() / 12.0;
        let seasonal = ((latitude_deg.abs() - 23.5) / 16.5).clamp(0.0, 1.0);
        let half_year = if latitude_deg < 0.0 { 6 } else { 0 };
        Variability {
            monthly: std::array::from_fn(|m| {
                let temperate = mean + seasonal * (TEMPERATE.monthly[(m + half_year) % 12] - mean);
                temperate + arid * (ARID.monthly[m] - temperate)
            }),
            annual: TEMPERATE.annual + arid * (ARID.annual - TEMPERATE.annual),
        }
    }

    /// The variability that a user gives: the monthly pattern of the climate, scaled to the given mean.
    fn given(climate: Variability, monthly: f64, annual: f64) -> Variability {
        let mean = climate.monthly.iter().sum::<f64>() / 12.0;
        Variability { monthly: climate.monthly.map(|c| c * monthly / mean), annual }
    }

    /// The variability of the complete years of a pool, months smoothed over their neighbours
    /// (1-2-1), since a few years say little about a single month. `None` with too few years.
    pub(crate) fn of_pool(pool: &DonorPool, month: &[u8]) -> Option<Variability> {
        let mut sums = vec![[0.0; 12]; pool.files()];
        let mut days = vec![0; pool.files()];
        for d in pool.donors() {
            let day = usize::from(d.day_of_year);
            sums[usize::from(d.file)][usize::from(month[day])] += d.index * pool.potential_wh_m2()[day];
            days[usize::from(d.file)] += 1;
        }
        let whole: Vec<[f64; 12]> =
            sums.into_iter().zip(days).filter(|&(_, n)| n == DAYS).map(|(s, _)| s).collect();
        if whole.len() < ENOUGH_YEARS {
            return None;
        }
        let raw = Variability::of_sums(&whole);
        let smooth = |m: usize| {
            0.25 * raw.monthly[(m + 11) % 12] + 0.5 * raw.monthly[m] + 0.25 * raw.monthly[(m + 1) % 12]
        };
        Some(Variability { monthly: std::array::from_fn(smooth), annual: raw.annual })
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

/// Standard deviation (n - 1) over mean; 0 if the mean is 0.
pub(crate) fn variation(values: &[f64]) -> f64 {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let square = values.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>();
    if mean > 0.0 && n > 1.0 { (square / (n - 1.0)).sqrt() / mean } else { 0.0 }
}

/// The variability aimed at; `None` if the donors alone shall decide.
pub fn wanted(
    year_spread: YearSpread,
    pool: &DonorPool,
    month: &[u8],
    latitude_deg: f64,
) -> Option<Variability> {
    let (mut got, mut clear) = (0.0, 0.0);
    for d in pool.donors() {
        let potential = pool.potential_wh_m2()[usize::from(d.day_of_year)];
        got += d.index * potential;
        clear += potential;
    }
    let climate = Variability::of_climate(if clear > 0.0 { got / clear } else { 1.0 }, latitude_deg);
    match year_spread {
        YearSpread::None => None,
        YearSpread::Default => Some(Variability::of_pool(pool, month).unwrap_or(climate)),
        YearSpread::Given { monthly, annual } => Some(Variability::given(climate, monthly, annual)),
    }
}
