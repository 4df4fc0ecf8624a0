//! Where a light-seeking mount points, against skies summed numerically.

use super::sky_radiance::{self as radiance, Light, Parameters};
use crate::check_file::{Check, Line, relative};
use stilldays::design::Head;
use stilldays::sky::{DeadBand, HeadOptics, OpenSky, Sky, Skyline, SunTerms, balance, clear, on_plane, seek};

const ALBEDO: f64 = 0.2;

/// The sums over directions, on skies whose light is known in closed form: an even dome, and the overcast sky of
/// Moon & Spencer, (1 + 2 cos z)/3.
#[test]
fn sums_over_directions() {
    let pi = std::f64::consts::PI;
    let even = Light::of_sky(|_, _| 1.0);
    let overcast = Light::of_sky(|zenith, _| (1.0 + 2.0 * libm::cos(zenith)) / 3.0);
    for (light, horizontal, up) in [(even, pi, pi), (overcast, 7.0 * pi / 9.0, 7.0 * pi / 9.0)] {
        assert!((light.on_plane([0.0, 0.0, 1.0]) - horizontal).abs() < 1e-3);
        let (x, z) = light.vector();
        assert!(x.abs() < 1e-9 && (z - up).abs() < 1e-3, "{x} {z}");
        for balance in [light.pair(0.8), light.pair(1.57)] {
            assert!(balance.abs() < 1e-3, "{balance} rad from the zenith");
        }
        // To a step between directions, for the wall sorts them into two halves.
        assert!(light.wall().abs() < 0.03, "{}", light.wall());
        // A flat top: a twentieth of a radian off is a thousandth less light.
        assert!(light.brightest().abs() < 0.05, "{}", light.brightest());
    }
}

fn all_weather(zenith_deg: f64, bin: usize, delta: f64) -> Parameters {
    let table = Check::open("published/05d_perez1993_coefficients.csv");
    let row = table.lines()[bin - 1];
    let x = ["a", "b", "c", "d", "e"].map(|p| [1, 2, 3, 4].map(|k| row.number(&format!("{p}{k}"))));
    radiance::perez_1993_parameters(x, bin == 1, zenith_deg.to_radians(), delta)
}

/// The sky of a case of `05f`: the library's parts, and the numerical truth.
fn case(line: Line<'_>) -> (SunTerms, Sky<f64>, Light) {
    let (dni, dhi, z) = (line.number("dni"), line.number("dhi"), line.number("Z"));
    let (delta, sun) = (line.number("Delta"), z.to_radians());
    // The sun in the east, so that east is "toward the sun".
    let terms = SunTerms::new(radiance::at(sun), sun, delta / dhi);
    let epsilon = line.number("epsilon");
    let bin = 1 + [1.065, 1.23, 1.5, 1.95, 2.8, 4.5, 6.2].iter().filter(|&&e| epsilon >= e).count();
    let p = all_weather(z, bin, delta);
    let light = Light::of_sky(|zenith, azimuth| radiance::perez_1993(p, sun, zenith, azimuth))
        .scaled_to(dhi)
        .with_beam_and_ground(dni, sun, ALBEDO);
    (terms, terms.sky(dni, dhi), light)
}

/// Angle from the zenith toward the sun of a head's balance, rad.
fn beta(head: Head, terms: &SunTerms, sky: &Sky<f64>) -> f64 {
    beta_with(head, &optics(17.0, 1.0), terms, sky)
}

/// The optics of a head.
fn optics(shadow_deg: f64, glow_seen: f64) -> HeadOptics<f64> {
    HeadOptics { shadow_tan: libm::tan(shadow_deg.to_radians()), glow_seen }
}

fn beta_with(head: Head, optics: &HeadOptics<f64>, terms: &SunTerms, sky: &Sky<f64>) -> f64 {
    let open = OpenSky::default();
    let aim = balance(head, optics, sky, terms, ALBEDO, &open);
    assert!(aim.found && aim.direction[1].abs() < 1e-12);
    libm::atan2(aim.direction[0], aim.direction[2])
}

#[test]
fn closed_forms_of_pointing() {
    let mut check = Check::open("computed/05f_tracker_pointing.csv").part("closed forms");
    check.compare(|line| {
        let (terms, sky, _) = case(line);
        let (f1, f2) = (line.number("F1"), line.number("F2"));
        let dhi = line.number("dhi");
        // Under a dark horizon the library leaves the horizon out.
        let half = if f2 < 0.0 { "cf_half" } else { "cf_max" };
        let at = |what: &str| format!("{what}, {}", line.text("case"));
        vec![
            (at("F1"), 1.0 - sky.dome_w_m2 / dhi - f1),
            (at("F2"), sky.horizon_w_m2 / dhi - f2),
            (
                at("back to back"),
                beta(Head::BackToBack, &terms, &sky).to_degrees() - line.number("cf_vector"),
            ),
            (at("tilted"), beta(Head::Tilted, &terms, &sky).to_degrees() - line.number(half)),
        ]
    });
    check.report(1e-9, "deg");
}

/// Where heads balance on numerical skies, ours and those of the file.
#[test]
fn balances_on_numerical_skies() {
    let mut check = Check::open("computed/05f_tracker_pointing.csv").part("numerical balances");
    check.compare(|line| {
        let (_, _, light) = case(line);
        let (x, z) = light.vector();
        let off = |what: &str, ours: f64, column: &str| {
            (format!("{what}, {}", line.text("case")), ours.to_degrees() - line.number(column))
        };
        vec![
            off("vector", libm::atan2(x, z), "num_vector"),
            off("cells at 90", light.pair(90_f64.to_radians()), "num_pair90"),
            off("cells at 45", light.pair(45_f64.to_radians()), "num_pair45"),
            off("brightest plane", light.brightest(), "num_max"),
        ]
    });
    check.report(0.05, "deg");
}

/// Tilted cells lose at most 1.5 % of the light of the best direction, under every sky.
#[test]
fn pointing_against_numerical_skies() {
    let mut truth = Check::open("computed/05f_tracker_pointing.csv").part("numerical skies");
    let mut lost: Vec<(String, f64, f64)> = Vec::new();
    truth.compare(|line| {
        let (terms, sky, light) = case(line);
        let best = light.on_plane(radiance::at(light.brightest()));
        let share = |angle: f64| light.on_plane(radiance::at(angle)) / best;
        let walls = beta(Head::Walls, &terms, &sky);
        let off = (walls - light.wall()).to_degrees();
        // It has no comparator that looks past weak light, nor a sky darker toward the horizon.
        assert!(off.abs() < 16.0, "walls are {off} deg from their numerical balance");
        lost.push((
            format!(
                "{} (walls at {:.0} deg; summed {:.0})",
                line.text("case"),
                walls.to_degrees(),
                light.wall().to_degrees()
            ),
            1.0 - share(beta(Head::Tilted, &terms, &sky)),
            1.0 - share(walls),
        ));
        let sun = line.number("Z").to_radians();
        vec![
            ("zenith".to_owned(), share(0.0) - line.number("Gzenith_over_max")),
            ("sun".to_owned(), share(sun) - line.number("Gsun_over_max")),
            ("closed form".to_owned(), {
                share(line.number("cf_half").to_radians()) - line.number("Gcfhalf_over_max")
            }),
        ]
    });
    // The numerical sky is the one of the file.
    truth.report(1e-4, "of the greatest irradiance");
    for (case, tilted, walls) in &lost {
        println!("{case}: tilted cells lose {:.2} %, walls {:.2} %", 100.0 * tilted, 100.0 * walls);
    }
    let mut loss = Check::open("computed/05f_tracker_pointing.csv").part("light lost by tilted cells");
    let mut lost = lost.into_iter();
    loss.compare(|_| lost.next().map(|(case, tilted, _)| (case, tilted)).into_iter().collect());
    loss.report(0.015, "of the greatest irradiance");
}

#[test]
fn contrast_of_tilted_cells_is_the_dead_band() {
    let band = |line: Line<'_>, column: &str| {
        DeadBand::new(Head::Tilted, line.number(column), line.number("alpha_deg"), 20.0)
    };
    let at =
        |line: Line<'_>| format!("cells at {}, off by {}", line.text("alpha_deg"), line.text("delta_deg"));
    let mut ends = Check::open("computed/05h_photocell_contrast.csv").part("beam and dome");
    ends.compare(|line| {
        let delta = line.number("delta_deg");
        let (beam, dome) = (band(line, "contrast_beam").beam_rad, band(line, "contrast_isotropic").dome_rad);
        vec![(at(line), beam.to_degrees() - delta), (at(line), dome.to_degrees() - delta)]
    });
    ends.report(1e-9, "deg");
    // Between the two stands a straight line, which is off by a hundredth of the angle.
    let mut between = Check::open("computed/05h_photocell_contrast.csv").part("mix");
    between.compare(|line| {
        let mix = Sky {
            beam_w_m2: 300.0,
            circumsolar_w_m2: 0.0,
            dome_w_m2: 200.0,
            horizon_w_m2: 0.0,
            sunward_w_m2: 0.0,
            global_w_m2: 500.0,
        };
        let ours = band(line, "contrast_mix_B300_D200")
            .under(Head::Tilted, mix.beam_w_m2, mix.dome_w_m2)
            .to_degrees();
        vec![(at(line), relative(ours, line.number("delta_deg")))]
    });
    between.report(0.015, "of the angle");
}

#[test]
fn wider_shadows_track_better() {
    let sky = Sky {
        beam_w_m2: 600.0,
        circumsolar_w_m2: 0.0,
        dome_w_m2: 80.0,
        horizon_w_m2: 0.0,
        sunward_w_m2: 0.0,
        global_w_m2: 500.0,
    };
    let under = |s: &Sky<f64>, shadow_deg| {
        let band = DeadBand::new(Head::Walls, 0.05, 45.0, shadow_deg);
        band.under(Head::Walls, s.beam_w_m2, s.dome_w_m2).to_degrees()
    };
    assert!(under(&sky, 10.0) < under(&sky, 20.0) && under(&sky, 20.0) < under(&sky, 40.0));
    // A hazier sun is found less exactly, an even sky hardly at all.
    let hazy = Sky { beam_w_m2: 100.0, circumsolar_w_m2: 0.0, dome_w_m2: 300.0, ..sky };
    let even = Sky { beam_w_m2: 0.0, ..hazy };
    assert!(under(&sky, 20.0) < under(&hazy, 20.0) && under(&hazy, 20.0) < under(&even, 20.0));
    assert!((under(&even, 20.0) - 25.2).abs() < 0.1, "{}", under(&even, 20.0));
}

/// A head with walls points at a clear sun, looks up under a uniform sky, and does not jump between the two.
#[test]
fn walls_between_sun_and_zenith() {
    let sun = 60_f64.to_radians();
    let terms = SunTerms::new(radiance::at(sun), sun, 2.0 / 1366.0);
    let mut before: Option<f64> = None;
    for k in 0..=2000 {
        let sky = Sky {
            beam_w_m2: 0.2 * f64::from(k),
            circumsolar_w_m2: 0.0,
            dome_w_m2: 200.0,
            horizon_w_m2: 0.0,
            sunward_w_m2: 0.0,
            global_w_m2: 200.0,
        };
        let b = beta(Head::Walls, &terms, &sky).to_degrees();
        if let Some(before) = before {
            // The first watt counts most: the sense of up is quadratic.
            let most = if k < 10 { 10.0 } else { 1.0 };
            assert!(b >= before - 1e-9 && b - before < most, "beam {}: {before} to {b}", sky.beam_w_m2);
        }
        assert!(k > 0 || b == 0.0);
        assert!(k < 2000 || (b - 60.0).abs() < 2.5, "beam {}: {b}", sky.beam_w_m2);
        before = Some(b);
    }
}

/// The closed form for a head with walls is the balance of a uniform dome, a beam and the ground, summed numerically.
#[test]
fn walls_against_a_numerical_head() {
    let sun = 65_f64.to_radians();
    let terms = SunTerms::new(radiance::at(sun), sun, 2.0 / 1366.0);
    for beam in [1.0, 5.0, 15.0, 30.0, 45.0] {
        let light = Light::of_sky(|_, _| 1.0).scaled_to(200.0).with_beam_and_ground(beam, sun, 0.0);
        let sky = Sky {
            beam_w_m2: beam,
            circumsolar_w_m2: 0.0,
            dome_w_m2: 200.0,
            horizon_w_m2: 0.0,
            sunward_w_m2: 0.0,
            global_w_m2: 0.0,
        };
        let ours = beta_with(Head::Walls, &optics(0.1, 1.0), &terms, &sky).to_degrees();
        let truth = light.wall().to_degrees();
        println!("walls, beam {beam}: {ours:.2} against {truth:.2}");
        assert!((ours - truth).abs() < 1.0, "beam {beam}: {ours} against {truth}");
    }
}

/// With the sun behind trees the head looks away from them, nearly at the brightest visible part of the sky.
#[test]
fn behind_a_skyline_the_head_looks_at_what_is_left() {
    let sun = 70_f64.to_radians();
    let terms = SunTerms::new(radiance::at(sun), sun, 2.7 / 1366.0);
    // Trees in the east, where the sun is, up to 40°.
    let trees = Skyline::new(&[(30.0, 0.0), (40.0, 40.0), (140.0, 40.0), (150.0, 0.0)]);
    let open = trees.open_sky();
    assert_eq!(trees.sun_share(90.0, 20.0), 0.0);
    let sky = terms.behind_skyline(500.0, 90.0, &open, [0.0; 2]);
    assert_eq!((sky.beam_w_m2, sky.sunward_w_m2), (0.0, 0.0));
    let hidden = |d: [f64; 3]| {
        // The numerical sky has the sun's azimuth along x.
        let azimuth = (90.0 - libm::atan2(d[1], d[0]).to_degrees()).rem_euclid(360.0);
        libm::asin(d[2]).to_degrees() < trees.height_deg(azimuth)
    };
    let light = Light::of_sky(|_, _| 1.0).scaled_to(sky.dome_w_m2).hidden_unless(|d| !hidden(d));
    let best = light.on_plane(radiance::at(golden_west(&light)));
    for head in [Head::Walls, Head::Tilted, Head::BackToBack] {
        let aim = balance(head, &optics(17.0, 1.0), &sky, &terms, 0.0, &open);
        let tilt = libm::acos(aim.direction[2]).to_degrees();
        let share = light.on_plane(aim.direction) / best;
        println!("{head:?} behind trees: {tilt:.1} deg to the west, {:.2} % of the best", 100.0 * share);
        assert!(aim.found && aim.direction[0] < -0.1 && share > 0.985, "{head:?}: {share}");
    }
    // The share of the open sky on a tilted plane is what the sectors say.
    for (tilt, azimuth) in [(0.0_f64, 0.0_f64), (40.0, 90.0), (40.0, 270.0), (80.0, 120.0), (80.0, 0.0)] {
        let ((st, ct), (sa, ca)) = (libm::sincos(tilt.to_radians()), libm::sincos(azimuth.to_radians()));
        let plane = on_plane(&sky, terms.sun, [st * sa, st * ca, ct], 0.0, 0.0, &open);
        let ours = plane.sky_w_m2 - sky.horizon_w_m2 * st;
        // East is x and north is y there.
        let truth = light.on_plane([st * sa, st * ca, ct]);
        assert!((ours - truth).abs() < 0.02 * sky.dome_w_m2, "{tilt} {azimuth}: {ours} against {truth}");
    }
}

/// Brightest plane away from the sun, rad from the zenith (negative: west).
fn golden_west(light: &Light) -> f64 {
    let angles = (0..900).map(|k| -f64::from(k) * 0.1_f64.to_radians());
    angles
        .max_by(|&a, &b| light.on_plane(radiance::at(a)).total_cmp(&light.on_plane(radiance::at(b))))
        .unwrap()
}

/// Kelly & Gibson 2009 (Solar Energy 83:2092, from memory): under overcast a horizontal panel collects nearly
/// 50 % more than one that points at the hidden sun.
#[test]
fn overcast_favours_the_zenith_by_about_half() {
    let (mut sum, mut count) = (0.0, 0.0);
    for zenith in [45.0_f64, 55.0, 65.0, 75.0] {
        let z = zenith.to_radians();
        let terms =
            SunTerms::new(radiance::at(z), z, clear::AirMass::new(libm::cos(z), 0.0).relative / 1366.0);
        // A closed cover lets through some 15 % of what arrives.
        let sky = terms.sky(0.0, 0.15 * 1366.0 * libm::cos(z));
        let on = |n| on_plane(&sky, terms.sun, n, 0.05, 0.0, &OpenSky::default()).total_w_m2();
        sum += on([0.0, 0.0, 1.0]) / on(radiance::at(z));
        count += 1.0;
        // The sky model leaves a little glow under the cover; the even overcast of the CIE has none.
        for (head, glow_seen, most) in
            [(Head::Walls, 1.0, 40.0), (Head::Walls, 0.0, 0.1), (Head::Tilted, 1.0, 15.0)]
        {
            let tilt = beta_with(head, &optics(17.0, glow_seen), &terms, &sky).to_degrees();
            assert!(tilt < most, "{head:?} looks {tilt} deg off the zenith under an even overcast");
        }
    }
    let gain = sum / count;
    println!("overcast, horizontal over sun-pointing: {gain:.2}");
    assert!((1.35..1.6).contains(&gain), "{gain}");
}

#[test]
fn small_angles_between_directions() {
    let a = radiance::at(0.7);
    for off in [1e-6, 1e-3, 0.4, 2.0] {
        assert!((seek::angle_between(a, radiance::at(0.7 + off)) - off).abs() < 1e-9);
    }
}
