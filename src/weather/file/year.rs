//! What a weather file becomes: a checked year of hours.

use crate::sky::Place;
use std::path::PathBuf;

/// A year of hours as a file has it, checked: 8760 hours, hour-ending local standard time.
#[derive(Clone, Debug)]
pub struct TypicalYear {
    /// File as given.
    pub path: PathBuf,
    /// SHA-256 of the file's bytes as stored, hex.
    pub sha256: String,
    /// Name of the format it was recognised as, for people: "EPW", "TMY3 CSV", "plain CSV".
    pub format: &'static str,
    /// What the file says of its origin.
    pub origin: String,
    /// Whether it says that it is invented or synthesised.
    pub invented: bool,
    /// Months from several years, or one year as it was.
    pub kind: YearKind,
    /// Place and clock.
    pub place: Place,
    /// 8760 hours from 1 January 00:00 to 01:00; `None` where the file has no usable row.
    pub hours: Vec<Option<Hour>>,
    /// Best offset of the instant an hour's values stand for, minutes from its end label
    /// (-30: the middle), and its rms closure error, W/m²; `None` if it could not be tested.
    pub closure: Option<Closure>,
    /// Monthly Linke turbidity fitted from the file.
    pub turbidity: [f64; 12],
    /// Things the user should know, each naming row and reason.
    pub warnings: Vec<String>,
}

/// What a file is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum YearKind {
    /// Months chosen from several years for being average.
    Typical,
    /// One year as it was.
    Real,
}

/// Result of the closure test GHI = DHI + DNI cos Z.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Closure {
    /// Minutes from the hour's end label, -60..=60.
    pub offset_min: f64,
    /// Error at the best offset, W/m².
    pub rms_w_m2: f64,
    /// Error at -30 min, W/m².
    pub rms_at_middle_w_m2: f64,
}

/// One hour's means.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hour {
    /// Global horizontal irradiance, W/m².
    pub ghi_w_m2: f64,
    /// Beam normal irradiance, W/m².
    pub dni_w_m2: f64,
    /// Diffuse horizontal irradiance, W/m².
    pub dhi_w_m2: f64,
    /// Air temperature, °C.
    pub air_c: f64,
    /// Relative humidity, share 0..=1.
    pub humidity: f64,
    /// Wind speed at 10 m, m/s.
    pub wind_m_s: f64,
    /// Sky cover, share 0..=1, if given.
    pub sky_cover: Option<f64>,
    /// Rain, mm in the hour, if given.
    pub rain_mm: Option<f64>,
}

impl TypicalYear {
    /// Annual global horizontal irradiation, kWh/m², over the hours present.
    pub fn ghi_kwh_m2(&self) -> f64 {
        self.hours.iter().flatten().map(|h| h.ghi_w_m2).sum::<f64>() / 1000.0
    }
    /// Whether any hour has a value of rain.
    pub fn has_rain(&self) -> bool {
        self.hours.iter().flatten().any(|h| h.rain_mm.is_some())
    }
    /// Annual beam normal irradiation, kWh/m², over the hours present.
    pub fn dni_kwh_m2(&self) -> f64 {
        self.hours.iter().flatten().map(|h| h.dni_w_m2).sum::<f64>() / 1000.0
    }
}
