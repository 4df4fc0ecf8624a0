//! What a mount gains over a year, from two typical years.

use crate::check_file::{Check, relative};
use crate::weather_files::load_real;
use stilldays::design::Head;
use stilldays::sky::{HeadOptics, OpenSky, SunTerms, balance, clear, on_plane, sun};
use stilldays::weather::TypicalYear;

/// Sine of the lowest elevation that counts: 1.15°. The sums of the file leave out lower sun. Its head does not give the
/// limit; of those tried, this one reproduces the horizontal sums of both typical years.
const LOWEST_UP: f64 = 0.02;

/// Sums over a year and by month, kWh/m²: horizontal, fixed, sun-pointing, tilted cells, back-to-back.
fn irradiation(year: &TypicalYear, fixed_tilt_deg: f64) -> [(f64, [f64; 12]); 5] {
    let open = OpenSky::default();
    let optics = HeadOptics { shadow_tan: 0.3, glow_seen: 1.0 };
    let (sin_t, cos_t) = libm::sincos(fixed_tilt_deg.to_radians());
    let mut sums = [(0.0, [0.0; 12]); 5];
    for (slot, hour) in year.hours.iter().enumerate() {
        let Some(hour) = hour else { continue };
        let day = slot / 24;
        // The year is 2001, as in the test of the closure; hours stand for their middles.
        let t = sun::days_since_j2000(2001, 1, 1, slot as f64 + 0.5 - year.place.utc_offset_h);
        let s = sun::position(year.place.latitude_deg, year.place.longitude_deg, t);
        if s.up <= LOWEST_UP {
            continue;
        }
        let i0 = clear::extraterrestrial_w_m2(day as u32 + 1);
        let air_mass = clear::AirMass::new(s.up, 0.0).relative;
        let terms = SunTerms::new([s.east, s.north, s.up], s.zenith_rad, air_mass / i0);
        let sky = terms.sky(hour.dni_w_m2, hour.dhi_w_m2);
        let seek = |head| balance(head, &optics, &sky, &terms, 0.2, &open).direction;
        let normals = [
            [0.0, -sin_t, cos_t],
            terms.sun,
            reachable(seek(Head::Tilted)),
            reachable(seek(Head::BackToBack)),
        ];
        let on = |n| on_plane(&sky, terms.sun, n, 0.0, 0.2, &open).total_w_m2();
        let light = [sky.global_w_m2, on(normals[0]), on(normals[1]), on(normals[2]), on(normals[3])];
        let month = stilldays::sky::calendar::month_of(day);
        for (sum, light) in sums.iter_mut().zip(light) {
            sum.0 += light / 1000.0;
            sum.1[month] += light / 1000.0;
        }
    }
    sums
}

/// A mount does not look below the horizon.
fn reachable(n: [f64; 3]) -> [f64; 3] {
    if n[2] >= 0.0 {
        return n;
    }
    let flat = (n[0] * n[0] + n[1] * n[1]).sqrt();
    [n[0] / flat, n[1] / flat, 0.0]
}

#[test]
fn irradiation_of_mounts() {
    let mut check = Check::open("computed/05g_tracking_gain.csv").part("years and worst months");
    check.compare(|line| {
        let file = match line.text("file") {
            "723170TYA.CSV" => "greensboro-nc.tmy3.csv.gz",
            "703165TY.csv" => "sand-point-ak.tmy3.csv.gz",
            // Files which may not be passed on.
            _ => return vec![],
        };
        let sums = irradiation(&load_real(file), line.number("opt_fixed_tilt"));
        let mounts = ["horizontal", "fixed_opt", "sun", "seek_half", "seek_vec"];
        let mut errors = Vec::new();
        for (mount, (year, months)) in mounts.iter().zip(sums) {
            let worst = months.into_iter().fold(f64::INFINITY, f64::min);
            let at = |what: &str| format!("{what} of {mount}, {file}");
            errors.push((at("year"), relative(year, line.number(&format!("yr_{mount}")))));
            errors.push((at("worst month"), relative(worst, line.number(&format!("wm_{mount}")))));
        }
        let gain = sums[3].0 / sums[2].0 - 1.0;
        errors.push((format!("gain, {file}"), gain - line.number("gain_seekhalf_vs_sun")));
        errors
    });
    check.report(0.005, "of the value");
}
