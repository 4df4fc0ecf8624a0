//! Light on a plane, and what its cover loses.

use crate::check_file::{Check, Line, relative};
use stilldays::sky::clear::{self, kasten_young};
use stilldays::sky::plane::COEFFICIENTS;
use stilldays::sky::{OpenSky, Sky, SunTerms, incidence, on_plane};

/// The sun of a line by zenith angle and azimuth, and its sky.
fn sky_of(line: Line<'_>) -> (SunTerms, Sky<f64>) {
    let z = line.number("zenith");
    let i0 = clear::extraterrestrial_w_m2(line.number("doy") as u32);
    let terms = SunTerms::new(direction(z, line.number("azimuth")), z.to_radians(), kasten_young(z) / i0);
    (terms, terms.sky(line.number("dni"), line.number("dhi")))
}

fn direction(from_zenith_deg: f64, azimuth_deg: f64) -> [f64; 3] {
    let (sin_z, cos_z) = libm::sincos(from_zenith_deg.to_radians());
    let (sin_a, cos_a) = libm::sincos(azimuth_deg.to_radians());
    [sin_z * sin_a, sin_z * cos_a, cos_z]
}

#[test]
fn perez_coefficients() {
    let mut check = Check::open("published/04a_perez1990_coefficients.csv");
    check.compare(|line| {
        let ours = COEFFICIENTS[line.number("bin") as usize - 1];
        let columns = ["F11", "F12", "F13", "F21", "F22", "F23"];
        columns.iter().zip(ours).map(|(c, f)| (c.to_string(), f - line.number(c))).collect()
    });
    check.report(0.0);
}

#[test]
fn perez_components_and_totals() {
    let mut check = Check::open("computed/04b_transposition_cases.csv");
    check.compare(|line| {
        let (terms, sky) = sky_of(line);
        let (tilt, albedo) = (line.number("tilt"), line.number("albedo"));
        let normal = direction(tilt, line.number("surf_az"));
        let light = on_plane(&sky, terms.sun, normal, 0.0, albedo, &OpenSky::default());
        let case = line.text("case");
        if line.number("zenith") >= 90.0 {
            // The published value drops the diffuse light there; its header asks for an even dome.
            let error = light.sky_w_m2 - line.number("isotropic_sky");
            return vec![
                (case.to_owned(), error),
                (case.to_owned(), light.ground_w_m2 - line.number("ground")),
            ];
        }
        let (view, sin_tilt) = (0.5 * (1.0 + libm::cos(tilt.to_radians())), libm::sin(tilt.to_radians()));
        let beam = line.number("beam");
        let floor = |w: f64| if w.abs() < 1e-12 { 0.0 } else { w };
        [
            ("iso", sky.dome_w_m2 * view, line.number("perez_iso")),
            ("horizon", sky.horizon_w_m2 * sin_tilt, line.number("perez_horizon")),
            ("circumsolar", light.beam_w_m2 - beam, line.number("perez_circ")),
            ("sky", light.sky_w_m2 + light.beam_w_m2 - beam, line.number("perez_sky")),
            ("ground", light.ground_w_m2, line.number("ground")),
            ("total", light.total_w_m2(), line.number("total_perez")),
        ]
        .map(|(what, ours, published)| (format!("{what}, {case}"), floor(ours - published)))
        .into()
    });
    // W/m²; the published values have at least nine digits.
    check.report(1e-6);
}

#[test]
fn incidence_loss_of_the_beam() {
    let mut check = Check::open("computed/06b_iam.csv");
    check.compare(|line| {
        let angle = line.number("aoi_deg").to_radians();
        let cos = libm::cos(angle);
        [
            ("b0 0.05", incidence::ashrae(cos, 0.05), line.number("ashrae_b0_0.05")),
            ("b0 0.10", incidence::ashrae(cos, 0.10), line.number("ashrae_b0_0.10")),
            ("b0 0.05 working form", incidence::beam_share(cos, 0.05) / cos, line.number("ashrae_b0_0.05")),
            ("glass", incidence::glass(angle), line.number("physical_glass")),
        ]
        .map(|(what, ours, published)| (format!("{what} at {angle}"), ours - published))
        .into()
    });
    check.report(1e-10);
}

/// Brandemuehl's effective angles stand in for the integral over sky and ground: within 2.5 % of the
/// light where the ground is seen at all.
#[test]
fn incidence_loss_of_sky_and_ground() {
    let mut check = Check::open("computed/06c_iam_diffuse.csv");
    check.compare(|line| {
        let tilt = line.number("tilt");
        let glass = |angle_deg: f64| incidence::glass(angle_deg.to_radians());
        let mut errors = vec![(
            format!("sky at {tilt}"),
            relative(glass(incidence::sky_angle_deg(tilt)), line.number("marion_sky")),
        )];
        if tilt > 0.0 {
            let ours = glass(incidence::ground_angle_deg(tilt));
            errors.push((format!("ground at {tilt}"), relative(ours, line.number("marion_ground"))));
        }
        errors
    });
    check.report(0.025);
}

#[test]
fn a_dark_sky_and_one_without_diffuse_light_give_numbers() {
    let terms = SunTerms::new(direction(40.0, 180.0), 40_f64.to_radians(), 1.3 / 1366.0);
    for (dni, dhi) in [(0.0, 0.0), (500.0, 0.0), (0.0, 50.0)] {
        let sky = terms.sky(dni, dhi);
        let light = on_plane(&sky, terms.sun, direction(30.0, 180.0), 0.05, 0.2, &OpenSky::default());
        assert!(light.total_w_m2().is_finite() && light.total_w_m2() >= 0.0);
        assert!(dhi > 0.0 || (sky.beam_w_m2 == dni && light.sky_w_m2 == 0.0));
    }
}
