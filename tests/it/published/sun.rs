//! The sun's position, rise and set against printed examples.

use crate::check_file::Check;
use crate::computed::sun::{TOLERANCE_DEG, date, seconds};
use stilldays::sky::horizon::{self, RISE_DEG, Way};
use stilldays::sky::sun;

#[test]
fn worked_example_of_the_solar_position_algorithm() {
    // 2003-10-17 12:30:30, seven hours behind UT.
    let t = sun::days_since_j2000(2003, 10, 17, 19.0 + 30.5 / 60.0);
    let s = sun::position(39.742476, -105.1786, t);
    let mut check = Check::open("published/01a_spa_worked_example.csv");
    check.compare(|line| {
        let ours = match line.text("quantity") {
            // e0 is without refraction, as ours is.
            "e0" => 90.0 - s.zenith_rad.to_degrees(),
            "azimuth" => s.azimuth_rad.to_degrees(),
            "delta" => 90.0 - libm::acos(sun::Ephemeris::at(t).sin_declination).to_degrees(),
            "H" => sun::Ephemeris::at(t).hour_angle_deg(-105.1786, t),
            // Steps of an algorithm that is not ours.
            _ => return vec![],
        };
        vec![(line.text("quantity").to_owned(), ours - line.number("value"))]
    });
    check.report(TOLERANCE_DEG, "deg");
    let distance = check.lines().into_iter().find(|l| l.text("quantity") == "R").expect("the distance");
    assert!((s.distance_au - distance.number("value")).abs() < 1e-4, "{} au", s.distance_au);
}

#[test]
fn rise_and_set_at_golden() {
    let mut check = Check::open("published/01c_golden_rise_set.csv");
    check.compare(|line| {
        let (lat, lon) = (line.number("lat"), line.number("lon"));
        let midnight = date(line.text("date_local")) - line.number("utc_offset_h") / 24.0;
        let noon = horizon::noon(lon, midnight + 0.5);
        [("sunrise", Way::Up), ("sunset", Way::Down)]
            .into_iter()
            .filter(|(column, _)| line.text(column) != "left out")
            .map(|(column, way)| {
                let ours = horizon::crossing(lat, lon, noon, RISE_DEG, way).expect("the sun rises and sets");
                let off = (ours - midnight) * 86_400.0 - seconds(line.text(column));
                (format!("{column} on {}", line.text("date_local")), off)
            })
            .collect()
    });
    check.report(15.0, "s");
}
