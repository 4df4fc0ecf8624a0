//! Position of the sun, rise, set and dusk.

use crate::check_file::Check;
use stilldays::sky::horizon::{self, CIVIL_DUSK_DEG, RISE_DEG, Way};
use stilldays::sky::sun::{self, Sun};

/// Largest error of the low-precision formula, with a margin for parallax, which it leaves out.
pub const TOLERANCE_DEG: f64 = 0.02;

/// Great-circle distance, °: azimuth means little near the zenith.
fn apart_deg(sun: &Sun, zenith_deg: f64, azimuth_deg: f64) -> f64 {
    let (z, a) = (zenith_deg.to_radians(), azimuth_deg.to_radians());
    let there = [libm::sin(z) * libm::sin(a), libm::sin(z) * libm::cos(a), libm::cos(z)];
    let gap = [sun.east - there[0], sun.north - there[1], sun.up - there[2]];
    let chord = gap.iter().map(|d| d * d).sum::<f64>().sqrt();
    2.0 * libm::asin(0.5 * chord).to_degrees()
}

#[test]
fn positions_on_all_continents() {
    let mut check = Check::open("computed/01b_solar_position_points.csv");
    check.compare(|line| {
        let s = sun::position(line.number("lat"), line.number("lon"), instant(line.text("time_utc")));
        let zenith = line.number("zenith_deg");
        vec![
            (line.text("name").to_owned(), apart_deg(&s, zenith, line.number("azimuth_deg"))),
            (line.text("name").to_owned(), s.zenith_rad.to_degrees() - zenith),
        ]
    });
    check.report(TOLERANCE_DEG, "deg");
}

/// Our errors at points on all continents are within the largest known error of the formula (every half hour of three years
/// at four places, against a full algorithm).
#[test]
fn no_less_precise_than_the_formula_is_known_to_be() {
    let known = Check::open("computed/01d_low_precision_error.csv");
    let bound = known.lines().iter().map(|l| l.number("max_separation_deg")).fold(0.0, f64::max);
    assert!(bound > 0.005 && bound < TOLERANCE_DEG, "{bound} deg");
    let points = Check::open("computed/01b_solar_position_points.csv");
    for line in points.lines() {
        let s = sun::position(line.number("lat"), line.number("lon"), instant(line.text("time_utc")));
        let off = apart_deg(&s, line.number("zenith_deg"), line.number("azimuth_deg"));
        assert!(off <= bound, "{}: {off}° of {bound}°", line.text("name"));
    }
}

#[test]
fn rise_set_and_civil_twilight() {
    let mut check = Check::open("computed/01c_sunrise_sunset_dusk.csv");
    check.compare(|line| {
        let (lat, lon, offset) = (line.number("lat"), line.number("lon"), line.number("utc_offset_h"));
        let midnight = date(line.text("date_local")) - offset / 24.0;
        let noon = horizon::noon(lon, midnight + 0.5);
        let passes = [
            ("civil_dawn", CIVIL_DUSK_DEG, Way::Up),
            ("sunrise", RISE_DEG, Way::Up),
            ("sunset", RISE_DEG, Way::Down),
            ("civil_dusk", CIVIL_DUSK_DEG, Way::Down),
        ];
        let mut errors = Vec::new();
        for (column, elevation, way) in passes {
            let what = format!("{} {column}", line.text("place"));
            let ours = horizon::crossing(lat, lon, noon, elevation, way).map(|t| (t - midnight) * 86_400.0);
            match (line.text(column), ours) {
                ("none", None) => errors.push((what, 0.0)),
                ("none", Some(t)) => panic!("{what}: there is none, got {t} s"),
                (clock, Some(t)) => errors.push((what, t - seconds(clock))),
                (clock, None) => panic!("{what}: {clock} was not found"),
            }
        }
        errors
    });
    check.report(15.0, "s");
}

/// Days since J2000 of `2015-06-21`.
pub fn date(text: &str) -> f64 {
    let mut parts = text.split('-').map(|p| p.parse::<u32>().expect("a date"));
    let mut next = || parts.next().expect("year-month-day");
    let (year, month, day) = (next(), next(), next());
    sun::days_since_j2000(year as i32, month, day, 0.0)
}

/// Seconds of `12:34:56`.
pub fn seconds(text: &str) -> f64 {
    let parts: Vec<f64> = text.split(':').map(|p| p.parse().expect("a clock time")).collect();
    assert_eq!(parts.len(), 3, "{text}");
    parts[0] * 3600.0 + parts[1] * 60.0 + parts[2]
}

/// Days since J2000 of `2015-06-21T19:00:00Z`.
fn instant(text: &str) -> f64 {
    let (day, clock) = text.strip_suffix('Z').and_then(|t| t.split_once('T')).expect("an instant");
    date(day) + seconds(clock) / 86_400.0
}
