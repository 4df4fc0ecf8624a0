//! Weather files: real ones, our own format, and everything that can be wrong with one.

use std::path::{Path, PathBuf};
use stilldays::sky::Place;
use stilldays::weather::{Hour, TypicalYear, load_from_bytes, plain};

/// A year in which every hour differs, at a place where the sun stands as the clock says.
fn made_up() -> TypicalYear {
    let hours = (0..8760)
        .map(|slot| {
            let sun = (0.5 - ((slot % 24) as f64 - 11.5).abs() / 12.0).max(0.0);
            Some(Hour {
                ghi_w_m2: 1000.0 * sun + sun * (slot / 24) as f64 / 7.0,
                dni_w_m2: 900.0 * sun,
                dhi_w_m2: 100.0 * sun / 3.0,
                air_c: (slot % 97) as f64 / 3.0,
                humidity: (slot % 11) as f64 / 10.0,
                wind_m_s: (slot % 13) as f64 / 3.0,
                sky_cover: (slot % 3 > 0).then_some(0.7),
                rain_mm: None,
            })
        })
        .collect();
    TypicalYear {
        path: PathBuf::from("made-up.csv"),
        sha256: String::new(),
        format: "plain CSV",
        origin: "made up for a test".into(),
        invented: true,
        place: Place { latitude_deg: 5.0, longitude_deg: 0.25, elevation_m: 12.0, utc_offset_h: 0.0 },
        hours,
        closure: None,
        turbidity: [3.0; 12],
        warnings: Vec::new(),
    }
}

#[test]
fn plain_csv_round_trips_to_the_last_bit() {
    let year = made_up();
    let text = plain::write(&year);
    let again = load_from_bytes(Path::new("made-up.csv"), &text).unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(again.place, year.place);
    assert_eq!((again.origin.as_str(), again.invented), ("made up for a test", true));
    assert_eq!(again.hours, year.hours);
    assert_eq!(plain::write(&again), text);
}
