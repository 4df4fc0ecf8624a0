//! One day of one trial, minute by minute.

use super::cells::{Origin, Rows, head, number_cell};
use crate::plant::DayTrace;
use crate::report::words::clock;

/// The columns of every day.
const COLUMNS: [&str; 30] = [
    "minute_of_day",
    "clock",
    "sun_elevation_deg",
    "sun_azimuth_deg",
    "dni_w_m2",
    "dhi_w_m2",
    "aim_tilt_deg",
    "aim_azimuth_deg",
    "off_aim_deg",
    "hunts",
    "plane_w_m2",
    "panel_v",
    "panel_a",
    "battery_v",
    "state_of_charge",
    "pump_v",
    "duty",
    "jet_m",
    "wanted",
    "jet_counts",
    "cause",
    "air_c",
    "wind_m_s",
    "battery_c",
    "frost_lock",
    "water_l",
    "rain_of_day_mm",
    "rule",
    "water_c",
    "ice_m",
];

/// Minute by minute, one row a minute; what the build or the hour does not have is empty.
pub fn day(trace: &DayTrace, origin: &Origin<'_>) -> Vec<u8> {
    let mut out = Rows::with_comment(head(origin));
    let mut header = COLUMNS.to_vec();
    // What lies on the panel has columns only where something does.
    if trace.on_panel.is_some() {
        header.extend(["panel_dirt_share", "covered_cells", "covered_share"]);
    }
    out.row(header);
    for m in &trace.minutes {
        let flag = |b: bool| if b { "1" } else { "0" }.to_owned();
        let mut row = vec![
            m.minute.to_string(),
            clock(trace, f64::from(m.minute)),
            number_cell(m.sun_elevation_deg),
            number_cell(m.sun_azimuth_deg),
            number_cell(Some(m.dni_w_m2)),
            number_cell(Some(m.dhi_w_m2)),
            number_cell(Some(m.aim_tilt_deg)),
            number_cell(Some(m.aim_azimuth_deg)),
            number_cell(m.off_aim_deg),
            m.off_aim_deg.map(|_| flag(m.hunts)).unwrap_or_default(),
            number_cell(Some(m.plane_w_m2)),
            number_cell(Some(m.panel_v)),
            number_cell(Some(m.panel_a)),
            number_cell(m.battery_v),
            number_cell(m.soc),
            number_cell(Some(m.pump_v)),
            number_cell(Some(m.duty)),
            number_cell(Some(m.jet_m)),
            flag(m.wanted),
            flag(m.counted),
            m.cause.map(|c| c.key().to_owned()).unwrap_or_default(),
            number_cell(Some(m.air_c)),
            number_cell(Some(m.wind_m_s)),
            number_cell(m.battery_c),
            m.frost_lock.map(flag).unwrap_or_default(),
            number_cell(Some(m.water_l)),
            number_cell(Some(trace.rain_mm)),
            m.rule.map(|r| r.key().to_owned()).unwrap_or_default(),
            number_cell(m.water_c),
            number_cell(m.ice_m),
        ];
        if let Some(lies) = trace.on_panel {
            let more = [lies.dirt_share, lies.covered_cells, lies.covered_share];
            row.extend(more.map(|value| number_cell(Some(value))));
        }
        out.row(row);
    }
    out.bytes()
}
