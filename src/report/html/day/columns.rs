//! The minutes of a day as numbers for the page's script.

use crate::plant::{Cause, DayTrace, TraceMinute};
use serde_json::{Value, json};

/// What the page shows of a minute: key, steps per unit, and value.
struct Column {
    key: &'static str,
    /// Values are kept to the nearest 1/`steps` of their unit.
    steps: f64,
    value: fn(&TraceMinute) -> Option<f64>,
}

/// Units as in the CSV of minutes, whose columns these are; `state` is [`state`].
const COLUMNS: [Column; 18] = [
    Column { key: "sun_elevation_deg", steps: 10.0, value: |m| m.sun_elevation_deg },
    Column { key: "sun_azimuth_deg", steps: 10.0, value: |m| m.sun_azimuth_deg },
    Column { key: "dni_w_m2", steps: 1.0, value: |m| Some(m.dni_w_m2) },
    Column { key: "dhi_w_m2", steps: 1.0, value: |m| Some(m.dhi_w_m2) },
    Column { key: "plane_w_m2", steps: 1.0, value: |m| Some(m.plane_w_m2) },
    Column { key: "aim_tilt_deg", steps: 10.0, value: |m| Some(m.aim_tilt_deg) },
    Column { key: "aim_azimuth_deg", steps: 10.0, value: |m| Some(m.aim_azimuth_deg.rem_euclid(360.0)) },
    Column { key: "panel_v", steps: 100.0, value: |m| Some(m.panel_v) },
    Column { key: "panel_a", steps: 1000.0, value: |m| Some(m.panel_a) },
    Column { key: "battery_v", steps: 100.0, value: |m| m.battery_v },
    Column { key: "state_of_charge", steps: 1000.0, value: |m| m.soc },
    Column { key: "pump_v", steps: 100.0, value: |m| Some(m.pump_v) },
    Column { key: "duty", steps: 100.0, value: |m| Some(m.duty) },
    Column { key: "jet_m", steps: 1000.0, value: |m| Some(m.jet_m) },
    Column { key: "water_l", steps: 100.0, value: |m| Some(m.water_l) },
    Column { key: "wind_m_s", steps: 10.0, value: |m| Some(m.wind_m_s) },
    Column { key: "air_c", steps: 10.0, value: |m| Some(m.air_c) },
    Column { key: "state", steps: 1.0, value: |m| Some(f64::from(state(m))) },
];

/// What a minute comes to: 0 nothing wanted, 1 a jet that counts, 2 a jet that counts where none is wanted; from 3 on wanted
/// without a jet that counts, by cause.
fn state(m: &TraceMinute) -> u8 {
    match (m.wanted, m.counted, m.cause) {
        (true, false, Some(cause)) => 3 + Cause::ALL.iter().position(|c| *c == cause).map_or(0, |k| k as u8),
        (true, _, _) => 1,
        (false, true, _) => 2,
        (false, false, _) => 0,
    }
}

/// The columns of these minutes by key: steps per unit and [`differences`].
pub(super) fn columns(t: &DayTrace, minutes: &[TraceMinute]) -> Value {
    let packed = COLUMNS.iter().map(|c| {
        let whole = minutes
            .iter()
            .map(|m| (c.value)(m).filter(|v| v.is_finite()).map(|v| (v * c.steps).round() as i64));
        (c.key.to_owned(), json!([c.steps, differences(whole)]))
    });
    json!({
        "first": minutes.first().map_or(0, |m| m.minute),
        "count": minutes.len(),
        "start_h": t.day_start_h,
        "sunrise": t.sunrise_min,
        "sunset": t.sunset_min,
        "usable_l": t.usable_l,
        "columns": packed.collect::<serde_json::Map<String, Value>>(),
    })
}

/// Differences between neighbours as words between blanks; `n` where there is no value, `3*20` for twenty threes.
fn differences(values: impl Iterator<Item = Option<i64>>) -> String {
    let mut runs: Vec<(Option<i64>, usize)> = Vec::new();
    let mut last = 0;
    for value in values {
        let word = value.map(|v| v - std::mem::replace(&mut last, v));
        match runs.last_mut() {
            Some((before, n)) if *before == word => *n += 1,
            _ => runs.push((word, 1)),
        }
    }
    let word = |(difference, n): (Option<i64>, usize)| {
        let text = difference.map_or("n".to_owned(), |d| d.to_string());
        if n > 1 { format!("{text}*{n}") } else { text }
    };
    runs.into_iter().map(word).collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(packed: &str) -> Vec<Option<i64>> {
        let mut last = 0;
        let one = |word: &str| {
            let (text, n) = word.split_once('*').unwrap_or((word, "1"));
            let difference: Option<i64> = text.parse().ok();
            (difference, n.parse::<usize>().unwrap())
        };
        let words = packed.split_whitespace().map(one).flat_map(|(d, n)| std::iter::repeat_n(d, n));
        words
            .map(|d| {
                d.map(|d| {
                    last += d;
                    last
                })
            })
            .collect()
    }

    #[test]
    fn packed_values_read_back() {
        arbtest::arbtest(|u| {
            let values: Vec<Option<i8>> = u.arbitrary()?;
            let values: Vec<Option<i64>> = values.into_iter().map(|v| v.map(|v| i64::from(v) / 40)).collect();
            assert_eq!(read(&differences(values.iter().copied())), values);
            Ok(())
        });
        assert_eq!(differences([Some(5), Some(5), Some(5), None, None, Some(4)].into_iter()), "5 0*2 n*2 -1");
    }
}
