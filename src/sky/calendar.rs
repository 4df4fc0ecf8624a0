//! The sun and the clear sky of every minute of a 365-day year at one place.

/// A place on Earth and its clock.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// Latitude, ° north, -90..=90.
    pub latitude_deg: f64,
    /// Longitude, ° east, -180..=180.
    pub longitude_deg: f64,
    /// Height above the sea, m, -500..=9000.
    pub elevation_m: f64,
    /// Local standard time minus UTC, h, -12..=14.
    pub utc_offset_h: f64,
}

/// The sun and the clear sky of a year at one place.
#[derive(Clone, Debug)]
pub struct Calendar {
    /// The place.
    pub place: Place,
    /// Monthly Linke turbidity (air mass 2) of the clear sky, fitted from the weather file.
    pub turbidity: [f64; 12],
    /// Local standard hour at which days begin: the whole hour nearest to 02:00 mean solar time,
    /// so that wanted hours may run past midnight in high summer. May be negative or above 23.
    /// Hour slot h (0..24) of day d is hour `24 d + h + day_start_h` of the year (0-based, mod 8760).
    pub day_start_h: i32,
    /// 365 days, 0 = 1 January; 29 February is left out.
    pub days: Vec<CalendarDay>,
}

/// One day; minutes are counted from the start of the day (see [`Calendar::day_start_h`]).
#[derive(Clone, Debug)]
pub struct CalendarDay {
    /// Day of the year, 0..365.
    pub day_of_year: u16,
    /// Month, 0..12.
    pub month: u8,
    /// Centre of the sun at -0.8333° on the way up, min (flat horizon); `None` in polar day or night.
    pub sunrise_min: Option<f64>,
    /// The same on the way down, min.
    pub sunset_min: Option<f64>,
    /// Centre of the sun at -6° on the way down, min.
    pub civil_dusk_min: Option<f64>,
    /// First minute whose middle has the sun's centre above the horizon (0..=1440).
    pub first: usize,
    /// Its minutes with the sun up, in order: `minutes[k]` is minute `first + k`. Contiguous.
    pub minutes: Vec<SunMinute>,
}

/// The middle of one minute with the sun up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SunMinute {
    /// Sun direction, east component.
    pub east: f64,
    /// Sun direction, north component.
    pub north: f64,
    /// Sun direction, upward component: cosine of the zenith angle, > 0.
    pub up: f64,
    /// Zenith angle, rad.
    pub zenith_rad: f64,
    /// Clear-sky beam normal irradiance, W/m².
    pub dni_clear_w_m2: f64,
    /// Clear-sky diffuse horizontal irradiance, W/m².
    pub dhi_clear_w_m2: f64,
    /// Relative air mass over extraterrestrial normal irradiance, m²/W (Perez' Δ = DHI times this).
    pub air_mass_per_i0: f64,
}
