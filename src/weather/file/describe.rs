//! A weather file in numbers, for the `weather` command.

use super::closure::MIDDLE_MIN;
use super::slots::stretches;
use super::turbidity;
use super::year::{Hour, TypicalYear, YearKind};
use super::year_sun::{YearSun, i0_w_m2};
use crate::sky::calendar::DAYS;
use crate::units::dates::MONTH_STARTS;
use serde::Serialize;

/// Daily clearness index below which a day is dull.
pub const DULL_BELOW: f64 = 0.25;

/// A file in numbers; those that cannot be computed are `None`.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Description {
    /// File as given.
    pub path: String,
    /// SHA-256 of its bytes.
    pub sha256: String,
    /// Format it was recognised as.
    pub format: String,
    /// What it says of its origin.
    pub origin: String,
    /// Whether it says that nobody measured it.
    pub invented: bool,
    /// Months from several years, or one year as it was.
    pub kind: YearKind,
    /// Latitude, ° north.
    pub latitude_deg: f64,
    /// Longitude, ° east.
    pub longitude_deg: f64,
    /// Height above the sea, m.
    pub elevation_m: f64,
    /// Local standard time minus UTC, h.
    pub utc_offset_h: f64,
    /// Hours that can be used, of 8760.
    pub usable_hours: usize,
    /// Days of which all hours can be used, of 365.
    pub whole_days: usize,
    /// Stretches without usable hours, first and last: "3 March 04:00 to 5 March 24:00".
    pub missing: Vec<String>,
    /// Global horizontal irradiation of the hours present, kWh/m².
    pub ghi_kwh_m2: f64,
    /// Beam normal irradiation, kWh/m².
    pub dni_kwh_m2: f64,
    /// Diffuse horizontal irradiation, kWh/m².
    pub dhi_kwh_m2: f64,
    /// Mean, lowest and highest air temperature, °C.
    pub air_c: Option<[f64; 3]>,
    /// Mean wind speed, m/s.
    pub wind_m_s: Option<f64>,
    /// Rain of the year, mm.
    pub rain_mm: Option<f64>,
    /// Hours with a value of rain.
    pub rain_hours: usize,
    /// Hours with a value of sky cover.
    pub sky_cover_hours: usize,
    /// Closure test.
    pub closure: Option<ClosureNumbers>,
    /// Linke turbidity of each month.
    pub turbidity: [f64; 12],
    /// 95th percentile of GHI over clear-sky GHI with the sun above 12°; near 1 if the clear sky fits.
    pub clear_ratio_p95: Option<f64>,
    /// Share of whole days with daily clearness below [`DULL_BELOW`].
    pub dull_days: Option<f64>,
    /// Longest run of such days.
    pub longest_dull_run: usize,
    /// January to December.
    pub months: Vec<MonthNumbers>,
    /// What the user should know.
    pub warnings: Vec<String>,
}

/// The closure test GHI = DHI + DNI cos Z.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ClosureNumbers {
    /// Best instant, min from the end of the hour.
    pub offset_min: f64,
    /// Error there, W/m².
    pub rms_w_m2: f64,
    /// Error at the middle of the hour, W/m².
    pub rms_at_middle_w_m2: f64,
}

/// One month.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct MonthNumbers {
    /// 1..=12.
    pub month: usize,
    /// Whole days.
    pub days: usize,
    /// Mean daily GHI of whole days, kWh/m².
    pub ghi_kwh_m2_day: Option<f64>,
    /// Mean daily DNI, kWh/m².
    pub dni_kwh_m2_day: Option<f64>,
    /// GHI over extraterrestrial horizontal irradiation.
    pub clearness: Option<f64>,
    /// Mean air temperature, °C.
    pub air_c: Option<f64>,
}

/// One whole day.
struct WholeDay {
    ghi_wh_m2: f64,
    dni_wh_m2: f64,
    extraterrestrial_wh_m2: f64,
    air_c: f64,
}

/// Describes a year.
pub fn describe(year: &TypicalYear) -> Description {
    let sun = YearSun::new(&year.place);
    let days: Vec<Option<WholeDay>> = (0..DAYS).map(|day| whole_day(year, &sun, day)).collect();
    let all: Vec<&Hour> = year.hours.iter().flatten().collect();
    let mean = |f: fn(&Hour) -> f64| {
        (!all.is_empty()).then(|| all.iter().map(|h| f(h)).sum::<f64>() / all.len() as f64)
    };
    let rain: Vec<f64> = all.iter().filter_map(|h| h.rain_mm).collect();
    let air = mean(|h| h.air_c).map(|mean_c| {
        let lowest = all.iter().map(|h| h.air_c).fold(f64::INFINITY, f64::min);
        let highest = all.iter().map(|h| h.air_c).fold(f64::NEG_INFINITY, f64::max);
        [mean_c, lowest, highest]
    });
    let offset_min = year.closure.map_or(MIDDLE_MIN, |c| c.offset_min);
    let (dull_days, longest_dull_run) = dull(&days);
    Description {
        path: year.path.display().to_string(),
        sha256: year.sha256.clone(),
        format: year.format.to_owned(),
        origin: year.origin.clone(),
        kind: year.kind,
        invented: year.invented,
        latitude_deg: year.place.latitude_deg,
        longitude_deg: year.place.longitude_deg,
        elevation_m: year.place.elevation_m,
        utc_offset_h: year.place.utc_offset_h,
        usable_hours: all.len(),
        whole_days: days.iter().flatten().count(),
        missing: stretches(&year.hours),
        ghi_kwh_m2: year.ghi_kwh_m2(),
        dni_kwh_m2: year.dni_kwh_m2(),
        dhi_kwh_m2: all.iter().map(|h| h.dhi_w_m2).sum::<f64>() / 1000.0,
        air_c: air,
        wind_m_s: mean(|h| h.wind_m_s),
        rain_mm: (!rain.is_empty()).then(|| rain.iter().sum()),
        rain_hours: rain.len(),
        sky_cover_hours: all.iter().filter(|h| h.sky_cover.is_some()).count(),
        closure: year.closure.map(|c| ClosureNumbers {
            offset_min: c.offset_min,
            rms_w_m2: c.rms_w_m2,
            rms_at_middle_w_m2: c.rms_at_middle_w_m2,
        }),
        turbidity: year.turbidity,
        clear_ratio_p95: turbidity::clear_ratio_p95(
            &year.hours,
            &sun,
            year.place.elevation_m,
            offset_min,
            &year.turbidity,
        ),
        dull_days,
        longest_dull_run,
        months: (0..12).map(|month| month_numbers(&days, month)).collect(),
        warnings: year.warnings.clone(),
    }
}

/// `None` if an hour is missing.
fn whole_day(year: &TypicalYear, sun: &YearSun, day: usize) -> Option<WholeDay> {
    let mut sums = WholeDay { ghi_wh_m2: 0.0, dni_wh_m2: 0.0, extraterrestrial_wh_m2: 0.0, air_c: 0.0 };
    for slot in 24 * day..24 * (day + 1) {
        let hour = year.hours.get(slot).copied().flatten()?;
        sums.ghi_wh_m2 += hour.ghi_w_m2;
        sums.dni_wh_m2 += hour.dni_w_m2;
        sums.air_c += hour.air_c / 24.0;
        // Twelve instants an hour: 0.1 % of a day's sum.
        let ups = (0..12).map(|k| sun.up(slot, -57.5 + 5.0 * f64::from(k)).max(0.0));
        sums.extraterrestrial_wh_m2 += i0_w_m2(slot) * ups.sum::<f64>() / 12.0;
    }
    Some(sums)
}

impl WholeDay {
    /// `None` in the polar night.
    fn clearness(&self) -> Option<f64> {
        (self.extraterrestrial_wh_m2 > 100.0).then(|| self.ghi_wh_m2 / self.extraterrestrial_wh_m2)
    }
}

/// Share of dull days and their longest run; a missing day ends a run.
fn dull(days: &[Option<WholeDay>]) -> (Option<f64>, usize) {
    let (mut dull, mut known, mut run, mut longest) = (0, 0, 0, 0);
    for clearness in days.iter().map(|day| day.as_ref().and_then(WholeDay::clearness)) {
        let is_dull = clearness.is_some_and(|k| k < DULL_BELOW);
        known += usize::from(clearness.is_some());
        dull += usize::from(is_dull);
        run = if is_dull { run + 1 } else { 0 };
        longest = longest.max(run);
    }
    ((known > 0).then(|| dull as f64 / known as f64), longest)
}

fn month_numbers(days: &[Option<WholeDay>], month: usize) -> MonthNumbers {
    let range = usize::from(MONTH_STARTS[month])..usize::from(MONTH_STARTS[month + 1]);
    let days: Vec<&WholeDay> = days[range].iter().flatten().collect();
    let n = days.len() as f64;
    let mean = |f: fn(&WholeDay) -> f64| (n > 0.0).then(|| days.iter().map(|d| f(d)).sum::<f64>() / n);
    let ghi = mean(|d| d.ghi_wh_m2);
    let outside = mean(|d| d.extraterrestrial_wh_m2).filter(|wh| *wh > 100.0);
    MonthNumbers {
        month: month + 1,
        days: days.len(),
        ghi_kwh_m2_day: ghi.map(|wh| wh / 1000.0),
        dni_kwh_m2_day: mean(|d| d.dni_wh_m2 / 1000.0),
        clearness: ghi.zip(outside).map(|(g, o)| g / o),
        air_c: mean(|d| d.air_c),
    }
}
