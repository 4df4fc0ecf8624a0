//! The climate of a place without a weather file: twelve monthly means of a few quantities.

use crate::sky::Place;

/// Twelve monthly means at one place.
#[derive(Clone, Debug, PartialEq)]
pub struct Climate {
    /// What the place is called.
    pub title: String,
    /// Where the means come from, in the user's words.
    pub origin: String,
    /// Place and clock.
    pub place: Place,
    /// Coast or inland: sets the daily range of temperature.
    pub setting: Setting,
    /// Mean daily global irradiation on the horizontal by month, kWh/m² (peak sun hours).
    pub insolation_kwh_m2: [f64; 12],
    /// Mean air temperature by month, °C.
    pub air_c: [f64; 12],
    /// Mean wind speed at 10 m by month, m/s.
    pub wind_m_s: [f64; 12],
    /// Rain by month, mm, if known.
    pub rain_mm: Option<[f64; 12]>,
}

impl Climate {
    /// Mean temperature of the warmest month less that of the coldest, °C.
    pub(crate) fn seasons_c(&self) -> f64 {
        let warmest = self.air_c.iter().fold(f64::MIN, |a, &b| a.max(b));
        warmest - self.air_c.iter().fold(f64::MAX, |a, &b| a.min(b))
    }
}

/// How the daily range of temperature depends on clearness.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Setting {
    /// Near the sea.
    Coast,
    /// Away from the sea.
    Inland,
}

/// A commented climate file to start from; [`super::read`] takes it as it is.
pub const STARTER: &str = include_str!("starter.toml");
