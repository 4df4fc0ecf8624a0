//! An invented year for tests inside the library: days of all kinds, nothing measured.

use super::days::clear_day::ClearDay;
use super::file::year::{Hour, TypicalYear, YearKind};
use crate::seed::{Purpose, stream};
use crate::sky::{Calendar, Place};
use rand::RngExt;
use std::sync::Arc;

/// A mid-latitude place.
pub(crate) fn place() -> Place {
    Place { latitude_deg: 47.0, longitude_deg: 15.4, elevation_m: 350.0, utc_offset_h: 1.0 }
}

/// Its calendar.
pub(crate) fn calendar() -> Arc<Calendar> {
    Arc::new(Calendar::new(place(), [3.5; 12]))
}

/// A year of hours under that calendar: each day a cloudiness, each hour a little of its own.
pub fn year(calendar: &Calendar, seed: u64) -> TypicalYear {
    let mut rng = stream(seed, Purpose::Invent, 0, 0);
    let mut hours = vec![None; 8760];
    let clear_days: Vec<ClearDay> = calendar.days.iter().map(ClearDay::new).collect();
    let mut mood: f64 = 0.5;
    for day in 0..365 {
        mood = (0.3 * mood + 0.7 * rng.random::<f64>()).clamp(0.0, 1.0);
        for slot in 0..24 {
            let clear = &clear_days[day];
            let sky = (1.5 * mood - 0.3 + 0.3 * (rng.random::<f64>() - 0.5)).clamp(0.0, 1.05);
            let dni = sky * clear.dni_w_m2[slot];
            let dhi = (1.0 + 1.5 * (1.0 - sky) * (sky + 0.2)) * clear.dhi_w_m2[slot];
            let cosine = if clear.dni_w_m2[slot] > 0.0 {
                clear.beam_horizontal_w_m2[slot] / clear.dni_w_m2[slot]
            } else {
                0.0
            };
            hours[calendar.hour_index(day, slot)] = Some(Hour {
                ghi_w_m2: dni * cosine + dhi,
                dni_w_m2: dni,
                dhi_w_m2: dhi,
                air_c: 10.0 + 8.0 * mood + 3.0 * rng.random::<f64>(),
                humidity: 0.7,
                wind_m_s: 1.0 + 4.0 * rng.random::<f64>(),
                sky_cover: None,
                rain_mm: Some(if mood < 0.2 { 0.5 } else { 0.0 }),
            });
        }
    }
    TypicalYear {
        path: "invented".into(),
        sha256: String::new(),
        format: "invented for a test",
        origin: "invented".into(),
        invented: true,
        kind: YearKind::Typical,
        place: calendar.place,
        hours,
        closure: None,
        turbidity: calendar.turbidity,
        warnings: Vec::new(),
    }
}
