//! `[site]`: the place and its weather.

use super::trees::Trees;
use std::path::PathBuf;

/// The place and its weather.
#[derive(Clone, Debug, PartialEq)]
pub struct Site<N> {
    /// Weather files as given, relative to the design file: one typical year, or several real
    /// years as one pool of donor days. At least one.
    pub weather: Vec<PathBuf>,
    /// Corners of the skyline, (azimuth °, height °), by rising azimuth; straight lines between
    /// them in azimuth and height, wrapping through north. Empty: open to the horizon.
    /// Azimuth 0..360, height 0..=89.
    pub skyline: Vec<(f64, f64)>,
    /// Which parts of the skyline are trees.
    pub trees: Trees,
    /// Share of light that the ground reflects, 0..=1.
    pub albedo: N,
    /// Whether the files are typical years or years as they were.
    pub weather_years: WeatherYears,
    /// How far years differ from one another.
    pub year_spread: YearSpread,
}

/// What the weather files are.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum WeatherYears {
    /// As each file shows: by its head, and by the years of its rows.
    ByFile,
    /// Months chosen from several years for being average.
    Typical,
    /// Years as they were measured.
    Measured,
}

/// How far years differ from one another (a typical year hides it).
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum YearSpread {
    /// By the climate that the files show; several real years add their own spread.
    ByClimate,
    /// What the order of days alone brings.
    None,
    /// Coefficients of variation of monthly and annual GHI sums, shares of 1.
    Given {
        /// Of months, averaged over the year.
        monthly: f64,
        /// Of years.
        annual: f64,
    },
}

impl<N> Site<N> {
    pub(in crate::design) fn map<M>(&self, f: &mut impl FnMut(&str, &N) -> M) -> Site<M> {
        Site {
            weather: self.weather.clone(),
            skyline: self.skyline.clone(),
            trees: self.trees.clone(),
            albedo: f("site.albedo", &self.albedo),
            weather_years: self.weather_years,
            year_spread: self.year_spread,
        }
    }
}
