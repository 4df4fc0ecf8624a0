//! Irradiance on a plane, and the loss in its cover.

use crate::check_file::{Check, Line, relative};
use stilldays::sky::clear;
use stilldays::sky::{OpenSky, Sky, SunTerms, incidence, on_plane};

/// The sun of a line by zenith angle and azimuth, and its sky.
fn sky_of(line: Line<'_>) -> (SunTerms, Sky<f64>) {
    let z = line.number("zenith");
    let i0 = clear::extraterrestrial_w_m2(line.number("doy") as u32);
    // None below the horizon, where the light is even.
    let air_mass = line.number("airmass_rel").max(0.0);
    let terms = SunTerms::new(direction(z, line.number("azimuth")), z.to_radians(), air_mass / i0);
    (terms, terms.sky(line.number("dni"), line.number("dhi")))
}

fn direction(from_zenith_deg: f64, azimuth_deg: f64) -> [f64; 3] {
    let (sin_z, cos_z) = libm::sincos(from_zenith_deg.to_radians());
    let (sin_a, cos_a) = libm::sincos(azimuth_deg.to_radians());
    [sin_z * sin_a, sin_z * cos_a, cos_z]
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
            // The value drops the diffuse light there; its header asks for an even dome.
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
        .map(|(what, ours, theirs)| (format!("{what}, {case}"), floor(ours - theirs)))
        .into()
    });
    // Every bin of the table of coefficients is met.
    let bins: Vec<usize> = [1.0, 1.065, 1.23, 1.5, 1.95, 2.8, 4.5, 6.2, f64::INFINITY]
        .windows(2)
        .map(|w| check.lines().iter().filter(|l| (w[0]..w[1]).contains(&l.number("epsilon"))).count())
        .collect();
    assert!(bins.iter().all(|&n| n > 0), "{bins:?}");
    check.report(1e-6, "W/m2");
}

#[test]
fn incidence_loss_of_the_beam() {
    let mut check = Check::open("computed/06b_iam.csv").part("ASHRAE");
    check.compare(|line| {
        let cos = libm::cos(line.number("aoi_deg").to_radians());
        let share = |b0| incidence::beam_share(cos, b0) / cos;
        [("b0 0.05", 0.05, "ashrae_b0_0.05"), ("b0 0.10", 0.10, "ashrae_b0_0.10")]
            .map(|(what, b0, column)| {
                (format!("{what} at {} deg", line.text("aoi_deg")), share(b0) - line.number(column))
            })
            .into()
    });
    check.report(1e-10, "of the beam");
    // What b0 = 0.05 stands for: a sheet of glass, up to 70° from straight.
    let mut glass = Check::open("computed/06b_iam.csv").part("b0 0.05 for glass");
    glass.compare(|line| {
        let angle = line.number("aoi_deg");
        if angle > 70.0 {
            return vec![];
        }
        let cos = libm::cos(angle.to_radians());
        let ours = incidence::beam_share(cos, 0.05) / cos;
        vec![(format!("at {angle} deg"), ours - line.number("physical_glass"))]
    });
    glass.report(0.05, "of the beam");
}

/// The program's fits for light of the sky and the ground stand in for the integral over all directions: with b0 = 0.05,
/// within 4 % of the light through glass, where the ground is seen at all.
#[test]
fn incidence_loss_of_sky_and_ground() {
    let mut check = Check::open("computed/06c_iam_diffuse.csv");
    check.compare(|line| {
        let tilt = line.number("tilt");
        let (sin, cos) = libm::sincos(tilt.to_radians());
        let sky = incidence::sky_share(cos, sin, 0.05);
        let mut errors = vec![(format!("sky at {tilt}"), relative(sky, line.number("marion_sky")))];
        if tilt > 0.0 {
            let view = 0.5 * (1.0 - cos);
            let ground = incidence::ground_share(cos, sin, 0.05) / view;
            // Ground light as a share of what meets a plane that sees nothing else.
            errors.push((format!("ground at {tilt}"), view * (ground - line.number("marion_ground"))));
        }
        errors
    });
    check.report(0.04, "of the light");
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
