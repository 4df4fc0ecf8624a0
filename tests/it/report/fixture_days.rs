//! Made-up days, minute by minute, for tests of pages.

use stilldays::plant::{Cause, DayTrace, TraceMinute};

/// A bright, a typical and a still day.
pub fn traces() -> Vec<DayTrace> {
    vec![trace("bright", 171, 0.95, 0.9), trace("typical", 205, 0.5, 0.55), trace("still", 282, 0.06, 0.12)]
}

fn trace(label: &str, day_of_year: u16, clear: f64, soc_start: f64) -> DayTrace {
    let (rise, set) = (4.0 * 60.0 - 120.0 + 60.0, 20.3 * 60.0 - 120.0);
    let mut soc = soc_start;
    let minutes = (150..1260_u16)
        .map(|minute| {
            let t = f64::from(minute);
            let x = (t - rise) / (set - rise);
            let up = if (0.0..1.0).contains(&x) { libm::sin(std::f64::consts::PI * x) } else { 0.0 };
            let gust = 0.5 + 0.5 * libm::sin(t / 17.0) * libm::sin(t / 5.3);
            let cloud = if clear > 0.9 || gust < clear { 1.0 } else { 0.08 };
            let dni = if clear < 0.1 { 0.0 } else { 850.0 * up.sqrt() * cloud };
            let dhi = 60.0 * up + 180.0 * up * (1.0 - clear);
            let plane = dni * 0.97 + dhi * 0.85;
            let wanted = t > rise + 30.0 && t < set + 120.0;
            soc = (soc + plane * 6.5e-7 - if wanted && soc > 0.1 { 0.00062 } else { 0.00002 } + plane * 5e-7)
                .clamp(0.0, 1.0);
            let on = wanted && soc > 0.12;
            DayTraceMinute { minute, up, dni, dhi, plane, soc, wanted, on }.into()
        })
        .collect();
    DayTrace {
        label: label.to_owned(),
        day_of_year,
        trial: 41,
        sunrise_min: Some(rise),
        sunset_min: Some(set),
        day_start_h: 2,
        on_panel: None,
        rain_mm: 0.0,
        usable_l: 40.0,
        minutes,
    }
}

struct DayTraceMinute {
    minute: u16,
    up: f64,
    dni: f64,
    dhi: f64,
    plane: f64,
    soc: f64,
    wanted: bool,
    on: bool,
}

impl From<DayTraceMinute> for TraceMinute {
    fn from(m: DayTraceMinute) -> Self {
        let azimuth = 60.0 + f64::from(m.minute) * 0.2;
        TraceMinute {
            minute: m.minute,
            sun_elevation_deg: (m.up > 0.0).then_some(58.0 * m.up),
            sun_azimuth_deg: (m.up > 0.0).then_some(azimuth),
            dni_w_m2: m.dni,
            dhi_w_m2: m.dhi,
            aim_tilt_deg: 90.0 - 55.0 * m.up,
            aim_azimuth_deg: (azimuth / 8.0).floor() * 8.0,
            off_aim_deg: Some(4.0 + azimuth % 8.0),
            hunts: false,
            plane_w_m2: m.plane,
            panel_v: 7.2,
            panel_a: m.plane * 0.0012,
            battery_v: Some(6.0 + 0.6 * m.soc),
            soc: Some(m.soc),
            pump_v: if m.on { 6.0 } else { 0.0 },
            duty: if m.on { 1.0 } else { 0.0 },
            jet_m: if m.on { 0.34 + 0.04 * m.soc } else { 0.0 },
            wanted: m.wanted,
            counted: m.on,
            cause: (m.wanted && !m.on).then_some(if m.plane < 20.0 {
                Cause::TooLittleSun
            } else {
                Cause::BatteryFlat
            }),
            air_c: 14.0 + 6.0 * m.up,
            wind_m_s: 2.0,
            battery_c: Some(13.0 + 5.0 * m.up),
            frost_lock: Some(false),
            rule: None,
            water_c: None,
            ice_m: None,
            water_l: 30.0,
        }
    }
}
